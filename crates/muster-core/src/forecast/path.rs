//! One chain of part lives under all its readings: the filter, and the hypotheses it keeps where a reading does not fit.

use alloc::vec::Vec;

use super::{
    hypotheses::{Branch, Next, Paths, Turn},
    parameters::Parameters,
    quick,
    state::{Density, LEAST_SHARE, Likelihood, Regime, State},
};
/// Chance that a reading is a slip of the keys, the wrong place or the wrong gauge.
const SLIP: f64 = 0.01;
/// A slip is off by about this share of what there is to wear.
const SLIP_SPREAD: f64 = 0.4;
/// Above this squared surprise hypotheses are opened.
const GATE: f64 = 6.0;
/// Where no reading tells hypotheses apart.
const AS_LIKELY: Density = Density { share: 1.0, square: 0.0 };
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

    /// A reading as a state hears it: corrected, and as an interval where the gauge's step or stop asks for that.
    fn heard(&self, chain: &Chain, read: &Read) -> Heard {
        let z = self.corrected(chain, read);
        let r = self.noise(read);
        let half = read.step / 2.0;
        let coarse = read.times < 1.5 && half * half > 0.45 * r;
        let between = (coarse || read.stop != Stop::Free).then(|| Between {
            low: if read.stop == Stop::Below { f64::NEG_INFINITY } else { z - half },
            high: if read.stop == Stop::Above { f64::INFINITY } else { z + half },
            r: self.parameters.reading_variance / read.times,
            width: if read.stop == Stop::Free { read.step } else { 1.0 },
        });
        Heard { z, r, between }
    }

    fn read(&self, paths: &mut Paths, chain: &Chain, (over, read): (f64, &Read), likelihood: &mut Likelihood) {
        let heard = self.heard(chain, read);
        for branch in paths.live_mut() {
            branch.slips <<= 1;
            branch.changes <<= 1;
        }
        if let [only] = paths.live_mut() {
            let told = only.state.hear(heard.z, heard.r);
            // Within a deviation of the limit, or past it.
            let short = chain.reach - only.state.mean[0];
            let near = short < 0.0 || short * short < only.state.cov[0];
            if !self.doubts || (told.square() <= GATE && !near) {
                return likelihood.take(heard.learnt(&mut only.state));
            }
        }
        let mut next = Next::new();
        for (index, branch) in paths.live().iter().enumerate() {
            let p = change_chance(&branch.state, chain.reach, over);
            next.offer((index, Turn::AsExpected), branch.weight * (1.0 - SLIP - p), heard.density(&branch.state));
            let wide = SLIP_SPREAD * chain.reach;
            let slip = branch.state.hear(heard.z, heard.r + wide * wide).density();
            next.offer((index, Turn::Slip), branch.weight * SLIP, slip);
            if p > 0.0 {
                let changed = heard.density(&self.changed(&branch.state, chain.reach, over));
                next.offer((index, Turn::Changed), branch.weight * p, changed);
            }
        }
        likelihood.take(next.weigh());
        paths.keep(&next, |old, turn| {
            let mut branch = *old;
            match turn {
                Turn::Slip => branch.slips |= 1,
                Turn::AsExpected => _ = heard.learnt(&mut branch.state),
                Turn::Changed => {
                    branch.changes |= 1;
                    branch.state = self.changed(&branch.state, chain.reach, over);
                    _ = heard.learnt(&mut branch.state);
                }
            }
            branch
        });
    }

    /// Carries what a chain has left over the distance ridden since: the part may have been changed in it and not noted.
    #[must_use]
    pub fn until_now(&self, mut paths: Paths, reach: f64, over: f64) -> Paths {
        if over > 0.0 {
            paths.carry(over, self.parameters, self.parameters.motion.over(over));
        }
        let best = paths.live().first().map_or(reach, |best| best.state.mean[0] + libm::sqrt(best.state.cov[0]));
        if !self.doubts || over <= 0.0 || best <= reach {
            return paths;
        }
        let mut next = Next::new();
        for (index, branch) in paths.live().iter().enumerate() {
            let p = change_chance(&branch.state, reach, over);
            next.offer((index, Turn::AsExpected), branch.weight * (1.0 - p), AS_LIKELY);
            next.offer((index, Turn::Changed), branch.weight * p, AS_LIKELY);
        }
        _ = next.weigh();
        paths.keep(&next, |old, turn| match turn {
            Turn::Changed => Branch { state: self.changed(&old.state, reach, over), ..*old },
            _ => *old,
        });
        paths
    }
}

/// A reading as every hypothesis hears it.
struct Heard {
    z: f64,
    r: f64,
    between: Option<Between>,
}

/// What a coarse gauge, or one at its stop, tells: the wear lies between two figures.
struct Between {
    low: f64,
    high: f64,
    r: f64,
    width: f64,
}

impl Heard {
    /// How likely it is in a state.
    fn density(&self, state: &State) -> Density {
        let share = self.between.as_ref().map(|it| (state.share_between((it.low, it.high), it.r), it.width));
        let inside = share.filter(|(share, _)| *share >= LEAST_SHARE);
        inside.map_or_else(|| state.hear(self.z, self.r).density(), |(share, width)| Density::of(share / width))
    }

    /// Takes it into a state, and returns how likely it was.
    fn learnt(&self, state: &mut State) -> Density {
        if let Some(it) = &self.between
            && let Some(share) = state.learn_between((it.low, it.high), it.r)
        {
            return Density::of(share / it.width);
        }
        let told = state.hear(self.z, self.r);
        state.learn(&told);
        told.density()
    }
}

/// Chance that a part was changed over the last `d` and nobody noted it.
fn change_chance(state: &State, reach: f64, d: f64) -> f64 {
    if d <= 0.0 {
        return 0.0;
    }
    let past = quick::cdf((state.mean[0] - reach) / libm::sqrt(state.cov[0].max(1e-12)));
    (CHANGED * d.min(20.0) + CHANGED_AT_LIMIT * past * (d / 0.1).min(1.0)).min(0.5)
}
