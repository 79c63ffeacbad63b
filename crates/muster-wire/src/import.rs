//! What became of a table taken in, row by row, as JSON.

use serde::{Deserialize, Serialize};

/// What became of a table, or would.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ImportReport {
    /// Whether this is a preview: nothing was written.
    pub dry_run: bool,
    /// What stands between its cells.
    pub delimiter: String,
    /// What its figures were read by: point or comma.
    pub decimal: String,
    /// Columns that were not taken, by their names.
    pub not_taken: Vec<String>,
    /// How many rows are written, or would be.
    pub written: usize,
    /// How many are here already.
    pub here: usize,
    /// How many are refused.
    pub refused: usize,
    /// Each row.
    pub rows: Vec<ImportRow>,
}

/// A row and what became of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ImportRow {
    /// Its line in the table.
    pub line: u64,
    /// What it says, in one line.
    pub what: String,
    /// written, would-be-written, here or refused.
    pub outcome: String,
    /// Why it is refused, and what to do.
    pub why: Option<String>,
    /// What of it was left out or taken otherwise than it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub but: Option<String>,
}
