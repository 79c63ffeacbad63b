//! What is done at the kerb beside a walk-round: rounds, falls, returns, scanning, a class let out.

mod asked;
mod digits;
mod dock;
mod fall;
mod line;
mod looks;
mod parts;
mod returned;
mod riding;
mod round;
mod row;
mod scan;
mod session;
mod tag;
mod walk;
mod well;

pub(crate) use fall::Fall;
pub(crate) use returned::Return;
pub(crate) use round::{Round, Rounds};
pub(crate) use scan::Scan;
pub(crate) use session::SessionScreen;
pub(crate) use tag::TagScreen;
