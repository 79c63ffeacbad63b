//! What stands before every door: where a request comes from, whose page sent it, how much that address asks.

use std::{
    net::{IpAddr, Ipv4Addr, SocketAddr},
    sync::atomic::{AtomicUsize, Ordering},
};

use axum::{
    extract::{ConnectInfo, FromRequestParts, Request, State},
    http::{HeaderMap, HeaderName, HeaderValue, Method, Uri, header, request::Parts},
    middleware::Next,
    response::{IntoResponse, Response},
};
use tokio::sync::Semaphore;

use super::{
    app::{App, Doors},
    limit::{Limit, Rate, counted_as},
    problem::{Kind, Problem},
};
use crate::{keeper::Keeper, people::throttle::Attempts};

/// The setting that says how many servers of the yard's own stand before this one and add `X-Forwarded-For`; without it
/// none is believed.
pub const PROXIES: &str = "proxies";
/// Says on every answer of the demonstration that it is one.
const DEMONSTRATION: HeaderName = HeaderName::from_static("muster-demonstration");
/// Passwords hashed at once: each takes 64 MiB.
const HASHED_AT_ONCE: usize = 2;

/// What the guard remembers.
#[derive(Debug)]
pub(super) struct Guards {
    any: Limit,
    strict: Limit,
    proxies: AtomicUsize,
    /// Guesses at passwords and PINs.
    pub(super) attempts: Attempts,
    /// A place at the hashing of passwords.
    pub(super) hashing: Semaphore,
    /// The place at the decoding of photos.
    pub(super) decoding: Semaphore,
    /// The place at the typesetting.
    #[cfg(feature = "paper")]
    pub(super) typesetting: Semaphore,
}

/// Where a request comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Address(pub IpAddr);

impl Guards {
    pub(super) fn of(keeper: &Keeper) -> Self {
        // Unreadable is as good as not set: nobody is believed.
        let proxies = keeper.store().setting(PROXIES).ok().flatten();
        Self {
            any: Limit::new(Rate::ANY),
            strict: Limit::new(Rate::STRICT),
            proxies: AtomicUsize::new(proxies.and_then(|text| text.trim().parse().ok()).unwrap_or(0)),
            attempts: Attempts::default(),
            hashing: Semaphore::new(HASHED_AT_ONCE),
            decoding: Semaphore::new(1),
            #[cfg(feature = "paper")]
            typesetting: Semaphore::new(1),
        }
    }

    /// Whether a server that speaks HTTPS stands before this one.
    pub(super) fn is_behind(&self) -> bool {
        self.proxies() > 0
    }

    /// How many servers of the yard's own stand before this one.
    pub(super) fn proxies(&self) -> usize {
        self.proxies.load(Ordering::Relaxed)
    }

    /// Believes so many from now on.
    pub(super) fn believe(&self, proxies: usize) {
        self.proxies.store(proxies, Ordering::Relaxed);
    }

    fn address(&self, request: &Request) -> IpAddr {
        let peer = request.extensions().get::<ConnectInfo<SocketAddr>>().map(|info| info.0.ip());
        let peer = peer.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST));
        let named = request.headers().get_all("x-forwarded-for").iter().filter_map(|line| line.to_str().ok());
        let named: Vec<&str> = named.flat_map(|line| line.split(',')).map(str::trim).collect();
        // The last was added by the nearest: what stands before those of the yard's own anybody may have written.
        let at = self.proxies().checked_sub(1).and_then(|back| named.iter().rev().nth(back));
        at.and_then(|text| text.parse().ok()).unwrap_or(peer)
    }
}

impl FromRequestParts<App> for Address {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Result<Self, Problem> {
        let nowhere = || Problem::new(Kind::Fault, "the request has no address");
        parts.extensions.get::<Self>().copied().ok_or_else(nowhere)
    }
}

