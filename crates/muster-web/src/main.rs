//! The app: walk-rounds on a phone without signal, and the yard; Rust to the glass, on the same core as the server.

mod app;
mod clock;
mod pace;
mod route;
mod screens;
mod ui;
mod words;
mod worker;
mod yard;

use leptos::prelude::document;
use muster_core::record::held::Rules;
use wasm_bindgen_futures::spawn_local;

fn main() {
    console_error_panic_hook::set_once();
    worker::prepare();
    // By the browser's own queue: what runs the page's tasks is made when the page is mounted.
    spawn_local(async {
        let pace = pace::Pace::begin();
        let rules = yard::rules(&pace).await;
        // Each in a turn of its own: all at once would be long for a slow phone.
        pace.turn().await;
        words::prepare();
        pace.turn().await;
        ui::prepare();
        pace.turn().await;
        begin(rules);
    });
}

fn begin(rules: Result<Rules, String>) {
    leptos::mount::mount_to_body(move || app::App(app::AppProps { rules }));
    // What the page said while the app was fetched.
    if let Some(opening) = document().get_element_by_id("opening") {
        opening.remove();
    }
}
