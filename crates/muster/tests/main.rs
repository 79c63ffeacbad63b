//! One binary for every test of the program as it is run, of the pages it writes, and of the record on disk.

mod cli;
mod page;
mod people;
mod server;
mod store;
