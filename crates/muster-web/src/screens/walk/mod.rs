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

pub(super) use release::{moment_at, people, rostered};
pub(crate) use screen::WalkScreen;
pub(crate) use start::StartScreen;
pub(super) use start::use_word;
pub(crate) use summary::SummaryScreen;
pub(super) use tag::{TagAsked, TagForm};
pub(crate) use typed::{TypedScreen, TypedStart};
pub(super) use walking::{Goer, goer};
