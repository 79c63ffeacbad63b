//! Asking the server.

use gloo_net::http::{Method, RequestBuilder, Response};
use serde::{Deserialize, Serialize, de::DeserializeOwned};

/// Why the server did not do what it was asked.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub(crate) enum LinkError {
    /// It did not answer: no signal, or it is not running.
    #[error("{}", crate::words::t!("no-answer"))]
    NoAnswer,
    /// Nobody is signed in.
    #[error("{0}")]
    SignedOut(String),
    /// It refused: status, and why with what to do.
    #[error("{1}")]
    Refused(u16, String),
    /// It answered what this app does not read.
    #[error("the server answered what this app does not read ({0}): reload to get the app that fits it")]
    Strange(String),
}

/// A problem as RFC 9457 has it.
#[derive(Deserialize)]
struct Problem {
    #[serde(default)]
    detail: String,
    #[serde(default)]
    title: String,
}

/// Asks by method and path; the answer is read as what is wanted.
///
/// # Errors
/// [`LinkError`].
pub(crate) async fn ask<T: DeserializeOwned>(
    method: &str,
    path: &str,
    body: Option<&impl Serialize>,
) -> Result<T, LinkError> {
    let body = body.map(serde_json::to_string).transpose().map_err(|error| LinkError::Strange(error.to_string()))?;
    let response = send(method, path, body.map(Into::into), Some("application/json")).await?;
    let text = response.text().await.map_err(|_| LinkError::NoAnswer)?;
    let text = if text.is_empty() { "null" } else { &text };
    serde_json::from_str(text).map_err(|error| LinkError::Strange(format!("{path}: {error}")))
}

/// Asks for bytes as they are.
///
/// # Errors
/// [`LinkError`].
pub(crate) async fn fetch_bytes(path: &str) -> Result<Vec<u8>, LinkError> {
    send("GET", path, None, None).await?.binary().await.map_err(|_| LinkError::NoAnswer)
}

/// Sends bytes as they are.
///
/// # Errors
/// [`LinkError`].
pub(crate) async fn send_bytes<T: DeserializeOwned>(
    method: &str,
    path: &str,
    bytes: &[u8],
    kind: &str,
) -> Result<T, LinkError> {
    let body = js_sys::Uint8Array::from(bytes);
    let response = send(method, path, Some(body.into()), Some(kind)).await?;
    let text = response.text().await.map_err(|_| LinkError::NoAnswer)?;
    let text = if text.is_empty() { "null" } else { &text };
    serde_json::from_str(text).map_err(|error| LinkError::Strange(format!("{path}: {error}")))
}

/// Asks for bytes: a file and its kind.
///
/// # Errors
/// [`LinkError`].
pub(crate) async fn fetched(path: &str, body: &impl Serialize) -> Result<web_sys::Blob, LinkError> {
    let body = serde_json::to_string(body).map_err(|error| LinkError::Strange(error.to_string()))?;
    let response = send("POST", path, Some(body.into()), Some("application/json")).await?;
    let bytes = response.binary().await.map_err(|_| LinkError::NoAnswer)?;
    let kind = web_sys::BlobPropertyBag::new();
    kind.set_type(&response.headers().get("content-type").unwrap_or_default());
    let parts = js_sys::Array::of1(&js_sys::Uint8Array::from(bytes.as_slice()));
    web_sys::Blob::new_with_u8_array_sequence_and_options(&parts, &kind)
        .map_err(|_| LinkError::Strange("a file that this browser does not take".to_owned()))
}

async fn send(
    method: &str,
    path: &str,
    body: Option<wasm_bindgen::JsValue>,
    kind: Option<&str>,
) -> Result<Response, LinkError> {
    let method = method.parse::<Method>().unwrap_or(Method::GET);
    let mut request = RequestBuilder::new(path).method(method);
    if let Some(kind) = kind.filter(|_| body.is_some()) {
        request = request.header("content-type", kind);
    }
    let strange = |error: gloo_net::Error| LinkError::Strange(error.to_string());
    let request = match body {
        Some(body) => request.body(body).map_err(strange)?,
        None => request.build().map_err(strange)?,
    };
    let response = request.send().await.map_err(|_| LinkError::NoAnswer)?;
    if response.ok() {
        return Ok(response);
    }
    let status = response.status();
    let problem = response.text().await.ok().and_then(|text| serde_json::from_str::<Problem>(&text).ok());
    let why = problem.map_or_else(|| format!("{status}"), |of| if of.detail.is_empty() { of.title } else { of.detail });
    Err(if status == 401 { LinkError::SignedOut(why) } else { LinkError::Refused(status, why) })
}
