//! A gauge with a number: what it reads, how finely, how truly, when last compared.

use alloc::string::String;

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
    /// The day it was found bad, if it was.
    pub found_bad: Option<Date>,
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

    /// Whether a reading of that day can be trusted: not between the last good comparison and being found bad, nor after.
    #[must_use]
    pub fn is_trusted(&self, day: Date) -> bool {
        self.found_bad.is_none() || self.compared.is_some_and(|compared| day <= compared)
    }
}
