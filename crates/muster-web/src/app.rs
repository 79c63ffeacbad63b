//! Which screen stands at which address.

use leptos::{prelude::*, task::spawn_local};
use leptos_router::{
    components::{Route, Router, Routes},
    path,
};

use crate::{screens, ui, words::t, yard::Yard};

/// Icons and glyphs, once a page.
const ICONS: &str = include_str!("../static/icons.svg");

/// The whole app.
#[component]
pub(crate) fn App() -> impl IntoView {
    match Yard::new() {
        Ok(yard) => {
            provide_context(yard);
            spawn_local(yard.begin());
            view! {
                <div class="defs" inner_html=format!("{}{ICONS}", muster_draw::GLYPHS)></div>
                <ui::Toasts/>
                <Router>
                    <Routes fallback=screens::Nowhere>
                        <Route path=path!("/") view=screens::YardScreen/>
                        <Route path=path!("/machines/:machine") view=screens::MachineScreen/>
                        <Route path=path!("/machines/:machine/walk") view=screens::StartScreen/>
                        <Route path=path!("/machines/:machine/walk/:walk/:check") view=screens::WalkScreen/>
                        <Route path=path!("/machines/:machine/summary") view=screens::SummaryScreen/>
                        <Route path=path!("/jobs") view=screens::JobsScreen/>
                        <Route path=path!("/records") view=screens::RecordsScreen/>
                        <Route path=path!("/records/:event") view=screens::RecordScreen/>
                        <Route path=path!("/machines/:machine/fall") view=screens::Fall/>
                        <Route path=path!("/machines/:machine/return") view=screens::Return/>
                        <Route path=path!("/round") view=screens::Rounds/>
                        <Route path=path!("/round/:check") view=screens::Round/>
                        <Route path=path!("/scan") view=screens::Scan/>
                        <Route path=path!("/session") view=screens::SessionScreen/>
                        <Route path=path!("/sign-in") view=screens::SignIn/>
                        <Route path=path!("/add") view=screens::Add/>
                        <Route path=path!("/add/many") view=screens::AddMany/>
                        <Route path=path!("/instruments") view=screens::Gauges/>
                        <Route path=path!("/sheets/:sheet") view=screens::SheetScreen/>
                        <Route path=path!("/me") view=screens::MeScreen/>
                        <Route path=path!("/people") view=screens::People/>
                        <Route path=path!("/devices") view=screens::Devices/>
                        <Route path=path!("/first") view=screens::First/>
                        <Route path=path!("/password") view=screens::Password/>
                        <Route path=path!("/enrol") view=screens::Enrol/>
                        <Route path=path!("/feedback") view=screens::Feedback/>
                    </Routes>
                </Router>
            }
            .into_any()
        }
        Err(faults) => view! { <main><h1>{t!("app-broken")}</h1><p>{faults}</p></main> }.into_any(),
    }
}
