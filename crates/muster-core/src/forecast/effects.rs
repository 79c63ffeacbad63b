//! What gauges and models add: biases and rates that enter linearly, learnt beside the fit by their own columns.

use alloc::{collections::BTreeMap, vec, vec::Vec};

use super::{
    matrix,
    parameters::Parameters,
    path::{Chain, Filter, Known, Note, What},
    state::Motion,
};

/// Gauges of one chain that have a column of their own; a life sees few.
const COLUMNS: usize = 6;

/// What readings say of effects, over all chains: information and its product with the effects' estimates.
#[derive(Clone, Debug)]
pub(super) struct Sums {
    information: BTreeMap<(u32, u32), f64>,
    score: BTreeMap<u32, f64>,
    /// Information and score of each group.
    groups: BTreeMap<u32, (f64, f64)>,
}

/// An effect as it is known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Effect {
    /// Its mean.
    pub mean: f64,
    /// Its variance.
    pub variance: f64,
}

struct Columns {
    gauges: [(u32, [f64; 3]); COLUMNS],
    count: usize,
    group: [f64; 3],
}

impl Columns {
    fn new() -> Self {
        Self { gauges: [(0, [0.0; 3]); COLUMNS], count: 0, group: [0.0, 1.0, 0.0] }
    }

    fn each(&mut self) -> impl Iterator<Item = &mut [f64; 3]> {
        self.gauges[..self.count].iter_mut().map(|(_, column)| column).chain([&mut self.group])
    }

    fn carry(&mut self, d: f64, motion: &Motion) {
        let over = motion.over(d);
        for column in self.each() {
            column[0] += d * column[1] + over.worked * column[2];
            column[2] *= over.left;
        }
    }

    fn mounted(&mut self, likeness: f64) {
        for column in self.each() {
            column[0] = 0.0;
            column[1] *= likeness;
        }
        self.group[1] += 1.0 - likeness;
    }

    /// The column of a gauge; none where a life has seen more gauges than there is room for.
    fn of(&mut self, gauge: u32) -> Option<usize> {
        let known = self.gauges[..self.count].iter().position(|(id, _)| *id == gauge);
        known.or_else(|| {
            let free = self.count;
            let slot = self.gauges.get_mut(free)?;
            *slot = (gauge, [0.0; 3]);
            self.count += 1;
            Some(free)
        })
    }
}

impl Sums {
    pub(super) const fn new() -> Self {
        Self { information: BTreeMap::new(), score: BTreeMap::new(), groups: BTreeMap::new() }
    }

    /// Adds what a chain says, along its likeliest hypotheses.
    pub(super) fn add(&mut self, chain: &Chain, parameters: &Parameters, known: Known<'_>, notes: &mut Vec<Note>) {
        let filter = Filter { parameters, known, doubts: true };
        notes.clear();
        let _whole = filter.run(chain, Some(notes));
        let mut doubts = notes.iter();
        let mut state = filter.begin(chain);
        let mut columns = Columns::new();
        for step in &chain.steps {
            if step.over > 0.0 {
                let motion = parameters.motion_at(state.mean[1], 0.0);
                state.carry(step.over, &motion);
                columns.carry(step.over, &motion);
            }
            let What::Read(read) = &step.what else {
                state = filter.mounted(&state, chain.reach);
                columns.mounted(parameters.likeness);
                continue;
            };
            let doubt = doubts.next().copied().unwrap_or_default();
            if doubt.changed > 0.5 {
                state = filter.mounted(&state, chain.reach);
                columns.mounted(parameters.likeness);
                // Somewhere in the distance: not known well enough to say anything of a gauge.
                state.cov[0] += state.mean[1] * step.over * state.mean[1] * step.over / 3.0;
            }
            if doubt.slip <= 0.5 {
                let bias = known.gauges.get(read.gauge as usize).copied().unwrap_or(0.0);
                let r = parameters.reading_variance / read.times + read.step * read.step / 12.0;
                let told = state.hear(read.z - chain.sign * bias, r);
                self.hear(&mut columns, chain, read.gauge, (told.surprise, told.variance, told.gain));
                state.learn(&told);
            }
        }
    }

