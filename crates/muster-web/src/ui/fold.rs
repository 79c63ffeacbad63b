//! What is drawn only once somebody opens it.

use leptos::{html::Details, prelude::*};

/// A part under its summary; opened once, it stays drawn.
pub(crate) fn fold(
    class: &'static str,
    summary: impl IntoView + 'static,
    draw: impl Fn() -> Option<AnyView> + Send + 'static,
) -> AnyView {
    let (details, was_opened) = (NodeRef::<Details>::new(), RwSignal::new(false));
    let toggled = move |_| {
        if details.get_untracked().is_some_and(|details| details.open()) {
            was_opened.set(true);
        }
    };
    let drawn = move || was_opened.get().then(&draw).flatten();
    view! { <details class=class node_ref=details on:toggle=toggled><summary>{summary}</summary>{drawn}</details> }
        .into_any()
}
