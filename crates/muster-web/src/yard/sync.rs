//! Coming to hold the same as the server: at the start, when signal comes back, after each act, when there is news.

use std::{cell::Cell, rc::Rc};

use leptos::{leptos_dom::helpers::set_interval_with_handle, prelude::*, task::spawn_local};
use muster_core::{
    calendar::Moment,
    record::{id::DeviceId, payload::Kind},
};
use muster_wire::{
    devices::{CodeAsked, Enrol, Enrolled},
    people::{Link as Invitation, Me},
};
use wasm_bindgen::{JsCast, closure::Closure};

use super::{
    Disk, Key, Yard, ask,
    disk::About,
    link::{LinkError, fetch_bytes},
};
use crate::{clock, words::t, worker};

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
        // What judges is fetched while the disk is read and the server asked; whoever needs it waits for it there.
        spawn_local(async move { _ = self.judges().await });
        // Asked for first: whoever writes as soon as a screen is there finds it answered.
        self.hold_the_pen();
        if let Err(error) = self.recall().await {
            self.link.update(|link| link.trouble = Some(error));
        }
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
        let Some(sent) = disk.carried().await.map_err(|error| error.to_string())? else { return Ok(()) };
        self.recall_glances(&disk, &sent).await;
        (self.judging().await?.hold)(self, sent).await
    }

    /// The device this browser is; one that nobody enrolled writes nothing and has no name of its own.
    pub(super) fn device(self) -> DeviceId {
        self.key.with_value(|key| key.as_ref().map_or_else(|| DeviceId::of_key(&[0; 32]), |key| key.device()))
    }

    async fn exchange(self) -> Result<(), LinkError> {
        if self.held.with_value(Option::is_none) {
            spawn_local(self.fetch_glances());
        }
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
        let fresh =
            if emptied || self.carries_too_long() { Some(fetch_bytes("/api/v1/sync/carried").await?) } else { None };
        let judging = self.judging().await.map_err(|why| LinkError::Refused(0, why))?;
        (judging.exchange)(self, fresh).await
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
