//! How fast tyres lose air between pumpings, and how far off their gauges are: both together, from cold readings alone.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    vec,
    vec::Vec,
};

use super::{
    UNKNOWN_GAUGE_KPA,
    stretches::{Happened, Look, Measure, Stretch, stretches},
};
use crate::{
    forecast::{matrix, riding},
    statistics::normal,
};

/// A cold reading's scatter in kPa before readings say more: sun on a tyre, a valve, a thermometer on a wall. Practice.
const SCATTER_KPA: f64 = 3.0;
/// How many readings' worth that is.
const SCATTER_WORTH: f64 = 8.0;
/// How far a usual rate spreads, as a share of it.
const USUAL_SPREAD: f64 = 0.8;
/// How far rates of one tyre usually differ between pumpings, as a share, and how many stretches' worth that is. Practice:
/// a valve seats anew, and some 3 % more goes through the rubber with each degree.
const BETWEEN: f64 = 0.35;
const BETWEEN_WORTH: f64 = 4.0;
/// Rounds of rates and cuts.
const ROUNDS: usize = 3;
/// Fewer readings since it was last pumped tell no rate of their own.
const LEAST: usize = 3;
/// Nodes and weights of Gauss–Hermite, order 5, for a standard normal variable (Abramowitz & Stegun, table 25.10).
const NODES: [(f64, f64); 5] = riding::NODES;

/// One tyre's readings, and what such a tyre usually loses, kPa a day.
pub(super) struct Losing {
    usual: f64,
    happened: Vec<Happened>,
    pub(super) stretches: Vec<Stretch>,
}

impl Losing {
    /// Cut by what is usual, till more is known.
    pub(super) fn new(usual: f64, happened: Vec<Happened>, deviations: &[f64]) -> Self {
        let error = |gauge: usize| (0.0, deviations.get(gauge).map_or(0.0, |of| of * of));
        let measure = Measure { rate: usual, variance: &|_| SCATTER_KPA * SCATTER_KPA, error: &error };
        let stretches = stretches(&happened, &measure);
        Self { usual, happened, stretches }
    }

    /// Cut again by what was found of its rate, the gauges and their scatter.
    fn cut(&mut self, of: usize, fit: &Fitted) {
        let error = |gauge: usize| fit.error(gauge);
        let measure = Measure { rate: fit.rate(of).0, variance: &|look| fit.variance(look), error: &error };
        self.stretches = stretches(&self.happened, &measure);
    }
}

/// Finds rates and errors, and where air was put in and not noted, in turn.
pub(super) fn found(tyres: &mut [Losing], deviations: &[f64]) -> Option<Fitted> {
    for _ in 0..ROUNDS {
        let fit = Fitted::of(tyres, deviations)?;
        tyres.iter_mut().enumerate().for_each(|(of, tyre)| tyre.cut(of, &fit));
    }
    Fitted::of(tyres, deviations)
}

/// Rates of all tyres and errors of all gauges together.
pub(super) struct Fitted {
    /// Rates in kPa a day, then errors in kPa.
    mean: Vec<f64>,
    cov: Vec<Vec<f64>>,
    /// Variance of one reading with each gauge, its step within it, kPa².
    scatter: Vec<f64>,
    tyres: usize,
}

impl Fitted {
    /// Least squares with what is usual beside it, each reading far off weighing less (Huber 1964); the scatter by what is
    /// left over.
    pub(super) fn of(tyres: &[Losing], deviations: &[f64]) -> Option<Self> {
        let n = tyres.len() + deviations.len();
        let usual = |index: usize| match tyres.get(index) {
            Some(tyre) => (tyre.usual, tyre.usual * USUAL_SPREAD),
            None => (0.0, deviations.get(index - tyres.len()).copied().unwrap_or(UNKNOWN_GAUGE_KPA)),
        };
        let mean = (0..n).map(|index| usual(index).0).collect();
        let mut fit = Self {
            mean,
            cov: Vec::new(),
            scatter: vec![SCATTER_KPA * SCATTER_KPA; deviations.len()],
            tyres: tyres.len(),
        };
        for _ in 0..8 {
            let (mut system, mut right) = (vec![vec![0.0; n]; n], vec![0.0; n]);
            for index in 0..n {
                let (mean, deviation) = usual(index);
                system[index][index] += 1.0 / (deviation * deviation);
                right[index] += mean / (deviation * deviation);
            }
            let usual = (SCATTER_WORTH * SCATTER_KPA * SCATTER_KPA, SCATTER_WORTH);
            let mut left = vec![usual; deviations.len()];
            for (of, tyre) in tyres.iter().enumerate() {
                tyre.stretches.iter().for_each(|stretch| fit.gather(of, stretch, (&mut system, &mut right), &mut left));
            }
            fit.cov = matrix::inverse(&system)?;
            fit.mean = fit.cov.iter().map(|row| row.iter().zip(&right).map(|(a, b)| a * b).sum()).collect();
            fit.scatter = left.iter().map(|(squares, worth)| squares / worth).collect();
        }
        Some(fit)
    }

