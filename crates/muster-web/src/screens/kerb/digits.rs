//! A keypad for a glove: figures, the point, delete, and in the fourth column the units.

use leptos::prelude::*;

use crate::{ui::Icon, words::t};

/// Most characters a figure is typed with.
const MOST: usize = 8;

/// The keypad. It types into whatever field is at hand.
#[component]
pub(super) fn Digits(
    /// Where the figure goes; none: nothing is at hand.
    at_hand: Signal<Option<RwSignal<String>>>,
    /// Symbols of the units, in the order of the keys; at most three.
    units: Signal<Vec<&'static str>>,
    /// The unit chosen.
    unit: RwSignal<&'static str>,
    /// What the last key of the fourth column says and does; none: it is empty.
    last: Signal<Option<String>>,
    /// What it does.
    on_last: Callback<()>,
) -> impl IntoView {
    let press = move |sign: char| {
        let Some(field) = at_hand.get_untracked() else { return };
        field.update(|text| match sign {
            '.' if text.contains('.') => {}
            '.' if text.is_empty() => text.push_str("0."),
            sign if text.chars().count() < MOST => text.push(sign),
            _ => {}
        });
    };
    let key = move |sign: char| view! { <button class="key" on:click=move |_| press(sign)>{sign.to_string()}</button> };
    let unit_key = move |index: usize| {
        move || {
            match units.with(|units| units.get(index).copied()) {
            Some(symbol) => view! {
                <button class="key key--u" aria-pressed=move || (unit.get() == symbol).to_string() on:click=move |_| unit.set(symbol)>{symbol}</button>
            }
            .into_any(),
            None => view! { <span></span> }.into_any(),
        }
        }
    };
    let delete = move |_| {
        if let Some(field) = at_hand.get_untracked() {
            field.update(|text| _ = text.pop());
        }
    };
    let end = move || match last.get() {
        Some(says) => view! { <button class="key key--u" on:click=move |_| on_last.run(())>{says}</button> }.into_any(),
        None => view! { <span></span> }.into_any(),
    };
    view! {
        <div class="pad" role="group" aria-label=t!("kerb-keypad")>
            {key('1')}{key('2')}{key('3')}{unit_key(0)}
            {key('4')}{key('5')}{key('6')}{unit_key(1)}
            {key('7')}{key('8')}{key('9')}{unit_key(2)}
            {key('.')}{key('0')}
            <button class="key" aria-label=t!("kerb-delete-digit") on:click=delete><Icon name="del" size=28/></button>
            {end}
        </div>
    }
    .into_any()
}
