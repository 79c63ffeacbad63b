//! The command line: the effects around the pure core.
fn main() {}
