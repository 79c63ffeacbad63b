//! What is typed at a reading, and what it comes to: in a line, on its ruler, worked out.

use std::time::Duration;

use leptos::prelude::*;
use muster_core::judge::Outcome;
use muster_draw::{gauge::gauge, merge, ruler::Tone};

use super::{
    fields::{Fields, Of},
    read::Reading,
};
use crate::{ui::Drawn, words::t};

/// The wells.
#[component]
pub(super) fn Wells(fields: Fields) -> impl IntoView {
    // Well and ruler are both seen once one types.
    let row = NodeRef::<leptos::html::Div>::new();
    let is_typed = Memo::new(move |_| fields.is_typed());
    Effect::new(move |_| {
        if is_typed.get() {
            // Behind the digit's own paint, which is not to wait for it.
            request_animation_frame(move || {
                set_timeout(
                    move || {
                        if let Some(Some(row)) = row.try_get_untracked() {
                            row.scroll_into_view();
                        }
                    },
                    Duration::ZERO,
                );
            });
        }
    });
    let wells = move || {
        let (at, sign) = (fields.at.get(), fields.sign());
        let wells = fields.wells.get();
        let class = match wells.len() {
            1 => "readings readings--1",
            2 => "readings readings--2",
            _ if wells.iter().any(|well| well.of == Of::Air) => "readings readings--3",
            _ => "readings readings--places",
        };
        let each = wells.into_iter().enumerate().map(|(index, well)| {
            let on = index == at;
            let figure =
                if well.typed.is_empty() { well.standing.clone() } else { well.typed.replace('.', &sign.to_string()) };
            let pressed = if on { "true" } else { "false" };
            view! {
                <button class="readout" class:on=on aria-pressed=pressed on:click=move |_| fields.at.set(index)>
                    <span class="l">{well.label.clone()}</span>
                    <span class="n">{figure.replace('-', "\u{2212}")}</span><span class="u">{well.unit()}</span>
                </button>
            }
        });
        let each = each.collect_view();
        view! { <div node_ref=row class=class>{each}</div> }
    };
    view! { {wells} }
}

/// What it comes to: in a line, on its ruler, worked out.
#[component]
pub(super) fn Worked(reading: Reading, told: Memo<Option<Result<Outcome, String>>>) -> impl IntoView {
    let worked = move || match told.get()? {
        Err(why) => Some(view! { <p class="working err" role="alert">{why}</p> }.into_any()),
        Ok(outcome) => {
            let tone = if merge::is_to_set(&outcome) { Tone::Set } else { Tone::Judged(outcome.verdict) };
            let drawn = outcome.figure.as_ref().and_then(|figure| gauge(&outcome, figure, tone));
            let (word, _, rest) = muster_draw::gauge::authority(&outcome);
            let source = format!("{word} {rest}");
            let working = outcome.working.iter().map(|line| view! { <li>{line.clone()}</li> }).collect_view();
            let has_working = !outcome.working.is_empty();
            let set = outcome.set.clone().map(|set| t!("was-set", found = set.found, now = set.now));
            Some(
                view! {
                    {drawn.map(|markup| view! { <Drawn markup class="ruled"/> })}
                    <p class="working">{outcome.reason.clone()}</p>
                    <p class="working">{source}{set.map(|set| view! { " · "<b>{set}</b> })}</p>
                    {has_working.then(|| view! { <details class="limits"><summary>{t!("worked-out")}</summary><ul>{working}</ul></details> })}
                }
                .into_any(),
            )
        }
    };
    // The field stays while one types in it: only what shows it changes it.
    let far_off = Memo::new(move |_| {
        told.with(
            |told| matches!(told, Some(Ok(of)) if of.working.iter().any(|line| line.starts_with("found far off"))),
        )
    });
    view! {
        {worked}
        <Show when=move || far_off.get() || !reading.why.with(String::is_empty)>
            <label class="field sec"><span>{t!("why-far-off")}</span><input class="input" bind:value=reading.why/></label>
        </Show>
    }
}
