//! What screens at the kerb are made of: the bar on top, choices of one word, sources of a screen's machine.

use leptos::prelude::*;
use leptos_router::components::A;

use crate::{route, ui::Icon};

/// The machine the address names.
pub(super) fn addressed() -> Memo<String> {
    let params = route::params();
    Memo::new(move |_| params.read().get("machine").unwrap_or_default())
}

/// The bar on top: the way out, what this is, a word beside it, how far.
#[component]
pub(super) fn Bar(
    /// What this is.
    #[prop(into)]
    title: Signal<String>,
    /// What stands beside it.
    #[prop(into)]
    beside: Signal<String>,
    /// How far it has come.
    #[prop(into)]
    sub: Signal<String>,
    /// Where the way out leads.
    #[prop(into)]
    back: Signal<String>,
    /// What the way out is called.
    #[prop(into)]
    leave: String,
) -> impl IntoView {
    view! {
        <header class="bar">
            <A href=move || back.get() attr:class="hit" attr:aria-label=leave><Icon name="back"/></A>
            <div class="id"><b>{move || title.get()}</b><span>{move || beside.get()}</span></div>
            <span class="sub">{move || sub.get()}</span>
        </header>
    }
    .into_any()
}

/// One word to tap.
pub(super) fn chip(
    says: String,
    is_on: impl Fn() -> bool + Copy + Send + Sync + 'static,
    press: impl Fn() + 'static,
) -> AnyView {
    view! {
        <button type="button" class="chip" class:is-on=is_on aria-pressed=move || is_on().to_string() on:click=move |_| press()>
            {says}
        </button>
    }
    .into_any()
}

/// Words of which one is tapped; each with its value.
#[component]
pub(super) fn Words(
    /// What they are about.
    #[prop(into)]
    label: String,
    /// Value and word.
    choices: Vec<(String, String)>,
    /// What is chosen.
    value: RwSignal<String>,
) -> impl IntoView {
    let each = choices.into_iter().map(|(of, says)| {
        let own = StoredValue::new(of);
        chip(says, move || value.with(|value| own.with_value(|of| of == value)), move || value.set(own.get_value()))
    });
    let about = label.clone();
    view! {
        <div class="frow" role="group" aria-label=about><span>{label}</span><div class="chips">{each.collect_view()}</div></div>
    }
    .into_any()
}

/// Words of which any number is tapped, in the order of the list.
#[component]
pub(super) fn Taps(
    /// What they are about.
    #[prop(into)]
    label: String,
    /// The words.
    words: Vec<String>,
    /// Which are tapped.
    tapped: RwSignal<Vec<String>>,
) -> impl IntoView {
    let each = words.into_iter().map(|word| {
        let own = StoredValue::new(word.clone());
        let toggle = move || {
            tapped.update(|all| {
                let word = own.get_value();
                match all.iter().position(|of| *of == word) {
                    Some(at) => _ = all.remove(at),
                    None => all.push(word),
                }
            });
        };
        chip(word, move || tapped.with(|all| own.with_value(|of| all.contains(of))), toggle)
    });
    let about = label.clone();
    view! {
        <div class="frow" role="group" aria-label=about><span>{label}</span><div class="chips">{each.collect_view()}</div></div>
    }
    .into_any()
}

/// An odometer's figure with the unit the yard counts in; none where nothing was typed.
pub(super) fn with_unit(typed: &str, unit: &str) -> Option<String> {
    let typed = typed.trim();
    let bare = typed.chars().all(|sign| sign.is_ascii_digit() || matches!(sign, '.' | ' '));
    match typed {
        "" => None,
        _ if bare => Some(format!("{typed} {unit}")),
        _ => Some(typed.to_owned()),
    }
}
