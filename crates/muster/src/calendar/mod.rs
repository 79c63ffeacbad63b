//! A yard's calendar: what falls due of its machines on a day that is known, jobs and outings planned, machines to be back.

mod ics;

use jiff::civil::Date;
use muster_core::{
    calendar::{self, Moment},
    judge::{Due, Falls},
    record::{
        machine_state::{Job, MachineState},
        payload::JobState,
    },
};

pub use self::ics::{fold, text, unfold};
use crate::{keeper::Keeper, store::StoreError};

/// Outings that ended longer ago than this, in seconds, are not told any more.
const PAST_S: i64 = 30 * 24 * 3600;

/// Something with a day or a time. It names nobody.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// What stays the same when its day changes.
    pub uid: String,
    /// What, in one line.
    pub summary: String,
    /// What to know and do.
    pub description: String,
    /// When.
    pub when: When,
}

/// When something is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// A whole day, wherever it is read.
    Day(Date),
    /// From one moment to another.
    Span(Moment, Moment),
}

/// A calendar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calendar {
    /// What people call it.
    pub name: String,
    /// When it was made.
    pub made: Moment,
    /// What is in it.
    pub entries: Vec<Entry>,
}

/// The yard's calendar at a moment.
///
/// # Errors
/// [`StoreError`] if events cannot be read.
pub fn of(keeper: &Keeper, now: Moment) -> Result<Calendar, StoreError> {
    let known = keeper.known();
    // Of whichever server it is read: the device the record began on.
    let first = known.state.devices.iter().find(|(_, device)| device.first).map_or(keeper.here(), |(id, _)| *id);
    let mut entries = Vec::new();
    for id in known.yard.machines.keys() {
        let Some(state) = keeper.machine(id)? else { continue };
        entries.extend(keeper.due(&state, now).iter().map(|due| falls_due(id, due)));
        entries.extend(backs(&state));
        entries.extend(state.unproven().filter_map(|(event, job)| planned(keeper, id, (&event.to_string(), job))));
    }
    for (event, outing) in known.state.outings.iter().filter(|(_, of)| of.to >= now.later_by(-PAST_S)) {
        let uses: Vec<&str> = outing.uses.iter().map(|one| one.as_str()).collect();
        entries.push(Entry {
            uid: format!("outing.{event}"),
            summary: outing.name.clone(),
            description: format!("Outing planned for: {}.", uses.join(", ")),
            when: When::Span(outing.from, outing.to),
        });
    }
    for entry in &mut entries {
        entry.uid.push_str(&format!("@{first}"));
    }
    Ok(Calendar { name: format!("{}: due", known.yard.name), made: now, entries })
}

fn falls_due(machine: &str, due: &Due) -> Entry {
    let (what, todo) = match due.falls {
        Falls::RunsOut => ("runs out", "Good through this day: renew it before the machine goes out after it."),
        Falls::TooOld => ("reaches its limit", "Within its limit through this day: have the part replaced."),
        Falls::Lapses => ("look again", "The last answer counts through this day, unless something ends it earlier."),
    };
    Entry {
        uid: format!("{}.{}.{machine}", due.falls, due.check),
        summary: format!("{machine}: {} ({what})", due.name),
        description: format!("{todo} For: {}.", due.uses),
        when: When::Day(due.on),
    }
}

/// Work that has a day and is not done.
fn planned(keeper: &Keeper, machine: &str, (event, job): (&str, &Job)) -> Option<Entry> {
    let on = calendar::date(job.planned.as_deref()?).filter(|_| job.state.0 != JobState::Done)?;
    let kind = keeper.jobs().iter().find(|kind| kind.id == job.opened.job);
    Some(Entry {
        uid: format!("job.{event}"),
        summary: format!("{machine}: {} (job)", kind.map_or(job.opened.job.as_str(), |kind| &kind.name)),
        // What it is for is free text, which may name somebody.
        description: format!("Workshop, planned for this day: {}.", job.state.0),
        when: When::Day(on),
    })
}

/// Machines that are out and when they are to be back.
fn backs(state: &MachineState) -> impl Iterator<Item = Entry> {
    state.out().map(|(event, release)| Entry {
        uid: format!("back.{event}"),
        summary: format!("{}: to be back", state.machine),
        description: format!("Out for: {}.", release.released.outing),
        when: When::Span(release.released.to, release.released.to),
    })
}
