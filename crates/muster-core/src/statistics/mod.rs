//! How sure a reading is, and how sure that makes the decision: normal and Student distributions, uncertainty, conformance.
//!
//! Self-contained: plain numbers in the unit of the value they belong to; no quantity, limit or event is known here.

pub mod conformance;
pub mod global;
pub mod normal;
mod refusal;
pub mod repeats;
mod root;
pub mod student;
pub mod uncertainty;

pub use refusal::Refusal;
