//! People at the doors: who gets in, what each role may do, devices, erasure, riders' feedback. Names are invented.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod calendars;
mod devices;
mod doors;
mod imports;
mod kit;
mod lists;
mod names;
mod retention;
mod riders;
mod settings;
mod signing_in;
