//! Why a formula gave no figure.

use crate::quantity::{OutOfRange, Unit, show};
use crate::statistics;
use alloc::string::String;

/// A formula that does not hold for what it was given. Nothing is extrapolated: it is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// An argument outside the range in which the formula is valid.
    #[error("{what} must be {allowed}, got {got}")]
    NotValid {
        /// The argument's name.
        what: &'static str,
        /// The range in words.
        allowed: &'static str,
        /// What was given, with its unit.
        got: String,
    },
    /// A result that no quantity of its kind can have.
    #[error(transparent)]
    Quantity(#[from] OutOfRange),
    /// An uncertainty that cannot be worked out.
    #[error(transparent)]
    Statistics(#[from] statistics::Refusal),
}

/// Returns the number if it lies in `min..=max`; NaN lies in no range.
pub(super) fn within(
    what: &'static str,
    value: f64,
    unit: Unit,
    (min, max, allowed): (f64, f64, &'static str),
) -> Result<f64, Refusal> {
    if (min..=max).contains(&value) {
        return Ok(value);
    }
    Err(not_valid(what, allowed, value, unit))
}

/// Returns the number if it is above zero.
pub(super) fn above_zero(what: &'static str, value: f64, unit: Unit) -> Result<f64, Refusal> {
    if value > 0.0 { Ok(value) } else { Err(not_valid(what, "above 0", value, unit)) }
}

/// Returns the refusal of an argument.
pub(super) fn not_valid(what: &'static str, allowed: &'static str, value: f64, unit: Unit) -> Refusal {
    Refusal::NotValid { what, allowed, got: show::plain(value, unit) }
}
