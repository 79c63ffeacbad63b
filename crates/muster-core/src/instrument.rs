//! A gauge with a number: what it reads, how finely, how truly, when last compared.

use alloc::{string::String, vec::Vec};

use jiff::civil::Date;

use crate::{
    quantity::{Amount, Kind, Unit},
    statistics::{
        Refusal,
        repeats::{Accuracy, InstrumentError},
    },
    words::InstrumentKind,
};

/// An instrument of the yard.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    /// Its number.
    pub id: String,
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: InstrumentKind,
    /// What it reads.
    pub reads: Kind,
    /// The smallest step it shows.
    pub resolution: Amount,
    /// How true it is.
    pub accuracy: AccuracyOf,
    /// Its last good comparison.
    pub compared: Option<Date>,
    /// The day it was found bad, if it was and has not been put right.
    pub found_bad: Option<Date>,
    /// When it was bad before it was put right.
    pub spoilt: Vec<Spoilt>,
}

/// A time over which an instrument's readings are not to be trusted: it was found bad and put right since.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spoilt {
    /// The last good comparison before; none if there was none.
    pub since: Option<Date>,
    /// The day it was found bad.
    pub found: Date,
    /// The last day of it.
    pub last: Date,
}

/// How an instrument's accuracy is stated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AccuracyOf {
    /// The error is within ± this.
    HalfWidth(Amount),
    /// Expanded uncertainty, k = 2.
    ExpandedK2(Amount),
}

impl Instrument {
    /// What it adds to a reading, in the unit asked for.
    ///
    /// # Errors
    /// [`Refusal`] for a figure below zero.
    pub fn error(&self, unit: Unit) -> Result<InstrumentError, Refusal> {
        let step = |amount: Amount| amount.value() * amount.unit().step() / unit.step();
        let accuracy = match self.accuracy {
            AccuracyOf::HalfWidth(amount) => Accuracy::HalfWidth(step(amount)),
            AccuracyOf::ExpandedK2(amount) => Accuracy::ExpandedK2(step(amount)),
        };
        InstrumentError::new(step(self.resolution), accuracy)
    }

    /// Standard deviation of its lasting error as it is stated, in the unit asked for.
    #[must_use]
    pub fn deviation(&self, unit: Unit) -> f64 {
        let scale = |amount: Amount| amount.value() * amount.unit().step() / unit.step();
        match self.accuracy {
            AccuracyOf::HalfWidth(half) => scale(half) / libm::sqrt(3.0),
            AccuracyOf::ExpandedK2(two) => scale(two) / 2.0,
        }
    }

    /// Whether a reading of that day can be trusted: not between the last good comparison and being found bad, nor after,
    /// till a good comparison shows that it was put right.
    #[must_use]
    pub fn is_trusted(&self, day: Date) -> bool {
        self.spoilt_on(day).is_none()
    }

    /// The time of distrust a day lies in; one that is not over has no last day yet, and is given the day itself.
    #[must_use]
    pub fn spoilt_on(&self, day: Date) -> Option<Spoilt> {
        let now = self.found_bad.map(|found| Spoilt { since: self.compared, found, last: day });
        let mut all = self.spoilt.iter().copied().chain(now);
        all.find(|spoilt| spoilt.since.is_none_or(|since| day > since) && day <= spoilt.last)
    }
}