/// Looks at a request before any door.
pub(super) async fn guarded(State(app): State<App>, mut request: Request, next: Next) -> Response {
    let address = app.guards().address(&request);
    request.extensions_mut().insert(Address(address));
    let mut response = match looked(&app, &request, address) {
        Ok(()) => next.run(request).await,
        Err(problem) => problem.into_response(),
    };
    if matches!(app.doors(), Doors::Demonstration(_)) {
        let says = HeaderValue::from_static("everybody acts as its owner; served on loopback only");
        response.headers_mut().insert(DEMONSTRATION, says);
    }
    response
}

fn looked(app: &App, request: &Request, address: IpAddr) -> Result<(), Problem> {
    let (guards, now) = (app.guards(), app.now().timestamp());
    let name = counted_as(address);
    let strict = is_strict(request.method(), request.uri().path());
    if !guards.any.take(&name, now) || (strict && !guards.strict.take(&name, now)) {
        return Err(Problem::new(Kind::TooOften, "this address asks too often: wait a minute, then try again"));
    }
    let host = host(request.headers(), request.uri());
    if matches!(app.doors(), Doors::Demonstration(_)) && !host.is_none_or(is_loopback_name) {
        // Another name that leads here was made to, by a page that wants in (DNS rebinding).
        return Err(Problem::new(Kind::NoRight, "the demonstration is reached as localhost only"));
    }
    same_origin(request.method(), request.headers(), host)
}

/// Doors where something can be guessed, or written without sign-in.
fn is_strict(method: &Method, path: &str) -> bool {
    let own = ["/api/v1/sign-in", "/api/v1/devices", "/api/v1/password", "/api/v1/first"].contains(&path);
    *method == Method::POST && (own || path.starts_with("/api/v1/feedback/") || path.ends_with("/pin/check"))
}

/// The host a request names: HTTP/2 has it in the address itself.
pub(super) fn host<'r>(headers: &'r HeaderMap, uri: &'r Uri) -> Option<&'r str> {
    headers
        .get(header::HOST)
        .and_then(|value| value.to_str().ok())
        .or_else(|| uri.authority().map(axum::http::uri::Authority::as_str))
}

fn is_loopback_name(host: &str) -> bool {
    let name = match host.strip_prefix('[').and_then(|rest| rest.split_once(']')) {
        Some((address, _)) => address,
        None => host.rsplit_once(':').map_or(host, |(name, _)| name),
    };
    name == "localhost" || name.parse::<IpAddr>().is_ok_and(|address| address.is_loopback())
}

/// A page of another site must not act with this site's cookie: browsers say where a request comes from.
fn same_origin(method: &Method, headers: &HeaderMap, host: Option<&str>) -> Result<(), Problem> {
    if matches!(*method, Method::GET | Method::HEAD | Method::OPTIONS) {
        return Ok(());
    }
    let text = |name: &str| headers.get(name).map(|value| value.to_str().unwrap_or_default());
    let own = match (text("sec-fetch-site"), text("origin")) {
        (Some(site), _) => matches!(site, "same-origin" | "none"),
        (None, Some(origin)) => origin.split_once("://").is_some_and(|(_, of)| Some(of) == host),
        // No browser: a program with its own token.
        (None, None) => true,
    };
    if own { Ok(()) } else { Err(Problem::new(Kind::NoRight, "this came from another site's page")) }
}

/// Whether a browser sent it: those keep the session in a cookie no script reads, and are told no token.
pub(super) fn is_browser(headers: &HeaderMap) -> bool {
    headers.contains_key("sec-fetch-site") || headers.contains_key(header::ORIGIN)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_loopback_is_called_so() {
        for own in ["localhost", "localhost:7070", "127.0.0.1:7070", "127.9.9.9", "[::1]:7070", "[::1]"] {
            assert!(is_loopback_name(own), "{own}");
        }
        for other in ["yard.example", "localhost.yard.example:80", "10.0.0.1", "[2001:db8::1]:80", ""] {
            assert!(!is_loopback_name(other), "{other}");
        }
    }
}
