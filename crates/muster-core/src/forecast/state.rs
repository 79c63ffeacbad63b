//! One part's wear as a Gaussian state: its level, its own rate, the present regime's deviation of rate.
//!
//! Wear `z` is 0 when new and grows towards the limit; distance `x` is in 1000 km (or 30 days, for what ages).

use core::f64::consts::TAU;

use super::quick;
use crate::statistics::normal;

const LN_2_PI: f64 = 1.837_877_066_409_345_3;
/// A figure less likely than this to lie between two others is not taken as an interval.
pub(super) const LEAST_SHARE: f64 = 1e-9;

/// Mean and covariance of level, rate and regime.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct State {
    /// Mean of level L, rate R, regime U.
    pub mean: [f64; 3],
    /// Covariances LL, LR, LU, RR, RU, UU.
    pub cov: [f64; 6],
}

/// What happens between two readings besides the rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Stationary standard deviation of the regime's rate.
    pub regime: f64,
    /// Distance over which a regime is forgotten.
    pub memory: f64,
    /// Brownian variance per unit of distance.
    pub brownian: f64,
}

/// A regime over one distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Regime {
    /// e^(−D/τ): what is left of it.
    pub(super) left: f64,
    /// τ(1 − e^(−D/τ)): how far it has worked.
    pub(super) worked: f64,
    /// Variance of the wear it makes anew, for a stationary deviation of 1.
    pub(super) fresh: f64,
}

impl Motion {
    /// What a regime does over a distance.
    #[inline]
    pub(super) fn over(&self, d: f64) -> Regime {
        let share = d / self.memory;
        let left = quick::exp(-share);
        let square = self.memory * self.memory;
        let fresh = if share < 1e-3 {
            // The closed form loses its digits here; its series does not.
            square * share * share * share * (2.0 / 3.0 - share / 2.0)
        } else {
            square * (2.0 * share - 3.0 + 4.0 * left - left * left)
        };
        let worked = if share < 1e-3 { d * (1.0 - share / 2.0) } else { self.memory * (1.0 - left) };
        Regime { left, worked, fresh }
    }
}

/// What one reading told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// Reading less expectation.
    pub surprise: f64,
    /// Variance of that.
    pub variance: f64,
    /// One by that.
    pub share: f64,
    /// Gain of level, rate and regime.
    pub gain: [f64; 3],
}

impl Told {
    /// The reading's log-likelihood.
    #[must_use]
    pub fn log_likelihood(&self) -> f64 {
        -(LN_2_PI + libm::log(self.variance) + self.square()) / 2.0
    }

    /// The reading's density.
    #[inline]
    pub(super) fn density(&self) -> Density {
        Density { share: self.share, square: self.square() }
    }

    /// Squared surprise in its own variance.
    #[must_use]
    #[inline]
    pub fn square(&self) -> f64 {
        self.surprise * self.surprise * self.share
    }
}

/// A density as e^(−square/2) √(share/2π): neither logarithm nor exponential till one is needed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Density {
    pub(super) share: f64,
    pub(super) square: f64,
}

impl Density {
    /// What a plain density is.
    pub(super) fn of(density: f64) -> Self {
        Self { share: TAU * density * density, square: 0.0 }
    }
}

/// A log-likelihood that grows by factors: one logarithm for many readings.
#[derive(Clone, Copy, Debug)]
pub(super) struct Likelihood {
    sum: f64,
    product: f64,
}

impl Likelihood {
    pub(super) const ONE: Self = Self { sum: 0.0, product: 1.0 };

    /// Takes a reading's density in.
    #[inline]
    pub(super) fn take(&mut self, density: Density) {
        self.sum -= (LN_2_PI + density.square) / 2.0;
        self.product *= density.share;
        if !(1e-100..1e100).contains(&self.product) {
            self.sum += libm::log(self.product) / 2.0;
            self.product = 1.0;
        }
    }

    /// The whole.
    pub(super) fn total(self) -> f64 {
        self.sum + libm::log(self.product) / 2.0
    }
}

impl State {
    /// One state with the mean and covariance of several by their weights, which come to 1.
    #[must_use]
    pub fn of_all(all: impl Iterator<Item = (f64, Self)> + Clone) -> Self {
        let (mut mean, mut cov) = ([0.0; 3], [0.0; 6]);
        for (weight, state) in all.clone() {
            for (sum, x) in mean.iter_mut().zip(state.mean) {
                *sum += weight * x;
            }
        }
        for (weight, state) in all {
            let [l, r, u]: [f64; 3] = core::array::from_fn(|i| state.mean[i] - mean[i]);
            let apart = [l * l, l * r, l * u, r * r, r * u, u * u];
            for ((sum, own), apart) in cov.iter_mut().zip(state.cov).zip(apart) {
                *sum += weight * (own + apart);
            }
        }
        Self { mean, cov }
    }

