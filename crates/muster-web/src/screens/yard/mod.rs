//! The yard: every machine with its verdict; a table on a desk, a list by what to do on a phone.

mod board;
mod desk;
mod glance;
mod need;
mod phone;
mod plans;
mod row;

use leptos::{prelude::*, task::spawn_local};
use muster_core::judge::Verdict;

use board::{Board, Counts, Shown};
pub(crate) use desk::DeskYard;
use phone::PhoneYard;

use crate::{
    pace::Pace,
    ui::{Banner, Mast, Nothing, narrow, opened, prepare_days, verdict_word, writes_days},
    words::t,
    yard::yard,
};

/// The yard.
#[component]
pub(crate) fn YardScreen() -> impl IntoView {
    opened();
    let yard = yard();
    // One for both: who turns the screen keeps what they filtered.
    provide_context(Board::new());
    let narrow = narrow();
    // A list goes on when what was seen at a glance is known.
    let known = Memo::new(move |_| yard.is_known());
    let there = Memo::new(move |_| known.get() || yard.at_a_glance().is_some());
    // A turn of its own: rows begin with their days.
    let writes = RwSignal::new(writes_days());
    Effect::new(move || {
        if there.get() && !writes.get_untracked() {
            spawn_local(async move {
                let pace = Pace::begin();
                pace.turn().await;
                prepare_days(yard.time_zone());
                pace.turn().await;
                writes.try_set(true);
            });
        }
    });
    view! {
        {move || if narrow.get() && there.get() && writes.get() {
            PhoneYard().into_any()
        } else if !narrow.get() && known.get() {
            // A part of its own: a phone does without.
            super::parts::desk_yard()
        } else {
            view! { <div class="desk"><Mast/><Banner/><main><h1 class="pageh">{t!("yard-today")}</h1><Nothing/></main></div> }.into_any()
        }}
    }
}

/// The filters, each with how many it shows.
#[component]
fn Filters(
    /// The rows.
    board: Board,
    /// The counts.
    counts: Memo<Counts>,
    /// On a phone the glyph stands for the word, which is still read out.
    #[prop(optional)]
    short: bool,
) -> impl IntoView {
    let chip = move |shown: Shown| {
        let is = move || board.shown.get() == shown;
        let count = move || {
            let counts = counts.get();
            match shown {
                Shown::All => counts.all,
                Shown::Of(verdict) => counts.of.get(verdict as usize).copied().unwrap_or(0),
                Shown::Out => counts.out,
            }
        };
        let said = match shown {
            Shown::All => view! { <span>{t!("all")}</span> }.into_any(),
            Shown::Out => view! { <span>{t!("out-now")}</span> }.into_any(),
            Shown::Of(verdict) => {
                let side = if short { 20 } else { 18 };
                view! {
                    <svg class="glyph" width=side height=side aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
                    <span class:vh=short>{verdict_word(verdict)}</span>
                }
                .into_any()
            }
        };
        view! { <button class="chip" aria-pressed=move || is().to_string() on:click=move |_| board.shown.set(shown)>{said} <b>{count}</b></button> }
    };
    let of = [Verdict::Hold, Verdict::Unseen, Verdict::Watch, Verdict::Fit].map(Shown::Of);
    view! {
        {chip(Shown::All)}
        {of.map(chip).collect_view()}
        {chip(Shown::Out)}
    }
}
