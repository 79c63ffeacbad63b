//! Forms that somebody is filling: what is around them is not drawn anew under their hand.

use leptos::prelude::*;

/// How many forms of a part of the page are in somebody's hand.
#[derive(Clone, Copy)]
pub(crate) struct Hand(RwSignal<usize>);

impl Hand {
    /// None is.
    pub(crate) fn new() -> Self {
        Self(RwSignal::new(0))
    }

    /// Whether any is.
    pub(crate) fn is_full(self) -> bool {
        self.0.get() > 0
    }
}

/// Holds the part of the page around as long as a form is in hand; a page that is drawn once needs no holding.
pub(super) fn holds(in_hand: impl Fn() -> bool + Send + Sync + 'static) {
    let Some(Hand(hand)) = use_context() else { return };
    let held = StoredValue::new(false);
    let tell = move |now: bool| {
        if held.try_get_value() == Some(!now) {
            held.set_value(now);
            hand.try_update(|count| *count = if now { *count + 1 } else { count.saturating_sub(1) });
        }
    };
    Effect::new(move |_| tell(in_hand()));
    on_cleanup(move || tell(false));
}
