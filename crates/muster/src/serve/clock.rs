//! What time it is: the machine's own, or the demonstration's, which begins anew at each start.

use std::time::Instant;

use jiff::{Timestamp, tz::Offset};
use muster_core::calendar::Moment;

/// A clock.
#[derive(Clone, Copy, Debug)]
pub enum Clock {
    /// The machine's own, in UTC: the record keeps the offset; people see the site's own zone.
    Own,
    /// One that began at a moment and has run since.
    From(Moment, Instant),
    /// One that is told: whoever runs the server lets time pass.
    Told(fn() -> Moment),
    /// One that stands.
    Stands(Moment),
}

impl Clock {
    /// One that begins now at a moment.
    #[must_use]
    pub fn from(begins: Moment) -> Self {
        Self::From(begins, Instant::now())
    }

    /// Now.
    #[must_use]
    pub fn now(self) -> Moment {
        match self {
            Self::Own => Moment::new(Timestamp::now(), Offset::UTC),
            Self::From(begins, at) => begins.later_by(i64::try_from(at.elapsed().as_secs()).unwrap_or(i64::MAX)),
            Self::Told(now) => now(),
            Self::Stands(at) => at,
        }
    }
}
