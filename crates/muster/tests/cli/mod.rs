//! The command line: exit codes, output, bad input, the way from a form to a verdict.

mod bad_input;
mod classing;
mod commands;
mod extending;
mod figure;
mod filling;
mod lists;
mod outing;
mod program;
mod record;
mod text;
