//! What a browser threw away: kept anew from the open page, and told where it is gone for good.

use std::{collections::BTreeMap, pin::Pin, rc::Rc};

use leptos::prelude::*;
use muster_core::record::{
    event::{Entry, Signed},
    id::EventId,
};

use wasm_split_helpers::wasm_split;

use super::{Disk, Key, NotDone, Photo, Yard, disk::DiskError};
use crate::{kept, ui::toast, words::t};

/// Where a browser that keeps no database may still keep a line: how many records were not sent.
const NOTED_AS: &str = "muster-not-sent";

/// What was written here and the server does not have.
#[derive(Default)]
pub(super) struct Unsent {
    /// Events.
    pub(super) events: BTreeMap<EventId, Signed>,
    /// Photos by their hashes.
    pub(super) photos: BTreeMap<String, Photo>,
}

type Keeping = Pin<Box<dyn Future<Output = Result<(), String>>>>;

#[allow(unsafe_code, reason = "the seam between two modules is a name that the linker sees")]
#[wasm_split(write, fallible)]
fn keeping(yard: Yard, key: Rc<Key>) -> Result<Keeping, NotDone> {
    Ok(Box::pin(yard.keep_all_again(key)))
}

impl Yard {
    /// Keeps a photo till it is sent.
    ///
    /// # Errors
    /// Why it is not kept, in words.
    pub(crate) async fn keep_photo(self, photo: Photo) -> Result<(), String> {
        let disk = self.disk().ok_or_else(|| t!("no-disk"))?;
        let mut kept = disk.keep_photo(&photo).await;
        if kept.is_err() && self.mend().await {
            let disk = self.disk().ok_or_else(|| t!("no-disk"))?;
            kept = disk.keep_photo(&photo).await;
        }
        kept.map_err(|error| t!("not-kept", why = error.to_string()))?;
        self.unsent.update_value(|unsent| _ = unsent.photos.insert(photo.sha256.clone(), photo));
        self.count_unsent();
        self.sync_soon();
        Ok(())
    }

    /// Recalls what the disk says is not sent, and returns the events. Each answer is noted as it comes, so that what is
    /// written here meanwhile stays noted after it.
    pub(super) async fn recall_unsent(self, disk: &Disk) -> Result<Vec<Signed>, DiskError> {
        let read = |signed: &Signed| Some((Entry::read(&signed.event).ok()?.id, signed.clone()));
        let events = disk.unsent().await?;
        self.unsent.update_value(|unsent| unsent.events = events.iter().filter_map(read).collect());
        let photos = disk.photos().await.unwrap_or_default().into_iter();
        self.unsent.update_value(|unsent| unsent.photos = photos.map(|photo| (photo.sha256.clone(), photo)).collect());
        self.count_unsent();
        Ok(events)
    }

    /// Tells how many records are not sent. They are counted, never reckoned on: somebody may write while others are sent.
    pub(super) fn count_unsent(self) {
        let count = self.unsent.with_value(|unsent| unsent.events.len() + unsent.photos.len());
        self.link.update(|link| link.unsent = count);
        self.note_unsent();
    }

    /// Looks whether the browser still has what it was given; if it threw it away, keeps anew what this page holds. Returns
    /// whether it had to.
    pub(super) async fn mend(self) -> bool {
        let Some(key) = self.key.get_value() else { return false };
        if let Some(disk) = self.disk()
            && matches!(disk.key().await, Ok(Some(_)))
        {
            return false;
        }
        let done = match keeping(self, key).await {
            Ok(keeping) => keeping.await,
            Err(NotDone(why)) => Err(why),
        };
        if let Err(why) = &done {
            self.link.update(|link| link.trouble = Some(t!("storage-full", why = why.as_str())));
        }
        done.is_ok()
    }

    async fn keep_all_again(self, key: Rc<Key>) -> Result<(), String> {
        let disk = Rc::new(Disk::open().await.map_err(|error| error.to_string())?);
        disk.keep_key(&key.stored()).await.map_err(|error| error.to_string())?;
        let (events, photos) = self
            .unsent
            .with_value(|unsent| (unsent.events.clone(), unsent.photos.values().cloned().collect::<Vec<_>>()));
        disk.keep_again(&events).await.map_err(|error| error.to_string())?;
        for photo in &photos {
            disk.keep_photo(photo).await.map_err(|error| error.to_string())?;
        }
        self.disk.set_value(Some(disk));
        self.remember().await;
        toast(t!("storage-mended"));
        Ok(())
    }

    /// Tells what a browser that threw its storage away took with it: a device it was, and is no more.
    pub(super) fn tell_of_loss(self, enrolled: bool) {
        let Some(noted) = kept::text(NOTED_AS) else { return };
        if enrolled {
            return;
        }
        let count = noted.parse::<usize>().unwrap_or(0);
        self.link.update(|link| link.lost = Some(count));
        // One that cannot be wiped is told again.
        kept::forget(NOTED_AS);
    }

    /// Notes how many records are not sent where it outlasts the database.
    pub(super) fn note_unsent(self) {
        let count = self.link.with_untracked(|link| link.enrolled.then_some(link.unsent));
        // Without the line a loss is not told.
        count.into_iter().for_each(|count| kept::keep(NOTED_AS, &count.to_string()));
    }
}
