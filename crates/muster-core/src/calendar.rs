//! A moment with the offset it was written with, so that its local date needs no time zone table; days between dates.
//!
//! Read and written here by hand, and without jiff's operators: its parser, its printer and their texts for every error
//! were a sixth of the module a phone loads. A test compares with them.

use alloc::{format, string::String};
use core::{cmp::Ordering, fmt};

use jiff::{SignedDuration, Timestamp, civil, tz::Offset};

/// A point in time as a person wrote it: ordered by the instant, shown in the zone it was written in.
#[derive(Clone, Copy, Debug)]
pub struct Moment {
    at: Timestamp,
    offset: Offset,
}

impl Moment {
    /// The first there is.
    pub const FIRST: Self = Self { at: Timestamp::MIN, offset: Offset::UTC };

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
        let read = || {
            let (date, rest) = leading_date(text)?;
            let (time, rest) = leading_time(rest.strip_prefix(['T', 't', ' '])?)?;
            let offset = offset(rest)?;
            Some(Self { at: offset.to_timestamp(date.to_datetime(time)).ok()?, offset })
        };
        read().ok_or_else(|| NotAMoment { text: text.chars().take(40).collect() })
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

    /// The moment some seconds later, or earlier if below zero; the last or first there is if the calendar ends before.
    #[must_use]
    pub fn later_by(self, seconds: i64) -> Self {
        let end = if seconds < 0 { Timestamp::MIN } else { Timestamp::MAX };
        let second = self.at.as_second().saturating_add(seconds);
        Self { at: Timestamp::from_second(second).unwrap_or(end), ..self }
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
        let local = self.offset.to_datetime(self.at);
        let seconds = self.offset.seconds();
        let sign = if seconds < 0 { '-' } else { '+' };
        let minutes = seconds.unsigned_abs() / 60;
        let (date, time) = (local.date(), local.time());
        let (hour, minute, second) = (time.hour(), time.minute(), time.second());
        write!(f, "{date}T{hour:02}:{minute:02}:{second:02}{sign}{:02}:{:02}", minutes / 60, minutes % 60)
    }
}

impl serde::Serialize for Moment {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for Moment {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(deserializer)?).map_err(serde::de::Error::custom)
    }
}

/// Reads a date: `2026-11-24`; none for anything else.
#[must_use]
pub fn date(text: &str) -> Option<civil::Date> {
    leading_date(text).filter(|(_, rest)| rest.is_empty()).map(|(date, _)| date)
}

/// Whole days from one date to another; below zero if that is the earlier.
#[must_use]
pub fn days_between(from: civil::Date, to: civil::Date) -> i64 {
    from.duration_until(to).as_secs() / DAY_SECONDS
}

/// The date some days later; the last there is if the calendar ends before.
#[must_use]
pub fn days_later(date: civil::Date, days: i32) -> civil::Date {
    date.saturating_add(SignedDuration::from_secs(i64::from(days) * DAY_SECONDS))
}

fn leading_date(text: &str) -> Option<(civil::Date, &str)> {
    let (year, rest) = digits(text, 4)?;
    let (month, rest) = digits(rest.strip_prefix('-')?, 2)?;
    let (day, rest) = digits(rest.strip_prefix('-')?, 2)?;
    let date = civil::Date::new(year.try_into().ok()?, month.try_into().ok()?, day.try_into().ok()?).ok()?;
    Some((date, rest))
}

/// Hours and minutes; seconds and up to nine digits of their fraction, if they are there.
fn leading_time(text: &str) -> Option<(civil::Time, &str)> {
    let (hour, rest) = digits(text, 2)?;
    let (minute, mut rest) = digits(rest.strip_prefix(':')?, 2)?;
    let (mut second, mut nanosecond) = (0, 0);
    if let Some(after) = rest.strip_prefix(':') {
        (second, rest) = digits(after, 2)?;
        if let Some(after) = rest.strip_prefix('.') {
            let count = after.bytes().take_while(u8::is_ascii_digit).count();
            let (fraction, after) = digits(after, count).filter(|_| (1..=9).contains(&count))?;
            nanosecond = (count..9).fold(fraction, |fraction, _| fraction * 10);
            rest = after;
        }
    }
    let (hour, minute, second) = (hour.try_into().ok()?, minute.try_into().ok()?, second.try_into().ok()?);
    Some((civil::Time::new(hour, minute, second, nanosecond).ok()?, rest))
}

/// `Z`, `+01:00`, `-05:30` or `+01`, and nothing behind it.
fn offset(text: &str) -> Option<Offset> {
    if matches!(text, "Z" | "z") {
        return Some(Offset::UTC);
    }
    let sign = if text.starts_with('-') { -1 } else { 1 };
    let (hours, rest) = digits(text.strip_prefix(['+', '-'])?, 2)?;
    let minutes = match rest.strip_prefix(':') {
        Some(rest) => digits(rest, 2).filter(|(minutes, rest)| *minutes < 60 && rest.is_empty())?.0,
        None if rest.is_empty() => 0,
        None => return None,
    };
    Offset::from_seconds(sign * (hours * 3600 + minutes * 60)).ok()
}

