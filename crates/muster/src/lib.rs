//! What the program shows: pages made from verdicts, without a file, a clock or a network.

pub mod page;
