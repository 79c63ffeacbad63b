//! Readiness of a machine in small, for lists: its six stations, its verdicts by use, the uses that come to the same told once.

use leptos::prelude::*;
use muster_core::{
    judge::{Judgement, Verdict},
    words::{Use, Uses as UseSet},
};
use muster_draw::ready::{self, Stations};

use super::draw::verdict_word;
use crate::words::t;

/// The six stations, drawn.
#[component]
pub(crate) fn Ready(
    /// Their verdicts.
    stations: Stations,
    /// How wide, in px.
    #[prop(default = 60)]
    width: u32,
) -> impl IntoView {
    view! { <span class="readybox" inner_html=ready::ready(&stations, width)></span> }
}

/// A verdict and the uses it is for, as one word says them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct UseWord {
    /// `road`, or `road, dark`.
    pub(crate) uses: String,
    /// Their verdict.
    pub(crate) verdict: Verdict,
}

impl UseWord {
    /// The word; `alone` where all uses come to the same.
    pub(crate) fn said(&self, alone: bool) -> String {
        let said = verdict_word(self.verdict);
        if alone || self.uses.is_empty() {
            said
        } else {
            t!("use-verdict", uses = self.uses.as_str(), verdict = said.to_lowercase())
        }
    }
}

/// The verdicts by use, the planned one first. One for all uses is one entry; what is the same for every use on the road is
/// said of the road.
pub(crate) fn use_words(judgement: &Judgement) -> Vec<UseWord> {
    let planned = judgement.planned().map_or(Use::Range, |of| of.one);
    let verdicts: Vec<(Use, Verdict)> = judgement.uses.iter().map(|of| (of.one, of.verdict)).collect();
    verdict_words(planned, &verdicts)
}

/// The same of verdicts by use.
pub(crate) fn verdict_words(planned: Use, verdicts: &[(Use, Verdict)]) -> Vec<UseWord> {
    let mut sets: Vec<(Verdict, UseSet)> = Vec::new();
    let first = verdicts.iter().filter(|(one, _)| *one == planned);
    for (one, verdict) in first.chain(verdicts.iter().filter(|(one, _)| *one != planned)) {
        match sets.iter_mut().find(|(of, _)| of == verdict) {
            Some((_, uses)) => *uses = uses.with(*one),
            None => sets.push((*verdict, UseSet::NONE.with(*one))),
        }
    }
    sets.into_iter().map(|(verdict, uses)| UseWord { uses: said(uses), verdict }).collect()
}

/// Most uses are named by none: the others are.
fn said(uses: UseSet) -> String {
    match uses.count() {
        _ if uses == UseSet::ON_THE_ROAD => Use::Road.to_string(),
        3.. => String::new(),
        _ => uses.to_string(),
    }
}

/// Verdicts by use as words: the word alone where all uses come to the same.
#[component]
pub(crate) fn UseWords(
    /// As [`use_words`] tells them.
    words: Vec<UseWord>,
    /// The glyph's side in px.
    #[prop(default = 16)]
    size: u32,
) -> impl IntoView {
    let word = move |of: UseWord, alone: bool| {
        let said = of.said(alone);
        let side = if alone { size.max(18) } else { size };
        view! {
            <span class=format!("verdict {}", of.verdict)>
                <svg class="glyph" width=side height=side aria-hidden="true"><use href=format!("#g-{}", of.verdict)></use></svg>
                <span>{said}</span>
            </span>
        }
    };
    let alone = words.len() < 2;
    let words = words.into_iter().map(|of| word(of, alone)).collect_view();
    if alone { words.into_any() } else { view! { <span class="uses">{words}</span> }.into_any() }
}
