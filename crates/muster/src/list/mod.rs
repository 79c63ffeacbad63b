//! The lists a yard can be taken away as: each defined once, written as CSV or as JSON.

mod csv;
mod rows;
mod table;

use std::{fmt, str::FromStr};

use muster_core::{
    calendar::Moment,
    named::UnknownName,
    record::{payload::Role, rights::View},
};

pub use self::{
    csv::{disarmed, rearmed},
    rows::{NoList, Part, rows},
    table::{Cell, Column, Table},
};

/// A list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum List {
    /// Machines with their verdicts, what is tightest, what is due, who has them.
    Yard,
    /// Readings, of one machine or of all.
    Readings,
    /// Findings, open and closed.
    Findings,
    /// Workshop jobs.
    Jobs,
    /// Instruments with their comparisons.
    Instruments,
    /// People with their rights.
    People,
    /// Events of the record.
    Record,
}

impl List {
    /// All of them.
    pub const ALL: [Self; 7] =
        [Self::Yard, Self::Readings, Self::Findings, Self::Jobs, Self::Instruments, Self::People, Self::Record];

    /// Its name in addresses and on the command line.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Yard => "yard",
            Self::Readings => "readings",
            Self::Findings => "findings",
            Self::Jobs => "jobs",
            Self::Instruments => "instruments",
            Self::People => "people",
            Self::Record => "record",
        }
    }

    /// What has to be seen by whoever asks for it.
    #[must_use]
    pub const fn view(self) -> View {
        match self {
            Self::Yard | Self::Instruments => View::Yard,
            Self::Readings | Self::Findings | Self::Jobs => View::Machine,
            Self::People => View::People,
            Self::Record => View::Record,
        }
    }
}

impl FromStr for List {
    type Err = UnknownName;

    fn from_str(name: &str) -> Result<Self, UnknownName> {
        let allowed = "yard, readings, findings, jobs, instruments, people, record";
        Self::ALL.into_iter().find(|list| list.as_str() == name).ok_or(UnknownName { what: "list", allowed })
    }
}

impl fmt::Display for List {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// For whom a list is made, and when.
#[derive(Clone, Copy, Debug)]
pub struct For {
    /// What whoever asks does here: names are for those who see people.
    pub role: Role,
    /// The moment machines are judged at.
    pub now: Moment,
}
