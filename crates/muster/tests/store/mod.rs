//! The record on disk: one contract for every back end, and what happens when disk, power or program fail.

#![expect(clippy::unwrap_used, reason = "a step that fails, fails its test")]

mod backup;
pub(crate) mod child;
mod contract;
mod contract_secrets;
mod device;
pub(crate) mod faults;
mod photos;
pub(crate) mod pictures;
mod sqlite;
mod transfer;
