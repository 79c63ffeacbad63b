//! What every request works with.

use std::sync::Arc;

use axum::http::{HeaderMap, Uri};
use muster_core::{calendar::Moment, record::id::PersonId};
use tokio::sync::{broadcast, watch};

use super::{
    clock::Clock,
    guard::{self, Guards},
    metrics::Metrics,
    problem::{Kind, Problem},
};
use crate::{
    keeper::{Keeper, Opened},
    people::{NotLet, throttle::Attempts},
    store::photos::{PhotoError, Photos},
};

/// The server's state, shared by every request.
#[derive(Clone)]
pub struct App(Arc<Inner>);

struct Inner {
    keeper: Arc<Keeper>,
    photos: Photos,
    doors: Doors,
    clock: Clock,
    news: broadcast::Sender<u64>,
    metrics: Metrics,
    guards: Guards,
    closing: watch::Receiver<bool>,
}

/// Who comes in, and how.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Doors {
    /// The demonstration: everybody is this person, on loopback only.
    Demonstration(PersonId),
    /// People sign in. Cookies are marked secure behind HTTPS.
    SignIn {
        /// Whether the server is reached by HTTPS.
        https: bool,
    },
}

impl App {
    /// The state of a server.
    #[must_use]
    pub fn new(opened: &Opened, doors: Doors, clock: Clock, closing: watch::Receiver<bool>) -> Self {
        let (news, _) = broadcast::channel(64);
        let (keeper, photos) = (opened.keeper.clone(), opened.photos.clone());
        let (metrics, guards) = (Metrics::default(), Guards::of(&keeper));
        Self(Arc::new(Inner { keeper, photos, doors, clock, news, metrics, guards, closing }))
    }

    /// The record.
    #[must_use]
    pub fn keeper(&self) -> &Arc<Keeper> {
        &self.0.keeper
    }

    /// The photos beside it.
    #[must_use]
    pub fn photos(&self) -> &Photos {
        &self.0.photos
    }

    /// Who comes in, and how.
    #[must_use]
    pub fn doors(&self) -> &Doors {
        &self.0.doors
    }

    /// Now.
    #[must_use]
    pub fn now(&self) -> Moment {
        self.0.clock.now()
    }

    /// Counts of what was asked.
    #[must_use]
    pub fn metrics(&self) -> &Metrics {
        &self.0.metrics
    }

    /// What stands before the doors.
    pub(super) fn guards(&self) -> &Guards {
        &self.0.guards
    }

    /// Whether people reach it by HTTPS, its own or that of a server before it.
    #[must_use]
    pub fn is_secure(&self) -> bool {
        matches!(self.doors(), Doors::SignIn { https: true }) || self.guards().is_behind()
    }

    /// The address people reach it by, as this request names it: what links begin with.
    #[must_use]
    pub fn base(&self, headers: &HeaderMap, uri: &Uri) -> String {
        let scheme = if self.is_secure() { "https" } else { "http" };
        format!("{scheme}://{}", guard::host(headers, uri).unwrap_or("localhost"))
    }

    /// News of what was written: the cursor behind it.
    #[must_use]
    pub fn listen(&self) -> broadcast::Receiver<u64> {
        self.0.news.subscribe()
    }

    /// Becomes true when the server closes.
    #[must_use]
    pub fn closing(&self) -> watch::Receiver<bool> {
        self.0.closing.clone()
    }

    /// Says that something was written.
    pub fn announce(&self, cursor: u64) {
        // Nobody listening is no fault.
        let _ = self.0.news.send(cursor);
    }

    /// Runs work that waits for the disk beside the requests.
    ///
    /// # Errors
    /// The work's own, or [`Kind::Fault`] if it broke off.
    pub async fn beside<T, E>(&self, work: impl FnOnce(&Keeper) -> Result<T, E> + Send + 'static) -> Result<T, Problem>
    where
        T: Send + 'static,
        E: Into<Problem> + Send + 'static,
    {
        let keeper = self.keeper().clone();
        match tokio::task::spawn_blocking(move || work(&keeper)).await {
            Ok(done) => done.map_err(Into::into),
            Err(error) => {
                tracing::error!(%error, "work broke off");
                Err(Problem::new(Kind::Fault, "the work broke off: nothing was acknowledged, try again"))
            }
        }
    }

    /// Runs work that may write beside the requests, and says so to those who listen.
    ///
    /// # Errors
    /// As for [`Self::beside`].
    pub async fn written<T: Send + 'static, E>(
        &self,
        work: impl FnOnce(&Keeper) -> Result<T, E> + Send + 'static,
    ) -> Result<T, Problem>
    where
        Problem: From<E>,
    {
        let (done, cursor) = self
            .beside(move |keeper| {
                let done = work(keeper)?;
                Ok::<_, Problem>((done, keeper.store().count()?))
            })
            .await?;
        self.announce(cursor);
        Ok(done)
    }

    /// Runs work that hashes a password beside the requests, few at once: each takes much memory.
    ///
    /// # Errors
    /// As for [`Self::beside`].
    pub async fn hashed<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Keeper, &Attempts) -> Result<T, NotLet> + Send + 'static,
    ) -> Result<T, Problem> {
        let closed = |_| Problem::new(Kind::Unavailable, "the server closes: try again");
        let _place = self.guards().hashing.acquire().await.map_err(closed)?;
        let app = self.clone();
        self.written(move |keeper| work(keeper, &app.guards().attempts)).await
    }

    /// Typesets beside the requests, one paper at a time: each takes a core for as long as it lasts. What it writes down is
    /// said to those who listen.
    ///
    /// # Errors
    /// As for [`Self::beside`].
    #[cfg(feature = "paper")]
    pub async fn typeset<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Keeper) -> Result<T, Problem> + Send + 'static,
    ) -> Result<T, Problem> {
        let closed = |_| Problem::new(Kind::Unavailable, "the server closes: try again");
        let _place = self.guards().typesetting.acquire().await.map_err(closed)?;
        self.written(work).await
    }

    /// Runs work that decodes a photo beside the requests, one at a time: a large one takes some hundred megabytes.
    ///
    /// # Errors
    /// As for [`Self::beside`].
    pub async fn decoded<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Photos) -> Result<T, PhotoError> + Send + 'static,
    ) -> Result<T, Problem> {
        let closed = |_| Problem::new(Kind::Unavailable, "the server closes: try again");
        let _place = self.guards().decoding.acquire().await.map_err(closed)?;
        let photos = self.photos().clone();
        self.beside(move |_| work(&photos)).await
    }
}
