//! The fit: what the whole fleet teaches, as a value with its own bytes and hash.

use alloc::{collections::BTreeMap, string::String, vec::Vec};
use core::array;

use super::{
    effects::{Effect, Sums},
    fleet::{Fleet, Gauge, Kind},
    matrix,
    optimum::{self, Until},
    parameters::{COUNT, POINTS, Parameters, Prior, Theta, points},
    path::{Chain, Filter, Known, Note},
    state::Regime,
};
use crate::quantity::Unit;

/// Chains of one kind that the numbers are fitted to at most, evenly spread: in a fleet that is enough for one set of
/// numbers, and in a smaller one.
const SAMPLE: [usize; 2] = [160, 400];
/// From so many chains on one set of numbers stands for all.
const ENOUGH: usize = 1000;
/// How far models are usually apart, as a share of the mean rate.
const MODELS: f64 = 0.15;
/// Rounds of numbers and effects.
const ROUNDS: usize = 2;

/// What the fleet teaches of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct KindFit {
    /// The check.
    pub check: String,
    /// The unit of its figures.
    pub unit: Unit,
    /// The numbers.
    pub theta: Theta,
    /// A root of their covariance, by rows; nothing where one set stands for all.
    pub root: Option<[[f64; COUNT]; COUNT]>,
    /// Standard deviation of a fresh part's level, as a share of what there is to wear.
    pub fresh: f64,
    /// Rates of models above the mean.
    pub models: BTreeMap<String, Effect>,
    /// Variance of a model that is not among them.
    pub models_variance: f64,
    /// Machines with at least one reading.
    pub chains: u32,
    /// Readings.
    pub readings: u32,
    /// The search did not come to an end, and the numbers are the last good ones.
    pub unfinished: bool,
}

/// What the fleet teaches.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fit {
    /// By check.
    pub kinds: BTreeMap<String, KindFit>,
    /// Biases of gauges, by number and unit.
    pub gauges: BTreeMap<(String, Unit), Effect>,
}

impl KindFit {
    /// What is usual alone: no fleet has taught anything yet.
    #[must_use]
    pub fn usual(check: &str, unit: Unit, prior: &Prior) -> Self {
        let mut root = [[0.0; COUNT]; COUNT];
        for (axis, (row, deviation)) in root.iter_mut().zip(&prior.deviation).enumerate() {
            row[axis] = rounded(*deviation);
        }
        let usual = MODELS * libm::exp(prior.mean[0]);
        Self {
            check: check.into(),
            unit,
            theta: prior.mean.map(rounded),
            root: Some(root),
            fresh: rounded(prior.fresh),
            models: BTreeMap::new(),
            models_variance: rounded(usual * usual),
            chains: 0,
            readings: 0,
            unfinished: false,
        }
    }

    /// Whether it rests on no reading.
    #[must_use]
    pub const fn is_usual_alone(&self) -> bool {
        self.readings == 0
    }

    /// The sets of numbers that stand for what is known of them, each as likely.
    #[must_use]
    pub fn sets(&self) -> Vec<Parameters> {
        let Some(root) = &self.root else { return [Parameters::of(&self.theta, self.fresh)].into() };
        let moved = |point: &Theta| {
            let theta = array::from_fn(|i| {
                let step: f64 = root[i].iter().zip(point).map(|(cell, u)| cell * u).sum();
                self.theta[i] + step
            });
            Parameters::of(&theta, self.fresh)
        };
        let points: [Theta; POINTS] = points();
        points.iter().map(moved).collect()
    }

    /// A model's rate above the mean.
    #[must_use]
    pub fn model(&self, model: &str) -> Effect {
        self.models.get(model).copied().unwrap_or(Effect { mean: 0.0, variance: self.models_variance })
    }
}

