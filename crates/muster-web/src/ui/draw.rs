//! Drawings that the core's crates make, and verdicts in shape, word and colour.

use leptos::prelude::*;
use muster_core::judge::Verdict;

use crate::words::t;

/// Markup of our own drawing; whatever a person wrote in it is escaped where it is drawn.
#[component]
pub(crate) fn Drawn(
    /// The markup.
    #[prop(into)]
    markup: String,
    /// Classes of what is around it.
    #[prop(optional, into)]
    class: String,
) -> impl IntoView {
    view! { <div class=class inner_html=markup></div> }
}

/// An icon; the word stands beside it or in the button's label.
#[component]
pub(crate) fn Icon(
    /// Its name, without `i-`.
    name: &'static str,
    /// Its side in px.
    #[prop(default = 24)]
    size: u32,
) -> impl IntoView {
    view! {
        <svg class="icon" width=size height=size aria-hidden="true"><use href=format!("#i-{name}")></use></svg>
    }
}

/// The word of a verdict in the language spoken.
pub(crate) fn verdict_word(verdict: Verdict) -> String {
    match verdict {
        Verdict::Fit => t!("fit"),
        Verdict::Watch => t!("watch"),
        Verdict::Unseen => t!("unseen"),
        Verdict::Hold => t!("hold"),
    }
}

/// Glyph and word of a verdict.
#[component]
pub(crate) fn VerdictWord(
    /// The verdict.
    verdict: Verdict,
    /// The glyph's side in px.
    #[prop(default = 18)]
    size: u32,
) -> impl IntoView {
    view! {
        <span class=format!("verdict {verdict}")>
            <svg class="glyph" width=size height=size aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
            {verdict_word(verdict)}
        </span>
    }
}
