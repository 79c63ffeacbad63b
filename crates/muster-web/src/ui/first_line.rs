//! The first line of every walk-round: no hold tag on the bar, key on its hook.

use leptos::prelude::*;
use leptos_router::components::A;

use crate::words::t;

/// What is looked for first. A machine with a tag is looked at by itself.
#[component]
pub(crate) fn FirstLine(
    /// The machine.
    machine: String,
    /// No tag hangs on the bar.
    no_tag: RwSignal<bool>,
    /// The key is on its hook.
    key: RwSignal<bool>,
) -> impl IntoView {
    view! {
        <section class="sec first-line">
            <h2 class="vh">{t!("first-line")}</h2>
            <label class="tickbox tickbox--lg"><input type="checkbox" bind:checked=no_tag/><span>{t!("no-hold-tag")}</span></label>
            <label class="tickbox tickbox--lg"><input type="checkbox" bind:checked=key/><span>{t!("key-on-hook")}</span></label>
            <A href=format!("/machines/{machine}") attr:class="btn btn--quiet">{t!("there-is-a-tag")}</A>
        </section>
    }
    .into_any()
}
