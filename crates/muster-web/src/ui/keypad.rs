//! A large keypad for gloves: digits, the decimal sign people here use, units in the fourth column, the next field.

use leptos::prelude::*;

use super::Icon;
use crate::words::t;

/// What was pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Pressed {
    /// A digit.
    Digit(char),
    /// The decimal sign, whichever it is here.
    Sign,
    /// Plus to minus and back.
    Minus,
    /// The last digit goes.
    Delete,
    /// A unit by its place in the list.
    Unit(usize),
    /// On to the next field.
    Next,
}

/// What the fourth column offers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Column {
    /// Symbols of units.
    pub(crate) units: Vec<String>,
    /// Which of them is chosen.
    pub(crate) chosen: usize,
    /// Whether a figure may be below zero.
    pub(crate) minus: bool,
    /// The field behind this one.
    pub(crate) next: Option<String>,
}

/// The keypad.
#[component]
pub(crate) fn Keypad(
    /// Takes what was pressed.
    pressed: UnsyncCallback<Pressed>,
    /// The decimal sign shown.
    sign: char,
    /// The fourth column.
    #[prop(into)]
    column: Signal<Column>,
) -> impl IntoView {
    listen(pressed);
    let key = move |what: Pressed, label: String| {
        view! { <button type="button" class="key" on:click=move |_| pressed.run(what)>{label}</button> }
    };
    let digits = move |from: u32| {
        (from..from + 3)
            .filter_map(|digit| char::from_digit(digit, 10))
            .map(|digit| key(Pressed::Digit(digit), digit.to_string()))
            .collect_view()
    };
    view! {
        <div class="pad" role="group" aria-label=t!("keypad")>
            {digits(1)}{move || side(&column.get(), 0, pressed)}
            {digits(4)}{move || side(&column.get(), 1, pressed)}
            {digits(7)}{move || side(&column.get(), 2, pressed)}
            <button type="button" class="key" aria-label=t!("decimal-sign") on:click=move |_| pressed.run(Pressed::Sign)>{sign.to_string()}</button>
            {key(Pressed::Digit('0'), "0".to_owned())}
            <button type="button" class="key" aria-label=t!("delete-digit") on:click=move |_| pressed.run(Pressed::Delete)><Icon name="del" size=28/></button>
            {move || next(&column.get(), pressed)}
        </div>
    }
}

/// A place of the fourth column: a unit, or the sign below zero behind the units, or nothing.
fn side(column: &Column, row: usize, pressed: UnsyncCallback<Pressed>) -> AnyView {
    let unit = column.units.get(row).cloned();
    match unit {
        Some(unit) => {
            let on = if column.chosen == row { "true" } else { "false" };
            view! {
                <button type="button" class="key key--u" aria-pressed=on on:click=move |_| pressed.run(Pressed::Unit(row))>{unit}</button>
            }
            .into_any()
        }
        None if column.minus && row == column.units.len() => view! {
            <button type="button" class="key key--u" aria-label=t!("minus") on:click=move |_| pressed.run(Pressed::Minus)>"±"</button>
        }
        .into_any(),
        None => view! { <span></span> }.into_any(),
    }
}

fn next(column: &Column, pressed: UnsyncCallback<Pressed>) -> AnyView {
    match column.next.clone() {
        Some(next) => {
            let label = t!("go-to", field = next.as_str());
            view! {
                <button type="button" class="key key--u key--next" aria-label=label on:click=move |_| pressed.run(Pressed::Next)>
                    <span>{next}</span><Icon name="next" size=18/>
                </button>
            }
            .into_any()
        }
        None => view! { <span></span> }.into_any(),
    }
}

/// A keyboard's own keys do the same, but where a person types into a field.
fn listen(pressed: UnsyncCallback<Pressed>) {
    let pressed = StoredValue::new_local(pressed);
    let handle = window_event_listener(leptos::ev::keydown, move |event| {
        use wasm_bindgen::JsCast;
        let target = event.target().and_then(|target| target.dyn_into::<web_sys::Element>().ok());
        let types = target.is_some_and(|of| ["INPUT", "SELECT", "TEXTAREA"].contains(&of.tag_name().as_str()));
        if types || event.ctrl_key() || event.meta_key() || event.alt_key() {
            return;
        }
        let what = match event.key().as_str() {
            "." | "," => Pressed::Sign,
            "-" => Pressed::Minus,
            "Backspace" => Pressed::Delete,
            other => match other.chars().next().filter(|key| other.len() == 1 && key.is_ascii_digit()) {
                Some(digit) => Pressed::Digit(digit),
                None => return,
            },
        };
        event.prevent_default();
        pressed.get_value().run(what);
    });
    on_cleanup(move || handle.remove());
}
