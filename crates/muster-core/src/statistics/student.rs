//! Student's t distribution, for a spread that is known from few readings only.

use super::refusal::{Refusal, within};
use super::uncertainty::Probability;
use super::{normal, root};
use core::f64::consts::PI;

/// How many independent readings a standard deviation rests on, less what was estimated from them (GUM 4.2.6, G.3).
///
/// Invariant: at least 1; real, since effective degrees are; infinite for a figure taken as exactly known.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct DegreesOfFreedom(f64);

impl DegreesOfFreedom {
    /// A standard deviation taken as exactly known; Student's distribution is then the normal one.
    pub const INFINITE: Self = Self(f64::INFINITY);
    /// Above this the expansion about the normal distribution is more exact than the continued fraction is fast.
    const NEARLY_NORMAL: f64 = 1e4;

    /// Returns the degrees of freedom if they are at least 1.
    ///
    /// # Errors
    /// Refuses numbers below 1 and NaN.
    pub fn new(degrees: f64) -> Result<Self, Refusal> {
        within("degrees of freedom", degrees, "at least 1", degrees >= 1.0).map(Self)
    }

    /// Returns the number.
    #[must_use]
    pub fn get(self) -> f64 {
        self.0
    }
}

/// Returns the probability that a Student variable is at or below `t`; NaN for NaN.
///
/// P(T ≤ t) = 1 − I_x(ν/2, 1/2)/2 with x = ν/(ν + t²), for t ≥ 0
///
/// Source: Abramowitz & Stegun (1964), 26.7.1 and 26.5.27. Error below 1e-12 for every ν ≥ 1.
/// Worked: t = 2.920 782 at ν = 16 gives 0.995 (tests/golden/evidence/decision.toml).
#[must_use]
pub fn cdf(t: f64, degrees: DegreesOfFreedom) -> f64 {
    if t < 0.0 { upper_tail(-t, degrees) } else { 1.0 - upper_tail(t, degrees) }
}

/// Returns the `t` with P(T ≤ t) = p: −∞ for 0, +∞ for 1.
///
/// By bisection between bounds found by doubling; for infinite degrees the normal quantile.
/// Worked: p = 0.975 at ν = 1 gives 12.706 205 (tests/golden/evidence/decision.toml).
#[must_use]
pub fn quantile(p: Probability, degrees: DegreesOfFreedom) -> f64 {
    let tail = p.get().min(1.0 - p.get());
    // Exact comparison is meant: one half is the centre, and the ends have no finite quantile.
    if degrees.0.is_infinite() || tail <= 0.0 || tail >= 0.5 {
        return normal::quantile(p);
    }
    let mut high = 1.0;
    while upper_tail(high, degrees) > tail && high < f64::MAX / 2.0 {
        high *= 2.0;
    }
    let low = if high > 1.0 { high / 2.0 } else { 0.0 };
    let t = root::last_not_negative(low, high, |t| upper_tail(t, degrees) - tail);
    if p.get() < 0.5 { -t } else { t }
}

/// Returns the factor k for which ±k standard uncertainties cover the share `p`, from both sides (GUM G.3, table G.2).
#[must_use]
pub fn coverage_factor(p: Probability, degrees: DegreesOfFreedom) -> f64 {
    -quantile(p.complement().halved(), degrees)
}

/// Returns P(T > t) for t ≥ 0.
fn upper_tail(t: f64, degrees: DegreesOfFreedom) -> f64 {
    let nu = degrees.0;
    if t.is_nan() {
        return t;
    }
    if nu > DegreesOfFreedom::NEARLY_NORMAL {
        return nearly_normal_tail(t, nu);
    }
    // Of x and 1 − x the one computed directly keeps its digits; the fraction converges on its own side of the mean.
    let square = t * t;
    if square.is_infinite() {
        return 0.0;
    }
    let x = nu / (nu + square);
    let one_less_x = square / (nu + square);
    let (a, b) = (nu / 2.0, 0.5);
    if x < (a + 1.0) / (a + b + 2.0) {
        beta_front(a, x, one_less_x) * continued_fraction(a, b, x) / a / 2.0
    } else {
        let below = beta_front(a, x, one_less_x) * continued_fraction(b, a, one_less_x) / b;
        (1.0 - below) / 2.0
    }
}

/// Returns P(T > t) by Fisher's expansion about the normal distribution, to the third order; error of order ν⁻⁴.
///
/// P ≈ Q(t) + φ(t) t (A/ν + B/ν² + C/ν³), A = (t² + 1)/4, B = (3t⁶ − 7t⁴ − 5t² − 3)/96,
/// C = (t¹⁰ − 11t⁸ + 14t⁶ + 6t⁴ − 3t² − 15)/384
///
/// Source: R. A. Fisher (1925), Metron 5, 109.
fn nearly_normal_tail(t: f64, nu: f64) -> f64 {
    let density = normal::density(t);
    if density <= 0.0 {
        return 0.0;
    }
    let square = t * t;
    let first = (square + 1.0) / 4.0;
    let second = (((3.0 * square - 7.0) * square - 5.0) * square - 3.0) / 96.0;
    let third = (((((square - 11.0) * square + 14.0) * square + 6.0) * square - 3.0) * square - 15.0) / 384.0;
    normal::upper_tail(t) + density * t * (first + (second + third / nu) / nu) / nu
}

/// Returns x^a (1 − x)^(1/2) / B(a, 1/2).
fn beta_front(a: f64, x: f64, one_less_x: f64) -> f64 {
    // x is near 1 for many degrees of freedom, where its logarithm is taken from the small 1 − x.
    let ln_x = if one_less_x < 0.5 { libm::log1p(-one_less_x) } else { libm::log(x) };
    let ln_inverse_beta = ln_gamma_step(a) - libm::log(PI) / 2.0;
    libm::exp(a * ln_x + ln_inverse_beta) * libm::sqrt(one_less_x)
}

/// Returns ln Γ(a + 1/2) − ln Γ(a), without the loss of digits of two large logarithms.
///
/// The series follows from Stirling's (Abramowitz & Stegun, 6.1.41); its next term is below 1e-13 at a = 10.
fn ln_gamma_step(a: f64) -> f64 {
    if a < 10.0 {
        return libm::lgamma(a + 0.5) - libm::lgamma(a);
    }
    let step = 1.0 / a;
    let square = step * step;
    let series = 1.0 / 8.0
        - square * (1.0 / 192.0 - square * (1.0 / 640.0 - square * (17.0 / 14_336.0 - square * 31.0 / 18_432.0)));
    libm::log(a) / 2.0 - step * series
}

/// Returns the continued fraction of the incomplete beta function I_x(a, b), by the modified Lentz method.
///
/// Source: Abramowitz & Stegun (1964), 26.5.8; Lentz (1976), Applied Optics 15, 668. Converges in about √max(a, b) terms
/// for x < (a + 1)/(a + b + 2), here at most about 100.
fn continued_fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let away_from_zero = |number: f64| {
        if libm::fabs(number) < TINY { TINY } else { number }
    };
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for term in 1..1000_u16 {
        let m = f64::from(term);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        for numerator in [even, odd] {
            d = 1.0 / away_from_zero(1.0 + numerator * d);
            c = away_from_zero(1.0 + numerator / c);
            fraction *= c * d;
        }
        if libm::fabs(c * d - 1.0) < 1e-15 {
            break;
        }
    }
    fraction
}
