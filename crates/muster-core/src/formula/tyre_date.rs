//! The date code on a tyre's wall: the week and year it was made.

use super::age::{Age, AgeRefusal};
use crate::calendar;
use alloc::string::{String, ToString};
use core::fmt;
use jiff::civil::{Date, Weekday};

/// The week a tyre was made in.
///
/// Invariant: week 1 to 53, year 2000 to 2099.
///
/// The last four digits of the identification on the wall: week, then the last two digits of the year. Week 01 is the
/// first full calendar week, Sunday to Saturday; the last week of a year may run up to six days into the next.
/// Source: 49 CFR 574.5(b)(3) (read in a public quotation). Makers elsewhere may count weeks by ISO 8601, whose weeks
/// begin up to six days earlier or one later: hence [`Self::WEEK_DOUBT_DAYS`].
/// Worked: 3219 is the week from Sunday 2019-08-11 (tests/golden/evidence/physics.toml).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TyreDate {
    year: i16,
    week: i8,
}

/// A marking that tells no week of making.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TyreDateRefusal {
    /// No code at the end of what was read.
    #[error("tyre date must end in four digits, week then year, as in 3219; got {got}")]
    NotACode {
        /// What was read.
        got: String,
    },
    /// A three-digit code, used until July 2000: the year's last digit does not tell the decade.
    #[error(
        "tyre date {code} has three digits: made before 2000, decade not known; the age cannot be told, replace it"
    )]
    BeforeMillennium {
        /// The three digits.
        code: String,
    },
    /// A week no year has.
    #[error("week of a tyre date must be 01 to 53, got {week:02}")]
    NoSuchWeek {
        /// The week read.
        week: u8,
    },
    /// Made after the day it was read, by more than the doubt about its week.
    #[error("tyre date {code} begins on {begins}, after {on}: read the code or the date again")]
    FromTheFuture {
        /// The code.
        code: String,
        /// Its first day.
        begins: Date,
        /// The day it was compared with.
        on: Date,
    },
    /// The calendar ends.
    #[error(transparent)]
    Age(#[from] AgeRefusal),
}

impl TyreDate {
    /// How far the week may be off, either way, because makers count weeks in two ways.
    pub const WEEK_DOUBT_DAYS: i32 = 7;

    /// Reads a code, alone (`3219`) or as the end of the whole identification (`DOT A1B2 C3D4 3219`).
    ///
    /// # Errors
    /// [`TyreDateRefusal`] for what is no code, a three-digit code, and a week no year has.
    pub fn parse(text: &str) -> Result<Self, TyreDateRefusal> {
        let not_a_code = || TyreDateRefusal::NotACode { got: text.trim().to_string() };
        let last = text.split(|c: char| c.is_whitespace() || c == '-').rfind(|group| !group.is_empty());
        let last = last.ok_or_else(not_a_code)?;
        let digits_at = last
            .rfind(|c: char| !c.is_ascii_digit())
            .map_or(0, |at| at + last.get(at..).and_then(|rest| rest.chars().next()).map_or(1, char::len_utf8));
        let digits = last.get(digits_at..).unwrap_or_default();
        // Written without spaces, digits of the maker's own code may stand before the last four.
        let alone = digits.len() == last.len();
        match digits.len() {
            3 => Err(TyreDateRefusal::BeforeMillennium { code: digits.to_string() }),
            4 => Self::of_digits(digits).unwrap_or_else(|| Err(not_a_code())),
            5.. if !alone => {
                let four = digits.len().checked_sub(4).and_then(|at| digits.get(at..)).unwrap_or_default();
                Self::of_digits(four).unwrap_or_else(|| Err(not_a_code()))
            }
            _ => Err(not_a_code()),
        }
    }

    /// Takes a week, 1 to 53, and the last two digits of a year from 2000.
    ///
    /// # Errors
    /// [`TyreDateRefusal::NoSuchWeek`], or [`TyreDateRefusal::NotACode`] for a year above 99.
    pub fn new(week: u8, year_of_century: u8) -> Result<Self, TyreDateRefusal> {
        if year_of_century > 99 {
            return Err(TyreDateRefusal::NotACode { got: year_of_century.to_string() });
        }
        match i8::try_from(week) {
            Ok(checked @ 1..=53) => Ok(Self { year: 2000 + i16::from(year_of_century), week: checked }),
            _ => Err(TyreDateRefusal::NoSuchWeek { week }),
        }
    }

    /// The week, 1 to 53.
    #[must_use]
    pub fn week(self) -> i8 {
        self.week
    }

    /// The year.
    #[must_use]
    pub fn year(self) -> i16 {
        self.year
    }

    /// The Sunday the week begins on. It may be off by [`Self::WEEK_DOUBT_DAYS`] either way.
    #[must_use]
    pub fn first_day(self) -> Date {
        let new_year = Date::constant(self.year, 1, 1);
        let to_sunday = i32::from(new_year.weekday().until(Weekday::Sunday));
        calendar::days_later(new_year, to_sunday + 7 * (i32::from(self.week) - 1))
    }

    /// The Saturday the week ends on. It may be off by [`Self::WEEK_DOUBT_DAYS`] either way.
    #[must_use]
    pub fn last_day(self) -> Date {
        calendar::days_later(self.first_day(), 6)
    }

    /// Age on a day, counted from the first day of the week; zero if that day lies within the doubt about the week.
    ///
    /// # Errors
    /// [`TyreDateRefusal::FromTheFuture`] if the week begins later than the doubt allows.
    pub fn age_at(self, on: Date) -> Result<Age, TyreDateRefusal> {
        let begins = self.first_day();
        if begins > calendar::days_later(on, Self::WEEK_DOUBT_DAYS) {
            return Err(TyreDateRefusal::FromTheFuture { code: self.to_string(), begins, on });
        }
        Ok(Age::between(begins.min(on), on)?)
    }

    /// Returns the date of four digits; none if they are something else.
    fn of_digits(four: &str) -> Option<Result<Self, TyreDateRefusal>> {
        let week = four.get(..2)?.parse().ok()?;
        let year = four.get(2..)?.parse().ok()?;
        Some(Self::new(week, year))
    }
}

impl fmt::Display for TyreDate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}{:02}", self.week, self.year % 100)
    }
}
