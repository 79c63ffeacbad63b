//! One thing to look at, feel or measure: where, in what state, how, what it yields, how long it counts.

use alloc::{boxed::Box, collections::BTreeMap, format, string::String, vec::Vec};
use core::fmt;

use crate::{
    equipment::{Condition, Equipment, Holds},
    quantity::{Amount, Bounds, Kind, Unit, convert, show},
    source::Provenance,
    state::{Needs, Station},
    words::{Class, Ending, InstrumentKind, Use, Uses},
};

/// A check of the catalogue.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// Its id: `tyre.front.pressure`.
    pub id: String,
    /// Its name: `Front tyre pressure`.
    pub name: String,
    /// Where it is done.
    pub station: Station,
    /// How, in two short lines.
    pub method: Vec<String>,
    /// What can hurt someone here.
    pub caution: Option<String>,
    /// Common practice of the trade, shown as such.
    pub practice: Option<String>,
    /// How long it takes, in seconds.
    pub seconds: u32,
    /// How grave a defect is, unless a law pack or a finder says more.
    pub class: Class,
    /// Item of the model classes.
    pub item: Option<String>,
    /// The uses it binds.
    pub uses: Uses,
    /// What a machine must have for it to apply.
    pub applies: Condition,
    /// What a machine must not lack for these uses.
    pub requires: Condition,
    /// The state it needs.
    pub needs: Needs,
    /// How long an answer counts, by use.
    pub life: Lives,
    /// What ends an answer's life early.
    pub ends_with: Vec<Ending>,
    /// Prepared the evening before and read first.
    pub evening: bool,
    /// What it yields.
    pub yields: Yields,
    /// Itself on machines with this equipment, where its words or its place are others; what a machine does not state
    /// leaves it as it is.
    pub differs: Vec<(Condition, Check)>,
}

impl Check {
    /// The check as a machine with this equipment is asked it: where and in what words. The first that holds counts.
    #[must_use]
    pub fn on(&self, equipment: &Equipment) -> &Self {
        let own = self.differs.iter().find(|(on, _)| on.holds(equipment) == Holds::Yes);
        own.map_or(self, |(_, own)| own)
    }

    /// All that a row of `differs` may change.
    pub(crate) fn says(&self) -> impl PartialEq + '_ {
        let look = match &self.yields {
            Yields::Look(look) => Some(look),
            Yields::Read(_) | Yields::Date(_) => None,
        };
        (&self.name, self.station, &self.method, &self.caution, &self.practice, self.needs, look)
    }
}

/// What a check yields: exactly one of these.
#[derive(Clone, Debug, PartialEq)]
pub enum Yields {
    /// An observation.
    Look(Look),
    /// A reading.
    Read(Box<Measure>),
    /// A date.
    Date(DateOf),
}

/// What each answer of a look-and-feel check looks like.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Look {
    /// As it should be.
    pub sound: String,
    /// Not sure.
    pub doubtful: String,
    /// Not as it should be.
    pub defective: String,
    /// Places to answer for one by one; none for one answer.
    pub places: Vec<String>,
}

/// How a reading is taken and shown.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// The kind of quantity.
    pub kind: Kind,
    /// Unit and decimals on the SI side.
    pub si: Shown,
    /// Unit and decimals on the US customary side.
    pub us: Shown,
    /// Outside this a figure is a slip of the keys.
    pub range: Bounds,
    /// Places read one by one; the worst counts.
    pub places: Vec<String>,
    /// A difference between places worth saying.
    pub across: Option<Amount>,
    /// What it may be read with.
    pub instruments: Vec<InstrumentKind>,
    /// How far readings by hand scatter.
    pub repeatability: Option<Scatter>,
    /// What takes a reading to the conditions of its limit.
    pub correction: Option<Correction>,
    /// What is done when it is off.
    pub settable: Option<Settable>,
}

/// A unit and how many decimals are shown in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shown {
    /// The unit.
    pub unit: Unit,
    /// Decimals.
    pub decimals: usize,
}

impl Shown {
    /// A figure given in another unit, as it is shown.
    #[must_use]
    pub fn text(self, value: f64, from: Unit) -> String {
        show::rounded(convert(value, from, self.unit), self.decimals, self.unit)
    }

    /// A figure as it is shown, but without its unit.
    #[must_use]
    pub fn figure(self, value: f64, from: Unit) -> String {
        show::fixed(convert(value, from, self.unit), self.decimals, self.unit)
    }

    /// A difference of two figures, as it is shown: of temperatures in kelvin, for 3 °C is a temperature itself.
    #[must_use]
    pub fn difference(self, value: f64, from: Unit) -> String {
        let unit = if self.unit == Unit::Celsius { Unit::Kelvin } else { self.unit };
        show::rounded(value * from.step() / unit.step(), self.decimals, unit)
    }

    /// An uncertainty: one decimal more than the figure where it would else read as nothing.
    #[must_use]
    pub fn uncertainty(self, value: f64, from: Unit) -> String {
        let value = value * from.step() / self.unit.step();
        let nothing = match self.decimals {
            1 => 0.05, // what most figures have, and a power costs more than the rest of it
            decimals => 0.5 * libm::pow(10.0, -(decimals as f64)),
        };
        let decimals = if value < nothing { self.decimals + 1 } else { self.decimals };
        show::grouped(&format!("{value:.decimals$}"))
    }
}

/// How far single readings scatter about the true value when one person repeats them.
#[derive(Clone, Debug, PartialEq)]
pub struct Scatter {
    /// Standard deviation of a single reading.
    pub deviation: Amount,
    /// Degrees of freedom it rests on.
    pub degrees: f64,
    /// Where it comes from.
    pub provenance: Provenance,
}

/// What takes a reading to the conditions its limit is given for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Correction {
    /// Tyre pressure to the air's temperature: exact, by the gas law.
    TyreGas,
    /// Oil level on a machine that leans otherwise than its sheet supposes: modelled.
    OilLean,
}

/// What is set and read again in the same walk-round.
#[derive(Clone, Debug, PartialEq)]
pub struct Settable {
    /// The act in a word: `pumped`.
    pub act: String,
    /// Being off by more than this asks why first.
    pub far_off: Amount,
    /// What to look for then.
    pub why: String,
}

/// What a date says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateOf {
    /// A paper runs out: judged at the planned return.
    Expires,
    /// A part was made: judged by its age in years.
    Made {
        /// Written as a tyre's week and year.
        tyre_code: bool,
    },
}

/// How long an answer counts; whichever ends first. Neither given: this outing alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Life {
    /// Days; 0 is today.
    pub days: Option<u16>,
    /// Kilometres ridden.
    pub km: Option<f64>,
}

impl fmt::Display for Life {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.days, self.km) {
            (None, None) => f.write_str("this outing"),
            (Some(0), None) => f.write_str("today"),
            (Some(days), None) => write!(f, "{days} days"),
            (None, Some(km)) => f.write_str(&show::plain(km, Unit::Kilometre)),
            (Some(days), Some(km)) => write!(f, "{days} days or {}", show::plain(km, Unit::Kilometre)),
        }
    }
}

/// A life for each use.
#[derive(Clone, Debug, PartialEq)]
pub struct Lives {
    /// For uses without their own.
    pub other: Life,
    /// By use.
    pub by_use: BTreeMap<Use, Life>,
}

impl Lives {
    /// The life for a use.
    #[must_use]
    pub fn of(&self, one: Use) -> Life {
        self.by_use.get(&one).copied().unwrap_or(self.other)
    }
}
