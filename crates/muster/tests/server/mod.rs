//! The server's doors, driven in this process.

mod kit;
mod story;
