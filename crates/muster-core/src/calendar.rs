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
    /// Parsed here: the calendar's own parser and its error texts weigh 28 kB in a phone's download (measured, brotli), a
    /// seventh of the whole core, for forms this project does not take.
    ///
    /// # Errors
    /// [`NotAMoment`] without date, time or offset.
    pub fn parse(text: &str) -> Result<Self, NotAMoment> {
        let refuse = || NotAMoment { text: text.chars().take(40).collect() };
        let (day, rest) = text.split_at_checked(10).ok_or_else(refuse)?;
        let date = date(day).ok_or_else(refuse)?;
        let rest = rest.strip_prefix(['T', 't', ' ']).ok_or_else(refuse)?;
        let end = rest.find(['Z', 'z', '+', '-']).ok_or_else(refuse)?;
        let (clock, zone) = rest.split_at_checked(end).ok_or_else(refuse)?;
        let time = time(clock).ok_or_else(refuse)?;
        let offset = offset(zone).ok_or_else(refuse)?;
        let at = offset.to_timestamp(date.to_datetime(time)).map_err(|_| refuse())?;
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

/// Reads a date as ISO 8601 writes it: `2026-11-24`.
#[must_use]
pub fn date(text: &str) -> Option<civil::Date> {
    let mut parts = text.splitn(3, '-');
    let (year, month, day) = (digits(parts.next()?, 4)?, digits(parts.next()?, 2)?, digits(parts.next()?, 2)?);
    civil::Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

/// Reads `07:52` or `07:52:10`; a fraction of a second is passed over.
fn time(text: &str) -> Option<civil::Time> {
    let whole = text.split_once('.').map_or(text, |(whole, _)| whole);
    let mut parts = whole.splitn(3, ':');
    let (hour, minute) = (digits(parts.next()?, 2)?, digits(parts.next()?, 2)?);
    let second = parts.next().map_or(Some(0), |text| digits(text, 2))?;
    let byte = |value: i16| i8::try_from(value).ok();
    civil::Time::new(byte(hour)?, byte(minute)?, byte(second)?, 0).ok()
}

/// Reads `Z` or `+01:00`.
fn offset(text: &str) -> Option<Offset> {
    if text.eq_ignore_ascii_case("z") {
        return Some(Offset::UTC);
    }
    let (sign, rest) = text.split_at_checked(1)?;
    let (hours, minutes) = rest.split_once(':')?;
    let seconds =
        3600 * i32::from(digits(hours, 2)?) + 60 * i32::from(digits(minutes, 2).filter(|minutes| *minutes < 60)?);
    Offset::from_seconds(if sign == "-" { -seconds } else { seconds }).ok()
}

fn digits(text: &str, count: usize) -> Option<i16> {
    (text.len() == count && text.bytes().all(|byte| byte.is_ascii_digit())).then(|| text.parse().ok()).flatten()
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
