//! Small things this device remembers between visits. A browser that keeps nothing remembers nothing.

use leptos::prelude::window;
use serde::{Serialize, de::DeserializeOwned};

/// What is kept by a name; none where nothing is, or the browser keeps nothing.
pub(crate) fn text(name: &str) -> Option<String> {
    storage()?.get_item(name).ok().flatten()
}

/// Keeps a text by a name.
pub(crate) fn keep(name: &str, text: &str) {
    if let Some(storage) = storage() {
        let _ = storage.set_item(name, text);
    }
}

/// Forgets what is kept by a name.
pub(crate) fn forget(name: &str) {
    if let Some(storage) = storage() {
        let _ = storage.remove_item(name);
    }
}

/// As [`text`], read; what an older app kept otherwise is nothing.
pub(crate) fn read<T: DeserializeOwned>(name: &str) -> Option<T> {
    serde_json::from_str(&text(name)?).ok()
}

/// As [`keep`], written.
pub(crate) fn write(name: &str, what: &impl Serialize) {
    if let Ok(text) = serde_json::to_string(what) {
        keep(name, &text);
    }
}

fn storage() -> Option<web_sys::Storage> {
    window().local_storage().ok().flatten()
}
