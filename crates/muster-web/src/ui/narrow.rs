//! How wide the screen is.

use leptos::prelude::*;

/// Beneath this a screen is a phone's, px.
const PHONE: f64 = 720.0;

/// Whether this is a phone's width; turns with the window.
pub(crate) fn narrow() -> RwSignal<bool> {
    let is = || window().inner_width().ok().and_then(|width| width.as_f64()).is_some_and(|width| width < PHONE);
    let signal = RwSignal::new(is());
    let heard = window_event_listener(leptos::ev::resize, move |_| {
        if signal.get_untracked() != is() {
            signal.set(is());
        }
    });
    on_cleanup(move || heard.remove());
    signal
}