    pub(super) fn rate(&self, of: usize) -> (f64, f64) {
        let variance = self.cov.get(of).and_then(|row| row.get(of)).copied().unwrap_or(0.0);
        (self.mean.get(of).copied().unwrap_or(0.0), variance.max(1e-12))
    }

    /// The error of a gauge, and its variance.
    pub(super) fn error(&self, gauge: usize) -> (f64, f64) {
        self.rate(self.tyres + gauge)
    }

    /// The variance of one reading with a gauge; its step hides less than a part of it.
    fn variance(&self, look: &Look) -> f64 {
        let least = look.step_kpa * look.step_kpa / 12.0;
        self.scatter.get(look.gauge).copied().unwrap_or(SCATTER_KPA * SCATTER_KPA).max(least)
    }

    /// The weight of each reading of a stretch, and where their middle lies: day and level there.
    fn weighed(&self, of: usize, stretch: &[Look]) -> (Vec<f64>, f64, f64) {
        let (rate, _) = self.rate(of);
        let left = |look: &Look| look.kpa + rate * look.day - self.error(look.gauge).0;
        let mut offs: Vec<f64> = stretch.iter().map(left).collect();
        crate::sorted::sort_by(&mut offs, f64::total_cmp);
        let middle = offs.get(offs.len() / 2).copied().unwrap_or(0.0);
        let weight = |look: &Look| {
            let variance = self.variance(look);
            let off = libm::fabs(left(look) - middle) / libm::sqrt(variance);
            (2.0 / off.max(2.0)) / variance
        };
        let weights: Vec<f64> = stretch.iter().map(weight).collect();
        let all: f64 = weights.iter().sum();
        let mean = |read: &dyn Fn(&Look) -> f64| {
            stretch.iter().zip(&weights).map(|(look, w)| w * read(look)).sum::<f64>() / all.max(1e-12)
        };
        let day = mean(&|look| look.day);
        let level = mean(&|look| look.kpa - self.error(look.gauge).0);
        (weights, day, level)
    }

    /// Adds what a stretch says, whatever its level; and to each gauge the squares left over and how many readings they
    /// are of.
    fn gather(
        &self,
        of: usize,
        stretch: &[Look],
        (system, right): (&mut [Vec<f64>], &mut [f64]),
        over: &mut [(f64, f64)],
    ) {
        let (weights, ..) = self.weighed(of, stretch);
        let all: f64 = weights.iter().sum();
        let gauges: BTreeSet<usize> = stretch.iter().map(|look| look.gauge).collect();
        let columns: Vec<usize> = [of].into_iter().chain(gauges.iter().map(|gauge| self.tyres + gauge)).collect();
        let cell = |look: &Look, column: usize| match column {
            column if column == of => -look.day,
            column => f64::from(u8::from(self.tyres + look.gauge == column)),
        };
        let mean = |read: &dyn Fn(&Look) -> f64| {
            stretch.iter().zip(&weights).map(|(look, w)| w * read(look)).sum::<f64>() / all.max(1e-12)
        };
        let centres: BTreeMap<usize, f64> =
            columns.iter().map(|column| (*column, mean(&|look| cell(look, *column)))).collect();
        let level = mean(&|look| look.kpa);
        // The level was found from them too.
        let free = 1.0 - 1.0 / (stretch.len() as f64).max(1.0);
        for (look, w) in stretch.iter().zip(&weights) {
            let y = look.kpa - level;
            let x = |column: usize| cell(look, column) - centres.get(&column).copied().unwrap_or(0.0);
            let mut left = y;
            for a in &columns {
                right[*a] += w * x(*a) * y;
                left -= x(*a) * self.mean.get(*a).copied().unwrap_or(0.0);
                for b in &columns {
                    system[*a][*b] += w * x(*a) * x(*b);
                }
            }
            // Of a weight of its own scatter each is one reading.
            let own = w * self.variance(look);
            if let Some(slot) = over.get_mut(look.gauge) {
                *slot = (slot.0 + own * left * left, slot.1 + own * free);
            }
        }
    }
}