    fn hear(&mut self, columns: &mut Columns, chain: &Chain, gauge: u32, (v, s, k): (f64, f64, [f64; 3])) {
        let own = columns.of(gauge);
        let mut w = [0.0; COLUMNS];
        for (index, (_, column)) in columns.gauges[..columns.count].iter().enumerate() {
            w[index] = if own == Some(index) { chain.sign } else { 0.0 } - column[0];
        }
        for (a, (one, _)) in columns.gauges[..columns.count].iter().enumerate() {
            *self.score.entry(*one).or_default() += w[a] * v / s;
            for (b, (other, _)) in columns.gauges[..columns.count].iter().enumerate() {
                *self.information.entry((*one, *other)).or_default() += w[a] * w[b] / s;
            }
        }
        let group = self.groups.entry(chain.group).or_default();
        let own = columns.group[0];
        (group.0, group.1) = (group.0 + own * own / s, group.1 + own * v / s);
        for (w, (_, column)) in w.iter().zip(&mut columns.gauges[..columns.count]) {
            for (cell, gain) in column.iter_mut().zip(k) {
                *cell += gain * w;
            }
        }
        for (cell, gain) in columns.group.iter_mut().zip(k) {
            *cell -= gain * own;
        }
    }

    /// Takes another's sums in: of kinds read in one unit.
    pub(super) fn take(&mut self, other: &Self) {
        for (key, value) in &other.information {
            *self.information.entry(*key).or_default() += value;
        }
        for (key, value) in &other.score {
            *self.score.entry(*key).or_default() += value;
        }
    }

    /// The groups, given what was taken off for each already and how far groups usually are apart.
    pub(super) fn groups(&self, before: &BTreeMap<u32, Effect>, usual: f64) -> (BTreeMap<u32, Effect>, f64) {
        let mut spread = usual * usual;
        let mut out = BTreeMap::new();
        for _ in 0..20 {
            let mut sum = 4.0 * usual * usual;
            for (group, (information, score)) in &self.groups {
                let already = before.get(group).map_or(0.0, |effect| effect.mean);
                let variance = 1.0 / (information + 1.0 / spread);
                let mean = variance * (score + information * already);
                sum += mean * mean + variance;
                out.insert(*group, Effect { mean, variance });
            }
            spread = sum / (4.0 + self.groups.len() as f64);
        }
        (out, spread)
    }

    /// The gauges of one unit, given what was taken off for each already; `stated` is the deviation each is stated with.
    pub(super) fn gauges(&self, before: &[Effect], stated: impl Fn(u32) -> f64) -> BTreeMap<u32, Effect> {
        let ids: Vec<u32> = self.score.keys().copied().collect();
        let n = ids.len();
        if n == 0 {
            return BTreeMap::new();
        }
        let cell = |a: &u32, b: &u32| self.information.get(&(*a, *b)).copied().unwrap_or(0.0);
        let already = |id: &u32| before.get(*id as usize).map_or(0.0, |effect| effect.mean);
        let right: Vec<f64> = ids
            .iter()
            .map(|one| {
                let moved: f64 = ids.iter().map(|other| cell(one, other) * already(other)).sum();
                self.score.get(one).copied().unwrap_or(0.0) + moved
            })
            .collect();
        // How far gauges are off, as a multiple of what is stated.
        let mut scale = 1.0;
        let mut out = BTreeMap::new();
        for _ in 0..if n <= 60 { 20 } else { 3 } {
            let mut system = vec![vec![0.0; n]; n];
            for (row, one) in system.iter_mut().zip(&ids) {
                for (slot, other) in row.iter_mut().zip(&ids) {
                    let own = stated(*one);
                    *slot = cell(one, other) + if one == other { 1.0 / (scale * own * own) } else { 0.0 };
                }
            }
            let Some(inverse) = matrix::inverse(&system) else { return out };
            let mut sum = 4.0;
            for ((index, id), row) in ids.iter().enumerate().zip(&inverse) {
                let mean: f64 = row.iter().zip(&right).map(|(a, b)| a * b).sum();
                let variance = row[index];
                let own = stated(*id);
                sum += (mean * mean + variance) / (own * own);
                out.insert(*id, Effect { mean, variance });
            }
            scale = sum / (4.0 + n as f64);
        }
        out
    }
}
