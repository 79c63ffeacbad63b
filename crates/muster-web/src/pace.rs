//! Long work in short pieces: a press in between is answered.

use std::cell::Cell;

use js_sys::Promise;
use leptos::prelude::window;
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;
use web_sys::MessageChannel;

/// How long a piece may last, ms: a press is to be painted within 50 on a slow phone.
const PIECE_MS: f64 = 6.0;

/// When the browser last had its turn.
pub(crate) struct Pace(Cell<f64>);

impl Pace {
    pub(crate) fn begin() -> Self {
        Self(Cell::new(now()))
    }

    /// Gives the browser its turn where the piece has lasted long enough.
    pub(crate) async fn rest(&self) {
        if now() - self.0.get() >= PIECE_MS {
            self.turn().await;
        }
    }

    /// Gives the browser its turn.
    pub(crate) async fn turn(&self) {
        let turn = Promise::new(&mut |resolve, _| {
            // A timer that is asked for within a timer waits for 4 ms: a message does not.
            let sent = MessageChannel::new().and_then(|channel| {
                channel.port1().set_onmessage(Some(&resolve));
                channel.port2().post_message(&JsValue::NULL)
            });
            // A window with neither would wait for good: then there is no turn to give.
            if sent.is_err() && window().set_timeout_with_callback(&resolve).is_err() {
                let _ = resolve.call0(&JsValue::UNDEFINED);
            }
        });
        // The promise is never refused.
        let _ = JsFuture::from(turn).await;
        self.0.set(now());
    }
}

fn now() -> f64 {
    js_sys::Date::now()
}
