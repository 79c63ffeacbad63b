//! Stated practice: how long parts of each kind usually last, before any reading. Data (`data/wear.toml`), never a verdict.

use alloc::{string::String, vec::Vec};

use jiff::civil::Date;

use crate::{
    calendar::days_between,
    limit::{Counting, Limit},
    quantity::{Amount, Unit},
    source::Provenance,
};

/// What a kind's count runs in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// Distance, in 1000 km.
    Distance,
    /// Time, in 30 days.
    Days,
}

impl Clock {
    /// What one of the model's units is in km or days.
    #[must_use]
    pub const fn unit(self) -> f64 {
        match self {
            Self::Distance => 1000.0,
            Self::Days => 30.0,
        }
    }
}

/// The count of a day, where days are counted: from the year 2000, in 30 days.
#[must_use]
pub fn days_count(on: Date) -> f64 {
    days_between(Date::constant(2000, 1, 1), on) as f64 / Clock::Days.unit()
}

/// One kind of part that wears or ages, and what is usual of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Practice {
    /// The check it is read at.
    pub check: String,
    /// Where it is mounted, as in part events.
    pub part: String,
    /// What people call it.
    pub name: String,
    /// What to order when it is near its end; none: nothing is ordered, it is set or charged.
    pub order: Option<String>,
    /// What its count runs in.
    pub clock: Clock,
    /// Unit of `new`, `limit` and every figure of the kind.
    pub unit: Unit,
    /// What a new one usually shows.
    pub new: f64,
    /// The limit where nobody states one.
    pub limit: f64,
    /// How far (1000 km) or long (30 days) it usually goes from new to its limit.
    pub life: f64,
    /// How it usually varies.
    pub shape: Shape,
    /// Where it comes from.
    pub provenance: Provenance,
}

impl Practice {
    /// What there is to wear: |limit − new|.
    #[must_use]
    pub fn reach(&self) -> f64 {
        libm::fabs(self.limit - self.new)
    }
}

/// How a kind usually varies: each a centre that readings move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shape {
    /// Standard deviation of ln(usual life).
    pub life_deviation: f64,
    /// Spread of lives' rates, as a share of the mean rate.
    pub lives: f64,
    /// Spread of regimes, likewise.
    pub regimes: f64,
    /// Distance (or time) over which a regime is forgotten, in the model's units.
    pub memory: f64,
    /// Brownian variance, as a share of rate times reach.
    pub diffusion: f64,
    /// A reading's standard deviation, as a share of reach.
    pub reading: f64,
    /// Likeness of a machine's next life to its last.
    pub likeness: f64,
    /// Spread of next lives, as a share of the spread of lives.
    pub renewal: f64,
    /// Standard deviation of the level after a mounting, as a share of reach.
    pub fresh: f64,
}

impl Default for Shape {
    fn default() -> Self {
        Self {
            life_deviation: 0.5,
            lives: 0.30,
            regimes: 0.25,
            memory: 5.0,
            diffusion: 0.01,
            reading: 0.04,
            likeness: 0.5,
            renewal: 0.85,
            fresh: 0.03,
        }
    }
}

/// What is due by age or distance alone, whichever comes first.
#[derive(Clone, Debug, PartialEq)]
pub struct Interval {
    /// The check it belongs to.
    pub check: String,
    /// Where it is mounted, as in part events.
    pub part: String,
    /// What people call it.
    pub name: String,
    /// What to order; none: nothing.
    pub order: Option<String>,
    /// After so many km.
    pub km: Option<f64>,
    /// After so many days.
    pub days: Option<f64>,
    /// Where it comes from.
    pub provenance: Provenance,
}

/// A tyre whose air is lost between pumpings, and how fast that usually goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaking {
    /// The check its pressure is read at.
    pub check: String,
    /// What people call it.
    pub name: String,
    /// Usual loss in kPa a day.
    pub day_kpa: f64,
    /// Where it comes from.
    pub provenance: Provenance,
}

/// All stated practice.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Practices {
    /// Kinds that are read.
    pub kinds: Vec<Practice>,
    /// Kinds that are due by age or distance alone.
    pub intervals: Vec<Interval>,
    /// Tyres that lose air.
    pub leaks: Vec<Leaking>,
}

impl Practices {
    /// The kind read at a check.
    #[must_use]
    pub fn of(&self, check: &str) -> Option<&Practice> {
        self.kinds.iter().find(|kind| kind.check == check)
    }
}

/// What a new one shows, the strictest limit that counts, and whether practice had to stand in for it: `usual` is what
/// practice says of both.
#[must_use]
pub fn bounds(counting: &Counting<'_>, unit: Unit, usual: (f64, f64)) -> (f64, f64, bool) {
    let figure = |amount: Amount| amount.in_unit(unit);
    let strictest = |bound: fn(&Limit) -> Option<Amount>, stricter: fn(f64, f64) -> f64| {
        counting.bounds.iter().filter_map(|row| bound(row)).map(figure).reduce(stricter)
    };
    let limit = if usual.1 < usual.0 {
        strictest(|row| row.at_least, f64::max)
    } else {
        strictest(|row| row.at_most, f64::min)
    };
    let new = counting.new.map(figure);
    match (limit, new) {
        (Some(limit), Some(new)) => (new, limit, false),
        (Some(limit), None) => (limit + (usual.0 - usual.1), limit, false),
        (None, new) => (new.unwrap_or(usual.0), usual.1, true),
    }
}
