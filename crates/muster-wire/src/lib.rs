//! What the server and those who ask it say to each other: one struct a body, read and written by both.

pub mod calendar;
pub mod carried;
pub mod command;
pub mod devices;
pub mod forecast;
pub mod glance;
pub mod history;
pub mod import;
pub mod latest;
pub mod machine;
pub mod outing;
pub mod paper;
pub mod people;
pub mod readings;
pub mod record;
pub mod retention;
pub mod settings;
pub mod sync;
pub mod yard;
