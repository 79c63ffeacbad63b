//! When a wearing quantity first meets a limit: exact laws of first passage, in forms that do not overflow.
//!
//! Plain numbers in any one unit of wear and one of distance (or time); the limit is `reach` away, and positive.

use core::f64::consts::{FRAC_1_SQRT_2, PI};

use crate::statistics::normal;

/// A rate of wear that is not known exactly, and the noise along the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drift {
    /// Mean rate, wear per unit of distance.
    pub rate: f64,
    /// Variance of the rate between units: w².
    pub rate_variance: f64,
    /// Brownian variance per unit of distance: s².
    pub diffusion: f64,
}

/// Returns the Mills ratio (1 − Φ(z))/φ(z).
///
/// By erfc below 25, above by 1/z (1 − 1/z² + 3/z⁴ − 15/z⁶). Source: Abramowitz & Stegun (1964), 26.2.12.
#[must_use]
pub fn mills(z: f64) -> f64 {
    if z < 25.0 {
        return libm::erfc(z * FRAC_1_SQRT_2) / 2.0 / normal::density(z);
    }
    let square = 1.0 / (z * z);
    (1.0 - square * (1.0 - square * (3.0 - 15.0 * square))) / z
}

/// Returns φ(a)·M(b), 0 where φ(a) is nothing; for a² ≤ b² never above 1.
fn density_by_mills(a: f64, b: f64) -> f64 {
    if b < -25.0 {
        // 1 − Φ(b) is 1 to the last digit: φ(a)/φ(b).
        return libm::exp((b * b - a * a) / 2.0);
    }
    let log = -a * a / 2.0;
    if log < -700.0 { 0.0 } else { libm::exp(log) / libm::sqrt(2.0 * PI) * mills(b) }
}

/// Returns P(the limit `reach` away has been met by distance `d`), the rate normal and constant for the life.
///
/// F(d) = Φ(z₁) + φ(z₁) M(z₂), V = w²d² + s²d, z₁ = (μd − D)/√V, z₂ = (μd + D + 2w²Dd/s²)/√V
///
/// Source: Whitmore (1986), Statistician 35, 207 (mixed inverse Gaussian), rearranged by the Mills ratio; with w² = 0 the
/// inverse Gaussian law of Schrödinger (1915). Without diffusion the rate's own law, P(rate·d ≥ D).
/// Worked: μ 0.25, w 0.05, s 0.5, D 5 gives 0.578 395 at d = 20 (tests/golden/evidence/forecast.toml).
#[must_use]
pub fn met_by(d: f64, reach: f64, drift: Drift) -> f64 {
    if reach <= 0.0 {
        return 1.0;
    }
    if d <= 0.0 {
        return 0.0;
    }
    let variance = drift.rate_variance * d * d + drift.diffusion * d;
    if variance <= 0.0 {
        return if drift.rate * d >= reach { 1.0 } else { 0.0 };
    }
    let root = libm::sqrt(variance);
    let z1 = (drift.rate * d - reach) / root;
    if drift.diffusion <= 0.0 {
        return normal::cdf(z1);
    }
    let z2 = (drift.rate * d + reach + 2.0 * drift.rate_variance * reach * d / drift.diffusion) / root;
    (normal::cdf(z1) + density_by_mills(z1, z2)).clamp(0.0, 1.0)
}

/// Returns the distance by which the limit has been met with probability `p`; none where that never comes within `most`.
///
/// By bisection of the logarithm, to the last digits.
#[must_use]
pub fn quantile(p: f64, most: f64, by: impl Fn(f64) -> f64) -> Option<f64> {
    if by(0.0) >= p {
        return Some(0.0);
    }
    if by(most).partial_cmp(&p).is_none_or(core::cmp::Ordering::is_lt) {
        return None;
    }
    let (mut low, mut high) = (libm::log(most) - 60.0, libm::log(most));
    for _ in 0..200 {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if by(libm::exp(middle)) >= p { high = middle } else { low = middle }
    }
    Some(libm::exp(high))
}

/// Returns P(a gamma process has met the limit by `d`): Q(αd, D/β), shape α per unit of distance, scale β.
///
/// Source: Abdel-Hameed (1975), IEEE Trans. Reliability R-24, 152; regularised gamma by series and continued fraction
/// (Abramowitz & Stegun, 6.5.29 and 6.5.31). It cannot go back, so its first passage is its own tail.
#[must_use]
pub fn gamma_met_by(d: f64, reach: f64, shape: f64, scale: f64) -> f64 {
    if reach <= 0.0 {
        return 1.0;
    }
    if d <= 0.0 {
        return 0.0;
    }
    upper_gamma(shape * d, reach / scale)
}

/// Returns the regularised upper incomplete gamma function Q(a, x), a above 0 and x at least 0.
fn upper_gamma(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    if x < a + 1.0 {
        let (mut term, mut sum, mut n) = (1.0 / a, 1.0 / a, a);
        for _ in 0..10_000 {
            n += 1.0;
            term *= x / n;
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        return (1.0 - front * sum).clamp(0.0, 1.0);
    }
    let (mut b, mut c) = (x + 1.0 - a, 1e300);
    let mut d = 1.0 / b;
    let mut h = d;
    for i in 1..10_000 {
        let i = f64::from(i);
        let an = -i * (i - a);
        b += 2.0;
        d = 1.0 / (an * d + b);
        c = b + an / c;
        h *= d * c;
        if libm::fabs(d * c - 1.0) < 1e-16 {
            break;
        }
    }
    (front * h).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_met_or_no_way_to_go_is_plain() {
        let drift = Drift { rate: 0.25, rate_variance: 0.0, diffusion: 0.25 };
        assert!((met_by(0.0, 1.0, drift) - 0.0).abs() < 1e-300);
        assert!((met_by(5.0, 0.0, drift) - 1.0).abs() < 1e-300);
        let exact = Drift { diffusion: 0.0, ..drift };
        assert!(met_by(3.9, 1.0, exact) < 0.5 && met_by(4.1, 1.0, exact) > 0.5);
    }

    #[test]
    fn no_form_overflows() {
        for diffusion in [1e-12, 1e-6, 1.0, 1e6] {
            for rate in [-1.0, 0.0, 1e-6, 1.0, 100.0] {
                for d in [1e-9, 1e-3, 1.0, 1e3, 1e9] {
                    let drift = Drift { rate, rate_variance: 1e-4, diffusion };
                    let p = met_by(d, 1.0, drift);
                    assert!((0.0..=1.0).contains(&p), "{drift:?} {d}: {p}");
                }
            }
        }
    }
}
