//! One machine in full.

pub(super) mod lapse;

use leptos::prelude::*;
use leptos_router::hooks::use_params_map;

use crate::{
    ui::{Banner, Mast, Uses},
    words::t,
    yard::yard,
};

/// How many machines are remembered as last used.
const USED: usize = 4;
const KEPT_AS: &str = "muster-used";

/// The machines this device opened last, the newest first.
pub(super) fn used() -> Vec<String> {
    let kept = window().local_storage().ok().flatten().and_then(|storage| storage.get_item(KEPT_AS).ok().flatten());
    kept.map(|kept| kept.split('\n').filter(|id| !id.is_empty()).map(str::to_owned).collect()).unwrap_or_default()
}

/// Remembers that a machine was opened. A browser that keeps nothing remembers nothing.
fn opens(id: &str) {
    let mut ids = vec![id.to_owned()];
    ids.extend(used().into_iter().filter(|other| other != id).take(USED - 1));
    if let Ok(Some(storage)) = window().local_storage() {
        let _ = storage.set_item(KEPT_AS, &ids.join("\n"));
    }
}

/// One machine.
#[component]
pub(crate) fn MachineScreen() -> impl IntoView {
    let (yard, params) = (yard(), use_params_map());
    let id = move || params.read().get("machine").unwrap_or_default();
    let seen = move || yard.machine(&id());
    Effect::new(move || opens(&id()));
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