/// Where a tyre stands at the end of its last stretch.
pub(super) struct Standing {
    /// Loss in kPa a day at present, and its variance.
    pub(super) rate: (f64, f64),
    /// It loses more since it was last pumped than it did before.
    pub(super) is_faster: bool,
    /// What it would show today.
    pub(super) now_kpa: f64,
    variance: f64,
    since: f64,
}

impl Standing {
    /// A tyre after its last stretch, on a day; none that was never read.
    pub(super) fn of(fit: &Fitted, of: usize, tyre: &Losing, today: f64) -> Option<Self> {
        let (last, others) = tyre.stretches.split_last()?;
        let (weights, day, level) = fit.weighed(of, last);
        let worth: f64 = weights.iter().sum();
        if worth <= 0.0 {
            return None;
        }
        let (rate, is_faster) = fit.at_present(of, tyre.usual, (others, last));
        let gauge = last.iter().map(|look| fit.error(look.gauge).1).fold(0.0, f64::max);
        let since = today - day;
        Some(Self { rate, is_faster, now_kpa: level - rate.0 * since, variance: 1.0 / worth + gauge, since })
    }

    /// Loss in kPa a week with 5, 50, 95 %.
    pub(super) fn week_kpa(&self) -> [f64; 3] {
        let (rate, variance) = self.rate;
        let spread = 1.645 * libm::sqrt(variance);
        [rate - spread, rate, rate + spread].map(|rate| 7.0 * rate.max(0.0))
    }

    /// Probability that a limit is met by so many days.
    pub(super) fn met_by(&self, limit_kpa: f64, days: f64) -> f64 {
        met_by(days, self.now_kpa - limit_kpa, self.rate, (self.since, self.variance))
    }
}

impl Fitted {
    /// A stretch's own rate and its variance; none where it is too short to tell one.
    fn slope(&self, of: usize, stretch: &[Look]) -> Option<(f64, f64)> {
        let (weights, day, _) = self.weighed(of, stretch);
        let (mut xx, mut xy) = (0.0, 0.0);
        for (look, w) in stretch.iter().zip(&weights) {
            let x = look.day - day;
            xx += w * x * x;
            xy -= w * x * (look.kpa - self.error(look.gauge).0);
        }
        (xx > 1e-9).then(|| (xy / xx, 1.0 / xx))
    }

    /// The rate since it was last pumped: that stretch's own beside those before, which differ: a valve seats anew, it is
    /// warmer, air came in that nobody saw. Whether it is clearly faster: then it speaks for itself.
    ///
    /// Source: DerSimonian & Laird (1986), Controlled Clinical Trials 7, 177, for how far stretches differ.
    fn at_present(&self, of: usize, usual: f64, (others, last): (&[Stretch], &[Look])) -> ((f64, f64), bool) {
        let slopes: Vec<(f64, f64)> = others.iter().filter_map(|stretch| self.slope(of, stretch)).collect();
        let own = self.slope(of, last);
        let between = between(slopes.iter().chain(&own), self.rate(of).0.max(0.3 * usual));
        let prior = USUAL_SPREAD * usual * USUAL_SPREAD * usual;
        let (mut weight, mut sum) = (1.0 / prior, usual / prior);
        for (rate, variance) in &slopes {
            let own = 1.0 / (variance + between);
            (weight, sum) = (weight + own, sum + own * rate);
        }
        let (mean, variance) = (sum / weight, 1.0 / weight + between);
        let Some((own, own_variance)) = own else { return ((mean, few(slopes.len()) * variance), false) };
        if last.len() >= LEAST && own - mean > 2.6 * libm::sqrt(own_variance + variance) {
            return ((own, own_variance), true);
        }
        let both = 1.0 / variance + 1.0 / own_variance;
        (((mean / variance + own / own_variance) / both, few(slopes.len()) / both), false)
    }
}

/// How much wider few stretches make it: the square of Student's quantile beside the normal one, at 95 %.
///
/// Source: Abramowitz & Stegun (1964), 26.7.5, first term.
fn few(stretches: usize) -> f64 {
    let wider = 1.0 + (1.645 * 1.645 + 1.0) / (4.0 * (BETWEEN_WORTH + stretches as f64));
    wider * wider
}

