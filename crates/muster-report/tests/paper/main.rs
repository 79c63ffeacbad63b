//! The proofs of paper: each document from the demonstration, its pages, its words, and what it refuses.

#[cfg(test)]
mod demo;
#[cfg(test)]
mod documents;
#[cfg(test)]
mod hard;
