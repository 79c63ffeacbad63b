//! The app: walk-rounds on a phone without signal, and the yard; Rust to the glass, on the same core as the server.

mod app;
mod clock;
mod route;
mod screens;
mod ui;
mod words;
mod worker;
mod yard;

fn main() {
    console_error_panic_hook::set_once();
    worker::prepare();
    leptos::mount::mount_to_body(app::App);
    // What the page said while the app was fetched.
    if let Some(opening) = leptos::prelude::document().get_element_by_id("opening") {
        opening.remove();
    }
    worker::register();
}
