//! The thresholds of the verdict, the tyre rules and the costs of a walk: data, with their source.

use crate::{
    quantity::{AbsolutePressure, TemperatureDifference, Time},
    state::Stance,
    statistics::uncertainty::Probability,
};

/// Everything the rules take as given.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// Probabilities of conformance.
    pub verdict: Thresholds,
    /// When a tyre is cold, and how well its gas is known.
    pub tyre: TyreRule,
    /// What walking and changing state cost.
    pub walk: WalkCosts,
}

/// Probabilities of conformance a verdict asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thresholds {
    /// Below it a reading is a watch.
    pub fit: Probability,
    /// Below it a limit of class dangerous is a hold.
    pub dangerous: Probability,
    /// Below it a limit of class major is a hold.
    pub major: Probability,
    /// Above it a forecast that meets the limit is a watch.
    pub forecast: Probability,
}

/// When a tyre is cold, and how well its gas is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TyreRule {
    /// Tyre and air this near count as one temperature.
    pub cold_within: TemperatureDifference,
    /// Not ridden for this long.
    pub rested: Time,
    /// Standard uncertainty of the gas's temperature, at least.
    pub gas_u: TemperatureDifference,
    /// Standard uncertainty of the air's temperature.
    pub air_u: TemperatureDifference,
    /// The barometer where none was read.
    pub barometer: AbsolutePressure,
    /// Its standard uncertainty, in kPa.
    pub barometer_u_kpa: f64,
}

/// What walking and changing state cost, in milliseconds, and where the stations are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WalkCosts {
    /// From each station to each, in their order.
    pub between: [[u32; 6]; 6],
    /// From where the walk begins.
    pub from_start: [u32; 6],
    /// To reach each power: off, on, running.
    pub power: [u32; 3],
    /// To reach each stance, in their order.
    pub stance: [u32; Stance::ALL.len()],
    /// Running till warm.
    pub warm_up: u32,
}
