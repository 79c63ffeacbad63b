//! What is asked of an outing: who, with what, how far, in what weather.

use leptos::prelude::*;
use muster_core::outing::input::{Level, Licence, Road};
use muster_draw::number::capital;

use super::{
    step::{Step, Steps},
    told::Told,
};
use crate::words::t;

/// The form: masses and the way first, the rest folded in.
#[component]
pub(super) fn Form(told: Told) -> impl IntoView {
    let (symbols, units) = (told.symbols(), told.units);
    let places = told.luggage.get_value().into_iter().map(|(place, mass)| {
        let label = format!("{place}, {}", symbols.mass);
        view! { <Step label value=mass steps=Steps::luggage(units)/> }
    });
    view! {
        <section class="sec form told" aria-label=t!("outing-told")>
            <div class="steps-up">
                <Step label=t!("rider-in", unit = symbols.mass) value=told.rider steps=Steps::person(units)/>
                <Step label=t!("passenger-in", unit = symbols.mass) value=told.passenger steps=Steps::person(units)/>
                {places.collect_view()}
                <Step label=t!("way-in", unit = symbols.way) value=told.distance steps=Steps::way(units)/>
                <Step label=t!("speed-in", unit = symbols.speed) value=told.speed steps=Steps::speed(units)/>
            </div>
            <Chips told/>
            <details class="more-told">
                <summary><span>{t!("more-told")}</span><span class="cap">{move || summed(told)}</span></summary>
                <Rest told/>
            </details>
        </section>
    }
}

/// Rain and the dark.
#[component]
fn Chips(told: Told) -> impl IntoView {
    let chip = |says: String, value: RwSignal<bool>| {
        let on = move || value.get().to_string();
        view! { <button type="button" class="chip" aria-pressed=on on:click=move |_| value.update(|on| *on = !*on)>{says}</button> }
    };
    view! {
        <div class="chips" role="group" aria-label=t!("weather")>
            {chip(t!("rain"), told.rain)}
            {chip(t!("in-the-dark"), told.dark)}
        </div>
    }
}

/// What is told seldom: rider, road, air, heights, how the machine stands.
#[component]
fn Rest(told: Told) -> impl IntoView {
    let (symbols, units) = (told.symbols(), told.units);
    let words = |all: &[&'static str]| all.iter().map(|word| ((*word).to_owned(), capital(word))).collect::<Vec<_>>();
    let licences = words(&Licence::ALL.iter().map(|of| of.as_str()).collect::<Vec<_>>());
    let levels = words(&Level::ALL.iter().map(|of| of.as_str()).collect::<Vec<_>>());
    let roads = words(&Road::ALL.iter().map(|of| of.as_str()).collect::<Vec<_>>());
    view! {
        <div class="steps-up">
            <label class="field"><span>{t!("back-at")}</span><input class="input" type="time" required bind:value=told.back/></label>
            {select(t!("road-kind"), roads, told.road, None)}
            {select(t!("licence"), licences, told.licence, Some(t!("not-said")))}
            {select(t!("level"), levels, told.level, Some(t!("not-said")))}
            <Step label=t!("inseam-in", unit = symbols.length) value=told.inseam steps=Steps::inseam(units)/>
            <Step label=t!("tank-in") value=told.aboard steps=Steps::FULL/>
            <Step label=t!("air-in", unit = symbols.heat) value=told.air steps=Steps::air(units)/>
            <Step label=t!("air-there-in", unit = symbols.heat) value=told.air_there steps=Steps::air(units)/>
            <Step label=t!("height-here-in", unit = symbols.height) value=told.here steps=Steps::height(units)/>
            <Step label=t!("highest-in", unit = symbols.height) value=told.highest steps=Steps::height(units)/>
            <Step label=t!("front-click") value=told.clicks.0 steps=Steps::CLICK/>
            <Step label=t!("rear-click") value=told.clicks.1 steps=Steps::CLICK/>
            <Step label=t!("tyres-in", unit = symbols.heat) value=told.tyres steps=Steps::air(units)/>
        </div>
    }
}

fn select(label: String, all: Vec<(String, String)>, value: RwSignal<String>, none: Option<String>) -> AnyView {
    let options = all.into_iter().map(|(of, says)| {
        let own = of.clone();
        view! { <option value=of selected=move || value.with(|value| *value == own)>{says}</option> }
    });
    let none =
        none.map(|says| view! { <option value="" selected=move || value.with(String::is_empty)>{says}</option> });
    view! {
        <label class="field"><span>{label}</span>
            <select class="input" on:change=move |event| value.set(event_target_value(&event))>{none}{options.collect_view()}</select>
        </label>
    }
    .into_any()
}

/// What is told in the folded part, in a line.
fn summed(told: Told) -> String {
    let symbols = told.symbols();
    let with = |typed: RwSignal<String>, unit: &str| {
        Some(typed.get()).filter(|of| !of.is_empty()).map(|of| format!("{of}\u{a0}{unit}"))
    };
    let word = |chosen: RwSignal<String>| Some(chosen.get()).filter(|of| !of.is_empty());
    let parts = [
        Some(t!("back-by", at = told.back.get())),
        word(told.road),
        word(told.licence),
        word(told.level),
        with(told.air, symbols.heat),
        with(told.highest, symbols.height),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
