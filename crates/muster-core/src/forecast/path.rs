//! One chain of part lives under all its readings: the filter, and the hypotheses it keeps where a reading does not fit.

use alloc::vec::Vec;

use super::{
    parameters::Parameters,
    state::{Likelihood, Motion, Regime, State, gauss},
};
use crate::statistics::normal;

/// Hypotheses kept at most.
pub const KEPT: usize = 6;
/// Chance that a reading is a slip of the keys, the wrong place or the wrong gauge.
const SLIP: f64 = 0.01;
/// A slip is off by about this share of what there is to wear.
const SLIP_SPREAD: f64 = 0.4;
/// Above this squared surprise hypotheses are opened.
const GATE: f64 = 6.0;
/// A hypothesis less likely than this against the best is dropped: e⁻⁷.
const DROPPED: f64 = 9.1e-4;
/// Chance of an unlogged change in 1000 km, up to 20 000 km.
const CHANGED: f64 = 0.002;
/// Chance of one where the part was at its limit.
const CHANGED_AT_LIMIT: f64 = 0.15;

/// Readings of one kind of part on one machine, in their order, with the mountings between.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chain {
    /// What there is to wear: |limit − new|.
    pub reach: f64,
    /// +1 for what grows towards its limit, −1 for what shrinks.
    pub sign: f64,
    /// Its group (the machine's model), by the fleet's list.
    pub group: u32,
    /// Whether the first life began at the first step; else it was mounted *before, unknown*.
    pub fresh: bool,
    /// What happened.
    pub steps: Vec<Step>,
}

/// One thing that happened to a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Distance since the step before, in the kind's unit.
    pub over: f64,
    /// What.
    pub what: What,
}

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// The next part was mounted, or the old one renewed.
    Mounted,
    /// A figure was read.
    Read(Read),
}

/// A figure as the model takes it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Read {
    /// Wear used: sign · (reading − new).
    pub z: f64,
    /// The gauge, by the fleet's list.
    pub gauge: u32,
    /// How many readings it is the mean of.
    pub times: f64,
    /// The gauge's step.
    pub step: f64,
    /// Whether the gauge stood at an end of what it can show.
    pub stop: Stop,
}

/// An end of what a gauge can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// At none.
    Free,
    /// The wear may be less than shown.
    Below,
    /// The wear may be more than shown.
    Above,
}

/// What is known of gauges and of one group, taken off before a reading counts.
#[derive(Clone, Copy, Debug)]
pub struct Known<'k> {
    /// Bias of each gauge, in the check's unit.
    pub gauges: &'k [f64],
    /// The group's rate above the mean.
    pub group: f64,
    /// Variance of that.
    pub group_variance: f64,
}

impl Known<'_> {
    /// Nothing is known.
    pub const NOTHING: Known<'static> = Known { gauges: &[], group: 0.0, group_variance: 0.0 };
}

/// What the model made of one reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Note {
    /// What was expected of it, as wear.
    pub expected: f64,
    /// Standard deviation of that, the reading's own error within it.
    pub deviation: f64,
    /// Probability that it is a slip.
    pub slip: f64,
    /// Probability that the part was changed since the reading before and nobody noted it.
    pub changed: f64,
}

/// One hypothesis of what happened.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Branch {
    /// The part's state under it.
    pub state: State,
    /// Its probability.
    pub weight: f64,
    slips: u64,
    changes: u64,
}

/// Every hypothesis kept.
#[derive(Clone, Copy, Debug)]
pub struct Paths {
    all: [Branch; KEPT],
    count: usize,
}

/// A chain's filter: its parameters, and what is known of its gauges and group.
#[derive(Clone, Copy, Debug)]
pub struct Filter<'f> {
    /// What the fleet taught.
    pub parameters: &'f Parameters,
    /// What is known besides.
    pub known: Known<'f>,
    /// Whether a reading may be a slip or a part changed and not noted.
    pub doubts: bool,
}

