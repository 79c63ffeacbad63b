//! Puts things in their cheapest order: places on a path, and the steps of a walk-round.

pub mod path;
