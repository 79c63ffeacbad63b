//! From what is known of a chain today to the distance at which its limit is met, with all that is not known within it.

use alloc::vec::Vec;

use super::{
    fit::{Fit, KindFit},
    fleet::Fleet,
    parameters::Parameters,
    path::{Chain, Filter, Known, Note, What},
    quick,
    state::{Motion, State},
};
use crate::statistics::normal;

/// What a short history has not shown yet of riders and roads, as a share of the mean rate, from today on.
pub const ALLOWANCE: f64 = 0.15;
/// Farther than this, in the kind's units, nothing is said.
const SIGHT: f64 = 1000.0;
/// Hypotheses less likely than this add nothing.
const LEAST: f64 = 2e-3;

/// Gauss–Hermite nodes above 0 for a standard normal variable, order 7 (Abramowitz & Stegun, table 25.10).
const NODES: [f64; 3] = [1.154_405_394_739_968, 2.366_759_410_734_541, 3.750_439_717_725_742];
/// Weights: at 0, then at each pair of nodes.
const WEIGHTS: [f64; 4] =
    [0.457_142_857_142_857_1, 0.240_123_178_605_012_7, 0.030_757_123_967_586_5, 5.482_688_559_722_17e-4];

/// One way things may be, and its weight.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Way {
    weight: f64,
    state: State,
    motion: Motion,
    least_rate: f64,
    reading_variance: f64,
}

/// What is to come of one part.
#[derive(Clone, Debug, PartialEq)]
pub struct Ahead {
    reach: f64,
    ways: Vec<Way>,
}

/// A chain's own model: the sets of numbers, what is known of its gauges and its model.
#[derive(Clone, Debug)]
pub struct Model {
    sets: Vec<Parameters>,
    kind: KindFit,
    gauges: Vec<(f64, f64)>,
    biases: Vec<f64>,
}

impl Model {
    /// A kind's model, for chains of this fleet.
    #[must_use]
    pub fn of(kind: &KindFit, fit: &Fit, fleet: &Fleet) -> Self {
        let known = |gauge: &super::fleet::Gauge| {
            let effect = fit.gauges.get(&(gauge.id.clone(), gauge.unit)).copied();
            let stated = gauge.deviation * gauge.deviation;
            effect.map_or((0.0, stated), |effect| (effect.mean, effect.variance))
        };
        let gauges: Vec<(f64, f64)> = fleet.gauges.iter().map(known).collect();
        let biases = gauges.iter().map(|(mean, _)| *mean).collect();
        Self { sets: kind.sets(), kind: kind.clone(), gauges, biases }
    }

