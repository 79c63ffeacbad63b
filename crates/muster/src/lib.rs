//! What the program shows, keeps and serves: pages made from verdicts, the record on disk, the server.

pub mod history;
pub mod keeper;
pub mod page;
pub mod people;
pub mod serve;
pub mod store;
