//! Holding what the record says here, and exchanging events with the server: in the part that judges.

use std::collections::{BTreeMap, BTreeSet};

use leptos::prelude::*;
use muster_core::{
    record::{
        event::{Entry, Event},
        held::Held,
        id::EventId,
        judged,
        payload::PhotoAttached,
    },
    sorted,
};
use muster_wire::{
    carried::{Piece, Pieces},
    sync::{Batch, End, Fate, Holds, Lacking, Received, SignedEvent},
};
use serde::Deserialize;

use super::{Photo, Yard, ask, link::LinkError, send_bytes};
use crate::{clock, pace::Pace, ui::toast, words::t, worker};

/// Most events sent at once.
const BATCH: usize = 200;
/// Most bytes of a photo sent at once.
const PIECE: usize = 512 << 10;

impl Yard {
    /// Holds what was carried, what came after, and what was written here.
    pub(super) async fn hold(self, sent: Vec<u8>) -> Result<(), String> {
        let disk = self.disk().ok_or_else(|| t!("no-disk"))?;
        let later = disk.later().await.map_err(|error| error.to_string())?;
        let unsent = self.recall_unsent(&disk).await.map_err(|error| error.to_string())?;
        let read = |text: &String| Entry::read(text).map_err(|error| error.to_string());
        let pace = Pace::begin();
        let (mut events, mut series) = (Vec::<Event>::new(), Vec::new());
        let (mut catalogue, mut names) = (String::new(), BTreeMap::new());
        for piece in Pieces::of(std::str::from_utf8(&sent).map_err(|error| error.to_string())?) {
            match piece.map_err(|error| error.to_string())? {
                Piece::Event(text) => events.extend(Event::given(&text)),
                Piece::Ends(ends) => series = ends,
                Piece::Catalogue(hash) => catalogue = hash,
                Piece::Names(of) => names = of,
            }
            pace.rest().await;
        }
        let mut after = later.iter().map(read).collect::<Result<Vec<_>, _>>()?;
        after.extend(unsent.iter().map(|signed| read(&signed.event)).collect::<Result<Vec<_>, _>>()?);
        let rules = self.rules();
        let mut held = Held::unfolded(self.device(), series.iter().filter_map(End::series), events);
        pace.rest().await;
        while held.fold_next(&rules) {
            pace.rest().await;
        }
        // With what was written here while this was folded.
        let known: BTreeSet<_> = after.iter().map(|entry| entry.id).collect();
        let written = self.unsent.with_value(|unsent| {
            let new = unsent.events.iter().filter(|(id, _)| !known.contains(id));
            new.map(|(_, signed)| read(&signed.event)).collect::<Result<Vec<_>, _>>()
        });
        after.extend(written?);
        sorted::sort_by(&mut after, |a, b| a.place().cmp(&b.place()));
        held.take(after, &rules);
        let other = catalogue != rules.catalogue.hash;
        // An app that fits the server's catalogue may be there.
        if other {
            worker::look_for_newer();
        }
        self.held.set_value(Some(held));
        self.names.set(names);
        self.link.update(|link| link.other_catalogue = other);
        self.judge_ahead(&pace).await;
        // What looks at it draws: a piece of its own.
        pace.turn().await;
        self.changed();
        Ok(())
    }

    /// Judges the machine that the address names, in pieces: a screen of it finds it judged.
    async fn judge_ahead(self, pace: &Pace) {
        let address = window().location().pathname().unwrap_or_default();
        let Some(id) = address.strip_prefix("/machines/").and_then(|rest| rest.split('/').next()) else { return };
        let (now, rules) = (clock::now(), self.rules());
        let its = self.held.with_value(|held| {
            let held = held.as_ref()?;
            Some((held.machine(id)?.clone(), held.known().yard.clone()))
        });
        let Some((state, yard)) = its else { return };
        let rules = (&rules.catalogue, &*yard);
        let judgement = judged::judgement_in_pieces(rules, &state, now, None, async || pace.rest().await).await;
        judgement.into_iter().for_each(|judgement| _ = self.keep_judged((&state, &yard), now, judgement));
    }

    /// Comes to hold the same as the server: what it sent to be carried, or what was written since; then what was written
    /// here goes to it.
    pub(super) async fn exchange_events(self, carried: Option<Vec<u8>>) -> Result<(), LinkError> {
        match carried {
            Some(sent) => self.carry(sent).await?,
            None => self.catch_up().await?,
        }
        if self.link.with_untracked(|link| link.enrolled && !link.other_tab) {
            self.send_events().await?;
            self.send_photos().await?;
            self.keep_pins().await?;
        }
        Ok(())
    }

