//! The app: walk-rounds on a phone without signal, and the yard; Rust to the glass, on the same core as the server.

#![allow(unreachable_pub, reason = "the macro of components makes each of them pub beside its own visibility")]

mod app;
mod clock;
mod kept;
mod pace;
mod route;
mod screens;
mod ui;
mod words;
mod worker;
mod yard;

use wasm_bindgen_futures::spawn_local;

fn main() {
    console_error_panic_hook::set_once();
    worker::prepare();
    // By the browser's own queue: what runs the page's tasks is made when the page is mounted.
    spawn_local(async {
        let pace = pace::Pace::begin();
        // A file a turn: all at once would be long for a slow phone.
        words::prepare(&pace).await;
        leptos::mount::mount_to_body(app::App);
    });
}