impl Filter<'_> {
    /// The rate that is usual here.
    fn usual(&self) -> f64 {
        (self.parameters.rate + self.known.group).max(0.1 * self.parameters.rate)
    }

    /// The state of a chain before anything happened.
    #[must_use]
    pub fn begin(&self, chain: &Chain) -> State {
        let p = self.parameters;
        let regime = p.motion.regime * p.motion.regime;
        let (level, deviation) = if chain.fresh {
            (p.fresh_level * chain.reach, p.fresh_deviation * chain.reach)
        } else {
            (0.4 * chain.reach, 0.35 * chain.reach)
        };
        State {
            mean: [level, self.usual(), 0.0],
            cov: [deviation * deviation, 0.0, 0.0, p.rate_variance + self.known.group_variance, 0.0, regime],
        }
    }

    /// The state after a mounting: the next life is like the last as far as the machine makes it so; riders and roads stay.
    #[must_use]
    pub fn mounted(&self, old: &State, reach: f64) -> State {
        let p = self.parameters;
        let (usual, rho) = (self.usual(), p.likeness);
        let deviation = p.fresh_deviation * reach;
        let [.., rr, ru, uu] = old.cov;
        State {
            mean: [p.fresh_level * reach, usual + rho * (old.mean[1] - usual), old.mean[2]],
            cov: [deviation * deviation, 0.0, 0.0, rho * rho * rr + p.renewal_variance, rho * ru, uu],
        }
    }

    /// The state of a part changed and not noted somewhere in the last `d`, each place as likely.
    fn changed(&self, old: &State, reach: f64, d: f64) -> State {
        let mut state = self.mounted(old, reach);
        let (rate, rr) = (state.mean[1], state.cov[3]);
        state.mean[0] += rate * d / 2.0;
        state.cov[0] += rate * d * rate * d / 12.0 + d * d * rr / 3.0;
        state.cov[1] = d * rr / 2.0;
        state
    }

    /// Runs a whole chain and returns what it leaves and the log-likelihood of its readings.
    pub fn run(&self, chain: &Chain, notes: Option<&mut Vec<Note>>) -> (Paths, f64) {
        self.run_over(chain, &[], notes)
    }

    /// The same, with what a regime does over each step worked out already, as far as it is given.
    pub(super) fn run_over(
        &self,
        chain: &Chain,
        regimes: &[Regime],
        mut notes: Option<&mut Vec<Note>>,
    ) -> (Paths, f64) {
        let mut paths = Paths::of(self.begin(chain));
        let mut likelihood = Likelihood::ONE;
        for (index, step) in chain.steps.iter().enumerate() {
            if step.over > 0.0 {
                let regime = regimes.get(index).copied();
                let regime = regime.unwrap_or_else(|| self.parameters.motion.over(step.over));
                paths.carry(step.over, self.parameters, regime);
            }
            match &step.what {
                What::Mounted => {
                    let merged = paths.merged();
                    paths.settle(notes.as_deref_mut());
                    paths = Paths::of(self.mounted(&merged, chain.reach));
                }
                What::Read(read) => {
                    if let Some(notes) = notes.as_deref_mut() {
                        notes.push(self.note(&paths, chain, read));
                        paths.overtake(notes);
                    }
                    self.read(&mut paths, chain, (step.over, read), &mut likelihood);
                }
            }
        }
        paths.settle(notes);
        (paths, likelihood.total())
    }

    fn noise(&self, read: &Read) -> f64 {
        self.parameters.reading_variance / read.times + read.step * read.step / 12.0
    }

    fn corrected(&self, chain: &Chain, read: &Read) -> f64 {
        read.z - chain.sign * self.known.gauges.get(read.gauge as usize).copied().unwrap_or(0.0)
    }

    /// What was expected of a reading, before it is taken.
    fn note(&self, paths: &Paths, chain: &Chain, read: &Read) -> Note {
        let merged = paths.merged();
        let bias = read.z - self.corrected(chain, read);
        let deviation = libm::sqrt(merged.cov[0] + self.noise(read));
        Note { expected: merged.mean[0] + bias, deviation, slip: 0.0, changed: 0.0 }
    }

    /// Takes a reading into one state, as the gauge's step asks.
    fn take(&self, state: &mut State, read: &Read, z: f64, likelihood: &mut Likelihood) {
        let r = self.noise(read);
        let half = read.step / 2.0;
        let coarse = read.times < 1.5 && half * half > 0.45 * r;
        if coarse || read.stop != Stop::Free {
            let low = if read.stop == Stop::Below { f64::NEG_INFINITY } else { z - half };
            let high = if read.stop == Stop::Above { f64::INFINITY } else { z + half };
            let between = state.learn_between(low, high, self.parameters.reading_variance / read.times);
            if let Some(log_share) = between {
                let width = if read.stop == Stop::Free { read.step } else { 1.0 };
                return likelihood.log(log_share - libm::log(width));
            }
        }
        let told = state.hear(z, r);
        state.learn(&told);
        likelihood.gauss(told.surprise, told.variance);
    }

    fn read(&self, paths: &mut Paths, chain: &Chain, (over, read): (f64, &Read), likelihood: &mut Likelihood) {
        let z = self.corrected(chain, read);
        let r = self.noise(read);
        for branch in paths.live_mut() {
            branch.slips <<= 1;
            branch.changes <<= 1;
        }
        if paths.count == 1 {
            let only = &mut paths.all[0];
            let told = only.state.hear(z, r);
            let near = only.state.mean[0] > chain.reach - libm::sqrt(only.state.cov[0]);
            if !self.doubts || (told.square() <= GATE && !near) {
                return self.take(&mut only.state, read, z, likelihood);
            }
        }
        let mut next = Next::new();
        for branch in paths.live() {
            let p = change_chance(&branch.state, chain.reach, over);
            let mut kept = *branch;
            let mut own = Likelihood::ONE;
            self.take(&mut kept.state, read, z, &mut own);
            next.offer(kept, libm::log(branch.weight * (1.0 - SLIP - p)) + own.total());
            let wide = SLIP_SPREAD * chain.reach;
            let told = branch.state.hear(z, r + wide * wide);
            let slip = Branch { slips: branch.slips | 1, ..*branch };
            next.offer(slip, libm::log(branch.weight * SLIP) + gauss(told.surprise, told.variance));
            if p > 0.0 {
                let mut changed = *branch;
                changed.state = self.changed(&branch.state, chain.reach, over);
                changed.changes |= 1;
                let mut own = Likelihood::ONE;
                self.take(&mut changed.state, read, z, &mut own);
                next.offer(changed, libm::log(branch.weight * p) + own.total());
            }
        }
        likelihood.log(next.into_paths(paths));
    }

    /// Carries what a chain has left over the distance ridden since: the part may have been changed in it and not noted.
    #[must_use]
    pub fn until_now(&self, paths: &Paths, reach: f64, over: f64) -> Paths {
        let mut out = *paths;
        if over > 0.0 {
            out.carry(over, self.parameters, self.parameters.motion.over(over));
        }
        let best = &out.all[0];
        if !self.doubts || over <= 0.0 || best.state.mean[0] <= reach - libm::sqrt(best.state.cov[0]) {
            return out;
        }
        let mut next = Next::new();
        for branch in out.live() {
            let p = change_chance(&branch.state, reach, over);
            next.offer(*branch, libm::log(branch.weight * (1.0 - p)));
            let changed = Branch { state: self.changed(&branch.state, reach, over), ..*branch };
            next.offer(changed, libm::log(branch.weight * p));
        }
        let _whole = next.into_paths(&mut out);
        out
    }
}

