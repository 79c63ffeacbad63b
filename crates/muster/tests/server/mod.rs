//! The server's doors, driven in this process.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod faults;
pub(crate) mod kit;
mod outing;
mod paper;
mod readings;
mod running;
mod story;
