//! What was done or refused, said for eight seconds or till it is touched.

use std::cell::Cell;

use leptos::prelude::*;

use super::Icon;
use crate::words::t;

/// What is said, each with its number.
type Said = RwSignal<Vec<(u64, String)>>;

thread_local! {
    /// Not a context: whatever is told after an act has waited has no owner to find one by.
    static SAID: Cell<Option<Said>> = const { Cell::new(None) };
}

/// How long a toast stays.
const STAYS: std::time::Duration = std::time::Duration::from_secs(8);

/// Says something.
pub(crate) fn toast(text: impl Into<String>) {
    let Some(said) = SAID.get() else { return };
    let id = said.with_untracked(|all| all.last().map_or(0, |(id, _)| id + 1));
    said.update(|all| all.push((id, text.into())));
    set_timeout(move || said.update(|all| all.retain(|(of, _)| *of != id)), STAYS);
}

/// Where toasts stand.
#[component]
pub(crate) fn Toasts() -> impl IntoView {
    let said = Said::new(Vec::new());
    SAID.set(Some(said));
    view! {
        <div class="toasts" role="status" aria-live="polite">
            <For each=move || said.get() key=|(id, _)| *id let:of>
                <div class="toast">
                    <span>{of.1.clone()}</span>
                    <button class="btn" aria-label=t!("close") on:click=move |_| said.update(|all| all.retain(|(id, _)| *id != of.0))>
                        <Icon name="close" size=20/>
                    </button>
                </div>
            </For>
        </div>
    }
}
