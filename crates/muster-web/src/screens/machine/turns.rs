//! How far the page is drawn: from above, a piece a turn, so that a press in between is answered.

use std::sync::Arc;

use leptos::{prelude::*, task::spawn_local};
use muster_wire::latest::LatestView;

use crate::{
    pace::Pace,
    ui::{prepare_days, writes_days},
    yard::yard,
};

/// Pieces that the readings come in.
pub(super) const READINGS: u8 = 5;
/// The pieces before the readings: the page itself, what it is, what stops it.
const FIRST: u8 = 3;
/// The pieces of what is done with it.
const BESIDE: u8 = 3;
/// The pieces beneath the readings and what stands beside them.
const BELOW: u8 = 3;
/// The pieces of the readings, and what is folded away.
const READ: usize = READINGS as usize + 1;

/// The pieces drawn so far, and their order.
#[derive(Clone, Copy)]
pub(super) struct Turns {
    drawn: RwSignal<u8>,
    /// In one column: what is beside the readings comes before them.
    is_tall: bool,
}

impl Turns {
    /// Begins to draw once there is something to draw.
    pub(super) fn begin(is_tall: bool, begins: impl Fn() -> bool + Send + Sync + 'static) -> Self {
        let drawn = RwSignal::new(0);
        Effect::new(move |begun: Option<bool>| {
            let begins = begun == Some(true) || begins();
            if begins && begun != Some(true) {
                let zone = yard().time_zone();
                spawn_local(async move {
                    let pace = Pace::begin();
                    if !writes_days() {
                        pace.turn().await;
                        prepare_days(zone);
                    }
                    for at in 1..=FIRST + READINGS + BESIDE + BELOW {
                        pace.turn().await;
                        // Whoever went on meanwhile took the page along.
                        drawn.try_set(at);
                    }
                });
            }
            begins
        });
        Self { drawn, is_tall }
    }

    /// Whether the page is one column.
    pub(super) fn is_tall(self) -> bool {
        self.is_tall
    }

    /// The page itself, with nothing on it.
    pub(super) fn page(self) -> Memo<bool> {
        self.at(1)
    }

    /// What it is, and the verdict on it.
    pub(super) fn facts(self) -> Memo<bool> {
        self.at(2)
    }

    /// What stops it.
    pub(super) fn why(self) -> Memo<bool> {
        self.at(FIRST)
    }

    /// A piece of the readings, 0 the worst of them.
    pub(super) fn reading(self, nth: u8) -> Memo<bool> {
        let before = if self.is_tall { FIRST + BESIDE } else { FIRST };
        self.at(before + 1 + nth.min(READINGS - 1))
    }

    /// A piece of what is done with the machine.
    pub(super) fn beside(self, nth: u8) -> Memo<bool> {
        let before = if self.is_tall { FIRST } else { FIRST + READINGS };
        self.at(before + 1 + nth.min(BESIDE - 1))
    }

    /// What stands beneath.
    pub(super) fn below(self, nth: u8) -> Memo<bool> {
        self.at(FIRST + READINGS + BESIDE + 1 + nth.min(BELOW - 1))
    }

    fn at(self, piece: u8) -> Memo<bool> {
        Memo::new(move |_| self.drawn.get() >= piece)
    }
}

/// What was read, as each piece of the readings knows it: more of it draws them anew, a piece a turn.
#[derive(Clone, Copy)]
pub(super) struct Taken([RwSignal<Option<Arc<LatestView>>>; READ]);

impl Taken {
    /// Nothing is known yet.
    pub(super) fn new() -> Self {
        Self(std::array::from_fn(|_| RwSignal::new(None)))
    }

    /// What a piece knows; every piece beyond the last is folded away.
    pub(super) fn of(self, piece: u8) -> RwSignal<Option<Arc<LatestView>>> {
        let [.., last] = self.0;
        self.0.get(usize::from(piece)).copied().unwrap_or(last)
    }

    /// Takes in what is held before anything is drawn of it.
    pub(super) fn begin(self, view: Option<Arc<LatestView>>) {
        self.0.iter().for_each(|piece| piece.set(view.clone()));
    }

    /// Takes in what is known, a piece a turn.
    pub(super) async fn take(self, view: LatestView) {
        let (pace, view) = (Pace::begin(), Arc::new(view));
        for piece in self.0 {
            pace.turn().await;
            // Whoever went on meanwhile took the page along.
            piece.try_set(Some(view.clone()));
        }
    }
}
