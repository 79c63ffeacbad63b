//! What this browser keeps: what it carries of the record, what it wrote and did not send, its key.

use std::collections::BTreeMap;

use idb::{
    Database, DatabaseEvent, Factory, ObjectStoreParams, Query, Transaction, TransactionMode, TransactionResult,
};
use js_sys::Uint8Array;
use muster_core::record::{event::Signed, id::EventId};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use wasm_bindgen::{JsCast, JsValue};

use super::Signed as Me;
use crate::words::t;

const NAME: &str = "muster";
const VERSION: u32 = 1;
/// What is carried, as the server last chose it.
const CARRIED: &str = "carried";
/// Events that came after, by id.
const LATER: &str = "later";
/// Events written here and not sent, by number.
const UNSENT: &str = "unsent";
/// Photos not sent, by hash.
const PHOTOS: &str = "photos";
/// Most bytes of what is carried in one piece.
const PIECE: usize = 512 << 10;
/// The rest, by name.
const MISC: &str = "misc";

/// The browser's database.
#[derive(Debug)]
pub(crate) struct Disk {
    database: Database,
}

/// Why something could not be kept or read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this browser's storage: {0}")]
pub(crate) struct DiskError(String);

impl From<idb::Error> for DiskError {
    fn from(error: idb::Error) -> Self {
        Self(error.to_string())
    }
}

impl From<serde_wasm_bindgen::Error> for DiskError {
    fn from(error: serde_wasm_bindgen::Error) -> Self {
        Self(error.to_string())
    }
}

/// What is small and kept beside.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub(crate) struct About {
    /// Who was signed in.
    pub(crate) me: Option<Me>,
    /// Whether the yard knows this browser's key.
    pub(crate) enrolled: bool,
    /// How far the server's clock is ahead, in seconds.
    pub(crate) ahead_s: i64,
    /// When the server last answered, ISO 8601.
    pub(crate) heard: Option<String>,
}

/// A photo taken here and not sent yet.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Photo {
    /// SHA-256 of its bytes.
    pub(crate) sha256: String,
    /// The machine it shows.
    pub(crate) machine: String,
    /// The event it shows, if one.
    pub(crate) of: Option<String>,
    /// Its bytes.
    #[serde(with = "serde_bytes")]
    pub(crate) bytes: Vec<u8>,
}

impl Disk {
    /// Opens it, made on the first visit.
    ///
    /// # Errors
    /// [`DiskError`] where the browser keeps nothing: a private window may be one.
    pub(crate) async fn open() -> Result<Self, DiskError> {
        let mut request = Factory::new()?.open(NAME, Some(VERSION))?;
        request.on_upgrade_needed(|event| {
            let Ok(database) = event.database() else { return };
            let there = database.store_names();
            for store in
                [CARRIED, LATER, UNSENT, PHOTOS, MISC].into_iter().filter(|name| !there.iter().any(|of| of == name))
            {
                // One that cannot be made is missed at its first use, in words.
                let _ = database.create_object_store(store, ObjectStoreParams::new());
            }
        });
        Ok(Self { database: request.await? })
    }

    /// What is carried, as the server sent it: bytes in a few pieces, where thousands of texts would be one by one.
    pub(crate) async fn carried(&self) -> Result<Option<Vec<u8>>, DiskError> {
        let transaction = self.database.transaction(&[CARRIED], TransactionMode::ReadOnly)?;
        let store = transaction.object_store(CARRIED)?;
        let mut sent = Vec::new();
        for key in store.get_all_keys(None, None)?.await? {
            let kept: Option<JsValue> = store.get(Query::Key(key))?.await?;
            sent.extend(
                kept.and_then(|kept| kept.dyn_into::<Uint8Array>().ok()).map_or(Vec::new(), |piece| piece.to_vec()),
            );
        }
        Ok(Some(sent).filter(|sent| !sent.is_empty()))
    }

