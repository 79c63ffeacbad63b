//! Long work in short pieces: a press in between is answered.

use js_sys::Promise;
use leptos::prelude::window;
use wasm_bindgen_futures::JsFuture;

/// How long a piece may last, ms: a press is to be painted within 50 on a slow phone.
const PIECE_MS: f64 = 8.0;

/// When the browser last had its turn.
pub(super) struct Pace(f64);

impl Pace {
    pub(super) fn begin() -> Self {
        Self(js_sys::Date::now())
    }

    /// Gives the browser its turn where the piece has lasted long enough.
    pub(super) async fn rest(&mut self) {
        if js_sys::Date::now() - self.0 < PIECE_MS {
            return;
        }
        let turn = Promise::new(&mut |resolve, _| {
            // A window without timers would wait for good: then there is no turn to give.
            if window().set_timeout_with_callback(&resolve).is_err() {
                let _ = resolve.call0(&wasm_bindgen::JsValue::UNDEFINED);
            }
        });
        // The promise is never refused.
        let _ = JsFuture::from(turn).await;
        self.0 = js_sys::Date::now();
    }
}
