//! Serves a site till it is told to stop.

use std::{
    net::{SocketAddr, TcpListener},
    time::{Duration, SystemTime},
};

use anyhow::{Context as _, Result, bail};
use axum_server::{Handle, tls_rustls::RustlsConfig};
use tokio::sync::watch;

use super::{App, Clock, Doors, authority::Identity, router, trust};
use crate::{keeper::Opened, people};

/// How long open requests may still take once the server is told to stop.
const PARTING: Duration = Duration::from_secs(10);

/// How often what is over is forgotten.
const TIDIED: Duration = Duration::from_secs(3600);

/// What is served, and where.
pub struct Site {
    /// The record.
    pub opened: Opened,
    /// Where to listen.
    pub listen: SocketAddr,
    /// Who comes in, and how.
    pub doors: Doors,
    /// What time it is.
    pub clock: Clock,
    /// The certificate, for HTTPS.
    pub identity: Option<Certificate>,
}

/// By what HTTPS is served.
pub enum Certificate {
    /// Chain and key as PEM, given.
    Given {
        /// The chain.
        chain: String,
        /// The key.
        key: String,
    },
    /// The yard's own authority, and where its page is served by plain HTTP.
    Own(Identity, SocketAddr),
}

/// Where it is served.
#[derive(Clone, Copy, Debug)]
pub struct Addresses {
    /// The server.
    pub server: SocketAddr,
    /// The page about trusting it.
    pub trust: Option<SocketAddr>,
}

/// Serves a site till SIGINT or SIGTERM; what was begun is finished first. `ready` is told where.
///
/// # Errors
/// An address that cannot be listened at, a certificate that cannot be used, the demonstration on an open address.
pub async fn serve(site: Site, ready: impl FnOnce(Addresses)) -> Result<()> {
    if matches!(site.doors, Doors::Demonstration(_)) && !site.listen.ip().is_loopback() {
        bail!("the demonstration has no sign-in and is served on loopback only, not at {}", site.listen);
    }
    let listener = listen(site.listen)?;
    let server = listener.local_addr()?;
    let (close, closing) = watch::channel(false);
    let app = App::new(&site.opened, site.doors, site.clock, closing);
    tokio::spawn(tidied(app.clone()));
    tokio::spawn(estimated(app.clone()));
    let service = router(app).into_make_service_with_connect_info::<SocketAddr>();
    let handle = Handle::new();
    let stopping = handle.clone();
    tokio::spawn(async move {
        stop().await;
        tracing::info!("told to stop: finishing what was begun");
        // Every receiver may be gone already: then nothing waits.
        let _ = close.send(true);
        stopping.graceful_shutdown(Some(PARTING));
    });
    let (chain, key, trust) = match site.identity {
        None => {
            ready(Addresses { server, trust: None });
            return axum_server::from_tcp(listener)?
                .handle(handle)
                .serve(service)
                .await
                .context("the server broke off");
        }
        Some(Certificate::Given { chain, key }) => (chain, key, None),
        Some(Certificate::Own(identity, at)) => {
            let page = listen(at)?;
            let trust = trust::Trust { authority: identity.authority, https_port: server.port() };
            let address = page.local_addr()?;
            let served =
                axum_server::from_tcp(page)?.handle(handle.clone()).serve(trust::router(trust).into_make_service());
            tokio::spawn(served);
            (identity.chain, identity.key, Some(address))
        }
    };
    // A second installation of the same provider in one process is no fault.
    let _ = rustls::crypto::ring::default_provider().install_default();
    let config =
        RustlsConfig::from_pem(chain.into_bytes(), key.into_bytes()).await.context("the certificate cannot be used")?;
    ready(Addresses { server, trust });
    axum_server::from_tcp_rustls(listener, config)?.handle(handle).serve(service).await.context("the server broke off")
}

fn listen(at: SocketAddr) -> Result<TcpListener> {
    let listener = TcpListener::bind(at)
        .with_context(|| format!("cannot listen at {at}: is another program there? choose another address"))?;
    listener.set_nonblocking(true)?;
    Ok(listener)
}

/// Forgets every hour what is over.
async fn tidied(app: App) {
    loop {
        let (now, photos) = (app.now(), app.photos().clone());
        let forgets = app.beside(move |keeper| people::tidy(keeper, now)).await;
        let sweeps = app.beside(move |_| photos.sweep(SystemTime::now())).await;
        for problem in [forgets, sweeps.map(drop)].into_iter().filter_map(Result::err) {
            tracing::warn!(what = problem.detail, "could not forget what is over");
        }
        tokio::time::sleep(TIDIED).await;
    }
}

/// Estimates wear once a day, when the record has grown.
async fn estimated(app: App) {
    loop {
        let now = app.now();
        let is_due = app.beside(move |keeper| keeper.is_estimate_due(now)).await;
        let written = match is_due {
            Ok(true) => app.written(move |keeper| keeper.note_daily_estimate(now)).await.map(drop),
            Ok(false) => Ok(()),
            Err(problem) => Err(problem),
        };
        if let Err(problem) = written {
            tracing::warn!(what = problem.detail, "wear could not be estimated");
        }
        tokio::time::sleep(TIDIED).await;
    }
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
