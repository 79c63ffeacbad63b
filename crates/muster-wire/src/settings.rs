//! What of the server is set and is no event, as JSON.

use serde::{Deserialize, Serialize};

/// The most servers of one's own that can stand before this one.
pub const MOST_PROXIES: usize = 8;

/// How the server is set.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SettingsView {
    /// How many servers of the yard's own stand before this one and add `X-Forwarded-For`.
    pub proxies: usize,
    /// The school's mark on its papers; none where it has set none.
    pub mark: Option<MarkView>,
}

/// The school's mark. Its file is not given back: what a drawing says is for paper alone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MarkView {
    /// SHA-256 of its file, 64 hexadecimal digits.
    pub sha256: String,
    /// Size of its file.
    pub bytes: u64,
}

/// What is to be set; what is left out stays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct ChangeSettings {
    /// How many servers of the yard's own stand before this one, 0 to 8. Too many let anybody choose their address.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(maximum = 8))]
    pub proxies: Option<usize>,
}
