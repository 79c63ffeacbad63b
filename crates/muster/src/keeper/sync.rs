//! Brings this installation and a server to hold the same: sends what the other lacks, asks for what is lacking here.

use std::collections::BTreeMap;

use muster_core::record::{
    event::Signed,
    heads::{Heads, Stretch},
    id::{DeviceId, EventId},
};
use muster_wire::sync::{Fate, Holds, SignedEvent};
use serde_json::{Value, json};

use super::{Keeper, unhex};
use crate::store::StoreError;

/// Most events sent at once.
const BATCH: usize = 500;
/// Most bytes of a series read at once.
const BYTES: usize = 1 << 19;

/// What was exchanged.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Synced {
    /// Events sent and kept there.
    pub sent: usize,
    /// Events got and kept here.
    pub got: usize,
    /// What either side did not keep, and why.
    pub refused: Vec<String>,
}

/// Why two installations could not be brought together.
#[derive(Debug, thiserror::Error)]
pub enum NotSynced {
    /// The store here.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The other side did not answer as a record does.
    #[error("the server answered what no record answers: {0}")]
    Answer(String),
    /// It could not be asked.
    #[error(transparent)]
    Asked(#[from] anyhow::Error),
}

/// How a server is asked: method, path, body; what it answers.
pub type Ask<'a> = dyn Fn(&str, &str, Option<&Value>) -> anyhow::Result<Value> + 'a;

/// Syncs with a server, asked by method, path and body. It may break off anywhere and be done again.
///
/// # Errors
/// [`NotSynced`]; what was acknowledged until then stands.
pub fn sync(keeper: &Keeper, ask: &Ask<'_>) -> Result<Synced, NotSynced> {
    let mut synced = Synced::default();
    let offers = ask("GET", "/api/v1/sync", None)?;
    let theirs = heads(&offers)?;
    // An installation that holds nothing yet begins with the server's own key.
    let anchor =
        offers.get("key").and_then(Value::as_str).and_then(unhex).filter(|_| keeper.known().state.devices.is_empty());
    loop {
        let mine = keeper.store().heads()?;
        let answer = ask("POST", "/api/v1/sync/missing", Some(&json!(Holds::from(&mine))))?;
        let events: Vec<SignedEvent> = read(&answer, "events")?;
        if events.is_empty() {
            break;
        }
        let batch: Vec<Signed> = events.into_iter().map(Into::into).collect();
        let kept = keeper.receive_from(&batch, anchor)?;
        let got = note(&kept.events, &mut synced.refused);
        synced.got += got;
        // Nothing new in it: asking again would bring the same.
        if got == 0 || answer.get("more") != Some(&Value::Bool(true)) {
            break;
        }
    }
    for stretch in theirs.missing(&keeper.store().heads()?) {
        send(keeper, stretch, ask, &mut synced)?;
    }
    Ok(synced)
}

fn send(keeper: &Keeper, mut stretch: Stretch, ask: &Ask<'_>, synced: &mut Synced) -> Result<(), NotSynced> {
    while stretch.from <= stretch.to {
        let held = keeper.store().stretch(stretch, BYTES)?;
        let Some(last) = held.get(..held.len().min(BATCH)).and_then(<[_]>::last).map(|stored| stored.id.seq) else {
            return Ok(());
        };
        let events: Vec<SignedEvent> = held.into_iter().take(BATCH).map(|stored| stored.signed.into()).collect();
        let answer = ask("POST", "/api/v1/sync", Some(&json!({ "events": events })))?;
        let fates: Vec<Fate> = read(&answer, "events")?;
        let before = synced.refused.len();
        synced.sent += note(&fates, &mut synced.refused);
        // The rest of a series waits behind what was refused.
        if synced.refused.len() > before {
            return Ok(());
        }
        stretch.from = last + 1;
    }
    Ok(())
}

/// Counts what was kept, and notes what was not.
fn note(fates: &[Fate], refused: &mut Vec<String>) -> usize {
    refused.extend(fates.iter().filter_map(|fate| match fate {
        Fate::Refused { why, .. } => Some(why.clone()),
        Fate::Kept { .. } | Fate::Held { .. } => None,
    }));
    fates.iter().filter(|fate| matches!(fate, Fate::Kept { .. })).count()
}

fn heads(answer: &Value) -> Result<Heads, NotSynced> {
    let named: BTreeMap<String, u64> = read(answer, "heads")?;
    let mut heads = Heads::default();
    for (device, seq) in named {
        let device: DeviceId = device.parse().map_err(|error| NotSynced::Answer(format!("{error}")))?;
        heads.raise(EventId { device, seq });
    }
    Ok(heads)
}

fn read<T: serde::de::DeserializeOwned>(answer: &Value, key: &str) -> Result<T, NotSynced> {
    let value = answer.get(key).cloned().unwrap_or_default();
    serde_json::from_value(value).map_err(|error| NotSynced::Answer(format!("{key}: {error}")))
}
