//! Serves a site till it is told to stop.

use std::{net::SocketAddr, sync::Arc, time::Duration};

use anyhow::{Context as _, Result};
use jiff::{Timestamp, tz::Offset};
use muster_core::calendar::Moment;
use tokio::{net::TcpListener, sync::watch};

use super::{App, Doors, router};
use crate::keeper::Keeper;

/// How long open requests may still take once the server is told to stop.
const PARTING: Duration = Duration::from_secs(10);

/// What is served, and where.
pub struct Site {
    /// The record.
    pub keeper: Arc<Keeper>,
    /// Where to listen.
    pub listen: SocketAddr,
    /// Who comes in, and how.
    pub doors: Doors,
}

/// Serves a site till SIGINT or SIGTERM; what was begun is finished first. `ready` is told the address.
///
/// # Errors
/// An address that cannot be listened at.
pub async fn serve(site: Site, ready: impl FnOnce(SocketAddr)) -> Result<()> {
    let listener = TcpListener::bind(site.listen).await.with_context(|| {
        format!("cannot listen at {}: is another program there? choose another with --listen", site.listen)
    })?;
    ready(listener.local_addr()?);
    let (close, closing) = watch::channel(false);
    let app = App::new(site.keeper, site.doors, now, closing.clone());
    let service = router(app).into_make_service_with_connect_info::<SocketAddr>();
    let mut told = closing;
    let served = axum::serve(listener, service).with_graceful_shutdown(async move {
        let _ = told.wait_for(|closing| *closing).await;
    });
    let stopping = async move {
        stop().await;
        tracing::info!("told to stop: finishing what was begun");
        // Every receiver may be gone already: then nothing waits.
        let _ = close.send(true);
        tokio::time::sleep(PARTING).await;
    };
    tokio::select! {
        served = served => served.context("the server broke off"),
        () = stopping => Ok(()),
    }
}

/// Now, in UTC: the record keeps the offset; people see the site's own zone.
fn now() -> Moment {
    Moment::new(Timestamp::now(), Offset::UTC)
}

async fn stop() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    let _ = tokio::signal::ctrl_c().await;
}
