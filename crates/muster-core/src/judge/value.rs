//! The verdict of readings against one limit: the arithmetic alone, without words.

use super::{
    Verdict,
    case::{snapped, verdict},
};
use crate::{
    rule::Thresholds,
    statistics::{
        Refusal,
        conformance::Window,
        repeats::{self, InstrumentError, Repeatability},
        uncertainty::{Probability, StandardUncertainty},
    },
    words::Class,
};

/// What was read at one place with one instrument, in the limit's unit, and how well it can be known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Readings<'r> {
    /// The repeats.
    pub values: &'r [f64],
    /// What the instrument adds.
    pub error: InstrumentError,
    /// What is known of the scatter of such readings.
    pub repeatability: Option<Repeatability>,
}

/// A value weighed against a window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighed {
    /// That the true value conforms.
    pub probability: Probability,
    /// The value, or any single repeat, lies past the limit: further repeats do not launder a miss.
    pub past: bool,
    /// What follows for the class of the limit.
    pub verdict: Verdict,
}

/// How grave a miss is, and how sure one has to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked<'a> {
    /// The class of the limit.
    pub class: Class,
    /// The probabilities asked for.
    pub thresholds: &'a Thresholds,
}

/// Judges readings that need no correction: repeats combined, conformance, verdict.
///
/// # Errors
/// [`Refusal`] for no reading, or one that is not finite.
pub fn judge_value(window: Window, readings: &Readings<'_>, asked: Asked<'_>) -> Result<Weighed, Refusal> {
    let estimate = repeats::combined(readings.values, readings.error, readings.repeatability)?;
    // A mean may miss a bound by its own rounding alone; what was read past it is past for each repeat.
    let value = snapped(estimate.value(), window);
    weigh(window, readings.values, 0.0, (value, estimate.u()), asked)
}

/// Weighs a corrected value and its uncertainty. Each repeat counts as far as the correction, `shift`, would take it.
pub(super) fn weigh(
    window: Window,
    values: &[f64],
    shift: f64,
    (value, u): (f64, StandardUncertainty),
    asked: Asked<'_>,
) -> Result<Weighed, Refusal> {
    let probability = window.conformance(value, u)?;
    // An exact zero is no correction at all: then the repeats stand as they were read.
    let exact = shift.total_cmp(&0.0).is_eq();
    let moved = |value: &f64| if exact { *value } else { snapped(value + shift, window) };
    let past = !window.contains(value) || values.iter().any(|value| !window.contains(moved(value)));
    Ok(Weighed { probability, past, verdict: verdict(past, probability, asked.class, asked.thresholds) })
}
