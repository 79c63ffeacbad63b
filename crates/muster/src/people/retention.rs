//! The house rule on how long names and photos are kept, carried out: each thing that goes is written down first.

use std::{collections::BTreeMap, sync::Arc};

use muster_core::{
    calendar::Moment,
    record::{
        decide::Command,
        event::Entry,
        id::PersonId,
        machine_state::MachineState,
        payload::Subject,
        retention::{Decided, Photo, Traces, Why, World, decide},
    },
};

use super::{NotLet, feedback, names};
use crate::{
    keeper::{Keeper, NotDone},
    store::{Store, StoreError, photos::Photos},
};

/// Events read at once.
const BATCH: usize = 1000;

/// What went, and what did not.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Done {
    /// As it was decided, without what the record then refused.
    pub decided: Decided,
    /// What the record refused since, each with why: somebody was faster.
    pub refused: Vec<String>,
}

/// What the events of a store say of people and photos.
///
/// # Errors
/// [`StoreError`] if they cannot be read.
pub fn traces(store: &(impl Store + ?Sized)) -> Result<Traces, StoreError> {
    let (mut traces, mut arrival) = (Traces::default(), 0);
    loop {
        let found = store.since(arrival, BATCH)?;
        let Some(last) = found.last() else { return Ok(traces) };
        arrival = last.arrival;
        for stored in &found {
            let entry = Entry::read(&stored.signed.event)
                .map_err(|error| StoreError::Damaged { what: format!("event {}: {error}", stored.id) })?;
            if let Some(event) = &entry.event {
                traces.note(event);
            }
        }
    }
}

/// What the house rule lets go now; nothing is changed.
///
/// # Errors
/// [`StoreError`] if the record cannot be read.
pub fn look(keeper: &Keeper, now: Moment) -> Result<Decided, StoreError> {
    let traces = traces(&**keeper.store())?;
    let mut machines: BTreeMap<String, Arc<MachineState>> = BTreeMap::new();
    for end in keeper.store().subjects()? {
        let Subject::Machine(id) = end.subject else { continue };
        if let Some(state) = keeper.machine(&id)? {
            machines.insert(id, state);
        }
    }
    let machines = machines.iter().map(|(id, state)| (id.clone(), &**state)).collect();
    let mut staying: BTreeMap<PersonId, Why> = BTreeMap::new();
    staying.extend(keeper.store().signed_in(now.timestamp())?.into_iter().map(|person| (person, Why::SignedIn)));
    staying.insert(feedback::person(), Why::NoPerson);
    let known = keeper.known();
    let world =
        World { state: &known.state, yard: &known.yard, machines: &machines, traces: &traces, staying: &staying };
    Ok(decide(&world, now))
}

/// Lets go what the house rule lets go now, and ends what an earlier time left.
///
/// # Errors
/// [`NotLet`] if who asks may not, or the disk refuses: what was done till then stays done, and asking again goes on.
pub fn retain(keeper: &Keeper, photos: &Photos, by: &PersonId, now: Moment) -> Result<Done, NotLet> {
    let mut decided = look(keeper, now)?;
    let rule = keeper.known().yard.retention.clone();
    let says = |of: &Option<muster_core::yard::HowLong>| of.as_ref().map_or(String::new(), |of| of.says.clone());
    let (why_name, why_photo) = (
        format!("house rule: names are kept for {}", says(&rule.names)),
        format!("house rule: photos are kept for {}", says(&rule.photos)),
    );
    let mut refused = Vec::new();
    let mut went = Vec::new();
    for (person, last) in decided.names {
        match names::erase(keeper, &person, why_name.clone(), by, now) {
            Ok(()) => went.push((person, last)),
            Err(NotLet::NotDone(NotDone::Refused(why))) => refused.push(format!("{person}: {why}")),
            Err(error) => return Err(error),
        }
    }
    decided.names = went;
    let mut removed = Vec::new();
    for photo in decided.photos {
        match written_down(keeper, &photo, &why_photo, by, now) {
            Ok(()) => removed.push(photo),
            Err(NotDone::Refused(why)) => refused.push(format!("photo {}: {why}", photo.sha256)),
            Err(error) => return Err(error.into()),
        }
    }
    decided.photos = removed;
    for sha256 in decided.photos.iter().map(|photo| &photo.sha256).chain(&decided.removed) {
        // An event may name anything: what is no photo's name has no bytes here.
        if let Ok(id) = sha256.parse() {
            photos.remove(&id)?;
        }
    }
    Ok(Done { decided, refused })
}

fn written_down(keeper: &Keeper, photo: &Photo, why: &str, by: &PersonId, now: Moment) -> Result<(), NotDone> {
    for of in &photo.attached {
        let (machine, photo) = (of.machine.clone(), of.event);
        keeper.act(Command::RemovePhoto { machine, photo, why: why.into() }, by, now)?;
    }
    Ok(())
}

/// When a photo was removed, and by which rule; none if it is attached anywhere where it was not.
///
/// # Errors
/// [`StoreError`] if the record cannot be read.
pub fn removed(keeper: &Keeper, sha256: &str) -> Result<Option<(Moment, String)>, StoreError> {
    let mut found = None;
    for id in keeper.known().yard.machines.keys() {
        let Some(state) = keeper.machine(id)? else { continue };
        for (event, _) in state.photos.iter().filter(|(_, of)| of.sha256 == sha256) {
            match state.photos_removed.get(event) {
                Some(removed) => found = found.max(Some(removed.clone())),
                None => return Ok(None),
            }
        }
    }
    Ok(found)
}
