//! This browser's key: made here, kept by the browser, never readable by any script.

use js_sys::{Array, Uint8Array};
use muster_core::{
    hash::hex,
    record::{event::Signed, id::DeviceId},
};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{CryptoKey, CryptoKeyPair, SubtleCrypto};

/// RFC 8032, as the Web Cryptography API names it.
const ALGORITHM: &str = "Ed25519";

/// A key pair whose private half cannot be taken out.
#[derive(Clone, Debug)]
pub(crate) struct Key {
    private: CryptoKey,
    public: [u8; 32],
}

/// Why the browser did not do what keys need.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this browser keeps no key of the kind the record needs (Ed25519): use a newer one, or work with signal")]
pub(crate) struct NoKey;

impl Key {
    /// Makes one.
    ///
    /// # Errors
    /// [`NoKey`] where the browser knows no such keys.
    pub(crate) async fn make() -> Result<Self, NoKey> {
        let uses = Array::of2(&"sign".into(), &"verify".into());
        let made = subtle()?.generate_key_with_str(ALGORITHM, false, &uses).map_err(|_| NoKey)?;
        let pair: CryptoKeyPair = JsFuture::from(made).await.map_err(|_| NoKey)?.unchecked_into();
        Self::of(pair.get_private_key(), pair.get_public_key()).await
    }

    /// Takes one up again from what [`Self::stored`] gave.
    ///
    /// # Errors
    /// [`NoKey`] if it is none.
    pub(crate) fn recall(stored: &JsValue) -> Result<Self, NoKey> {
        let part = |name: &str| js_sys::Reflect::get(stored, &name.into()).map_err(|_| NoKey);
        let private: CryptoKey = part("private")?.dyn_into().map_err(|_| NoKey)?;
        let public = Uint8Array::new(&part("public")?).to_vec().try_into().map_err(|_| NoKey)?;
        Ok(Self { private, public })
    }

    /// What the browser's database keeps: the private half as a handle, no bytes of it.
    pub(crate) fn stored(&self) -> JsValue {
        let stored = js_sys::Object::new();
        // Setting a field of a fresh object cannot fail.
        let _ = js_sys::Reflect::set(&stored, &"private".into(), &self.private);
        let _ = js_sys::Reflect::set(&stored, &"public".into(), &Uint8Array::from(&self.public[..]));
        stored.into()
    }

    /// The device it makes of this browser.
    pub(crate) fn device(&self) -> DeviceId {
        DeviceId::of_key(&self.public)
    }

    /// Its public half, 64 hexadecimal digits.
    pub(crate) fn public_hex(&self) -> String {
        hex(&self.public)
    }

    /// Signs an event's bytes.
    ///
    /// # Errors
    /// [`NoKey`] if the browser does not.
    pub(crate) async fn sign(&self, event: String) -> Result<Signed, NoKey> {
        let signature = self.signature(event.as_bytes()).await?;
        Ok(Signed { event, signature })
    }

    /// A signature over bytes, 128 hexadecimal digits.
    ///
    /// # Errors
    /// [`NoKey`] if the browser does not sign.
    pub(crate) async fn signature(&self, bytes: &[u8]) -> Result<String, NoKey> {
        let data = Uint8Array::from(bytes);
        let signed = subtle()?.sign_with_str_and_js_u8_array(ALGORITHM, &self.private, &data).map_err(|_| NoKey)?;
        let signature = JsFuture::from(signed).await.map_err(|_| NoKey)?;
        Ok(hex(&Uint8Array::new(&signature).to_vec()))
    }

    async fn of(private: CryptoKey, public: CryptoKey) -> Result<Self, NoKey> {
        let raw = subtle()?.export_key("raw", &public).map_err(|_| NoKey)?;
        let raw = JsFuture::from(raw).await.map_err(|_| NoKey)?;
        let public = Uint8Array::new(&raw).to_vec().try_into().map_err(|_| NoKey)?;
        Ok(Self { private, public })
    }
}

fn subtle() -> Result<SubtleCrypto, NoKey> {
    let crypto = leptos::prelude::window().crypto().map_err(|_| NoKey)?;
    let subtle = crypto.subtle();
    if subtle.is_undefined() { Err(NoKey) } else { Ok(subtle) }
}
