//! What judges: the catalogue, the record's folding and its rules. A part of its own, fetched at once when the app starts,
//! beside what the disk is asked for; the first load holds nothing of it but these seams.

use std::{pin::Pin, sync::Arc};

use leptos::prelude::*;
use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    judge::Context,
    record::{held::Rules, judged, machine_state::MachineState},
};
use muster_wire::glance::Row;
use wasm_split_helpers::wasm_split;

use super::{NotDone, Yard, link::LinkError};
use crate::{clock, pace::Pace, words::t};

type Doing<T> = Pin<Box<dyn Future<Output = T>>>;
type Exchange = fn(Yard, Option<Vec<u8>>) -> Doing<Result<(), LinkError>>;

/// What the part does, once it is there.
#[derive(Clone, Copy)]
pub(super) struct Judging {
    rules: fn() -> Doing<Result<Rules, String>>,
    /// Holds what was carried, with what came after and what was written here.
    pub(super) hold: fn(Yard, Vec<u8>) -> Doing<Result<(), String>>,
    /// Comes to hold the same as the server, which sent what is to be carried where it was asked.
    pub(super) exchange: Exchange,
    look: fn(Yard, &str) -> Option<Looked>,
}

/// A machine judged for its row, and what the verdict rests on.
pub(crate) struct Looked {
    pub(crate) state: Arc<MachineState>,
    pub(crate) yard: Arc<muster_core::yard::Yard>,
    pub(crate) at: Moment,
    pub(crate) row: Row,
}

#[allow(unsafe_code, reason = "the seam between two modules is a name that the linker sees")]
#[wasm_split(judge, fallible)]
fn judging() -> Result<Judging, NotDone> {
    Ok(Judging {
        rules: || Box::pin(rules()),
        hold: |yard, sent| Box::pin(yard.hold(sent)),
        exchange: |yard, carried| Box::pin(yard.exchange_events(carried)),
        look,
    })
}

impl Yard {
    /// What judges, with the rules read. Whoever asks first fetches it; what could not be had is asked for anew.
    ///
    /// # Errors
    /// Why not, in words.
    pub(super) async fn judging(self) -> Result<Judging, String> {
        let queue = self.fetching.get_value();
        let _turn = queue.lock().await;
        if let Some(there) = self.judging.get_value() {
            return Ok(there);
        }
        let part = judging().await.map_err(|NotDone(why)| why)?;
        let rules = (part.rules)().await.map_err(|faults| format!("{}: {faults}", t!("app-broken")))?;
        self.rules.set_value(Some(Arc::new(rules)));
        self.judging.set_value(Some(part));
        Ok(part)
    }

    /// Waits for what judges; false where it cannot be had.
    pub(crate) async fn judges(self) -> bool {
        self.judging().await.is_ok()
    }

    /// Judges a machine for its row. The judgement itself is let go: two thousand of them are too many. None where there is
    /// no such machine, or nothing to judge with yet.
    pub(crate) fn look(self, id: &str) -> Option<Looked> {
        (self.judging.get_value()?.look)(self, id)
    }
}

/// Reads the rules of this build. What is wrong in them a test says, so a released app has nothing wrong.
async fn rules() -> Result<Rules, String> {
    let pace = Pace::begin();
    let faults =
        |faults: Vec<muster_core::load::Problem>| faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
    let catalogue = Catalogue::load_in_pieces(data::FILES, async || pace.rest().await).await.map_err(faults)?;
    pace.rest().await;
    let jobs = data::job_kinds(&catalogue).map_err(faults)?;
    Ok(Rules { catalogue, jobs })
}

fn look(yard: Yard, id: &str) -> Option<Looked> {
    let (now, rules) = (clock::now(), yard.rules());
    let (state, its_yard) = yard.with(|held| Some((held.machine(id)?.clone(), held.known().yard.clone())))??;
    let judgement = judged::judgement(&rules.catalogue, &its_yard, &state, now, None)?;
    let machine = judged::machine(&its_yard, &state)?;
    let context = Context { machine: &machine, ..Context::of(&rules.catalogue, &its_yard, id, now)? };
    let row = Row::of(&context, &rules.jobs, &state, &judgement);
    Some(Looked { state, yard: its_yard, at: now, row })
}
