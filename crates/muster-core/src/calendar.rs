//! A moment with the offset it was written with, so that its local date needs no time zone table.

use alloc::{format, string::String};
use core::{cmp::Ordering, fmt};

use jiff::{Timestamp, civil, tz::Offset};

/// A point in time as a person wrote it: ordered by the instant, shown in the zone it was written in.
#[derive(Clone, Copy, Debug)]
pub struct Moment {
    at: Timestamp,
    offset: Offset,
}

impl Moment {
    /// Returns the moment of an instant, seen with an offset from UTC.
    #[must_use]
    pub const fn new(at: Timestamp, offset: Offset) -> Self {
        Self { at, offset }
    }

    /// Reads ISO 8601 with an offset: `2026-11-24T07:52:00+00:00`.
    ///
    /// # Errors
    /// [`NotAMoment`] without date, time or offset.
    pub fn parse(text: &str) -> Result<Self, NotAMoment> {
        let refuse = || NotAMoment { text: text.chars().take(40).collect() };
        let pieces = jiff::fmt::temporal::DateTimeParser::new().parse_pieces(text).map_err(|_| refuse())?;
        let offset = pieces.to_numeric_offset().ok_or_else(refuse)?;
        let time = pieces.time().ok_or_else(refuse)?;
        let at = offset.to_timestamp(pieces.date().to_datetime(time)).map_err(|_| refuse())?;
        Ok(Self { at, offset })
    }

    /// The instant.
    #[must_use]
    pub const fn timestamp(self) -> Timestamp {
        self.at
    }

    /// The date where it was written.
    #[must_use]
    pub fn date(self) -> civil::Date {
        self.offset.to_datetime(self.at).date()
    }

    /// Hours and minutes where it was written: `07:52`.
    #[must_use]
    pub fn clock(self) -> String {
        let time = self.offset.to_datetime(self.at).time();
        format!("{:02}:{:02}", time.hour(), time.minute())
    }

    /// Seconds from an earlier moment to this one; negative if that is the later.
    #[must_use]
    pub fn seconds_since(self, earlier: Self) -> i64 {
        self.at.as_second().saturating_sub(earlier.at.as_second())
    }

    /// The moment some seconds later; the last there is if the calendar ends before.
    #[must_use]
    pub fn later_by(self, seconds: i64) -> Self {
        let second = self.at.as_second().saturating_add(seconds);
        Self { at: Timestamp::from_second(second).unwrap_or(Timestamp::MAX), ..self }
    }
}

impl PartialEq for Moment {
    fn eq(&self, other: &Self) -> bool {
        self.at == other.at
    }
}

impl Eq for Moment {}

impl PartialOrd for Moment {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Moment {
    fn cmp(&self, other: &Self) -> Ordering {
        self.at.cmp(&other.at)
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Written out: the library's own formatter takes more room in a phone's download than the rest of the calendar.
        let local = self.offset.to_datetime(self.at);
        let (date, time) = (local.date(), local.time());
        let seconds = self.offset.seconds();
        let sign = if seconds < 0 { '-' } else { '+' };
        let minutes = seconds.unsigned_abs() / 60;
        write!(f, "{:04}-{:02}-{:02}", date.year(), date.month(), date.day())?;
        write!(f, "T{:02}:{:02}:{:02}", time.hour(), time.minute(), time.second())?;
        write!(f, "{sign}{:02}:{:02}", minutes / 60, minutes % 60)
    }
}

/// Days from one date to another; negative if the second is the earlier.
#[must_use]
pub fn days_between(from: civil::Date, to: civil::Date) -> i64 {
    from.duration_until(to).as_hours().div_euclid(24)
}

/// A text that is no moment.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not a date and time with its offset: write it like 2026-11-24T07:52:00+00:00")]
pub struct NotAMoment {
    text: String,
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::string::ToString;

    #[test]
    fn a_moment_keeps_the_offset_it_was_written_with() {
        let moment = Moment::parse("2026-11-24T00:30:00+01:00").unwrap();
        assert_eq!(moment.to_string(), "2026-11-24T00:30:00+01:00");
        assert_eq!(moment.date(), civil::date(2026, 11, 24));
        assert_eq!(moment, Moment::parse("2026-11-23T23:30:00Z").unwrap());
        assert_eq!(moment.clock(), "00:30");
        for wrong in ["2026-11-24", "2026-11-24T00:30:00", "24.11.2026", "", "2026-13-01T00:00:00Z"] {
            assert!(Moment::parse(wrong).is_err(), "{wrong}");
        }
    }
}
