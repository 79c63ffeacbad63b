//! All integration tests of the core, in one binary.

mod evidence;
mod formula;
mod robust;
mod statistics;
