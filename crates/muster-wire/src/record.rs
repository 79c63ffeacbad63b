//! One event of the log in full.

use serde::{Deserialize, Serialize};

use crate::sync::SignedEvent;

/// An event as it was signed, with what the record makes of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RecordView {
    /// Its bytes and their signature.
    pub signed: SignedEvent,
    /// SHA-256 of the bytes, 64 hexadecimal digits.
    pub hash: String,
    /// Why it was set aside, if it was.
    pub set_aside: Vec<String>,
}