    /// Replaces what is carried; what came after and is in it goes. Each piece is copied as it is handed over, so that a press
    /// in between is answered.
    pub(crate) async fn carry(&self, sent: &[u8]) -> Result<(), DiskError> {
        let transaction = self.database.transaction(&[CARRIED, LATER], TransactionMode::ReadWrite)?;
        let store = transaction.object_store(CARRIED)?;
        store.clear()?.await?;
        for (number, piece) in sent.chunks(PIECE).enumerate() {
            store.put(&Uint8Array::from(piece), Some(&JsValue::from_f64(number as f64)))?.await?;
        }
        transaction.object_store(LATER)?.clear()?.await?;
        ended(transaction).await
    }

    /// Events that came after what is carried.
    pub(crate) async fn later(&self) -> Result<Vec<String>, DiskError> {
        self.all(LATER).await
    }

    /// Keeps events that came.
    pub(crate) async fn keep_later(&self, events: &[(EventId, String)]) -> Result<(), DiskError> {
        let transaction = self.database.transaction(&[LATER], TransactionMode::ReadWrite)?;
        let store = transaction.object_store(LATER)?;
        for (id, event) in events {
            store.put(&event.into(), Some(&id.to_string().into()))?.await?;
        }
        ended(transaction).await
    }

    /// Events written here and not sent, in their order.
    pub(crate) async fn unsent(&self) -> Result<Vec<Signed>, DiskError> {
        self.all(UNSENT).await
    }

    /// Keeps events written here: all or none.
    pub(crate) async fn keep_unsent(&self, ids: &[EventId], events: &[Signed]) -> Result<(), DiskError> {
        let transaction = self.database.transaction(&[UNSENT], TransactionMode::ReadWrite)?;
        let store = transaction.object_store(UNSENT)?;
        for (id, event) in ids.iter().zip(events) {
            store.add(&js(event)?, Some(&JsValue::from_f64(id.seq as f64)))?.await?;
        }
        ended(transaction).await
    }

    /// Keeps anew what was written here and not sent, where the browser threw it away.
    pub(crate) async fn keep_again(&self, events: &BTreeMap<EventId, Signed>) -> Result<(), DiskError> {
        let transaction = self.database.transaction(&[UNSENT], TransactionMode::ReadWrite)?;
        let store = transaction.object_store(UNSENT)?;
        for (id, event) in events {
            store.put(&js(event)?, Some(&JsValue::from_f64(id.seq as f64)))?.await?;
        }
        ended(transaction).await
    }

    /// Which events came after what is carried, and the numbers of those not sent: read without reading the events.
    pub(crate) async fn numbers(&self) -> Result<(Vec<EventId>, Vec<u64>), DiskError> {
        let transaction = self.database.transaction(&[LATER, UNSENT], TransactionMode::ReadOnly)?;
        let later = transaction.object_store(LATER)?.get_all_keys(None, None)?.await?;
        let unsent = transaction.object_store(UNSENT)?.get_all_keys(None, None)?.await?;
        let later = later.iter().filter_map(|key| key.as_string()?.parse().ok());
        Ok((later.collect(), unsent.iter().filter_map(JsValue::as_f64).map(|seq| seq as u64).collect()))
    }

    /// Moves an event the server has kept from what is not sent to what came.
    pub(crate) async fn sent(&self, id: EventId, event: &str) -> Result<(), DiskError> {
        let transaction = self.database.transaction(&[UNSENT, LATER], TransactionMode::ReadWrite)?;
        let number = JsValue::from_f64(id.seq as f64);
        transaction.object_store(UNSENT)?.delete(Query::Key(number))?.await?;
        transaction.object_store(LATER)?.put(&event.into(), Some(&id.to_string().into()))?.await?;
        ended(transaction).await
    }

    /// Photos not sent.
    pub(crate) async fn photos(&self) -> Result<Vec<Photo>, DiskError> {
        self.all(PHOTOS).await
    }

