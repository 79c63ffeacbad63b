//! The page that leads people through trusting the yard's server, and checks that it worked. Plain HTTP, on a port of its
//! own: before a phone trusts the server it cannot read a page by HTTPS.

use axum::{
    Router,
    extract::State,
    http::{HeaderValue, StatusCode, header},
    response::{Html, IntoResponse, Response},
    routing::get,
};

const PAGE: &str = include_str!("page.html");
const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");

/// What the page knows.
#[derive(Clone, Debug)]
pub struct Trust {
    /// The authority's certificate as PEM.
    pub authority: String,
    /// The port HTTPS is at.
    pub https_port: u16,
}

/// The page's own router.
pub fn router(trust: Trust) -> Router {
    Router::new()
        .route("/", get(page))
        .route("/style.css", get(|| text("text/css; charset=utf-8", STYLE)))
        .route("/script.js", get(|| text("text/javascript; charset=utf-8", SCRIPT)))
        .route("/muster-authority.crt", get(authority))
        .fallback(|| async { (StatusCode::NOT_FOUND, "only the page about trusting this server is here: /") })
        .with_state(trust)
}

async fn page(State(trust): State<Trust>) -> Response {
    // Broken between pairs, never within one: people compare it pair by pair.
    let fingerprint = fingerprint(&trust.authority).replace(':', ":<wbr>");
    let page = PAGE.replace("{{PORT}}", &trust.https_port.to_string()).replace("{{FINGERPRINT}}", &fingerprint);
    let mut response = Html(page).into_response();
    // The check asks the HTTPS port of this same host, which a policy cannot name before it is known.
    let policy = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src https:; base-uri 'none'; \
                  form-action 'none'; frame-ancestors 'none'";
    response.headers_mut().insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(policy));
    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response
}

async fn authority(State(trust): State<Trust>) -> Response {
    let kind = HeaderValue::from_static("application/x-x509-ca-cert");
    ([(header::CONTENT_TYPE, kind)], trust.authority).into_response()
}

async fn text(kind: &'static str, text: &'static str) -> Response {
    ([(header::CONTENT_TYPE, HeaderValue::from_static(kind))], text).into_response()
}

/// SHA-256 of the certificate itself, in pairs, as devices show it; empty if it is none.
#[must_use]
pub fn fingerprint(pem: &str) -> String {
    use rustls::pki_types::{CertificateDer, pem::PemObject as _};
    use sha2::{Digest as _, Sha256};
    let Ok(der) = CertificateDer::from_pem_slice(pem.as_bytes()) else { return String::new() };
    let pairs: Vec<String> = Sha256::digest(&der).iter().map(|byte| format!("{byte:02X}")).collect();
    pairs.join(":")
}
