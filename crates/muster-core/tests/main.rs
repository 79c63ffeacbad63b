//! All integration tests of the core, in one binary.

mod domain;
mod evidence;
mod formula;
mod laws;
mod robust;
mod statistics;