    /// Keeps a photo till it is sent.
    pub(crate) async fn keep_photo(&self, photo: &Photo) -> Result<(), DiskError> {
        self.put(PHOTOS, &photo.sha256, photo).await
    }

    /// Forgets a photo that was sent.
    pub(crate) async fn sent_photo(&self, sha256: &str) -> Result<(), DiskError> {
        let transaction = self.database.transaction(&[PHOTOS], TransactionMode::ReadWrite)?;
        transaction.object_store(PHOTOS)?.delete(Query::Key(sha256.into()))?.await?;
        ended(transaction).await
    }

    /// What is small and kept beside.
    pub(crate) async fn about(&self) -> Result<About, DiskError> {
        Ok(self.get(MISC, "about").await?.unwrap_or_default())
    }

    /// Keeps what is small.
    pub(crate) async fn keep_about(&self, about: &About) -> Result<(), DiskError> {
        self.put(MISC, "about", about).await
    }

    /// Anything else by name: where a walk-round stands, what was chosen last.
    pub(crate) async fn recall<T: DeserializeOwned>(&self, name: &str) -> Result<Option<T>, DiskError> {
        self.get(MISC, name).await
    }

    /// Keeps anything else by name.
    pub(crate) async fn remember(&self, name: &str, value: &impl Serialize) -> Result<(), DiskError> {
        self.put(MISC, name, value).await
    }

    /// The key's handle as it was kept.
    pub(crate) async fn key(&self) -> Result<Option<JsValue>, DiskError> {
        let transaction = self.database.transaction(&[MISC], TransactionMode::ReadOnly)?;
        Ok(transaction.object_store(MISC)?.get(Query::Key("key".into()))?.await?)
    }

    /// Keeps the key's handle.
    pub(crate) async fn keep_key(&self, stored: &JsValue) -> Result<(), DiskError> {
        let transaction = self.database.transaction(&[MISC], TransactionMode::ReadWrite)?;
        transaction.object_store(MISC)?.put(stored, Some(&"key".into()))?.await?;
        ended(transaction).await
    }

    async fn get<T: DeserializeOwned>(&self, store: &str, name: &str) -> Result<Option<T>, DiskError> {
        let transaction = self.database.transaction(&[store], TransactionMode::ReadOnly)?;
        let value: Option<JsValue> = transaction.object_store(store)?.get(Query::Key(name.into()))?.await?;
        Ok(value.map(serde_wasm_bindgen::from_value).transpose()?)
    }

    async fn put(&self, store: &str, name: &str, value: &impl Serialize) -> Result<(), DiskError> {
        let transaction = self.database.transaction(&[store], TransactionMode::ReadWrite)?;
        transaction.object_store(store)?.put(&js(value)?, Some(&name.into()))?.await?;
        ended(transaction).await
    }

    async fn all<T: DeserializeOwned>(&self, store: &str) -> Result<Vec<T>, DiskError> {
        let transaction = self.database.transaction(&[store], TransactionMode::ReadOnly)?;
        let values: Vec<JsValue> = transaction.object_store(store)?.get_all(None, None)?.await?;
        Ok(values.into_iter().map(serde_wasm_bindgen::from_value).collect::<Result<_, _>>()?)
    }
}

/// Waits for what a transaction comes to: one that was given up, for want of room at its very end, has kept nothing.
async fn ended(transaction: Transaction) -> Result<(), DiskError> {
    match transaction.commit()?.await? {
        TransactionResult::Committed => Ok(()),
        TransactionResult::Aborted => Err(DiskError(t!("storage-gave-up"))),
    }
}

/// Maps become objects, so that the database's own tools can show them.
fn js(value: &impl Serialize) -> Result<JsValue, DiskError> {
    let serializer = serde_wasm_bindgen::Serializer::json_compatible().serialize_bytes_as_arrays(false);
    Ok(value.serialize(&serializer)?)
}
