//! What the fleet teaches of one kind of part: nine numbers, what is taken for usual before any reading, how sure each is.

use core::array;

use super::{
    practice::{Practice, Shape},
    state::Motion,
};
use crate::statistics::{normal, uncertainty::Probability};

/// How many numbers.
pub const COUNT: usize = 9;
/// How many sets of them stand for their uncertainty.
pub const POINTS: usize = 24;

/// The numbers in the coordinates they are fitted in: ln μ, ln(σ_R/μ), ln(σ_U/μ), ln τ, ln(q/μ), ln σ_e, m, ρ,
/// ln(q_R/σ_R).
pub type Theta = [f64; COUNT];

/// Their names, as a fit writes them.
pub const NAMES: [&str; COUNT] = [
    "ln rate",
    "ln (spread of lives / rate)",
    "ln (spread of regimes / rate)",
    "ln memory of regimes",
    "ln (diffusion / rate)",
    "ln reading's deviation",
    "level when new, share of what there is to wear",
    "likeness of a machine's next life",
    "ln (spread of next lives / spread of lives)",
];

/// What is usual before any reading, as means and standard deviations in the coordinates of the fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    /// Means.
    pub mean: Theta,
    /// Standard deviations.
    pub deviation: Theta,
    /// What there is to wear of the usual part of this kind: |limit − new|, in the check's unit.
    pub reach: f64,
    /// Standard deviation of the level just after a mounting, as a share of that.
    pub fresh: f64,
}

impl Prior {
    /// The prior of a row of stated practice.
    #[must_use]
    pub fn of(practice: &Practice) -> Self {
        Self::usual(practice.reach(), practice.life, &practice.shape)
    }

    /// The prior of a kind with so much to wear and so long a usual life, in the model's units.
    #[must_use]
    pub fn usual(reach: f64, life: f64, shape: &Shape) -> Self {
        let ln = libm::log;
        let mean = [
            ln(reach / life),
            ln(shape.lives),
            ln(shape.regimes),
            ln(shape.memory),
            ln(shape.diffusion * reach),
            ln(shape.reading * reach),
            0.0,
            shape.likeness,
            ln(shape.renewal),
        ];
        let deviation = [shape.life_deviation, 0.5, 0.5, 0.5, 1.0, 0.5, 0.03, 0.3, 0.3];
        Self { mean, deviation, reach, fresh: shape.fresh }
    }

    /// ln of the prior's density at θ, less a constant; −∞ where no fit may go.
    #[must_use]
    pub fn log_density(&self, theta: &Theta) -> f64 {
        let mut sum = 0.0;
        for ((t, mean), deviation) in theta.iter().zip(&self.mean).zip(&self.deviation) {
            let z = (t - mean) / deviation;
            if libm::fabs(t - mean) > 6.0 * deviation + 3.0 {
                return f64::NEG_INFINITY;
            }
            sum -= z * z / 2.0;
        }
        sum
    }
}

/// The numbers as the model takes them, in the check's unit and 1000 km or 30 days.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameters {
    /// Mean rate of lives μ.
    pub rate: f64,
    /// Variance of lives' rates σ_R².
    pub rate_variance: f64,
    /// Regime and diffusion, of a life that wears at the mean rate.
    pub motion: Motion,
    /// Variance of one reading σ_e², the gauge's rounding apart.
    pub reading_variance: f64,
    /// Level just after a mounting, as a share of what there is to wear.
    pub fresh_level: f64,
    /// Its standard deviation, likewise.
    pub fresh_deviation: f64,
    /// How much of its rate's distance from the mean a machine's next life keeps, 0 to 1.
    pub likeness: f64,
    /// Variance that the next life's rate has of its own.
    pub renewal_variance: f64,
}

impl Parameters {
    /// From the coordinates of the fit; `fresh` as in [`Prior`].
    #[must_use]
    pub fn of(theta: &Theta, fresh: f64) -> Self {
        let [rate, lives, regimes, memory, diffusion, reading, level, likeness, renewal] = *theta;
        let rate = libm::exp(rate);
        let spread = rate * libm::exp(lives);
        let own = spread * libm::exp(renewal);
        Self {
            rate,
            rate_variance: spread * spread,
            motion: Motion {
                regime: rate * libm::exp(regimes),
                memory: libm::exp(memory),
                brownian: rate * libm::exp(diffusion),
            },
            reading_variance: libm::exp(2.0 * reading),
            fresh_level: level,
            fresh_deviation: fresh,
            likeness: likeness.clamp(0.0, 1.0),
            renewal_variance: own * own,
        }
    }

    /// The noise along the way of a life that wears at `rate`, and with an allowance for what a short history has not
    /// shown yet, as a share of the mean rate.
    #[must_use]
    #[inline]
    pub fn motion_at(&self, rate: f64, allowance: f64) -> Motion {
        let scale = (rate / self.rate).clamp(0.3, 3.0);
        let more = allowance * self.rate;
        let regime = if allowance > 0.0 {
            libm::sqrt(self.motion.regime * self.motion.regime + more * more)
        } else {
            self.motion.regime
        };
        Motion { regime: scale * regime, memory: self.motion.memory, brownian: scale * self.motion.brownian }
    }
}

/// Sets of standard normal numbers, each with its mirror, that stand for all: a Kronecker sequence of the golden ratio of
/// nine dimensions through the normal quantile, scaled to a second moment of 1 along each axis.
///
/// Source: Roberts (2018), the generalised golden ratio φ_d with φ^(d+1) = φ + 1; mirrored, so that odd moments vanish.
#[must_use]
pub fn points() -> [Theta; POINTS] {
    let mut golden = 1.5_f64;
    for _ in 0..60 {
        golden = libm::pow(1.0 + golden, 1.0 / (COUNT as f64 + 1.0));
    }
    let mut half = [[0.0; COUNT]; POINTS / 2];
    for (n, row) in half.iter_mut().enumerate() {
        let mut power = 1.0;
        for cell in row.iter_mut() {
            power /= golden;
            let place = 0.5 + (n as f64 + 1.0) * power;
            let share = (place - libm::floor(place)).clamp(1e-6, 1.0 - 1e-6);
            *cell = Probability::new(share).map_or(0.0, normal::quantile);
        }
    }
    let scale: Theta = array::from_fn(|axis| {
        let square: f64 = half.iter().map(|row| row[axis] * row[axis]).sum::<f64>() / half.len() as f64;
        1.0 / libm::sqrt(square)
    });
    array::from_fn(|n| {
        let (row, sign) = (half[n / 2], if n % 2 == 0 { 1.0 } else { -1.0 });
        array::from_fn(|axis| sign * row[axis] * scale[axis])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_points_have_the_moments_of_what_they_stand_for() {
        let points = points();
        for axis in 0..COUNT {
            let mean: f64 = points.iter().map(|point| point[axis]).sum::<f64>() / POINTS as f64;
            let square: f64 = points.iter().map(|point| point[axis] * point[axis]).sum::<f64>() / POINTS as f64;
            assert!(mean.abs() < 1e-12 && (square - 1.0).abs() < 1e-12, "{axis}: {mean} {square}");
            assert!(points.iter().all(|point| point[axis].abs() < 4.0));
        }
    }
}
