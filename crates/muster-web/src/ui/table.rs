//! What long tables need: heads that sort, and only the rows in view.

use leptos::prelude::*;

/// Which way a table is sorted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Sorted<K> {
    /// By which head.
    pub(crate) by: K,
    /// Greatest first.
    pub(crate) falling: bool,
}

/// A head that sorts: pressed again it turns about.
#[component]
pub(crate) fn SortHead<K: Copy + PartialEq + Send + Sync + 'static>(
    /// What it sorts by.
    by: K,
    /// How the table is sorted.
    sorted: RwSignal<Sorted<K>>,
    /// Its words.
    #[prop(into)]
    words: String,
    /// Classes of the cell.
    #[prop(optional)]
    class: &'static str,
    /// What stands beside it in the cell.
    #[prop(optional)]
    children: Option<Children>,
) -> impl IntoView {
    let is = move || sorted.get().by == by;
    let turn = move |_| sorted.update(|now| *now = Sorted { by, falling: now.by == by && !now.falling });
    let aria = move || match sorted.get() {
        now if now.by != by => "none",
        now if now.falling => "descending",
        _ => "ascending",
    };
    view! {
        <th scope="col" class=class aria-sort=aria>
            <button class="sort" on:click=turn>
                {words}
                <svg class="arrow" class:is-on=is class:is-falling=move || sorted.get().falling width="8" height="7" viewBox="0 0 8 7" aria-hidden="true">
                    <path d="M4 0L8 7H0Z" fill="currentColor"/>
                </svg>
            </button>
            {children.map(|children| children())}
        </th>
    }
}

/// Frames that rows are drawn ahead of who scrolls: one that is late shows none empty.
const FRAMES: f64 = 3.0;

/// Which rows are drawn beside those in view.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Beside {
    /// At least so many on either side, so that a flick shows none empty.
    pub(crate) beyond: usize,
    /// So many come and go together.
    pub(crate) step: usize,
}

/// Which of rows of equal or known heights are in view.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub(crate) struct Span {
    /// The first drawn.
    pub(crate) from: usize,
    /// The first behind them.
    pub(crate) to: usize,
}

impl Span {
    /// The rows between `top` and `bottom`, px from where the first begins; `starts` holds where each begins and, last,
    /// where the last ends. Who scrolls by `moved` px a frame sees as many more soon.
    pub(crate) fn of(starts: &[f64], (top, bottom): (f64, f64), moved: f64, beside: Beside) -> Self {
        let ahead = FRAMES * moved;
        let (top, bottom) = (top + ahead.min(0.0), bottom + ahead.max(0.0));
        let rows = starts.len().saturating_sub(1);
        let first = starts.partition_point(|start| *start <= top).saturating_sub(1);
        let last = starts.partition_point(|start| *start < bottom);
        let Beside { beyond, step } = beside;
        let (from, to) = (first.saturating_sub(beyond), (last + beyond).next_multiple_of(step));
        Self { from: (from - from % step).min(rows), to: to.min(rows) }
    }
}

/// Where rows of these heights begin, and where the last ends.
pub(crate) fn starts(heights: impl IntoIterator<Item = f64>) -> Vec<f64> {
    let mut at = 0.0;
    let mut out = vec![at];
    for height in heights {
        at += height;
        out.push(at);
    }
    out
}
