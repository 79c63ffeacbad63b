//! What became of asking for an estimate of wear.

use serde::{Deserialize, Serialize};

/// The estimate that counts now.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Estimated {
    /// Whether it was written now; false where nothing of wear has come since the last one, which stands.
    pub written: bool,
    /// SHA-256 of its parameters: what verdicts rest on it name.
    pub hash: String,
    /// When it was estimated, ISO 8601.
    pub at: String,
    /// Kinds of parts it knows.
    pub kinds: usize,
    /// Parts it knows.
    pub parts: usize,
}