/// Chance that a part was changed over the last `d` and nobody noted it.
fn change_chance(state: &State, reach: f64, d: f64) -> f64 {
    if d <= 0.0 {
        return 0.0;
    }
    let past = normal::cdf((state.mean[0] - reach) / libm::sqrt(state.cov[0].max(1e-12)));
    (CHANGED * d.min(20.0) + CHANGED_AT_LIMIT * past * (d / 0.1).min(1.0)).min(0.5)
}

impl Paths {
    fn of(state: State) -> Self {
        let mut all = [Branch::default(); KEPT];
        all[0] = Branch { state, weight: 1.0, slips: 0, changes: 0 };
        Self { all, count: 1 }
    }

    /// The hypotheses kept, the likeliest first.
    #[must_use]
    pub fn live(&self) -> &[Branch] {
        &self.all[..self.count]
    }

    fn live_mut(&mut self) -> &mut [Branch] {
        &mut self.all[..self.count]
    }

    fn carry(&mut self, over: f64, parameters: &Parameters, regime: Regime) {
        for branch in self.live_mut() {
            let motion: Motion = parameters.motion_at(branch.state.mean[1], 0.0);
            branch.state.carry_over(over, &motion, regime);
        }
    }

    /// One state with the mean and covariance of all hypotheses together.
    #[must_use]
    pub fn merged(&self) -> State {
        if let [only] = self.live() {
            return only.state;
        }
        State::of_all(self.live().iter().map(|branch| (branch.weight, branch.state)))
    }

