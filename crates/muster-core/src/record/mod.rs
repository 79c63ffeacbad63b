//! The record: what was read, by whom, and who let it out. Events are the only thing stored; all else is folded from them.
//!
//! Each device writes its own series; series are merged, never rewritten. What is folded depends on the set of events
//! alone, not on the order they arrived in: they are put in order by [`event::Place`], causal, then by id.

pub mod canonical;
pub mod carried;
pub mod decide;
pub mod event;
mod field;
pub mod fold;
pub mod heads;
pub mod held;
pub mod id;
pub mod job;
pub(crate) mod json;
pub mod judged;
pub mod known;
pub mod lapse;
pub mod machine_state;
pub mod paper;
pub mod payload;
pub mod private;
pub mod provisional;
pub mod retention;
pub mod rights;
pub mod tag_number;
pub mod upcast;
pub mod waiting;
pub mod walk_rounds;
pub mod yard_state;
