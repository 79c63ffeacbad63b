//! Standard uncertainty and probability as types, and the usual ways to a standard uncertainty.

use super::refusal::{Refusal, finite, not_negative, positive, within};
use super::student::DegreesOfFreedom;

/// The standard deviation that says how far a value may be from the truth, in the unit of the value it belongs to.
///
/// Invariant: finite and at least 0. A negative one would turn a miss into a pass, so there is none.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct StandardUncertainty(f64);

impl StandardUncertainty {
    /// The value is taken as exact.
    pub const ZERO: Self = Self(0.0);
    /// The factor behind every "±" this crate shows, about 95 % (GUM 6.3.3).
    pub const COVERAGE_FACTOR: f64 = 2.0;

    /// Returns the standard uncertainty `u`, in the unit of its value.
    ///
    /// # Errors
    /// Refuses a negative number, an infinite one and NaN.
    pub fn new(u: f64) -> Result<Self, Refusal> {
        not_negative("standard uncertainty", u).map(Self)
    }

    /// Returns u = a/√3, for an error known only to lie within ± `half_width` (rectangular; GUM 4.3.7).
    ///
    /// # Errors
    /// Refuses a half-width that is negative or not finite.
    pub fn rectangular(half_width: f64) -> Result<Self, Refusal> {
        not_negative("half-width", half_width).map(|a| Self(a / libm::sqrt(3.0)))
    }

    /// Returns u = a/√6, for an error within ± `half_width` that is more likely small (triangular; GUM 4.3.9).
    ///
    /// # Errors
    /// Refuses a half-width that is negative or not finite.
    pub fn triangular(half_width: f64) -> Result<Self, Refusal> {
        not_negative("half-width", half_width).map(|a| Self(a / libm::sqrt(6.0)))
    }

    /// Returns u = step/√12, for a reading rounded to the nearest `step` of the display or scale (GUM F.2.2.1).
    ///
    /// # Errors
    /// Refuses a step that is negative or not finite.
    pub fn resolution(step: f64) -> Result<Self, Refusal> {
        not_negative("resolution", step).map(|step| Self(step / libm::sqrt(12.0)))
    }

    /// Returns u = U/k, for an expanded uncertainty `expanded` stated with its coverage factor (GUM 4.3.3).
    ///
    /// # Errors
    /// Refuses a negative `expanded`, a coverage factor that is not above 0, and what is not finite.
    pub fn from_expanded(expanded: f64, coverage_factor: f64) -> Result<Self, Refusal> {
        let expanded = not_negative("expanded uncertainty", expanded)?;
        Self::new(expanded / positive("coverage factor", coverage_factor)?)
    }

    /// Returns the root of the sum of the squares, for parts that know nothing of each other (GUM 5.1.2); 0 for none.
    ///
    /// # Errors
    /// Refuses parts so large that the root is not finite.
    pub fn combine(parts: impl IntoIterator<Item = Self>) -> Result<Self, Refusal> {
        Self::new(parts.into_iter().fold(0.0, |sum, part| libm::hypot(sum, part.0)))
    }

    /// Returns |c|·u, what this uncertainty does to a result that moves by `sensitivity` per unit (GUM 5.1.3).
    ///
    /// # Errors
    /// Refuses a sensitivity that is not finite, or a product that is not.
    pub fn scaled(self, sensitivity: f64) -> Result<Self, Refusal> {
        Self::new(libm::fabs(finite("sensitivity", sensitivity)?) * self.0)
    }

    /// Returns the standard uncertainty in the unit of its value.
    #[must_use]
    pub fn get(self) -> f64 {
        self.0
    }

    /// Returns U = 2u, the figure that stands after "±" (GUM 6.2.1).
    #[must_use]
    pub fn expanded(self) -> f64 {
        Self::COVERAGE_FACTOR * self.0
    }
}

/// Returns the effective degrees of freedom of combined parts.
///
/// ν = (Σ uᵢ²)² / Σ (uᵢ⁴/νᵢ), not below the smallest νᵢ; infinite if no part of any size has finite degrees
///
/// Source: Welch–Satterthwaite, GUM G.4.1, equation G.2b.
/// Worked: the end gauge of GUM H.1.6 gives 16.76, printed 16.7 (tests/golden/evidence/decision.toml).
#[must_use]
pub fn effective_degrees(parts: &[(StandardUncertainty, DegreesOfFreedom)]) -> DegreesOfFreedom {
    let largest = parts.iter().fold(0.0_f64, |largest, (u, _)| largest.max(u.get()));
    if largest <= 0.0 {
        return DegreesOfFreedom::INFINITE;
    }
    let (mut squares, mut fourths) = (0.0, 0.0);
    for (u, degrees) in parts {
        // Shares of the largest, so that no fourth power over- or underflows.
        let square = (u.get() / largest) * (u.get() / largest);
        squares += square;
        fourths += square * square / degrees.get();
    }
    // By Cauchy's inequality never below the smallest νᵢ ≥ 1; the floor only takes up rounding.
    DegreesOfFreedom::new((squares * squares / fourths).max(1.0)).unwrap_or(DegreesOfFreedom::INFINITE)
}

/// A probability.
///
/// Invariant: within 0..=1.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Probability(f64);

impl Probability {
    /// Cannot be.
    pub const ZERO: Self = Self(0.0);
    /// Cannot but be.
    pub const ONE: Self = Self(1.0);

    /// Returns the probability.
    ///
    /// # Errors
    /// Refuses a number outside 0..=1, and NaN.
    pub fn new(p: f64) -> Result<Self, Refusal> {
        within("probability", p, "0 to 1", (0.0..=1.0).contains(&p)).map(|p| Self(p + 0.0))
    }

    /// Returns the number, 0 to 1.
    #[must_use]
    pub fn get(self) -> f64 {
        self.0
    }

    /// Returns 1 − p.
    #[must_use]
    pub fn complement(self) -> Self {
        Self(1.0 - self.0)
    }

    /// Returns p/2.
    #[must_use]
    pub(super) fn halved(self) -> Self {
        Self(self.0 / 2.0)
    }

    /// Returns the probability nearest to a sum or integral that rounding may have carried past 0 or 1.
    #[must_use]
    pub(super) fn rounded_in(p: f64) -> Self {
        Self(p.clamp(0.0, 1.0))
    }
}
