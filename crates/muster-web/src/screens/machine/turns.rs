//! How far the page is drawn: from above, a piece a turn, so that a press in between is answered.

use leptos::{prelude::*, task::spawn_local};

use crate::pace::Pace;

/// Pieces that the readings come in.
pub(super) const READINGS: u8 = 5;
/// The pieces beneath the readings and what stands beside them.
const BELOW: u8 = 3;

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
                spawn_local(async move {
                    let pace = Pace::begin();
                    for at in 1..=READINGS + 1 + BELOW {
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

    /// What is drawn at once.
    pub(super) fn first(self) -> Memo<bool> {
        self.at(0)
    }

    /// A piece of the readings, 0 the worst of them.
    pub(super) fn reading(self, nth: u8) -> Memo<bool> {
        self.at(nth.min(READINGS - 1) + if self.is_tall { 2 } else { 1 })
    }

    /// What is done with the machine.
    pub(super) fn beside(self) -> Memo<bool> {
        self.at(if self.is_tall { 1 } else { READINGS + 1 })
    }

    /// What stands beneath.
    pub(super) fn below(self, nth: u8) -> Memo<bool> {
        self.at(READINGS + 2 + nth.min(BELOW - 1))
    }

    fn at(self, piece: u8) -> Memo<bool> {
        Memo::new(move |_| self.drawn.get() >= piece)
    }
}
