//! Finds where a falling function crosses zero, by bisection.
//!
//! Bisection needs no slope, always ends, and takes the same path on every machine.

/// Returns the largest number found in `low..=high` at which the falling function is still ≥ 0.
///
/// Wants `falling(low) ≥ 0`; where that does not hold, `low` comes back. Ends when no number lies between the two
/// ends of the bracket, so the result is as exact as `falling` itself.
pub(super) fn last_not_negative(mut low: f64, mut high: f64, falling: impl Fn(f64) -> f64) -> f64 {
    if falling(high) >= 0.0 {
        return high;
    }
    // A bracket halves to neighbouring floats in at most 64 steps per binary order; this bound is never met.
    for _ in 0..2200 {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if falling(middle) >= 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}