    /// Carries it over a distance.
    ///
    /// dL = (R + U) dx + √q dB, dU = −U/τ dx + noise: an integrated Ornstein–Uhlenbeck process beside a constant rate.
    /// Source: Uhlenbeck & Ornstein (1930), Phys. Rev. 36, 823; its discretisation is exact.
    pub fn carry(&mut self, d: f64, motion: &Motion) {
        if d > 0.0 {
            self.carry_over(d, motion, motion.over(d));
        }
    }

    /// The same, with what a regime does over the distance worked out already.
    #[inline]
    pub(super) fn carry_over(&mut self, d: f64, motion: &Motion, over: Regime) {
        let Regime { left: e, worked: g, fresh } = over;
        let k2 = motion.regime * motion.regime;
        let [l, r, u] = self.mean;
        self.mean = [l + r * d + u * g, r, u * e];
        let [ll, lr, lu, rr, ru, uu] = self.cov;
        let a = lr + d * rr + g * ru;
        let b = lu + d * ru + g * uu;
        let worked = 1.0 - e;
        self.cov = [
            ll + d * (lr + a) + g * (lu + b) + k2 * fresh + motion.brownian * d,
            a,
            e * b + k2 * motion.memory * worked * worked,
            rr,
            ru * e,
            e * e * uu + k2 * (1.0 - e * e),
        ];
    }

    /// What a reading `z` with noise variance `r` would tell.
    #[must_use]
    #[inline]
    pub fn hear(&self, z: f64, r: f64) -> Told {
        let [ll, lr, lu, ..] = self.cov;
        let variance = ll + r;
        let share = 1.0 / variance;
        Told { surprise: z - self.mean[0], variance, share, gain: [ll * share, lr * share, lu * share] }
    }

    /// Takes a reading: Kalman (1960), J. Basic Engineering 82, 35.
    #[inline]
    pub fn learn(&mut self, told: &Told) {
        self.moved(told.surprise, told.gain, 1.0);
    }

    #[inline]
    fn moved(&mut self, v: f64, k: [f64; 3], f: f64) {
        for (mean, gain) in self.mean.iter_mut().zip(k) {
            *mean += gain * v;
        }
        let [l, r, u] = k;
        let [ll, lr, lu, ..] = self.cov;
        let taken = [l * ll, l * lr, l * lu, r * lr, r * lu, u * lu];
        for (cov, taken) in self.cov.iter_mut().zip(taken) {
            *cov -= f * taken;
        }
        // Rounding may leave a variance of nothing just below it.
        for index in [0, 3, 5] {
            self.cov[index] = self.cov[index].max(0.0);
        }
    }

    /// Probability that a figure with error variance `r` lies between two figures (the lower may be −∞).
    #[must_use]
    pub fn share_between(&self, (low, high): (f64, f64), r: f64) -> f64 {
        let root = libm::sqrt(self.cov[0] + r);
        normal::between((low - self.mean[0]) / root, (high - self.mean[0]) / root)
    }

    /// Takes that the true figure with error variance `r` lies between two figures (the lower may be −∞), and returns the
    /// probability of that. None, and nothing taken, where that is next to impossible.
    ///
    /// A truncated normal's mean and variance: Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions 1 (1994),
    /// 13.10.
    pub fn learn_between(&mut self, (low, high): (f64, f64), r: f64) -> Option<f64> {
        let told = self.hear(0.0, r);
        let root = libm::sqrt(told.variance);
        let (a, b) = ((low - self.mean[0]) / root, (high - self.mean[0]) / root);
        let share = normal::between(a, b);
        if share < LEAST_SHARE {
            return None;
        }
        let at = |z: f64| if z.is_finite() { normal::density(z) } else { 0.0 };
        let by = |z: f64| if z.is_finite() { z * normal::density(z) } else { 0.0 };
        let q = (at(a) - at(b)) / share;
        let f = (q * q - (by(a) - by(b)) / share).clamp(0.0, 1.0);
        self.moved(root * q, told.gain, f);
        Some(share)
    }
}