    /// Probability that the reading `back` readings ago was a slip, and that the part was changed before it.
    fn doubt(&self, back: u32) -> (f64, f64) {
        let mut sums = (0.0, 0.0);
        for branch in self.live() {
            sums.0 += if branch.slips >> back & 1 == 1 { branch.weight } else { 0.0 };
            sums.1 += if branch.changes >> back & 1 == 1 { branch.weight } else { 0.0 };
        }
        sums
    }

    /// Settles the note that is about to leave what hypotheses remember; the newest note has no reading taken yet.
    fn overtake(&self, notes: &mut [Note]) {
        if let Some(index) = notes.len().checked_sub(65) {
            let (slip, changed) = self.doubt(63);
            let note = &mut notes[index];
            (note.slip, note.changed) = (note.slip.max(slip), note.changed.max(changed));
        }
    }

    /// Settles every note still remembered, newest last.
    fn settle(&self, notes: Option<&mut Vec<Note>>) {
        let Some(notes) = notes else { return };
        for (back, note) in (0..64_u32).zip(notes.iter_mut().rev()) {
            let (slip, changed) = self.doubt(back);
            (note.slip, note.changed) = (note.slip.max(slip), note.changed.max(changed));
        }
    }
}

/// Hypotheses a reading has opened.
struct Next {
    all: [(Branch, f64); 3 * KEPT],
    count: usize,
}

impl Next {
    fn new() -> Self {
        Self { all: [(Branch::default(), f64::NEG_INFINITY); 3 * KEPT], count: 0 }
    }

    fn offer(&mut self, branch: Branch, log_weight: f64) {
        if log_weight > f64::NEG_INFINITY && self.count < self.all.len() {
            self.all[self.count] = (branch, log_weight);
            self.count += 1;
        }
    }

    /// Keeps the best, drops the hopeless, and returns the log of their sum.
    fn into_paths(mut self, paths: &mut Paths) -> f64 {
        let live = &mut self.all[..self.count];
        live.sort_unstable_by(|a, b| b.1.total_cmp(&a.1));
        let Some(best) = live.first().map(|(_, log)| *log) else { return f64::NEG_INFINITY };
        let all: f64 = live.iter().map(|(_, log)| libm::exp(log - best)).sum();
        paths.count = 0;
        let mut kept = 0.0;
        for (branch, log) in live.iter().take(KEPT) {
            let weight = libm::exp(log - best);
            if weight < DROPPED {
                break;
            }
            paths.all[paths.count] = Branch { weight, ..*branch };
            paths.count += 1;
            kept += weight;
        }
        for branch in paths.live_mut() {
            branch.weight /= kept;
        }
        best + libm::log(all)
    }
}
