//! Why a number was not accepted by the statistics.

/// A number, or a set of numbers, that has no meaning here. Nothing is repaired: it is refused.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// A number outside the range in which it means something; NaN is in no range.
    #[error("{what} must be {allowed}, got {got}")]
    OutOfRange {
        /// The number's name.
        what: &'static str,
        /// The range in words.
        allowed: &'static str,
        /// What was given.
        got: f64,
    },
    /// A window without any bound decides nothing.
    #[error("a window needs a lower or an upper bound")]
    NoBound,
    /// A window whose bounds cross holds no value.
    #[error("the lower bound {lower} must not lie above the upper bound {upper}")]
    Crossed {
        /// The lower bound given.
        lower: f64,
        /// The upper bound given.
        upper: f64,
    },
    /// A mean of nothing.
    #[error("at least one reading is needed to combine")]
    NoReadings,
}

/// Returns the number if it is finite.
pub(super) fn finite(what: &'static str, got: f64) -> Result<f64, Refusal> {
    within(what, got, "a finite number", got.is_finite())
}

/// Returns the number if it is finite and not negative; minus zero becomes zero.
pub(super) fn not_negative(what: &'static str, got: f64) -> Result<f64, Refusal> {
    within(what, got, "finite and at least 0", got.is_finite() && got >= 0.0).map(|number| number + 0.0)
}

/// Returns the number if it is finite and above zero.
pub(super) fn positive(what: &'static str, got: f64) -> Result<f64, Refusal> {
    within(what, got, "finite and above 0", got.is_finite() && got > 0.0)
}

/// Returns the number if `holds`, which the caller worked out from it.
pub(super) fn within(what: &'static str, got: f64, allowed: &'static str, holds: bool) -> Result<f64, Refusal> {
    if holds { Ok(got) } else { Err(Refusal::OutOfRange { what, allowed, got }) }
}