/// The variance of rates between stretches: what they show beside what is usual.
fn between<'s>(slopes: impl Iterator<Item = &'s (f64, f64)> + Clone, rate: f64) -> f64 {
    let (mut count, mut weights, mut squares, mut sum) = (0.0, 0.0, 0.0, 0.0);
    for (slope, variance) in slopes.clone() {
        let w = 1.0 / variance;
        (count, weights, squares, sum) = (count + 1.0, weights + w, squares + w * w, sum + w * slope);
    }
    let usual = BETWEEN * rate * BETWEEN * rate;
    if count < 2.0 {
        return usual;
    }
    let mean = sum / weights;
    let q: f64 = slopes.map(|(slope, variance)| (slope - mean) * (slope - mean) / variance).sum();
    let shown = ((q - (count - 1.0)) / (weights - squares / weights)).max(0.0);
    (BETWEEN_WORTH * usual + (count - 1.0) * shown) / (BETWEEN_WORTH + count - 1.0)
}

/// Probability that `room` kPa are lost by so many days: the rate positive, its lognormal of equal mean and variance; the
/// level told `since` days ago, so that a faster tyre has less left already.
fn met_by(days: f64, room: f64, (rate, variance): (f64, f64), (since, level_variance): (f64, f64)) -> f64 {
    let mean = rate.max(0.05 * libm::sqrt(variance)).max(1e-6);
    let log_variance = libm::log(1.0 + variance / (mean * mean));
    let one = |(xi, weight): &(f64, f64)| {
        let own = mean * libm::exp(libm::sqrt(log_variance) * xi - log_variance / 2.0);
        let left = room - (own - rate) * since - own * days;
        weight * normal::cdf(-left / libm::sqrt(level_variance))
    };
    NODES.iter().map(one).sum::<f64>().clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tyre that loses so much a day, read each third day with two gauges in turn, the second 3 kPa too high; pumped
    /// each month.
    fn tyre(a_day: f64) -> Losing {
        let look = |month: usize, at: usize| {
            let day = (3 * at) as f64;
            let kpa = 230.0 - a_day * day + if at % 2 == 1 { 3.0 } else { 0.0 };
            let look = Look { day: 30.0 * month as f64 + day, kpa, gauge: at % 2, step_kpa: 0.0 };
            (at == 0, Some(look))
        };
        let happened = (0..4).flat_map(|month| (0..10).map(move |at| look(month, at))).collect();
        Losing::new(0.3, happened, &[5.0, 5.0])
    }

    #[test]
    fn a_rate_is_found_beside_the_gauges_errors() {
        for a_day in [0.05, 0.3, 1.5] {
            let fit = found(&mut [tyre(a_day)], &[5.0, 5.0]).unwrap();
            let ((rate, variance), (a, _), (b, _)) = (fit.rate(0), fit.error(0), fit.error(1));
            // What is usual weighs a little beside forty readings.
            assert!((rate - a_day).abs() < 0.03 && variance < 0.01, "{rate} of {a_day}");
            // What all gauges share nobody can tell from a level.
            assert!((b - a - 3.0).abs() < 0.1, "{a} {b}");
        }
    }

    #[test]
    fn the_day_follows_from_what_is_left_and_the_rate() {
        // Without any doubt: 15 kPa at 0.5 a day are lost in 30 days.
        let by = |days| met_by(days, 15.0, (0.5, 1e-12), (0.0, 1e-12));
        assert!(by(29.9) < 0.01 && by(30.1) > 0.99);
        // The level alone in doubt: the normal law, Φ(1) at one deviation past it (NIST/SEMATECH e-Handbook, 1.3.6.7.1).
        let p = met_by(34.0, 15.0, (0.5, 1e-12), (0.0, 4.0));
        assert!((p - 0.841_344_746).abs() < 1e-6, "{p}");
        // More days never make it less likely, and a tyre that is low is low now.
        let doubtful = |days| met_by(days, 15.0, (0.2, 0.04), (5.0, 4.0));
        assert!((0..400).all(|days| doubtful(f64::from(days)) <= doubtful(f64::from(days) + 1.0) + 1e-12));
        assert!(met_by(0.0, -10.0, (0.2, 0.04), (0.0, 4.0)) > 0.99);
    }
}