/// Fits everything; `before` is an earlier fit to start from, which saves steps and changes the outcome only in the last
/// digits of what the search allows itself.
#[must_use]
pub fn fit(fleet: &Fleet, before: Option<&Fit>) -> Fit {
    let mut kinds: Vec<Fitting<'_>> =
        fleet.kinds.iter().map(|kind| Fitting::new(kind, before, &fleet.groups)).collect();
    let known = |gauge: &Gauge| before.and_then(|fit| fit.gauges.get(&(gauge.id.clone(), gauge.unit))).copied();
    let mut gauges: Vec<Effect> = fleet.gauges.iter().map(|gauge| known(gauge).unwrap_or_default()).collect();
    let rounds = if before.is_some() { 1 } else { ROUNDS };
    for round in 0..rounds {
        let biases: Vec<f64> = gauges.iter().map(|gauge| gauge.mean).collect();
        for kind in &mut kinds {
            kind.climb(&biases, round + 1 == rounds);
        }
        let sums: Vec<Sums> = kinds.iter_mut().map(|kind| kind.effects(&biases)).collect();
        let before = gauges.clone();
        for unit in units(fleet) {
            let mut all = Sums::new();
            for (kind, sums) in kinds.iter().zip(&sums).filter(|(kind, _)| kind.kind.unit == unit) {
                if kind.sample.len() > 1 {
                    all.take(sums);
                }
            }
            let stated = |id: u32| fleet.gauges.get(id as usize).map_or(1.0, |gauge| gauge.deviation.max(1e-9));
            for (id, effect) in all.gauges(&before, stated) {
                if let Some(slot) = gauges.get_mut(id as usize) {
                    *slot = effect;
                }
            }
        }
    }
    let biases: Vec<f64> = gauges.iter().map(|gauge| gauge.mean).collect();
    let kinds = kinds.into_iter().map(|kind| {
        let done = kind.finish(&biases, &fleet.groups);
        (done.check.clone(), done)
    });
    let named = fleet.gauges.iter().zip(gauges).filter(|(_, effect)| effect.variance > 0.0);
    Fit {
        kinds: crate::sorted::map(kinds),
        gauges: crate::sorted::map(
            named.map(|(gauge, effect)| ((gauge.id.clone(), gauge.unit), rounded_effect(effect))),
        ),
    }
}

fn units(fleet: &Fleet) -> Vec<Unit> {
    let mut out: Vec<Unit> = Vec::new();
    for kind in &fleet.kinds {
        if !out.contains(&kind.unit) {
            out.push(kind.unit);
        }
    }
    out
}

/// What regimes do over every step of the sample, for the last memories asked for: most evaluations ask for one of two.
#[derive(Default)]
struct Regimes {
    kept: [(f64, Vec<Regime>); 2],
    last: usize,
}

impl Regimes {
    fn of(&mut self, parameters: &Parameters, sample: &[&Chain]) -> &[Regime] {
        let memory = parameters.motion.memory;
        let found = self.kept.iter().position(|(own, _)| own.total_cmp(&memory).is_eq());
        let at = found.unwrap_or_else(|| {
            let free = 1 - self.last;
            let slot = &mut self.kept[free];
            slot.0 = memory;
            slot.1.clear();
            let steps = sample.iter().flat_map(|chain| &chain.steps);
            slot.1.extend(steps.map(|step| parameters.motion.over(step.over)));
            free
        });
        self.last = at;
        &self.kept[at].1
    }
}

/// One kind while it is fitted.
struct Fitting<'f> {
    kind: &'f Kind,
    sample: Vec<&'f Chain>,
    theta: Theta,
    groups: BTreeMap<u32, Effect>,
    spread: f64,
    /// How much of the sample the numbers are fitted to at present.
    looked_at: usize,
    /// Chains with a reading, and readings of all.
    chains: usize,
    count: usize,
    unfinished: bool,
    notes: Vec<Note>,
}

impl<'f> Fitting<'f> {
    fn new(kind: &'f Kind, before: Option<&Fit>, names: &[String]) -> Self {
        let counted = kind.chains.iter().map(|chain| (chain, readings(chain))).filter(|(_, count)| *count > 0);
        let (mut read, mut count) = (Vec::with_capacity(kind.chains.len()), 0);
        for (chain, own) in counted {
            read.push(chain);
            count += own;
        }
        let chains = read.len();
        let stride = read.len().div_ceil(SAMPLE[usize::from(read.len() < ENOUGH)]).max(1);
        // Every second one first, then those between: half of them are spread as evenly as all.
        let halves = [0, 1].map(|first| read.iter().step_by(stride).skip(first).step_by(2));
        let sample: Vec<&Chain> = halves.into_iter().flatten().copied().collect();
        let looked_at = sample.len();
        let before = before.and_then(|fit| fit.kinds.get(&kind.check));
        let start = before.map(|kind| kind.theta);
        let known = |name: &String| before.and_then(|kind| kind.models.get(name)).copied();
        let groups = (0_u32..).zip(names).filter_map(|(id, name)| Some((id, known(name)?)));
        let groups = crate::sorted::map(groups);
        let inside = |theta: &Theta| kind.prior.log_density(theta).is_finite();
        let theta = start.filter(inside).unwrap_or(kind.prior.mean);
        let usual = MODELS * libm::exp(theta[0]);
        Self {
            kind,
            sample,
            theta,
            groups,
            spread: usual * usual,
            looked_at,
            chains,
            count,
            unfinished: false,
            notes: Vec::new(),
        }
    }

    /// ln of likelihood and prior.
    fn height(&self, theta: &Theta, biases: &[f64], regimes: &mut Regimes) -> f64 {
        let prior = self.kind.prior.log_density(theta);
        if !prior.is_finite() {
            return prior;
        }
        let parameters = Parameters::of(theta, self.kind.prior.fresh);
        let mut sum = prior;
        let sample = &self.sample[..self.looked_at.min(self.sample.len())];
        let mut rest = regimes.of(&parameters, sample);
        for chain in sample {
            let filter = Filter { parameters: &parameters, known: self.known(chain, biases), doubts: true };
            let (own, others) = rest.split_at(chain.steps.len().min(rest.len()));
            rest = others;
            sum += filter.run_over(chain, own, None).1;
        }
        sum
    }

