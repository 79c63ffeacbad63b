//! The project's automation.
fn main() {}
