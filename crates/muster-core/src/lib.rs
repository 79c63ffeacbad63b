//! Decides whether a motorcycle may go out: quantities, limits, corrections, verdicts, the walk-round.
//!
//! Everything here is a pure function of its arguments: no clock, no files, no randomness.
#![no_std]

extern crate alloc;

mod answer;
mod at_once;
pub mod calendar;
pub mod catalogue;
pub mod check;
pub mod data;
pub mod equipment;
pub mod forecast;
pub mod form;
pub mod formula;
pub mod hash;
pub mod instrument;
pub mod judge;
pub mod limit;
pub mod load;
pub mod machine;
pub mod named;
pub mod order;
pub mod outing;
pub mod quantity;
pub mod record;
pub mod release;
pub mod rule;
pub mod sorted;
pub mod source;
pub mod state;
pub mod statistics;
pub mod walk_round;
pub mod words;
pub mod yard;

pub use answer::{answer_json, walk_round_json};
