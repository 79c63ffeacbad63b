//! Decides whether a motorcycle may go out: quantities, limits, corrections, verdicts, the walk-round.
//!
//! Everything here is a pure function of its arguments: no clock, no files, no randomness.
#![no_std]

extern crate alloc;

pub mod calendar;
pub mod formula;
pub mod named;
pub mod quantity;
pub mod state;
pub mod statistics;
pub mod words;