    fn known(&self, model: &str) -> Known<'_> {
        let group = self.kind.model(model);
        Known { gauges: &self.biases, group: group.mean, group_variance: group.variance }
    }

    /// Where a chain stands after its last step: all sets and hypotheses as one state.
    #[must_use]
    pub fn stands(&self, chain: &Chain, model: &str) -> State {
        let known = self.known(model);
        let share = 1.0 / self.sets.len() as f64;
        let mut all = Vec::new();
        for parameters in &self.sets {
            let paths = Filter { parameters, known, doubts: true }.run(chain, None).0;
            all.extend(paths.live().iter().map(|branch| (share * branch.weight, branch.state)));
        }
        State::of_all(all.iter().copied())
    }

    /// What is to come of a chain's part, `since` after its last step.
    #[must_use]
    pub fn ahead(&self, chain: &Chain, model: &str, since: f64) -> Ahead {
        let known = self.known(model);
        let share = 1.0 / self.sets.len() as f64;
        let bias = self.bias_variance(chain);
        let mut ways = Vec::new();
        for parameters in &self.sets {
            let filter = Filter { parameters, known, doubts: true };
            let paths = filter.until_now(filter.run(chain, None).0, chain.reach, since);
            let usual = (parameters.rate + known.group).max(0.1 * parameters.rate);
            for branch in paths.live().iter().filter(|branch| branch.weight > LEAST) {
                let mut state = branch.state;
                state.cov[0] += bias;
                ways.push(Way {
                    weight: share * branch.weight,
                    state,
                    motion: parameters.motion_at(state.mean[1], ALLOWANCE),
                    least_rate: 0.05 * usual,
                    reading_variance: parameters.reading_variance,
                });
            }
        }
        let whole: f64 = ways.iter().map(|way| way.weight).sum();
        for way in &mut ways {
            way.weight /= whole;
        }
        Ahead { reach: chain.reach, ways }
    }

    /// What the model made of each reading, by the likeliest numbers.
    #[must_use]
    pub fn notes(&self, chain: &Chain, model: &str) -> Vec<Note> {
        let parameters = Parameters::of(&self.kind.theta, self.kind.fresh);
        let filter = Filter { parameters: &parameters, known: self.known(model), doubts: true };
        let mut notes = Vec::new();
        let _whole = filter.run(chain, Some(&mut notes));
        notes
    }

    /// How sure the gauge of the last reading is: what all of a life's readings share does not average out.
    pub(super) fn bias_variance(&self, chain: &Chain) -> f64 {
        let last = chain.steps.iter().rev().find_map(|step| match &step.what {
            What::Read(read) => Some(read.gauge),
            What::Mounted => None,
        });
        last.and_then(|gauge| self.gauges.get(gauge as usize)).map_or(0.0, |(_, variance)| *variance)
    }
}

impl Way {
    /// P(met now).
    fn now(&self, reach: f64) -> f64 {
        let deviation = libm::sqrt(self.state.cov[0]);
        let short = self.state.mean[0] - reach;
        if deviation > 0.0 { normal::cdf(short / deviation) } else { f64::from(u8::from(short >= 0.0)) }
    }

    /// P(met by a distance): the rate averaged over it is lognormal, the level given the rate normal, the way Brownian.
    fn met_by(&self, reach: f64, d: f64) -> f64 {
        if d <= 0.0 {
            return self.now(reach);
        }
        let over = self.motion.over(d);
        let share = over.worked / d;
        let [level, rate, regime] = self.state.mean;
        let [ll, lr, lu, rr, ru, uu] = self.state.cov;
        let mean = (rate + regime * share).max(self.least_rate);
        let fresh = self.motion.regime * self.motion.regime * over.fresh / (d * d);
        let w2 = (rr + 2.0 * share * ru + share * share * uu + fresh).max(1e-12 * mean * mean);
        let c = lr + share * lu;
        let ratio = w2 / (mean * mean);
        let (lv, low) = (libm::sqrt(libm::log1p(ratio)), mean / libm::sqrt(1.0 + ratio));
        let vl = (ll - c * c / w2).max(1e-4 * ll);
        let tilt = c / libm::sqrt(w2);
        let given =
            |rate: f64, xi: f64| self.given(reach - level - tilt * xi, rate * d, (vl, self.motion.brownian * d));
        let mut sum = WEIGHTS[0] * given(low, 0.0);
        for (node, weight) in NODES.iter().zip(&WEIGHTS[1..]) {
            let factor = quick::exp(lv * node);
            sum += weight * (given(low * factor, *node) + given(low / factor, -node));
        }
        sum.clamp(0.0, 1.0)
    }

    /// P(met by a distance | the mean rate over it): `left` to wear, `worn` by then, variances of level and way.
    fn given(&self, left: f64, worn: f64, (vl, way): (f64, f64)) -> f64 {
        let variance = vl + way;
        if variance <= 0.0 {
            return f64::from(u8::from(worn >= left));
        }
        let root = libm::sqrt(variance);
        let z1 = (worn - left) / root;
        let far = libm::fabs(z1);
        if far > 8.5 {
            return if z1 < 0.0 { 0.0 } else { 1.0 };
        }
        let density = quick::density(z1);
        let tail = density * quick::mills(far);
        let direct = if z1 < 0.0 { tail } else { 1.0 - tail };
        let tilted = left + vl * (worn - left) / variance;
        if tilted <= 0.0 || way < 1e-6 * variance || far > 6.0 {
            return direct;
        }
        let root_way = libm::sqrt(way);
        direct + density * quick::mills((worn + tilted) / root_way) * root_way / root
    }
}

