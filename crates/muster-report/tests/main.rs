//! The proofs of paper: each document from the demonstration, its pages, its words, and what it refuses.

mod demo;
mod documents;
mod hard;
