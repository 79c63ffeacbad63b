//! Secret addresses of the calendar as JSON.

use serde::{Deserialize, Serialize};

/// An address that is open. The secret itself is not kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CalendarAddress {
    /// What names it when it is taken back: the first digits of its hash.
    pub id: String,
    /// Who drew it.
    pub person: String,
    /// When, ISO 8601.
    pub drawn: String,
    /// Where it is read.
    pub label: String,
}

/// An address asked for.
#[derive(Debug, Default, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct DrawCalendar {
    /// Where it is read, in at most 60 characters that name nobody.
    #[serde(default)]
    pub label: String,
}

/// An address newly drawn: told once.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CalendarDrawn {
    /// What names it when it is taken back.
    pub id: String,
    /// The address, by the one this was asked at. Whoever knows it reads the calendar.
    pub link: String,
}
