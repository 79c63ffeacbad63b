//! The straight line through one part's readings: the plain reckoning that the model is measured against.

use crate::statistics::{
    student::{self, DegreesOfFreedom},
    uncertainty::Probability,
};

/// A least-squares line y = intercept + slope · x.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// At x = 0.
    pub intercept: f64,
    /// Per unit of x.
    pub slope: f64,
    /// Residual standard deviation, n − 2 degrees of freedom.
    pub deviation: f64,
    mean: f64,
    sum_of_squares: f64,
    count: f64,
}

/// What makes a bound two-sided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// The line itself.
    Line,
    /// One more reading.
    Reading,
}

impl Line {
    /// Through at least three points of at least two different x; none otherwise.
    #[must_use]
    pub fn through(points: &[(f64, f64)]) -> Option<Self> {
        let count = points.len() as f64;
        if points.len() < 3 {
            return None;
        }
        let mean = points.iter().map(|(x, _)| x).sum::<f64>() / count;
        let middle = points.iter().map(|(_, y)| y).sum::<f64>() / count;
        let (mut xx, mut xy) = (0.0, 0.0);
        for (x, y) in points {
            xx += (x - mean) * (x - mean);
            xy += (x - mean) * (y - middle);
        }
        if xx <= 0.0 || !xx.is_finite() {
            return None;
        }
        let slope = xy / xx;
        let intercept = middle - slope * mean;
        let rest: f64 =
            points.iter().map(|(x, y)| (y - middle - slope * (x - mean)) * (y - middle - slope * (x - mean))).sum();
        Some(Self { intercept, slope, deviation: libm::sqrt(rest / (count - 2.0)), mean, sum_of_squares: xx, count })
    }

    /// Standard errors of intercept and slope.
    #[must_use]
    pub fn errors(&self) -> (f64, f64) {
        let slope = self.deviation / libm::sqrt(self.sum_of_squares);
        let intercept = self.deviation * libm::sqrt(1.0 / self.count + self.mean * self.mean / self.sum_of_squares);
        (intercept, slope)
    }

    /// The line at x, and the half-width of its interval of coverage `p`.
    #[must_use]
    pub fn at(&self, x: f64, p: Probability, of: Of) -> (f64, f64) {
        let own = f64::from(u8::from(of == Of::Reading));
        let square = (x - self.mean) * (x - self.mean) / self.sum_of_squares;
        let half = self.factor(p) * self.deviation * libm::sqrt(own + 1.0 / self.count + square);
        (self.intercept + self.slope * x, half)
    }

    /// Where the line meets a limit, and Fieller's interval of coverage `p` (Fieller 1954, J. R. Statist. Soc. B 16, 175);
    /// no interval where the slope's own interval holds 0.
    #[must_use]
    pub fn meets(&self, limit: f64, p: Probability, of: Of) -> (f64, Option<(f64, f64)>) {
        let own = f64::from(u8::from(of == Of::Reading));
        let t = self.factor(p);
        let at = (limit - self.intercept) / self.slope;
        let g = t * t * self.deviation * self.deviation / (self.slope * self.slope * self.sum_of_squares);
        if !at.is_finite() || g.partial_cmp(&1.0) != Some(core::cmp::Ordering::Less) {
            return (at, None);
        }
        let off = at - self.mean;
        let inner = (1.0 - g) * (own + 1.0 / self.count) + off * off / self.sum_of_squares;
        let half = t * self.deviation / libm::fabs(self.slope) * libm::sqrt(inner);
        (at, Some((self.mean + (off - half) / (1.0 - g), self.mean + (off + half) / (1.0 - g))))
    }

    fn factor(&self, p: Probability) -> f64 {
        DegreesOfFreedom::new(self.count - 2.0).map_or(f64::NAN, |degrees| student::coverage_factor(p, degrees))
    }
}