impl Ahead {
    /// What is to come of one state as it stands today.
    #[must_use]
    pub fn of(reach: f64, state: State, parameters: &Parameters) -> Self {
        let way = Way {
            weight: 1.0,
            state,
            motion: parameters.motion_at(state.mean[1], ALLOWANCE),
            least_rate: 0.05 * parameters.rate,
            reading_variance: parameters.reading_variance,
        };
        Self { reach, ways: [way].into() }
    }

    /// Probability that the limit is met already.
    #[must_use]
    pub fn met_now(&self) -> f64 {
        self.ways.iter().map(|way| way.weight * way.now(self.reach)).sum::<f64>().clamp(0.0, 1.0)
    }

    /// Probability that the limit is met by a distance from today, in the kind's unit.
    #[must_use]
    pub fn met_by(&self, d: f64) -> f64 {
        self.ways.iter().map(|way| way.weight * way.met_by(self.reach, d)).sum::<f64>().clamp(0.0, 1.0)
    }

    /// The same for a part known not to be at its limit now.
    #[must_use]
    pub fn met_by_if_not_yet(&self, d: f64) -> f64 {
        let now = self.met_now();
        if now >= 1.0 { 1.0 } else { ((self.met_by(d) - now) / (1.0 - now)).clamp(0.0, 1.0) }
    }

    /// The distance by which the limit is met with a probability; 0 for now, none where that is not in sight.
    #[must_use]
    pub fn distance(&self, p: f64) -> Option<f64> {
        self.distances([p])[0]
    }

    /// Distances at 5, 50 and 95 %.
    #[must_use]
    pub fn band(&self) -> [Option<f64>; 3] {
        self.distances([0.05, 0.5, 0.95])
    }

    /// Distances at 5, 50 and 95 % of a part known not to be at its limit now.
    #[must_use]
    pub fn band_if_not_yet(&self) -> [Option<f64>; 3] {
        let now = self.met_now();
        self.distances([0.05, 0.5, 0.95].map(|p| now + p * (1.0 - now)))
    }

    /// Distances by which the limit is met with each probability.
    fn distances<const N: usize>(&self, asked: [f64; N]) -> [Option<f64>; N] {
        self.distances_by(&|d| self.met_by(d), SIGHT, asked)
    }

    /// The same by a law of its own, near to this one: rising, and P(met now) at 0. None where that lies behind an end.
    pub(super) fn distances_by<const N: usize>(
        &self,
        by: &dyn Fn(f64) -> f64,
        end: f64,
        asked: [f64; N],
    ) -> [Option<f64>; N] {
        let now = self.met_now();
        // Where the last search ended: its place and slope tell where the next begins.
        let mut trail = self.start();
        let mut out = asked.map(|_| None);
        // From the middle outwards, so that neighbours help each other.
        for index in (0..N).map(|n| (N / 2 + n) % N) {
            out[index] = if now >= asked[index] { Some(0.0) } else { solve(by, (asked[index], end), &mut trail) };
        }
        out
    }

