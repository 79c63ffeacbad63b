//! The probability that the true value lies inside its window, and which readings leave enough of it.
//!
//! All of it takes the reading as the only knowledge there is (a flat prior) and the error as normal, or as Student's
//! where the spread is known from few readings only.

use super::refusal::{Refusal, finite, within};
use super::student::{self, DegreesOfFreedom};
use super::uncertainty::{Probability, StandardUncertainty};
use super::{normal, root};

/// The values that conform: at least, at most, or within. A value on a bound conforms.
///
/// Invariant: at least one bound; bounds and width finite; lower ≤ upper. Unit: that of the value compared with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    lower: Option<f64>,
    upper: Option<f64>,
}

impl Window {
    /// Returns the window between the bounds given.
    ///
    /// # Errors
    /// Refuses a window without a bound, with crossed bounds, or with a bound or width that is not finite.
    pub fn new(lower: Option<f64>, upper: Option<f64>) -> Result<Self, Refusal> {
        let lower = lower.map(|bound| finite("lower bound", bound)).transpose()?;
        let upper = upper.map(|bound| finite("upper bound", bound)).transpose()?;
        match (lower, upper) {
            (None, None) => Err(Refusal::NoBound),
            (Some(lower), Some(upper)) if lower > upper => Err(Refusal::Crossed { lower, upper }),
            (Some(low), Some(high)) => finite("window width", high - low).map(|_| Self { lower, upper }),
            _ => Ok(Self { lower, upper }),
        }
    }

    /// Returns the window of everything at or above `lower`.
    ///
    /// # Errors
    /// Refuses a bound that is not finite.
    pub fn at_least(lower: f64) -> Result<Self, Refusal> {
        Self::new(Some(lower), None)
    }

    /// Returns the window of everything at or below `upper`.
    ///
    /// # Errors
    /// Refuses a bound that is not finite.
    pub fn at_most(upper: f64) -> Result<Self, Refusal> {
        Self::new(None, Some(upper))
    }

    /// Returns the window from `lower` to `upper`, both conforming.
    ///
    /// # Errors
    /// Refuses crossed bounds, and a bound or width that is not finite.
    pub fn within(lower: f64, upper: f64) -> Result<Self, Refusal> {
        Self::new(Some(lower), Some(upper))
    }

    /// Returns the lower bound, if there is one.
    #[must_use]
    pub fn lower(self) -> Option<f64> {
        self.lower
    }

    /// Returns the upper bound, if there is one.
    #[must_use]
    pub fn upper(self) -> Option<f64> {
        self.upper
    }

    /// Returns the distance between the bounds, if there are two.
    #[must_use]
    pub fn width(self) -> Option<f64> {
        Some(self.upper? - self.lower?)
    }

    /// Decides whether `value`, taken as exact, conforms; equality does, NaN does not.
    #[must_use]
    pub fn contains(self, value: f64) -> bool {
        !value.is_nan()
            && self.lower.is_none_or(|lower| value >= lower)
            && self.upper.is_none_or(|upper| value <= upper)
    }

    /// Returns the probability that the true value conforms, when it was measured as `value` with `u`.
    ///
    /// P = Φ((upper − y)/u) − Φ((lower − y)/u), a missing bound counting as infinite; with u = 0, 1 inside and 0 outside
    ///
    /// Source: JCGM 106:2012, 7.2 to 7.4.
    /// Worked: 13.6 with u 1.8 in 12.5 to 16.3 gives 0.6626, printed 0.66 (tests/golden/evidence/decision.toml).
    ///
    /// # Errors
    /// Refuses a value that is not finite.
    pub fn conformance(self, value: f64, u: StandardUncertainty) -> Result<Probability, Refusal> {
        self.share(value, u, normal::between)
    }

    /// Returns the probability that the true value conforms, when `u` itself rests on few readings.
    ///
    /// As [`Self::conformance`], with Student's distribution in place of the normal one.
    ///
    /// Source: JCGM 101:2008, 6.4.9.2, the scaled and shifted t, into JCGM 106:2012, 7.1.
    ///
    /// # Errors
    /// Refuses a value that is not finite.
    pub fn conformance_by_student(
        self,
        value: f64,
        u: StandardUncertainty,
        degrees: DegreesOfFreedom,
    ) -> Result<Probability, Refusal> {
        self.share(value, u, |low, high| student::cdf(high, degrees) - student::cdf(low, degrees))
    }

