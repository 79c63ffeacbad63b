//! Age between two calendar days, for hoses, brake fluid, tyres and papers.

use jiff::Span;
use jiff::civil::Date;

use crate::calendar;

/// A span of the calendar: whole months, and the days since the last whole one.
///
/// A month is full on the same day of the month, or on the month's last day where there is no such day: what was made
/// on 29 February is a year old on 28 February.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Age {
    months: u32,
    days: u32,
    /// Days since the last birthday and days from it to the next.
    of_year: (u32, u32),
}

/// A span of the calendar that cannot be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AgeRefusal {
    /// The start lies after the day the age is asked for.
    #[error("start of an age must be on or before {on}, got {from}")]
    FromTheFuture {
        /// The start given.
        from: Date,
        /// The day the age is asked for.
        on: Date,
    },
    /// The end of the calendar is reached.
    #[error("the calendar from {from} to {on} is too long to count")]
    TooLong {
        /// The start given.
        from: Date,
        /// The day the age is asked for.
        on: Date,
    },
}

impl Age {
    /// Age on a day of what began on another.
    ///
    /// The largest m with `from` + m months ≤ `on`, days after it counted singly.
    /// Source: calendar arithmetic (common practice). Worked: 2021-03-15 to 2026-11-24 is 5 years 8 months 9 days
    /// (tests/golden/evidence/physics.toml).
    ///
    /// # Errors
    /// [`AgeRefusal`] if `from` lies after `on`, or at the end of the calendar.
    pub fn between(from: Date, on: Date) -> Result<Self, AgeRefusal> {
        if from > on {
            return Err(AgeRefusal::FromTheFuture { from, on });
        }
        let too_long = AgeRefusal::TooLong { from, on };
        let after =
            |months: i32| Span::new().try_months(months).and_then(|span| from.checked_add(span)).map_err(|_| too_long);
        let begun =
            12 * (i32::from(on.year()) - i32::from(from.year())) + i32::from(on.month()) - i32::from(from.month());
        // Never below zero: in the month of the start itself `after(0)` is the start, which is not past `on`.
        let months = if begun > 0 && after(begun)? > on { begun - 1 } else { begun };
        let birthday = after(months - months % 12)?;
        let of_year = (days_between(birthday, on), days_between(birthday, after(months - months % 12 + 12)?));
        let days = days_between(after(months)?, on);
        Ok(Self { months: months.unsigned_abs(), days, of_year })
    }

    /// Whole months.
    #[must_use]
    pub fn whole_months(self) -> u32 {
        self.months
    }

    /// Whole years.
    #[must_use]
    pub fn whole_years(self) -> u32 {
        self.months / 12
    }

    /// Months since the last whole year, 0 to 11.
    #[must_use]
    pub fn months_of_year(self) -> u32 {
        self.months % 12
    }

    /// Days since the last whole month.
    #[must_use]
    pub fn days_of_month(self) -> u32 {
        self.days
    }

    /// Years with the part of the running year, by its own length of 365 or 366 days.
    #[must_use]
    pub fn decimal_years(self) -> f64 {
        let (since, of) = self.of_year;
        f64::from(self.whole_years()) + f64::from(since) / f64::from(of.max(1))
    }
}

fn days_between(from: Date, to: Date) -> u32 {
    calendar::days_between(from, to).unsigned_abs().try_into().unwrap_or(u32::MAX)
}
