//! People at the doors: who gets in, what each role may do, devices, erasure, riders' feedback. Names are invented.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod devices;
mod doors;
mod kit;
mod names;
mod retention;
mod riders;
mod settings;
mod signing_in;
