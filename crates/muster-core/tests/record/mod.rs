//! The record: its laws, the sentences of letting out and keeping in, who may what, and its one byte form.
#![expect(clippy::unwrap_used, reason = "helpers of tests, in a binary of tests alone")]

mod apart;
mod bytes;
mod demo;
mod forms;
pub(crate) mod golden;
mod impounded;
mod instruments;
mod jobs;
mod kit;
mod laws;
mod looks;
mod out;
mod outings;
mod papers;
mod payloads;
mod private;
mod provisional;
mod refusals;
mod retention;
mod rights;
mod story;
mod tags;
mod trust;