    /// Where the search begins: what is left at the mean rate, and how steep it is there as far as one way tells.
    fn start(&self) -> Trail {
        let (level, rate) = self.ways.iter().fold((0.0, 0.0), |(level, rate), way| {
            (level + way.weight * way.state.mean[0], rate + way.weight * way.state.mean[1].max(way.least_rate))
        });
        let left = (self.reach - level).max(0.02 * self.reach);
        let d = left / rate.max(1e-12);
        let spread = self.ways.first().map_or(0.3, |way| {
            let [ll, lr, _, rr, _, uu] = way.state.cov;
            let variance = ll + 2.0 * d * lr + d * d * (rr + uu / 2.0) + d * way.motion.brownian;
            libm::sqrt(variance.max(0.0)) / left
        });
        Trail { x: libm::log(d), y: 0.0, slope: 1.6 / spread.clamp(0.05, 1.0) }
    }

    /// What a reading today is expected to show, as wear: median and the ends of its 99 % interval, with a gauge of this
    /// step.
    #[must_use]
    pub fn reading(&self, step: f64) -> [f64; 3] {
        let variance = |way: &Way| way.state.cov[0] + way.reading_variance + step * step / 12.0;
        [0.005, 0.5, 0.995].map(|p| {
            let below = |z: f64| {
                let of = |way: &Way| way.weight * normal::cdf((z - way.state.mean[0]) / libm::sqrt(variance(way)));
                self.ways.iter().map(of).sum::<f64>()
            };
            let far = |sign: f64| {
                let ends = self.ways.iter().map(|way| way.state.mean[0] + sign * 10.0 * libm::sqrt(variance(way)));
                ends.fold(f64::NAN, if sign < 0.0 { f64::min } else { f64::max })
            };
            let (mut low, mut high) = (far(-1.0), far(1.0));
            for _ in 0..60 {
                let middle = low + (high - low) / 2.0;
                if below(middle) < p { low = middle } else { high = middle }
            }
            high
        })
    }

    /// Mean wear and mean rate today.
    #[must_use]
    pub fn today(&self) -> (f64, f64) {
        self.ways.iter().fold((0.0, 0.0), |(level, rate), way| {
            let [l, r, u] = way.state.mean;
            (level + way.weight * l, rate + way.weight * (r + u))
        })
    }
}

/// A place ln d, the bent logit there, and how steep it is.
struct Trail {
    x: f64,
    y: f64,
    slope: f64,
}

/// Where a law reaches a probability, up to an end: by the secant in ln d and a bent logit, between ends that only close in.
fn solve(by: &dyn Fn(f64) -> f64, (p, end): (f64, f64), trail: &mut Trail) -> Option<f64> {
    let (asked, end) = (bent_logit(p), libm::log(end));
    let (mut low, mut high) = (libm::log(1e-6), f64::INFINITY);
    let begin = trail.x + (asked - trail.y) / trail.slope;
    let mut x = begin.clamp(trail.x - 2.5, trail.x + 2.5).max(low + 1.0).min(end);
    let mut last: Option<(f64, f64)> = None;
    for _ in 0..80 {
        let y = bent_logit(by(libm::exp(x)));
        if y >= asked {
            high = x;
        } else if x >= end {
            return None;
        } else {
            low = x;
        }
        let slope = last.map(|(x0, y0)| (y - y0) / (x - x0)).filter(|slope| *slope > 0.05 && slope.is_finite());
        last = Some((x, y));
        *trail = Trail { x, y, slope: slope.unwrap_or(trail.slope) };
        let next = (x + ((asked - y) / trail.slope).clamp(-1.5, 1.5)).min(end);
        let next = if next > low && next < high { next } else { low + (high.min(end) - low) / 2.0 };
        let step = libm::fabs(next - x);
        x = next;
        // The next step would be of the order of this one's square.
        if step < 2e-3 && slope.is_some() || step < 1e-4 || high - low < 1e-9 {
            break;
        }
    }
    Some(libm::exp(x))
}

/// The logit, bent so that what is normal is nearly straight.
fn bent_logit(p: f64) -> f64 {
    let p = p.clamp(1e-12, 1.0 - 1e-12);
    let logit = libm::log(p / (1.0 - p));
    logit / libm::sqrt(1.0 + 0.03 * logit * logit)
}
