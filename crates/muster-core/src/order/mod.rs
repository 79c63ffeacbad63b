//! Puts things in their cheapest order: places on a path, and the steps of a walk-round.
//!
//! A walk-round starts from the state a machine is found in. [`plan`] returns the order of steps
//! and state changes that takes the least time of all that respect these rules:
//!
//! - cold-only steps come before the engine runs; steps with the engine running come last, but for
//!   those that need a warmed machine (and steps after them), which follow the warm-up;
//! - each state (heat, power, stance) is entered at most once for steps; key-on states lie together
//!   before, and again after, the engine has run, so do key-off states; so do seated ones within one power;
//! - no station is left and re-entered within one state; each step comes after those it names.
//!
//! Nothing cools in a walk-round: what needs it colder is deferred, with the reason.
//! Both solvers are exact; see [`path`] for the sources.

mod bounds;
mod check;
mod line;
pub mod path;
mod phases;
mod search;

pub use crate::state::{Heat, Needs, Power, Stance, State, Station};
pub use check::{Violation, violations};
pub use phases::{
    Act, Change, Costs, DeferReason, Deferred, MAX_STEPS, NoWalk, PlannedStep, PowerCosts, Step, WalkPlan, plan,
};

#[cfg(test)]
mod phases_tests;
