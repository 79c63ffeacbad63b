//! One binary for every test of the program as it is run.

mod cli;
