//! Photos: taken with the phone's camera, kept here by the hash of their bytes, sent when there is signal.

use leptos::prelude::*;
use muster_core::record::id::EventId;
use wasm_bindgen::{JsCast, JsValue};

use super::walking::Walking;
use crate::{
    ui::{Icon, after, toast},
    words::t,
    yard::{Photo, Yard},
};

/// What the server takes at most, in bytes.
const MAX_BYTES: usize = 12_000_000;

/// A photo's bytes and their hash.
#[derive(Clone, PartialEq, Eq)]
pub(super) struct Taken {
    sha256: String,
    bytes: Vec<u8>,
}

impl Taken {
    /// An address the browser shows it by.
    pub(super) fn address(&self) -> Option<String> {
        let parts = js_sys::Array::of1(&js_sys::Uint8Array::from(self.bytes.as_slice()));
        let blob = web_sys::Blob::new_with_u8_array_sequence(&parts).ok()?;
        web_sys::Url::create_object_url_with_blob(&blob).ok()
    }

    /// Keeps it till it is sent.
    pub(super) async fn keep(self, yard: Yard, machine: String, of: Option<EventId>) -> Result<(), String> {
        let of = of.map(|id| id.to_string());
        yard.keep_photo(Photo { sha256: self.sha256, machine, of, bytes: self.bytes }).await
    }
}

/// Reads what an input was given.
pub(super) async fn read(input: web_sys::HtmlInputElement) -> Result<Option<Taken>, String> {
    let Some(file) = input.files().and_then(|files| files.get(0)) else { return Ok(None) };
    let said = |error: JsValue| t!("photo-not-read", why = format!("{error:?}"));
    let buffer = wasm_bindgen_futures::JsFuture::from(file.array_buffer()).await.map_err(said)?;
    let bytes = js_sys::Uint8Array::new(&buffer).to_vec();
    // The same photo chosen again is chosen.
    input.set_value("");
    if bytes.len() > MAX_BYTES {
        return Err(t!("photo-too-large", mb = MAX_BYTES / 1_000_000));
    }
    let subtle = window().crypto().map_err(said)?.subtle();
    let digest = subtle.digest_with_str_and_u8_array("SHA-256", &bytes).map_err(said)?;
    let digest = wasm_bindgen_futures::JsFuture::from(digest).await.map_err(said)?;
    let sha256 = js_sys::Uint8Array::new(&digest).to_vec().iter().map(|byte| format!("{byte:02x}")).collect();
    Ok(Some(Taken { sha256, bytes }))
}

/// A button that takes a photo.
#[component]
pub(super) fn Shutter(
    /// What it says; nothing: the icon alone.
    #[prop(optional, into)]
    says: String,
    /// Takes the photo.
    taken: UnsyncCallback<Taken>,
) -> impl IntoView {
    let change = move |event: leptos::ev::Event| {
        let Some(input) = event.target().and_then(|of| of.dyn_into().ok()) else { return };
        after(read(input), move |done| match done {
            Ok(Some(photo)) => taken.run(photo),
            Ok(None) => {}
            Err(why) => toast(why),
        });
    };
    view! {
        <label class="btn shutter">
            <input class="vh" type="file" accept="image/*" capture="environment" aria-label=t!("take-photo") on:change=change/>
            <Icon name="cam" size=26/>{(!says.is_empty()).then_some(says)}
        </label>
    }
}

/// The foot's camera: a photo of what one stands at.
#[component]
pub(super) fn Camera(walking: Walking) -> impl IntoView {
    let taken = UnsyncCallback::new(move |photo: Taken| {
        let of = untrack(|| {
            let (about, check) = (walking.about()?, walking.check());
            about.answers(walking.walk, &check).next_back().map(|(id, _)| id)
        });
        let kept = photo.keep(walking.yard, walking.machine(), Some(of.unwrap_or(walking.walk)));
        after(kept, |done| toast(done.map_or_else(|why| why, |()| t!("photo-kept"))));
    });
    view! { <Shutter taken/> }
}
