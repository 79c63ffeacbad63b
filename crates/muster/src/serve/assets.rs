//! The app, as `cargo xtask web` built it: embedded in a release, read from disk in a debug build.

use axum::{
    body::Body,
    http::{HeaderMap, HeaderValue, Method, StatusCode, Uri, header},
    response::{IntoResponse, Response},
};
use muster_core::hash::hex;
use rust_embed::{EmbeddedFile, RustEmbed};

use super::about;

#[derive(RustEmbed)]
#[folder = "$CARGO_MANIFEST_DIR/../../target/web"]
struct Files;

/// What a program that was built without the app says in its place.
const NOT_BUILT: &str = "<!doctype html><html lang=\"en-GB\"><meta charset=\"utf-8\"><title>Muster</title>\
    <h1>The app is not in this program</h1><p>Build it by <code>cargo xtask web</code>, then build the program again. \
    Its doors are open: <a href=\"/api/v1/openapi.json\">/api/v1/openapi.json</a> lists them.</p></html>";

/// A file of the app; for any other address a browser goes to, the app itself, which knows its own addresses.
pub(super) async fn asset(method: Method, uri: Uri, headers: HeaderMap) -> Response {
    let path = uri.path().trim_start_matches('/');
    let reads = method == Method::GET || method == Method::HEAD;
    if !reads || path.starts_with("api/") {
        return about::nowhere(uri).await.into_response();
    }
    if let Some(file) = Files::get(path).filter(|_| !path.is_empty() && path != "version") {
        return answered(path, file, &headers);
    }
    let navigates =
        headers.get(header::ACCEPT).and_then(|of| of.to_str().ok()).is_some_and(|of| of.contains("text/html"));
    let is_page = path.is_empty() || navigates && !names_file(path);
    match Files::get("index.html").filter(|_| is_page) {
        Some(page) => answered("index.html", page, &headers),
        None if is_page => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], NOT_BUILT).into_response(),
        None => about::nowhere(uri).await.into_response(),
    }
}

fn answered(name: &str, file: EmbeddedFile, headers: &HeaderMap) -> Response {
    let etag = format!("\"{}\"", hex(&file.metadata.sha256_hash()).chars().take(32).collect::<String>());
    let named = |header| headers.get(header).and_then(|value: &HeaderValue| value.to_str().ok()).unwrap_or_default();
    let known = named(header::IF_NONE_MATCH).split(',').any(|one| one.trim().trim_start_matches("W/") == etag);
    let packed = named(header::ACCEPT_ENCODING).split(',').any(|one| one.trim().split(';').next() == Some("br"));
    let packed = packed.then(|| Files::get(&format!("{name}.br"))).flatten();
    let mut response = if known {
        StatusCode::NOT_MODIFIED.into_response()
    } else if let Some(packed) = packed {
        let mut response = Body::from(packed.data.into_owned()).into_response();
        response.headers_mut().insert(header::CONTENT_ENCODING, HeaderValue::from_static("br"));
        response
    } else {
        Body::from(file.data.into_owned()).into_response()
    };
    // What is named by its hash never changes.
    let lasts = if is_hashed(name) { "public, max-age=31536000, immutable" } else { "no-cache" };
    let fields = response.headers_mut();
    fields.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind(name)));
    fields.insert(header::CACHE_CONTROL, HeaderValue::from_static(lasts));
    fields.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
    if let Ok(etag) = HeaderValue::from_str(&etag) {
        fields.insert(header::ETAG, etag);
    }
    response
}

/// Whether an address has an extension and so names a file: one that is gone is gone, whatever the app is. Figures alone are
/// none: an event's number ends with some, and the code of a paper leads to it.
fn names_file(path: &str) -> bool {
    let name = path.rsplit('/').next().unwrap_or(path);
    name.rsplit_once('.').is_some_and(|(_, extension)| !extension.bytes().all(|sign| sign.is_ascii_digit()))
}

/// Whether a name or its folder ends with a hash: `app-0123456789ab.css`, `app-0123456789ab/app.js`.
fn is_hashed(name: &str) -> bool {
    name.split('/').any(|step| {
        let hash = step.split('.').next().unwrap_or_default().rsplit_once('-').map_or("", |(_, hash)| hash);
        hash.len() == 12 && hash.bytes().all(|byte| byte.is_ascii_hexdigit())
    })
}

fn kind(name: &str) -> &'static str {
    match name.rsplit('.').next().unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "wasm" => "application/wasm",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "woff2" => "font/woff2",
        "webmanifest" => "application/manifest+json",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_events_number_is_a_page_and_what_has_an_extension_is_a_file() {
        for page in ["records/66687aadf862bd77.17", "machines/H-07", "tags/0087", "paper"] {
            assert!(!names_file(page), "{page}");
        }
        for file in ["app.js", "app-0123456789ab/app_bg.wasm", "manifest.webmanifest", "records/a.b"] {
            assert!(names_file(file), "{file}");
        }
    }

    #[test]
    fn only_what_is_named_by_its_hash_is_kept_for_a_year() {
        assert!(is_hashed("app-0123456789ab.css"));
        assert!(is_hashed("app-0123456789ab/app.js"));
        for name in ["index.html", "sw.js", "icon-180.png", "fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2"]
        {
            assert!(!is_hashed(name), "{name}");
        }
    }
}
