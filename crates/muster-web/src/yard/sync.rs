//! Coming to hold the same as the server: at the start, when signal comes back, after each act, when there is news.

use std::{cell::Cell, collections::BTreeMap, rc::Rc};

use leptos::{leptos_dom::helpers::set_interval_with_handle, prelude::*, task::spawn_local};
use muster_core::{
    calendar::Moment,
    record::{
        event::{Entry, Event},
        held::Held,
        id::{DeviceId, EventId},
        payload::{Kind, PhotoAttached},
    },
    sorted,
};
use muster_wire::{
    carried::{Piece, Pieces},
    devices::{CodeAsked, Enrol, Enrolled},
    people::{Link as Invitation, Me},
    sync::{Batch, End, Fate, Holds, Lacking, Received, SignedEvent},
};
use serde::Deserialize;
use wasm_bindgen::{JsCast, closure::Closure};

use super::{
    Disk, Key, Photo, Yard, ask,
    disk::About,
    link::{LinkError, fetch_bytes},
    send_bytes,
};
use crate::{clock, pace::Pace, ui::toast, words::t, worker};

/// Most events sent at once.
const BATCH: usize = 200;
/// Most bytes of a photo sent at once.
const PIECE: usize = 512 << 10;
/// After so long what is carried is fetched anew, in seconds: what is over is then let go.
const STALE_S: i64 = 6 * 3600;
/// How often the server is asked where it sends no news.
const ASKED: std::time::Duration = std::time::Duration::from_secs(20);
/// How often lives are looked at again.
const MINUTE: std::time::Duration = std::time::Duration::from_secs(60);

thread_local! {
    static SYNCING: Cell<bool> = const { Cell::new(false) };
    static AGAIN: Cell<bool> = const { Cell::new(false) };
}

impl Yard {
    /// Takes up what this browser holds, then comes to hold what the server does; from then on by itself.
    pub(crate) async fn begin(self) {
        if let Err(error) = self.recall().await {
            self.link.update(|link| link.trouble = Some(error));
        }
        self.hold_the_pen();
        // A browser that does not promise to throw nothing away may still keep it.
        let _ = window().navigator().storage().persist();
        self.sync().await;
        // Only now: what it keeps would take its share of the line from what is waited for.
        worker::register();
        self.listen();
    }

    /// Syncs when what runs now is through; several calls become one.
    pub(crate) fn sync_soon(self) {
        spawn_local(self.sync());
    }

    /// Syncs with the server; without signal nothing happens but that it is said.
    pub(crate) async fn sync(self) {
        if SYNCING.replace(true) {
            AGAIN.set(true);
            return;
        }
        loop {
            AGAIN.set(false);
            let done = self.exchange().await;
            self.tell(done).await;
            if !AGAIN.get() {
                break;
            }
        }
        SYNCING.set(false);
    }

    /// Enrols this browser by a code somebody was shown.
    ///
    /// # Errors
    /// Why not, in words.
    pub(crate) async fn enrol(self, code: &str, label: &str) -> Result<(), String> {
        let disk = self.disk().ok_or_else(|| t!("no-disk"))?;
        let key = match self.key.get_value() {
            Some(key) => key,
            None => Rc::new(Key::make().await.map_err(|error| error.to_string())?),
        };
        let public = key.public_hex();
        let stated = format!("muster enrolment 1\ncode {code}\nkey {public}\nlabel {label}\n");
        let signature = key.signature(stated.as_bytes()).await.map_err(|error| error.to_string())?;
        // Kept before it is known: a key the yard knows and this browser lost would be a device nobody has.
        disk.keep_key(&key.stored()).await.map_err(|error| error.to_string())?;
        let enrol = Enrol { code: code.into(), key: public, label: label.into(), signature };
        let _: Enrolled = ask("POST", "/api/v1/devices", Some(&enrol)).await.map_err(|error| error.to_string())?;
        self.key.set_value(Some(key));
        self.link.update(|link| link.enrolled = true);
        self.remember().await;
        Ok(())
    }

