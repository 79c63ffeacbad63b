//! One binary for every test of the program as it is run, and of the pages it writes.

mod cli;
mod page;
mod people;
mod server;