/// So many digits as a number of at most nine, and what stands behind them.
fn digits(text: &str, count: usize) -> Option<(i32, &str)> {
    let (digits, rest) = text.split_at_checked(count)?;
    let plain = digits.len() <= 9 && digits.bytes().all(|byte| byte.is_ascii_digit());
    Some((plain.then(|| digits.parse().ok()).flatten()?, rest))
}

const DAY_SECONDS: i64 = 86_400;

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
    use proptest::prelude::*;

    /// What jiff makes of a text: the reference.
    fn by_jiff(text: &str) -> Option<Moment> {
        let pieces = jiff::fmt::temporal::DateTimeParser::new().parse_pieces(text).ok()?;
        let offset = pieces.to_numeric_offset()?;
        Some(Moment { at: offset.to_timestamp(pieces.date().to_datetime(pieces.time()?)).ok()?, offset })
    }

    proptest! {
        #[test]
        fn moments_are_read_and_written_as_jiff_does(
            seconds in -62_135_510_400..253_402_200_000_i64, nanoseconds in 0..1_000_000_000_i32, minutes in -1559..=1559_i32,
        ) {
            let at = Timestamp::new(seconds, nanoseconds).unwrap();
            let moment = Moment { at, offset: Offset::from_seconds(minutes * 60).unwrap() };
            let local = moment.offset.to_datetime(at);
            let text = alloc::format!("{local}{}", &moment.to_string()[19..]);
            let (ours, theirs) = (Moment::parse(&text), by_jiff(&text));
            prop_assert_eq!(ours.as_ref().ok(), theirs.as_ref(), "{}", text);
            prop_assert_eq!(ours.map(|read| (read.at, read.offset)).ok(), Some((at, moment.offset)), "{}", text);
            prop_assert_eq!(moment.to_string()[..19].to_string(), local.strftime("%Y-%m-%dT%H:%M:%S").to_string());
            prop_assert_eq!(date(&text[..10]), text[..10].parse().ok());
        }

        #[test]
        fn what_is_read_here_jiff_reads_alike(
            text in r"[0-9]{3,5}-[01][0-9]-[0-3][0-9]([Tt ][0-2][0-9]:[0-6][0-9](:[0-6][0-9](\.[0-9]{0,10})?)?)?([Zz]|[+-][0-2][0-9](:[0-6][0-9])?)?"
        ) {
            if let Ok(moment) = Moment::parse(&text) {
                let theirs = by_jiff(&text);
                prop_assert_eq!(Some((moment.at, moment.offset)), theirs.map(|read| (read.at, read.offset)), "{}", text);
            }
            prop_assert_eq!(date(&text), if text.len() == 10 { text.parse().ok() } else { None });
        }
    }

    #[test]
    fn a_moment_keeps_the_offset_it_was_written_with() {
        let moment = Moment::parse("2026-11-24T00:30:00+01:00").unwrap();
        assert_eq!(moment.to_string(), "2026-11-24T00:30:00+01:00");
        assert_eq!(moment.date(), civil::date(2026, 11, 24));
        assert_eq!(moment, Moment::parse("2026-11-23T23:30:00Z").unwrap());
        assert_eq!(moment.clock(), "00:30");
        assert_eq!(moment.later_by(i64::MAX).timestamp(), Timestamp::MAX);
        assert_eq!(moment.later_by(i64::MIN).timestamp(), Timestamp::MIN);
        assert_eq!(Moment::parse("0026-01-02T03:04:05.678-09:30").unwrap().to_string(), "0026-01-02T03:04:05-09:30");
        for wrong in ["2026-11-24", "2026-11-24T00:30:00", "24.11.2026", "", "2026-13-01T00:00:00Z"] {
            assert!(Moment::parse(wrong).is_err(), "{wrong}");
        }
    }
    #[test]
    fn days_are_counted_over_leap_years_and_stop_at_the_ends() {
        let (from, to) = (civil::date(2024, 2, 28), civil::date(2024, 3, 1));
        assert_eq!((days_between(from, to), days_between(to, from)), (2, -2));
        assert_eq!(days_between(civil::date(1900, 1, 1), civil::date(2000, 1, 1)), 36_524);
        assert_eq!(days_later(from, 2), to);
        assert_eq!(days_later(to, -2), from);
        assert_eq!(days_later(civil::Date::MAX, 1), civil::Date::MAX);
        assert_eq!(days_later(civil::Date::MIN, i32::MIN), civil::Date::MIN);
    }
}
