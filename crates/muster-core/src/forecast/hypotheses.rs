//! The hypotheses of one part that are kept side by side: what may have happened to it that nobody noted.

use alloc::vec::Vec;

use super::{
    parameters::Parameters,
    path::Note,
    quick,
    state::{Density, Motion, Regime, State},
};

/// Hypotheses kept at most.
const KEPT: usize = 6;
/// A hypothesis less likely than this against the best is dropped: e⁻⁷.
const DROPPED: f64 = 9.1e-4;

/// One hypothesis of what happened.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Branch {
    /// The part's state under it.
    pub state: State,
    /// Its probability.
    pub weight: f64,
    pub(super) slips: u64,
    pub(super) changes: u64,
}

/// Every hypothesis kept.
#[derive(Clone, Copy, Debug)]
pub struct Paths {
    all: [Branch; KEPT],
    count: usize,
}

impl Paths {
    pub(super) fn of(state: State) -> Self {
        let mut all = [Branch::default(); KEPT];
        all[0] = Branch { state, weight: 1.0, slips: 0, changes: 0 };
        Self { all, count: 1 }
    }

    /// The hypotheses kept, the likeliest first.
    #[must_use]
    pub fn live(&self) -> &[Branch] {
        &self.all[..self.count]
    }

    pub(super) fn live_mut(&mut self) -> &mut [Branch] {
        &mut self.all[..self.count]
    }

    pub(super) fn carry(&mut self, over: f64, parameters: &Parameters, regime: Regime) {
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
    pub(super) fn overtake(&self, notes: &mut [Note]) {
        if let Some(index) = notes.len().checked_sub(65) {
            let (slip, changed) = self.doubt(63);
            let note = &mut notes[index];
            (note.slip, note.changed) = (note.slip.max(slip), note.changed.max(changed));
        }
    }

    /// Settles every note still remembered, newest last.
    pub(super) fn settle(&self, notes: Option<&mut Vec<Note>>) {
        let Some(notes) = notes else { return };
        for (back, note) in (0..64_u32).zip(notes.iter_mut().rev()) {
            let (slip, changed) = self.doubt(back);
            (note.slip, note.changed) = (note.slip.max(slip), note.changed.max(changed));
        }
    }

    /// Keeps the likeliest of what was opened, and drops the hopeless; `made` turns one hypothesis of before into that.
    pub(super) fn keep(&mut self, next: &Next, made: impl Fn(&Branch, Turn) -> Branch) {
        let old = *self;
        let (likeliest, count) = next.likeliest();
        let kept: f64 = likeliest[..count].iter().map(|opened| opened.weight).sum();
        for (slot, opened) in self.all.iter_mut().zip(&likeliest[..count]) {
            let branch = made(&old.all[opened.from], opened.turn);
            *slot = Branch { weight: opened.weight / kept, ..branch };
        }
        self.count = count.max(1);
    }
}

/// What a hypothesis says of the distance since the step before, or of the reading at its end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Turn {
    /// The part is what it was, and the reading is of it.
    #[default]
    AsExpected,
    /// The reading is a slip.
    Slip,
    /// The part was changed, and nobody noted it.
    Changed,
}

/// Hypotheses that a reading has opened, before the likeliest are made.
pub(super) struct Next {
    all: [Opened; 3 * KEPT],
    count: usize,
}

#[derive(Clone, Copy, Default)]
struct Opened {
    from: usize,
    turn: Turn,
    weight: f64,
    square: f64,
}

impl Next {
    pub(super) fn new() -> Self {
        Self { all: [Opened::default(); 3 * KEPT], count: 0 }
    }

    /// Opens one: from which hypothesis, by which turn, how likely before the reading, and how likely that makes it.
    #[inline]
    pub(super) fn offer(&mut self, (from, turn): (usize, Turn), before: f64, density: Density) {
        let weight = before * libm::sqrt(density.share);
        if weight > 0.0 && density.square < f64::INFINITY && self.count < self.all.len() {
            self.all[self.count] = Opened { from, turn, weight, square: density.square };
            self.count += 1;
        }
    }

    /// Weighs them against one another, and returns the reading's density under all of them.
    pub(super) fn weigh(&mut self) -> Density {
        let opened = &mut self.all[..self.count];
        let square = opened.iter().fold(f64::INFINITY, |least, opened| least.min(opened.square));
        let mut whole = 0.0;
        for opened in opened {
            opened.weight *= quick::exp((square - opened.square) / 2.0);
            whole += opened.weight;
        }
        Density { share: whole * whole, square }
    }

    /// Those to keep, the likeliest first, and how many.
    fn likeliest(&self) -> ([Opened; KEPT], usize) {
        let opened = &self.all[..self.count];
        let least = DROPPED * opened.iter().fold(0.0_f64, |most, opened| most.max(opened.weight));
        let mut best = [Opened::default(); KEPT];
        let mut count = 0;
        for opened in opened.iter().filter(|opened| opened.weight >= least) {
            let at = best[..count].iter().position(|other| opened.weight > other.weight).unwrap_or(count);
            if at < KEPT {
                count = (count + 1).min(KEPT);
                best[at..count].rotate_right(1);
                best[at] = *opened;
            }
        }
        (best, count)
    }
}
