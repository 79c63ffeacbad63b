//! What is known of a paper: by the hash of its file, or by the hash its code says.

use std::collections::BTreeMap;

use muster_core::record::{
    event::Entry,
    id::EventId,
    paper::{Issued, since},
    payload::{Document, Kind, Subject},
};
use muster_wire::paper::{IssuedView, PaperVerdict, PapersResting};

use crate::{keeper::Keeper, people::names, store::StoreError};

/// What a paper that is known again does not prove.
const PROVES_NOT: [&str; 3] = [
    "That a file is genuine says that this record printed exactly these bytes. It does not say that what the paper says is \
     true: look at what it rests on.",
    "It does not say that the paper is the newest: what came after it stands beside it, as far as this record knows.",
    "A printout in the hand is not the file. Compare it, figure by figure, with the record shown beside.",
];

/// Whether exactly these bytes were printed from this record; with people's names, or without.
///
/// # Errors
/// [`StoreError`] if the record cannot be read.
pub fn verdict(keeper: &Keeper, sha256: &str, with_names: bool) -> Result<PaperVerdict, StoreError> {
    let issued = found(keeper, with_names, |of| of.paper.sha256.eq_ignore_ascii_case(sha256))?;
    Ok(PaperVerdict {
        genuine: !issued.is_empty(),
        sha256: sha256.to_lowercase(),
        issued,
        proves_not: PROVES_NOT.map(Into::into).into(),
    })
}

/// The papers that rest on what has a hash, and whether it is the yard's as it is now.
///
/// # Errors
/// As for [`verdict`].
pub fn resting_on(keeper: &Keeper, hash: &str, with_names: bool) -> Result<PapersResting, StoreError> {
    let rests = |of: &Issued| of.paper.rests_on.as_deref().is_some_and(|own| own.eq_ignore_ascii_case(hash));
    Ok(PapersResting {
        hash: hash.to_lowercase(),
        is_the_yard_now: keeper.known().yard.hash.eq_ignore_ascii_case(hash),
        issued: found(keeper, with_names, rests)?,
        proves_not: PROVES_NOT.map(Into::into).into(),
    })
}

/// The papers asked for, the oldest first.
fn found(keeper: &Keeper, with_names: bool, is: impl Fn(&Issued) -> bool) -> Result<Vec<IssuedView>, StoreError> {
    let known = keeper.known();
    let names = if with_names { names::all(keeper)? } else { BTreeMap::new() };
    let mut out = Vec::new();
    let mut add = |id: EventId, of: &Issued, since: Vec<String>| {
        let name = names.get(&of.by.0).filter(|name| !name.is_empty()).cloned();
        let label = known.state.devices.get(&id.device).map(|device| device.label.clone()).unwrap_or_default();
        out.push((of.by.1, view(id, of, (name, label), since)));
    };
    for (id, of) in known.state.papers.all().filter(|(_, of)| is(of)) {
        add(id, of, of_the_yard(keeper, id, of)?);
    }
    for machine in known.yard.machines.keys() {
        let Some(state) = keeper.machine(machine)? else { continue };
        for (id, of) in state.papers.all().filter(|(_, of)| is(of)) {
            let mut told: Vec<String> = since(&state, of).iter().map(ToString::to_string).collect();
            told.extend(files_changed(keeper, of));
            told.extend(gone_on(keeper, id, machine)?.filter(|_| of.paper.document == Document::Dossier));
            add(id, of, told);
        }
    }
    out.sort_by(|(one, a), (other, b)| one.cmp(other).then_with(|| a.event.cmp(&b.event)));
    Ok(out.into_iter().map(|(_, view)| view).collect())
}

/// What came after a paper over many machines, or over none yet.
fn of_the_yard(keeper: &Keeper, id: EventId, of: &Issued) -> Result<Vec<String>, StoreError> {
    let mut told: Vec<String> = files_changed(keeper, of).into_iter().collect();
    if !matches!(of.paper.document, Document::Yard | Document::Sheet) {
        for number in &of.paper.tags {
            told.extend(keeper.hung_on(number)?.map(|machine| format!("tag {number} hangs on {machine}")));
        }
        return Ok(told);
    }
    let newer = keeper.known().state.papers.newer(of);
    told.extend(newer.map(|since| since.to_string()));
    let arrival = keeper.store().event(id)?.map_or(0, |stored| stored.arrival);
    let more = keeper.store().count()?.saturating_sub(arrival);
    told.extend(went_on("the record", more));
    Ok(told)
}

/// Where a paper rests on the yard's files, whether they are others now.
fn files_changed(keeper: &Keeper, of: &Issued) -> Option<String> {
    let own = of.paper.rests_on.as_deref().filter(|_| of.paper.event.is_none())?;
    (!own.eq_ignore_ascii_case(&keeper.known().yard.hash))
        .then(|| "the yard's files (machines, sheets, house rules) have changed".into())
}

/// How far a machine's record has gone on, papers left out.
fn gone_on(keeper: &Keeper, id: EventId, machine: &str) -> Result<Option<String>, StoreError> {
    let arrival = keeper.store().event(id)?.map_or(0, |stored| stored.arrival);
    let held = keeper.store().subject(&Subject::Machine(machine.into()))?;
    let later = held.iter().filter(|stored| stored.arrival > arrival);
    let is_paper = |text: &str| {
        let event = Entry::read(text).ok().and_then(|entry| entry.event);
        event.is_some_and(|event| event.payload.kind() == Kind::PaperIssued)
    };
    Ok(went_on(machine, later.filter(|stored| !is_paper(&stored.signed.event)).count() as u64))
}

fn went_on(what: &str, events: u64) -> Option<String> {
    let events = match events {
        0 => return None,
        1 => "one event".to_string(),
        more => format!("{more} events"),
    };
    Some(format!("{what} has gone on by {events}"))
}

fn view(id: EventId, of: &Issued, (name, device): (Option<String>, String), since: Vec<String>) -> IssuedView {
    let paper = &of.paper;
    IssuedView {
        event: id.to_string(),
        document: paper.document.to_string(),
        machine: paper.machine.clone(),
        person: of.by.0.to_string(),
        name,
        at: of.by.1.to_string(),
        device,
        size: paper.size.to_string(),
        bytes: paper.bytes,
        rests_on: paper.rests_on.clone(),
        rests_on_event: paper.event.map(|event| event.to_string()),
        tags: paper.tags.clone(),
        since,
    }
}
