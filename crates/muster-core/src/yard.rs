//! The yard: its instruments, its rules, its sheets and its machines.

use alloc::{collections::BTreeMap, string::String, sync::Arc, vec::Vec};

use crate::{
    calendar::Moment,
    forecast::estimate::Estimate,
    instrument::Instrument,
    limit::Limit,
    machine::{Machine, Sheet},
    quantity::{Time, text::DecimalSign},
    words::Uses,
};

/// Which units figures are shown in; chosen once.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// SI and the units used with it.
    #[default]
    Si,
    /// US customary.
    Us,
}

/// Everything a yard holds but its forms.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Yard {
    /// Its name.
    pub name: String,
    /// IANA name of its time zone; the shell resolves it.
    pub time_zone: String,
    /// Units shown.
    pub units: Units,
    /// Decimal sign of its forms.
    pub sign: DecimalSign,
    /// Its law pack.
    pub law: Option<String>,
    /// The moment a demonstration is judged at.
    pub on: Option<Moment>,
    /// Instruments by number.
    pub instruments: BTreeMap<String, Instrument>,
    /// House limits.
    pub house: Vec<Limit>,
    /// Conditions a watch is let out on.
    pub conditions: Vec<HouseCondition>,
    /// How long names and photos are kept.
    pub retention: Retention,
    /// Sheets by name.
    pub sheets: BTreeMap<String, Sheet>,
    /// Machines by fleet number.
    pub machines: BTreeMap<String, Machine>,
    /// SHA-256 of all its files, in hexadecimal.
    pub hash: String,
    /// The newest forecast of wear in its record.
    pub forecast: Option<Arc<Estimate>>,
}

/// How long the house keeps what concerns people; what is none is kept for good.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Retention {
    /// Names, after the last event that is a person's or names them.
    pub names: Option<HowLong>,
    /// Photos, after the last event that they belong to.
    pub photos: Option<HowLong>,
}

/// A span of time as the house wrote it.
#[derive(Clone, Debug, PartialEq)]
pub struct HowLong {
    /// As it was typed: `3 years`.
    pub says: String,
    /// The span; a year has 365.25 days.
    pub lasts: Time,
}

/// A watch on this check lets the machine out on this condition, for these uses; for the others it is a hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HouseCondition {
    /// The check.
    pub check: String,
    /// The condition, in words.
    pub says: String,
    /// The uses it allows.
    pub uses: Uses,
}
