//! Asking the server.

use gloo_net::http::{Method, RequestBuilder, Response};
use js_sys::Uint8Array;
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::Blob;

/// Most bytes of an answer taken in at once.
const PIECE: f64 = 524_288.0;

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

/// Asks for many bytes. They wait outside the page and come in pieces, so that a press in between is answered.
///
/// # Errors
/// [`LinkError`].
pub(crate) async fn fetch_bytes(path: &str) -> Result<Vec<u8>, LinkError> {
    let there = body(send("GET", path, None, None).await?).await?;
    let broke = |_: JsValue| LinkError::NoAnswer;
    let (mut bytes, mut from) = (Vec::with_capacity(there.size() as usize), 0.0);
    while from < there.size() {
        let piece = there.slice_with_f64_and_f64(from, from + PIECE).map_err(broke)?;
        let piece = JsFuture::from(piece.array_buffer()).await.map_err(broke)?;
        bytes.extend(Uint8Array::new(&piece).to_vec());
        from += PIECE;
    }
    Ok(bytes)
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
    let body = Uint8Array::from(bytes);
    let response = send(method, path, Some(body.into()), Some(kind)).await?;
    let text = response.text().await.map_err(|_| LinkError::NoAnswer)?;
    let text = if text.is_empty() { "null" } else { &text };
    serde_json::from_str(text).map_err(|error| LinkError::Strange(format!("{path}: {error}")))
}

/// Asks for bytes: a file and its kind.
///
/// # Errors
/// [`LinkError`].
pub(crate) async fn fetched(path: &str, asked: &impl Serialize) -> Result<Blob, LinkError> {
    let asked = serde_json::to_string(asked).map_err(|error| LinkError::Strange(error.to_string()))?;
    body(send("POST", path, Some(asked.into()), Some("application/json")).await?).await
}

/// What was answered, with its kind, outside the page's own memory.
async fn body(response: Response) -> Result<Blob, LinkError> {
    let response: web_sys::Response = response.into();
    let broke = |_: JsValue| LinkError::NoAnswer;
    let blob = JsFuture::from(response.blob().map_err(broke)?).await.map_err(broke)?;
    Ok(blob.unchecked_into())
}

async fn send(method: &str, path: &str, body: Option<JsValue>, kind: Option<&str>) -> Result<Response, LinkError> {
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
