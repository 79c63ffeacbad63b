//! Reads payloads of earlier versions as this one's. Each step is kept for ever: the log is never rewritten.

use alloc::string::String;

use serde_json::Value;

use super::payload::Kind;

/// The version this build writes.
pub const VERSION: u32 = 1;

/// A version or a kind that never was.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotUpcast {
    /// No build wrote this version.
    #[error("no version {0} was ever written: this build writes {VERSION}")]
    Version(u32),
    /// No build of this version wrote this kind.
    #[error("version {version} has no kind `{kind}`")]
    Kind {
        /// The kind.
        kind: String,
        /// The version.
        version: u32,
    },
}

/// A payload as this version writes it; none for one of a later version, which is kept and not understood.
///
/// # Errors
/// [`NotUpcast`] for a version that never was.
pub fn current(kind: &str, version: u32, payload: Value) -> Result<Option<(Kind, Value)>, NotUpcast> {
    match version {
        0 => Err(NotUpcast::Version(version)),
        VERSION => match kind.parse() {
            Ok(kind) => Ok(Some((kind, payload))),
            Err(_) => Err(NotUpcast::Kind { kind: kind.chars().take(40).collect(), version }),
        },
        _ => Ok(None),
    }
}