    pub(super) async fn recall(self) -> Result<(), String> {
        let disk = Rc::new(Disk::open().await.map_err(|error| error.to_string())?);
        self.disk.set_value(Some(disk.clone()));
        let about = disk.about().await.map_err(|error| error.to_string())?;
        clock::recall(about.ahead_s);
        let key = disk.key().await.map_err(|error| error.to_string())?;
        let key = key.map(|stored| Key::recall(&stored)).transpose().map_err(|error| error.to_string())?;
        let enrolled = about.enrolled && key.is_some();
        self.tell_of_loss(enrolled);
        self.key.set_value(key.map(Rc::new));
        // A disk that knows nobody yet is behind the server, which may have said meanwhile who acts.
        if about.me.is_some() {
            self.me.set(about.me);
        }
        let heard = about.heard.and_then(|at| Moment::parse(&at).ok());
        self.link.update(|link| (link.enrolled, link.heard) = (enrolled, heard));
        if let Some(sent) = disk.carried().await.map_err(|error| error.to_string())? {
            self.hold(&sent, &disk).await?;
        }
        Ok(())
    }

    /// Holds what was carried, what came after, and what was written here.
    async fn hold(self, sent: &[u8], disk: &Disk) -> Result<(), String> {
        let (later, unsent) = (disk.later().await, disk.unsent().await);
        let (later, unsent) = (later.map_err(|error| error.to_string())?, unsent.map_err(|error| error.to_string())?);
        let read = |text: &String| Entry::read(text).map_err(|error| error.to_string());
        let pace = Pace::begin();
        let (mut events, mut series) = (Vec::<Event>::new(), Vec::new());
        let (mut catalogue, mut names) = (String::new(), BTreeMap::new());
        for piece in Pieces::of(std::str::from_utf8(sent).map_err(|error| error.to_string())?) {
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
        sorted::sort_by(&mut after, |a, b| a.place().cmp(&b.place()));
        let rules = self.rules();
        let mut held = Held::unfolded(self.device(), series.iter().filter_map(End::series), events, &rules);
        pace.rest().await;
        while held.fold_next(&rules) {
            pace.rest().await;
        }
        held.take(after, &rules);
        let other = catalogue != rules.catalogue.hash;
        // An app that fits the server's catalogue may be there.
        if other {
            worker::look_for_newer();
        }
        let photos = self.remember_unsent(&unsent, disk.photos().await.unwrap_or_default());
        self.held.set_value(Some(held));
        self.names.set(names);
        self.link.update(|link| {
            link.unsent = unsent.len() + photos;
            link.other_catalogue = other;
        });
        self.changed();
        Ok(())
    }

    /// The device this browser is; one that nobody enrolled writes nothing and has no name of its own.
    pub(super) fn device(self) -> DeviceId {
        self.key.with_value(|key| key.as_ref().map_or_else(|| DeviceId::of_key(&[0; 32]), |key| key.device()))
    }

    async fn exchange(self) -> Result<(), LinkError> {
        let me: Me = ask("GET", "/api/v1/me", None::<&()>).await?;
        if let Ok(now) = Moment::parse(&me.now) {
            clock::learn(now);
        }
        self.signed_in(&me);
        if me.role == "rider" {
            return Ok(());
        }
        self.enrol_itself(&me).await;
        let emptied = self.mend().await;
        if emptied || self.carries_too_long() {
            self.carry().await?;
        } else {
            self.catch_up().await?;
        }
        if self.link.with_untracked(|link| link.enrolled && !link.other_tab) {
            self.send_events().await?;
            self.send_photos().await?;
            self.keep_pins().await?;
        }
        Ok(())
    }

    async fn tell(self, done: Result<(), LinkError>) {
        self.link.update(|link| {
            let answered = !matches!(done, Err(LinkError::NoAnswer));
            link.online = Some(answered);
            link.signed_out = matches!(done, Err(LinkError::SignedOut(_)));
            if answered {
                link.heard = Some(clock::now());
            }
            match &done {
                Ok(()) => link.trouble = None,
                Err(LinkError::NoAnswer | LinkError::SignedOut(_)) => {}
                Err(error) => link.trouble = Some(error.to_string()),
            }
        });
        self.remember().await;
    }

    pub(super) async fn remember(self) {
        self.note_unsent();
        let Some(disk) = self.disk() else { return };
        let (enrolled, heard) = self.link.with_untracked(|link| (link.enrolled, link.heard.map(|at| at.to_string())));
        let about = About { me: self.me.get_untracked(), enrolled, ahead_s: clock::learnt(), heard };
        if let Err(error) = disk.keep_about(&about).await {
            self.link.update(|link| link.trouble = Some(error.to_string()));
        }
    }

    /// Whoever may enrol devices enrols the browser they signed in with, unasked: it is in their hands.
    async fn enrol_itself(self, me: &Me) {
        if self.link.with_untracked(|link| link.enrolled) || !self.may(Kind::DeviceAdded) || self.disk().is_none() {
            return;
        }
        let asked = CodeAsked { person: Some(me.person.clone()) };
        let Ok(invited) = ask::<Invitation>("POST", "/api/v1/devices/codes", Some(&asked)).await else { return };
        let Some((_, code)) = invited.link.split_once('#') else { return };
        if let Err(error) = self.enrol(code, &t!("this-browser")).await {
            self.link.update(|link| link.trouble = Some(error));
        }
    }

    fn carries_too_long(self) -> bool {
        let heard = self.link.with_untracked(|link| link.heard);
        let stale = heard.is_none_or(|at| clock::now().timestamp().duration_since(at.timestamp()).as_secs() > STALE_S);
        stale || self.held.with_value(Option::is_none)
    }

    /// Fetches what is to be carried.
    async fn carry(self) -> Result<(), LinkError> {
        let sent = fetch_bytes("/api/v1/sync/carried").await?;
        let Some(disk) = self.disk() else { return Ok(()) };
        if let Err(error) = disk.carry(&sent).await {
            self.link.update(|link| link.trouble = Some(t!("storage-full", why = error.to_string())));
        }
        self.hold(&sent, &disk).await.map_err(LinkError::Strange)
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
        let mut left = unsent.len();
        'batches: for batch in unsent.chunks(BATCH) {
            let events: Vec<SignedEvent> = batch.iter().cloned().map(Into::into).collect();
            let received: Received = ask("POST", "/api/v1/sync", Some(&Batch { events })).await?;
            for (signed, fate) in batch.iter().zip(&received.events) {
                match fate {
                    Fate::Kept { id } | Fate::Held { id } => {
                        disk.sent(*id, &signed.event).await.map_err(|error| LinkError::Strange(error.to_string()))?;
                        self.unsent.update_value(|unsent| _ = unsent.events.remove(id));
                        left -= 1;
                    }
                    Fate::Refused { why, .. } => {
                        refused.push(why.clone());
                        break 'batches;
                    }
                }
            }
        }
        let photos = disk.photos().await.map_or(0, |photos| photos.len());
        self.link.update(|link| (link.unsent, link.refused) = (left + photos, refused));
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
            self.link.update(|link| link.unsent = link.unsent.saturating_sub(1));
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

    /// From now on: when signal comes back, when the server has news, and every so often.
    fn listen(self) {
        let back = window_event_listener(leptos::ev::online, move |_| self.sync_soon());
        let gone =
            window_event_listener(leptos::ev::offline, move |_| self.link.update(|link| link.online = Some(false)));
        // For as long as the app is open.
        std::mem::forget((back, gone));
        // A browser without timers is none.
        let _ = set_interval_with_handle(move || self.sync_soon(), ASKED);
        let _ = set_interval_with_handle(move || self.look_again(), MINUTE);
        let Ok(news) = web_sys::EventSource::new("/api/v1/news") else { return };
        let written = Closure::<dyn FnMut(web_sys::MessageEvent)>::new(move |_| self.sync_soon());
        let _ = news.add_event_listener_with_callback("written", written.as_ref().unchecked_ref());
        written.forget();
        std::mem::forget(news);
    }
}
