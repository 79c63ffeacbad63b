//! An address where nothing is.

use leptos::prelude::*;
use leptos_router::components::A;

use crate::{ui::opened, words::t};

/// Says so, and where to go.
#[component]
pub(crate) fn Nowhere() -> impl IntoView {
    opened();
    view! {
        <main class="phone is-page">
            <section class="sec"><h1>{t!("nothing-here")}</h1><p><A href="/">{t!("to-the-yard")}</A></p></section>
        </main>
    }
}