    /// Returns the highest probability of conformance that any reading with `u` could reach: what the instrument can decide.
    ///
    /// One bound: 1. Two: 2 Φ(width/2u) − 1, at the middle. Below the probability asked for, no reading can be fit,
    /// and that can be said before anyone measures.
    ///
    /// Source: JCGM 106:2012, 7.4 and 7.6.
    /// Worked: ± 1 with u 0.5 gives 0.9545 (tests/golden/evidence/decision.toml).
    #[must_use]
    pub fn best_possible(self, u: StandardUncertainty) -> Probability {
        match self.width() {
            Some(width) if u.get() > 0.0 => {
                let reach = width / 2.0 / u.get();
                Probability::rounded_in(normal::between(-reach, reach))
            }
            _ => Probability::ONE,
        }
    }

    /// Returns the largest `u` with which some reading still conforms with probability `p`; none if any `u` does.
    ///
    /// u = width / (2 z), z = Φ⁻¹((1 + p)/2): [`Self::best_possible`] turned round, to name the gauge that is needed.
    #[must_use]
    pub fn largest_uncertainty(self, p: Probability) -> Option<StandardUncertainty> {
        let reach = student::coverage_factor(p, DegreesOfFreedom::INFINITE);
        StandardUncertainty::new(self.width()? / 2.0 / reach).ok()
    }

    /// Returns the readings that conform with probability `p` or more; `None` if there are none.
    ///
    /// One bound: it moves inwards by [`guard_band`] (outwards for p below one half). Two: the interval about the middle
    /// at whose ends P = p, by bisection, rounded inwards.
    ///
    /// Source: JCGM 106:2012, 8.3.2 (one bound) and 7.4 solved for the value (two).
    /// Worked: 0 to 50 with u 5 and p 0.95 keeps 25 ± 16.776 (tests/golden/evidence/decision.toml).
    ///
    /// # Errors
    /// Refuses p = 0, which every reading satisfies, and limits that are not finite.
    pub fn acceptance(self, p: Probability, u: StandardUncertainty) -> Result<Option<Self>, Refusal> {
        within("required probability", p.get(), "above 0, at most 1", p.get() > 0.0)?;
        if u.get() <= 0.0 {
            return Ok(Some(self));
        }
        // With any uncertainty at all nothing is certain, even where P rounds to 1.
        if p.get() >= 1.0 || self.best_possible(u) < p {
            return Ok(None);
        }
        let band = guard_band(p, u);
        let (Some(lower), Some(width)) = (self.lower, self.width()) else {
            let inner = Self::new(self.lower.map(|bound| bound + band), self.upper.map(|bound| bound - band));
            return inner.map(Some);
        };
        let middle = lower + width / 2.0;
        // Two bounds leave less than one: the one-sided limit is never inside the two-sided one.
        let furthest = (width / 2.0 - band).max(0.0);
        let above_required = |offset: f64| {
            normal::between((-width / 2.0 - offset) / u.get(), (width / 2.0 - offset) / u.get()) - p.get()
        };
        let half = root::last_not_negative(0.0, furthest, above_required);
        Self::within(middle - half, middle + half).map(Some)
    }

    fn share(
        self,
        value: f64,
        u: StandardUncertainty,
        between: impl Fn(f64, f64) -> f64,
    ) -> Result<Probability, Refusal> {
        let value = finite("measured value", value)?;
        if u.get() <= 0.0 {
            return Ok(if self.contains(value) { Probability::ONE } else { Probability::ZERO });
        }
        let low = self.lower.map_or(f64::NEG_INFINITY, |lower| (lower - value) / u.get());
        let high = self.upper.map_or(f64::INFINITY, |upper| (upper - value) / u.get());
        Ok(Probability::rounded_in(between(low, high)))
    }
}

/// Returns w, how far inside a single bound a reading must lie to conform with probability `p`.
///
/// w = u Φ⁻¹(p): negative below p = 1/2, infinite for p = 1 unless u = 0; unit of the value
///
/// Source: JCGM 106:2012, 8.3.2 and 7.3, table 1.
/// Worked: p 0.95 with u 1 gives 1.645, printed 1.64 (tests/golden/evidence/decision.toml).
#[must_use]
pub fn guard_band(p: Probability, u: StandardUncertainty) -> f64 {
    if u.get() > 0.0 { u.get() * normal::quantile(p) } else { 0.0 }
}
