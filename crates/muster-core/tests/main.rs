//! All integration tests of the core, in one binary.
#![expect(clippy::disallowed_methods, reason = "a reference comes from another implementation on purpose")]

mod domain;
mod evidence;
mod forecast;
mod formula;
mod laws;
mod outing;
mod packs;
mod record;
mod robust;
mod statistics;
