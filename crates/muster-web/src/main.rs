//! The app: walk-rounds on a phone without signal, and the yard; Rust to the glass, on the same core as the server.

mod app;
mod clock;
mod route;
mod screens;
mod ui;
mod words;
mod worker;
mod yard;

use std::time::Duration;

use leptos::prelude::{document, set_timeout};
use muster_core::record::held::Rules;

fn main() {
    console_error_panic_hook::set_once();
    worker::prepare();
    let rules = yard::rules();
    // In a turn of its own: both at once would be long for a slow phone.
    set_timeout(move || begin(rules), Duration::ZERO);
}

fn begin(rules: Result<Rules, String>) {
    leptos::mount::mount_to_body(move || app::App(app::AppProps { rules }));
    // Nothing runs beside the page before it is mounted: what runs tasks is made then.
    worker::register();
    // What the page said while the app was fetched.
    if let Some(opening) = document().get_element_by_id("opening") {
        opening.remove();
    }
}
