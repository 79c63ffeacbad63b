//! The yard: every machine, what to do first on top.

use leptos::prelude::*;
use leptos_router::components::A;

use crate::{
    ui::{Banner, Mast, Uses},
    words::t,
    yard::yard,
};

/// The yard.
#[component]
pub(crate) fn YardScreen() -> impl IntoView {
    let yard = yard();
    let rows = move || yard.machines().into_iter().filter_map(|id| yard.machine(&id)).collect::<Vec<_>>();
    view! {
        <Mast/>
        <Banner/>
        <main>
            <h1>{t!("yard-today")}</h1>
            <Show when=move || !yard.is_known()><p class="sec">{t!("nothing-known")}</p></Show>
            <ul class="ylist">
                {move || rows().into_iter().map(|seen| view! {
                    <li><A href=format!("/machines/{}", seen.judgement.machine)>
                        <span class="no">{seen.judgement.machine.clone()}</span>
                        <span class="l1">{seen.judgement.model.clone()}</span>
                        <span class="l2"><Uses judgement=seen.judgement.clone()/></span>
                    </A></li>
                }).collect_view()}
            </ul>
        </main>
    }
}
