//! Writing to the yard: decided here, signed, kept, sent. A part of its own: who only looks does without.

use std::pin::Pin;

use leptos::prelude::*;
use muster_core::{
    calendar::Moment,
    record::{decide::Actor, event::Entry, id::EventId, payload::Payload},
};
use muster_wire::command::Asked;
use serde::Deserialize;
use wasm_split_helpers::{SplitLoaderError, wasm_split};

use super::{Key, NotDone, Yard, ask};
use crate::{clock, words::t};

type Doing = Pin<Box<dyn Future<Output = Result<Vec<EventId>, NotDone>>>>;

impl From<SplitLoaderError> for NotDone {
    fn from(_: SplitLoaderError) -> Self {
        Self(t!("part-not-here"))
    }
}

#[allow(unsafe_code, reason = "the seam between two modules is a name that the linker sees")]
#[wasm_split(write, fallible)]
fn act_part(yard: Yard, asked: Asked) -> Result<Doing, NotDone> {
    Ok(Box::pin(yard.carry_out(asked, None)))
}

#[allow(unsafe_code, reason = "the seam between two modules is a name that the linker sees")]
#[wasm_split(write, fallible)]
fn write_part(yard: Yard, payload: Payload, at: Option<Moment>) -> Result<Doing, NotDone> {
    let kind = payload.kind().to_string();
    Ok(Box::pin(yard.carry_out(Asked::Write { kind, payload: payload.to_value() }, at)))
}

impl Yard {
    /// Writes an event that says what happened.
    ///
    /// # Errors
    /// [`NotDone`] with what to do; nothing is written then.
    pub(crate) async fn write(&self, payload: impl Into<Payload>) -> Result<Vec<EventId>, NotDone> {
        write_part(*self, payload.into(), None).await?.await
    }

    /// Writes an event that says what happened at a moment past, as somebody noted it on paper.
    ///
    /// # Errors
    /// [`NotDone`] with what to do; nothing is written then.
    pub(crate) async fn write_at(&self, payload: impl Into<Payload>, at: Moment) -> Result<Vec<EventId>, NotDone> {
        write_part(*self, payload.into(), Some(at)).await?.await
    }

    /// Carries out a command: decided here by the rules of the record, signed, kept on this device, then sent when it can
    /// be. A browser the yard does not know asks the server instead, which needs signal.
    ///
    /// # Errors
    /// [`NotDone`] with what to do; nothing is written then.
    pub(crate) async fn act(&self, asked: Asked) -> Result<Vec<EventId>, NotDone> {
        act_part(*self, asked).await?.await
    }

    async fn carry_out(self, asked: Asked, at: Option<Moment>) -> Result<Vec<EventId>, NotDone> {
        let queue = self.writing.get_value();
        let _turn = queue.lock().await;
        if self.link.with_untracked(|link| link.other_tab) {
            return Err(NotDone(t!("other-tab-writes")));
        }
        let done = match self.key.get_value() {
            Some(key) if self.link.with_untracked(|link| link.enrolled) => self.act_here(asked, at, &key).await,
            _ => self.act_there(asked, at).await,
        }?;
        self.sync_soon();
        Ok(done)
    }

    async fn act_here(self, asked: Asked, at: Option<Moment>, key: &Key) -> Result<Vec<EventId>, NotDone> {
        let person = self.person().ok_or_else(|| NotDone(t!("sign-in-first")))?;
        let (command, outing) = asked.read().map_err(|error| NotDone(error.to_string()))?;
        let rules = self.rules();
        let now = at.unwrap_or_else(clock::now);
        let decided = self.held.with_value(|held| {
            held.as_ref().map(|held| held.decide(command, Actor { person: &person, now }, outing, &rules))
        });
        let decided =
            decided.ok_or_else(|| NotDone(t!("nothing-known")))?.map_err(|error| NotDone(error.to_string()))?;
        let disk = self.disk.get_value().ok_or_else(|| NotDone(t!("no-disk")))?;
        let (mut ids, mut entries, mut signed) = (Vec::new(), Vec::new(), Vec::new());
        for of in decided {
            ids.push(of.event.id);
            entries.push(Entry::read(&of.bytes).map_err(|error| NotDone(error.to_string()))?);
            signed.push(key.sign(of.bytes).await.map_err(|error| NotDone(error.to_string()))?);
        }
        // On this device before anything is shown as done: whoever sees it may put the phone away.
        let mut kept = disk.keep_unsent(&ids, &signed).await;
        if kept.is_err() && self.mend().await {
            let disk = self.disk.get_value().ok_or_else(|| NotDone(t!("no-disk")))?;
            kept = disk.keep_unsent(&ids, &signed).await;
        }
        kept.map_err(|error| {
            self.link.update(|link| link.trouble = Some(t!("storage-full", why = error.to_string())));
            NotDone(t!("not-kept", why = error.to_string()))
        })?;
        self.unsent.update_value(|unsent| unsent.events.extend(ids.iter().copied().zip(signed)));
        self.held.update_value(|held| {
            if let Some(held) = held {
                held.take(entries, &rules);
            }
        });
        // Who writes again has read what was lost.
        self.link.update(|link| link.lost = None);
        self.count_unsent();
        self.changed();
        Ok(ids)
    }

    async fn act_there(self, asked: Asked, at: Option<Moment>) -> Result<Vec<EventId>, NotDone> {
        #[derive(Deserialize)]
        struct Written {
            events: Vec<EventId>,
        }
        let door = match at {
            Some(at) => format!("/api/v1/commands?at={}", at.to_string().replace('+', "%2B")),
            None => "/api/v1/commands".to_owned(),
        };
        let written: Written = ask("POST", &door, Some(&asked)).await.map_err(|error| NotDone(error.to_string()))?;
        Ok(written.events)
    }
}
