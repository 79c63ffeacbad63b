//! What the program shows and what it keeps: pages made from verdicts, and the record on disk.

pub mod page;
pub mod store;