    /// Carries what the server chose.
    async fn carry(self, sent: Vec<u8>) -> Result<(), LinkError> {
        let Some(disk) = self.disk() else { return Ok(()) };
        if let Err(error) = disk.carry(&sent).await {
            self.link.update(|link| link.trouble = Some(t!("storage-full", why = error.to_string())));
        }
        self.hold(sent).await.map_err(LinkError::Strange)
    }

    /// Fetches what was written since.
    async fn catch_up(self) -> Result<(), LinkError> {
        loop {
            let Some(holds) = self.held.with_value(|held| held.as_ref().map(|held| Holds::from(held.heads()))) else {
                return Ok(());
            };
            // What was written here and not sent is the server's to lack.
            let lacking: Lacking = ask("POST", "/api/v1/sync/missing", Some(&holds)).await?;
            let entries: Vec<(Entry, String)> =
                lacking.events.into_iter().filter_map(|of| Some((Entry::read(&of.event).ok()?, of.event))).collect();
            if entries.is_empty() {
                return Ok(());
            }
            if let Some(disk) = self.disk() {
                let later: Vec<(EventId, String)> =
                    entries.iter().map(|(entry, text)| (entry.id, text.clone())).collect();
                if let Err(error) = disk.keep_later(&later).await {
                    self.link.update(|link| link.trouble = Some(t!("storage-full", why = error.to_string())));
                }
            }
            let rules = self.rules();
            let entries = entries.into_iter().map(|(entry, _)| entry);
            self.held.update_value(|held| _ = held.as_mut().map(|held| held.take(entries, &rules)));
            self.changed();
            if !lacking.more {
                return Ok(());
            }
        }
    }

    /// Sends what was written here, in its order; the rest waits behind what is refused.
    async fn send_events(self) -> Result<(), LinkError> {
        let Some(disk) = self.disk() else { return Ok(()) };
        let unsent = disk.unsent().await.map_err(|error| LinkError::Strange(error.to_string()))?;
        let mut refused = Vec::new();
        'batches: for batch in unsent.chunks(BATCH) {
            let events: Vec<SignedEvent> = batch.iter().cloned().map(Into::into).collect();
            let received: Received = ask("POST", "/api/v1/sync", Some(&Batch { events })).await?;
            for (signed, fate) in batch.iter().zip(&received.events) {
                match fate {
                    Fate::Kept { id } | Fate::Held { id } => {
                        disk.sent(*id, &signed.event).await.map_err(|error| LinkError::Strange(error.to_string()))?;
                        self.unsent.update_value(|unsent| _ = unsent.events.remove(id));
                    }
                    Fate::Refused { why, .. } => {
                        refused.push(why.clone());
                        break 'batches;
                    }
                }
            }
        }
        self.link.update(|link| link.refused = refused);
        self.count_unsent();
        Ok(())
    }

    /// Sends photos, piece by piece from where the server is, and says in the record what each shows.
    async fn send_photos(self) -> Result<(), LinkError> {
        let Some(disk) = self.disk() else { return Ok(()) };
        for photo in disk.photos().await.unwrap_or_default() {
            match self.send_photo(&photo).await {
                Ok(()) => {}
                // One that no server takes would stand before all others for good.
                Err(LinkError::Refused(_, why)) => toast(t!("photo-refused", why = why)),
                Err(other) => return Err(other),
            }
            disk.sent_photo(&photo.sha256).await.map_err(|error| LinkError::Strange(error.to_string()))?;
            self.unsent.update_value(|unsent| _ = unsent.photos.remove(&photo.sha256));
            self.count_unsent();
        }
        Ok(())
    }

    /// Sends one photo and says in the record what it shows.
    async fn send_photo(self, photo: &Photo) -> Result<(), LinkError> {
        #[derive(Deserialize)]
        struct Held {
            held: u64,
        }
        #[derive(Deserialize)]
        struct Ended {
            sha256: String,
            bytes: u64,
        }
        let door = format!("/api/v1/photos/uploads/{}", photo.sha256);
        let there: Held = ask("GET", &door, None::<&()>).await?;
        let mut at = usize::try_from(there.held).unwrap_or(0).min(photo.bytes.len());
        while at < photo.bytes.len() {
            let end = (at + PIECE).min(photo.bytes.len());
            let piece = photo.bytes.get(at..end).unwrap_or_default();
            let kind = "application/octet-stream";
            let _: serde_json::Value = send_bytes("PUT", &format!("{door}?offset={at}"), piece, kind).await?;
            at = end;
        }
        let ended: Ended = ask("POST", &door, None::<&()>).await?;
        let of = photo.of.as_deref().and_then(|id| id.parse().ok());
        let said = PhotoAttached { machine: photo.machine.clone(), of, sha256: ended.sha256, bytes: ended.bytes };
        self.write(said).await.map(|_| ()).map_err(|error| LinkError::Refused(422, error.to_string()))
    }
}
