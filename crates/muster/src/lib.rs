//! What the program shows, keeps and serves: pages made from verdicts, lists, a calendar, the record on disk, the server.

pub mod calendar;
mod cores;
pub mod history;
pub mod import;
pub mod keeper;
pub mod list;
pub mod page;
pub mod people;
pub mod printed;
pub mod serve;
pub mod store;
