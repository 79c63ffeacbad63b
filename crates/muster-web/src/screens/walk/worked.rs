//! What is typed at a reading, and what it comes to: in a line, on its ruler, worked out.

use std::time::Duration;

use leptos::prelude::*;
use muster_core::judge::Outcome;
use muster_draw::{gauge::gauge, merge, ruler::Tone};

use super::{
    fields::{Fields, Of, Well},
    read::Reading,
};
use crate::words::t;

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
                        // What was taken back meanwhile is not looked for.
                        let typed = is_typed.try_get_untracked() == Some(true);
                        if let Some(row) = row.try_get_untracked().flatten().filter(|_| typed) {
                            row.scroll_into_view();
                        }
                    },
                    Duration::ZERO,
                );
            });
        }
    });
    // The wells stay while one types: only what is in them changes.
    let class = fields.wells.with_untracked(|wells| match wells.len() {
        1 => "readings readings--1",
        2 => "readings readings--2",
        _ if wells.iter().any(|well| well.of == Of::Air) => "readings readings--3",
        _ => "readings readings--places",
    });
    let labels = fields.wells.with_untracked(|wells| wells.iter().map(|well| well.label.clone()).collect::<Vec<_>>());
    let each = labels.into_iter().enumerate().map(|(index, label)| well(fields, index, label)).collect_view();
    view! { <div node_ref=row class=class>{each}</div> }
}

fn well(fields: Fields, index: usize, label: String) -> AnyView {
    let of = move |read: fn(&Well) -> &str| {
        fields.wells.with(|wells| wells.get(index).map(|well| read(well).to_owned()).unwrap_or_default())
    };
    let figure = Memo::new(move |_| {
        let typed = of(|well| if well.typed.is_empty() { &well.standing } else { &well.typed });
        // What stands there is whole degrees.
        typed.replace('.', &fields.sign().to_string()).replace('-', "\u{2212}")
    });
    let unit = Memo::new(move |_| of(|well| well.unit()));
    let on = Memo::new(move |_| fields.at.get() == index);
    view! {
        <button class="readout" class:on=on aria-pressed=move || on.get().to_string() on:click=move |_| fields.at.set(index)>
            <span class="l">{label}</span>
            <span class="n">{figure}</span><span class="u">{unit}</span>
        </button>
    }
    .into_any()
}

/// What it comes to: in a line, on its ruler, worked out.
#[component]
pub(super) fn Worked(reading: Reading, told: Memo<Option<Result<Outcome, String>>>) -> impl IntoView {
    // What is shown of it, each by itself: what a digit does not change stays as it is.
    let shown = move |read: fn(&Outcome) -> String| {
        Memo::new(move |_| told.with(|told| told.as_ref().and_then(|told| told.as_ref().ok()).map(read)))
    };
    let (ruler, reason, source, set) = (shown(ruler), shown(|of| of.reason.clone()), shown(source), shown(was_set));
    let wrong = Memo::new(move |_| told.with(|told| told.as_ref().and_then(|told| told.as_ref().err().cloned())));
    let working = Memo::new(move |_| match told.get() {
        Some(Ok(outcome)) => outcome.working,
        _ => Vec::new(),
    });
    let again = shown(|of| of.todo.clone().filter(|_| is_not_expected(of)).unwrap_or_default());
    let is_told = Memo::new(move |_| reason.with(Option::is_some));
    let is_open = RwSignal::new(false);
    let toggled = move |event: leptos::ev::Event| {
        is_open.set(event_target::<web_sys::Element>(&event).has_attribute("open"));
    };
    // Worked out only for whoever looks.
    let lines =
        move || is_open.get().then(|| working.get().into_iter().map(|line| view! { <li>{line}</li> }).collect_view());
    let worked = move || {
        is_told.get().then(|| {
            view! {
                <div class="ruled" hidden=move || ruler.with(|of| of.as_ref().is_none_or(String::is_empty)) inner_html=move || ruler.get().unwrap_or_default()></div>
                <p class="working">{move || reason.get()}</p>
                <Show when=move || again.with(|of| of.as_ref().is_some_and(|todo| !todo.is_empty()))>
                    <p class="working" role="status"><b>{move || again.get()}</b></p>
                </Show>
                <p class="working">{move || source.get()}{move || set.get().filter(|set| !set.is_empty()).map(|set| view! { " · "<b>{set}</b> })}</p>
                <Show when=move || !working.with(Vec::is_empty)>
                    <details class="limits" on:toggle=toggled><summary>{t!("worked-out")}</summary><ul>{lines}</ul></details>
                </Show>
            }
        })
    };
    let fault = move || wrong.get().map(|why| view! { <p class="working err" role="alert">{why}</p> });
    // The field stays while one types in it: only what shows it changes it.
    let far_off = Memo::new(move |_| {
        told.with(
            |told| matches!(told, Some(Ok(of)) if is_not_expected(of) || of.working.iter().any(|line| line.starts_with("found far off"))),
        )
    });
    view! {
        {fault}
        {worked}
        <Show when=move || far_off.get() || !reading.why.with(String::is_empty)>
            <label class="field sec"><span>{t!("why-far-off")}</span><input class="input" bind:value=reading.why/></label>
        </Show>
    }
}

/// Whether it was read where its forecast expected another figure: then a second reading is asked for on the spot.
pub(super) fn is_not_expected(outcome: &Outcome) -> bool {
    outcome.working.iter().any(|line| line.starts_with("not expected"))
}

fn ruler(outcome: &Outcome) -> String {
    let tone = if merge::is_to_set(outcome) { Tone::Set } else { Tone::Judged(outcome.verdict) };
    outcome.figure.as_ref().and_then(|figure| gauge(outcome, figure, tone)).unwrap_or_default()
}

fn source(outcome: &Outcome) -> String {
    let (word, _, rest) = muster_draw::gauge::authority(outcome);
    format!("{word} {rest}")
}

fn was_set(outcome: &Outcome) -> String {
    let set = outcome.set.as_ref();
    set.map(|set| t!("was-set", found = set.found.as_str(), now = set.now.as_str())).unwrap_or_default()
}
