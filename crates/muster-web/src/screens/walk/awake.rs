//! Keeps the screen awake while one walks round, where the browser can.

use std::{cell::RefCell, rc::Rc};

use leptos::{prelude::*, task::spawn_local};
use wasm_bindgen::{JsCast, JsValue};

/// Keeps it awake till the screen is left. A browser that cannot goes dark as it always does.
pub(super) fn keep() {
    let held = Rc::new(RefCell::new(None::<JsValue>));
    let ask = {
        let held = held.clone();
        move || {
            let held = held.clone();
            spawn_local(async move {
                if let Some(lock) = request().await {
                    held.replace(Some(lock));
                }
            });
        }
    };
    ask();
    // The lock is gone whenever the app was out of sight.
    let seen = window_event_listener_untyped("visibilitychange", move |_| {
        if !document().hidden() {
            ask();
        }
    });
    let held = StoredValue::new_local(held);
    on_cleanup(move || {
        seen.remove();
        if let Some(lock) = held.try_get_value().and_then(|held| held.take()) {
            call(&lock, "release", None);
        }
    });
}

async fn request() -> Option<JsValue> {
    let lock = js_sys::Reflect::get(&window().navigator(), &"wakeLock".into()).ok().filter(JsValue::is_object)?;
    let promise: js_sys::Promise = call(&lock, "request", Some("screen"))?.dyn_into().ok()?;
    wasm_bindgen_futures::JsFuture::from(promise).await.ok()
}

fn call(of: &JsValue, name: &str, with: Option<&str>) -> Option<JsValue> {
    let method: js_sys::Function = js_sys::Reflect::get(of, &name.into()).ok()?.dyn_into().ok()?;
    match with {
        Some(with) => method.call1(of, &with.into()).ok(),
        None => method.call0(of).ok(),
    }
}
