//! One machine.

use leptos::prelude::*;
use leptos_router::hooks::use_params_map;

use crate::{
    ui::{Banner, Mast, Uses},
    words::t,
    yard::yard,
};

/// One machine.
#[component]
pub(crate) fn MachineScreen() -> impl IntoView {
    let (yard, params) = (yard(), use_params_map());
    let id = move || params.read().get("machine").unwrap_or_default();
    let seen = move || yard.machine(&id());
    view! {
        <Mast/>
        <Banner/>
        <main>
            <h1>{id}</h1>
            {move || match seen() {
                Some(seen) => view! { <Uses judgement=seen.judgement/> }.into_any(),
                None => view! { <p>{t!("no-machine")}</p> }.into_any(),
            }}
        </main>
    }
}
