//! The whole app: its addresses, and what lies beneath every screen.

use leptos::{prelude::*, task::spawn_local};
use leptos_router::components::Router;

use crate::{
    pace::Pace,
    route::{Route, Screens},
    screens::{Nowhere, YardScreen, parts},
    ui,
    yard::Yard,
};

/// Icons and glyphs, once a page.
const ICONS: &str = include_str!("../static/icons.svg");

/// Every address.
const ROUTES: &[Route] = &[
    ("/", || YardScreen().into_any()),
    ("/machines/:machine", parts::machine),
    ("/machines/:machine/walk", parts::start),
    ("/machines/:machine/walk/:walk/:check", parts::check),
    ("/machines/:machine/typed", parts::typed_start),
    ("/machines/:machine/typed/:walk", parts::typed),
    ("/machines/:machine/summary", parts::summary),
    ("/machines/:machine/outing", parts::outing),
    ("/machines/:machine/outing/:plan", parts::planned),
    ("/machines/:machine/fall", parts::fall),
    ("/machines/:machine/return", parts::returned),
    ("/jobs", parts::jobs),
    ("/wear", parts::wear),
    ("/records", parts::records),
    ("/records/:event", parts::record),
    ("/paper", parts::paper),
    ("/tags/:number", parts::tag),
    ("/round", parts::rounds),
    ("/round/:check", parts::round),
    ("/scan", parts::scan),
    ("/session", parts::session),
    ("/sign-in", parts::sign_in),
    ("/add", parts::add),
    ("/add/many", parts::many),
    ("/instruments", parts::gauges),
    ("/sheets/:sheet", parts::sheet),
    ("/me", parts::me),
    ("/people", parts::people),
    ("/devices", parts::devices),
    ("/first", parts::first),
    ("/password", parts::password),
    ("/enrol", parts::enrol),
    ("/feedback", parts::feedback),
];

/// The whole app.
#[component]
pub(crate) fn App() -> impl IntoView {
    let yard = Yard::new();
    provide_context(yard);
    // In turns of their own: the page stands, then the yard is looked for.
    spawn_local(async move {
        Pace::begin().turn().await;
        yard.begin().await;
    });
    view! {
        <div class="defs" inner_html=format!("{}{ICONS}", muster_draw::GLYPHS)></div>
        <ui::Toasts/>
        <Router><Screens routes=ROUTES nowhere=|| Nowhere().into_any()/></Router>
    }
}