    fn known<'k>(&self, chain: &Chain, biases: &'k [f64]) -> Known<'k> {
        let group = self.groups.get(&chain.group).copied().unwrap_or_default();
        Known { gauges: biases, group: group.mean, group_variance: group.variance }
    }

    fn climb(&mut self, biases: &[f64], last: bool) {
        if self.sample.is_empty() {
            return;
        }
        // In a large fleet half of the sample is enough to begin with.
        let half = !last && self.chains >= ENOUGH;
        self.looked_at = if half { self.sample.len().div_ceil(2) } else { self.sample.len() };
        let until = Until { slope: if last { 0.1 } else { 0.3 }, steps: 40, difference: 1e-3, both_sides: false };
        // In units of the prior's deviations the axes are alike.
        let deviation = self.kind.prior.deviation;
        let from = self.theta;
        let at = |u: &Theta| array::from_fn(|i| from[i] + u[i] * deviation[i]);
        let mut regimes = Regimes::default();
        let top = optimum::highest([0.0; COUNT], until, |u| self.height(&at(u), biases, &mut regimes));
        if top.value.is_finite() {
            self.theta = at(&top.at);
        }
        self.unfinished = !top.level;
    }

    fn effects(&mut self, biases: &[f64]) -> Sums {
        let mut sums = Sums::new();
        let parameters = Parameters::of(&self.theta, self.kind.prior.fresh);
        let mut notes = core::mem::take(&mut self.notes);
        for chain in &self.sample {
            let group = self.groups.get(&chain.group).copied().unwrap_or_default();
            let known = Known { gauges: biases, group: group.mean, group_variance: 0.0 };
            sums.add(chain, &parameters, known, &mut notes);
        }
        self.notes = notes;
        (self.groups, self.spread) = sums.groups(&self.groups, MODELS * parameters.rate);
        sums
    }

    fn finish(self, biases: &[f64], names: &[String]) -> KindFit {
        let Self { chains, count, .. } = self;
        let mut out = KindFit::usual(&self.kind.check, self.kind.unit, &self.kind.prior);
        out.chains = u32::try_from(chains).unwrap_or(u32::MAX);
        out.readings = u32::try_from(count).unwrap_or(u32::MAX);
        if count == 0 {
            return out;
        }
        out.theta = self.theta.map(rounded);
        out.root = if chains >= ENOUGH { None } else { Some(self.root(biases)) };
        out.models_variance = rounded(self.spread);
        let named = self.groups.iter().filter_map(|(id, effect)| Some((names.get(*id as usize)?.clone(), *effect)));
        out.models = crate::sorted::map(named.map(|(name, effect)| (name, rounded_effect(effect))));
        out.unfinished = self.unfinished;
        out
    }

    /// A root of the numbers' covariance, by rows: the inverse curvature in units of the prior's deviations, where readings
    /// only ever add to what the prior knew.
    fn root(&self, biases: &[f64]) -> [[f64; COUNT]; COUNT] {
        let deviation = self.kind.prior.deviation;
        let at = |u: &Theta| array::from_fn(|i| self.theta[i] + u[i] * deviation[i]);
        let mut regimes = Regimes::default();
        let bend = optimum::curvature(&[0.0; COUNT], 0.05, |u| self.height(&at(u), biases, &mut regimes));
        let finite = bend.iter().flatten().all(|cell| cell.is_finite());
        let known = if finite { bend.map(|row| row.map(|cell| -cell)) } else { [[0.0; COUNT]; COUNT] };
        let (values, axes) = matrix::axes(known);
        array::from_fn(|i| array::from_fn(|j| rounded(deviation[i] * axes[i][j] / libm::sqrt(values[j].max(1.0)))))
    }
}

/// Readings of a chain.
pub(super) fn readings(chain: &Chain) -> usize {
    chain.steps.iter().filter(|step| matches!(step.what, super::path::What::Read(_))).count()
}

/// Six digits, and nothing below 1e-12: what is written is what is used. With so few digits every JSON reader comes to
/// the same float.
pub(super) fn rounded(value: f64) -> f64 {
    if !value.is_finite() || libm::fabs(value) < 1e-12 {
        return 0.0;
    }
    let power = 5 - libm::floor(libm::log10(libm::fabs(value))) as i32;
    let scale = libm::pow(10.0, f64::from(power.abs()));
    if power >= 0 { libm::round(value * scale) / scale } else { libm::round(value / scale) * scale }
}

fn rounded_effect(effect: Effect) -> Effect {
    Effect { mean: rounded(effect.mean), variance: rounded(effect.variance) }
}
