//! What stands around every handler: request ids, traces, counts, limits, headers, compression.

use std::time::{Duration, Instant};

use axum::{
    Router,
    extract::{DefaultBodyLimit, MatchedPath, Request, State},
    http::{HeaderName, HeaderValue, StatusCode, header},
    middleware::{self, Next},
    response::{IntoResponse, Response},
};
use tower_http::{
    catch_panic::CatchPanicLayer,
    compression::{
        CompressionLayer,
        predicate::{DefaultPredicate, NotForContentType, Predicate},
    },
    request_id::{MakeRequestUuid, PropagateRequestIdLayer, SetRequestIdLayer},
};
use tracing::Instrument;

use super::{
    app::App,
    guard::guarded,
    problem::{Kind, Problem},
};

/// The largest body taken, in bytes.
pub const MAX_BODY: usize = 4 << 20;
/// How long a request may take. News streams are not bound by it: they answer at once and go on.
const PATIENCE: Duration = Duration::from_secs(30);
/// How long a paper may take: a yard's morning is a form a machine, and one is typeset after the other.
const PAPER_PATIENCE: Duration = Duration::from_secs(180);
const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");

/// Only the server's own pages, scripts and pictures; nothing from elsewhere, nothing inline.
const CSP: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; \
                   img-src 'self' data: blob:; media-src 'self' blob:; font-src 'self'; connect-src 'self'; manifest-src 'self'; \
                   worker-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";
/// What a phone's walk-round needs, for this origin alone.
const PERMISSIONS: &str = "camera=(self), accelerometer=(self), gyroscope=(self), magnetometer=(self), \
                           screen-wake-lock=(self), microphone=(), geolocation=()";

/// Puts the layers around a router.
pub(super) fn around(router: Router<App>, app: &App) -> Router<App> {
    let compressed = DefaultPredicate::new().and(NotForContentType::const_new("text/event-stream"));
    router
        .layer(middleware::from_fn(headers))
        .layer(CompressionLayer::new().compress_when(compressed))
        .layer(middleware::from_fn(patience))
        .layer(DefaultBodyLimit::max(MAX_BODY))
        .layer(middleware::from_fn_with_state(app.clone(), guarded))
        .layer(CatchPanicLayer::custom(|_| broke_off()))
        .layer(middleware::from_fn_with_state(app.clone(), traced))
        .layer(PropagateRequestIdLayer::new(REQUEST_ID))
        .layer(SetRequestIdLayer::new(REQUEST_ID, MakeRequestUuid))
}

fn broke_off() -> Response {
    Problem::new(Kind::Fault, "the request broke off: nothing was acknowledged, try again").into_response()
}

async fn patience(request: Request, next: Next) -> Response {
    let patience = if request.uri().path().starts_with("/api/v1/paper/") { PAPER_PATIENCE } else { PATIENCE };
    match tokio::time::timeout(patience, next.run(request)).await {
        Ok(response) => response,
        Err(_) => {
            let seconds = patience.as_secs();
            Problem::new(Kind::Unavailable, format!("no answer within {seconds} s: try again")).into_response()
        }
    }
}

async fn headers(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(CSP));
    headers.insert(HeaderName::from_static("permissions-policy"), HeaderValue::from_static(PERMISSIONS));
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(HeaderName::from_static("cross-origin-opener-policy"), HeaderValue::from_static("same-origin"));
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

/// One line a request, with its id; and its count.
async fn traced(State(app): State<App>, request: Request, next: Next) -> Response {
    let began = Instant::now();
    let method = request.method().clone();
    let route = request.extensions().get::<MatchedPath>().map_or_else(|| "none".to_string(), |of| of.as_str().into());
    let id = request.headers().get(REQUEST_ID).and_then(|id| id.to_str().ok()).unwrap_or_default().to_string();
    let span = tracing::info_span!("request", %id, %method, %route);
    let response = next.run(request).instrument(span.clone()).await;
    let (status, took) = (response.status(), began.elapsed());
    app.metrics().note(&route, method.as_str(), status.as_u16(), took);
    let _entered = span.enter();
    if status >= StatusCode::INTERNAL_SERVER_ERROR {
        tracing::error!(status = status.as_u16(), took = ?took, "answered");
    } else {
        tracing::info!(status = status.as_u16(), took = ?took, "answered");
    }
    response
}
