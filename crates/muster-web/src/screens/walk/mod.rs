//! The walk-round on a phone: start, one check a screen, verdict.

mod about;
mod awake;
mod course;
mod day;
mod end;
mod fields;
mod finding;
mod gauges;
mod head;
mod list;
mod look;
mod onward;
mod photo;
mod read;
mod reasons;
mod release;
mod say;
mod screen;
mod start;
mod summary;
mod tag;
mod typed;
mod walking;
mod worked;

pub(crate) use screen::WalkScreen;
pub(crate) use start::StartScreen;
pub(crate) use summary::SummaryScreen;
pub(crate) use typed::{TypedScreen, TypedStart};
