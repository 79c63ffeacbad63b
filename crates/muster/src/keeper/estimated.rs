//! Forecasts of wear from the whole record, and the events that hold them.

use std::sync::Arc;

use jiff::tz::TimeZone;
use muster_core::{
    calendar::Moment,
    data,
    forecast::{
        estimate::Estimate,
        fit::fit,
        lives::{From, Seen, gather},
    },
    record::{
        decide::Command,
        event::Entry,
        id::{EventId, PersonId},
        machine_state::MachineState,
        payload::{ForecastEstimated, Kind, Payload, Role, Subject},
    },
    words::Use,
    yard::Yard,
};

use super::{Keeper, NotDone};
use crate::store::StoreError;

/// Events read at once.
const BATCH: usize = 1000;

impl Keeper {
    /// Estimates wear from the whole record, by the limits for the road: they are the strictest.
    ///
    /// # Errors
    /// [`StoreError`] if events cannot be read.
    pub fn estimate(&self, now: Moment) -> Result<(Estimate, String), StoreError> {
        let known = self.known();
        let mut states: Vec<Arc<MachineState>> = Vec::new();
        for id in known.yard.machines.keys() {
            states.extend(self.machine(id)?);
        }
        let seen: Vec<Seen<'_>> = states.iter().map(|state| Seen::of(state)).collect();
        let now = at_site(&known.yard, now);
        Ok(estimate(self.catalogue(), &known.yard, &seen, now))
    }

    /// Estimates wear and writes it down for a person.
    ///
    /// # Errors
    /// [`NotDone`] with the remedy; nothing was written then.
    pub fn note_estimate(&self, person: &PersonId, now: Moment) -> Result<Vec<EventId>, NotDone> {
        let (estimate, parameters) = self.estimate(now)?;
        let event = ForecastEstimated { parameters, hash: estimate.hash };
        self.act(Command::Write(event.into()), person, now)
    }

    /// The same once a day of the site, if anything was read, ridden or mounted since; in the name of the yard's first
    /// owner, signed by this installation.
    ///
    /// # Errors
    /// As for [`Self::note_estimate`].
    pub fn note_daily_estimate(&self, now: Moment) -> Result<Vec<EventId>, NotDone> {
        match self.first_owner() {
            Some(owner) if self.is_estimate_due(now)? => self.note_estimate(&owner, now),
            _ => Ok(Vec::new()),
        }
    }

    /// Whether a day of the site has begun since the last estimate, and the record has grown by anything of wear.
    ///
    /// # Errors
    /// [`StoreError`] if events cannot be read.
    pub fn is_estimate_due(&self, now: Moment) -> Result<bool, StoreError> {
        let yard = self.known().yard;
        let today = at_site(&yard, now).date();
        if yard.forecast.as_ref().is_some_and(|last| at_site(&yard, last.at).date() >= today) {
            return Ok(false);
        }
        self.has_grown_since_estimate()
    }

    /// Whether the record has grown by anything of wear since the estimate that counts.
    ///
    /// # Errors
    /// [`StoreError`] if events cannot be read.
    pub fn has_grown_since_estimate(&self) -> Result<bool, StoreError> {
        let mut arrival = self.arrival_of_estimate()?;
        loop {
            let found = self.store.since(arrival, BATCH)?;
            let Some(last) = found.last() else { return Ok(false) };
            arrival = last.arrival;
            for stored in &found {
                let entry = Entry::read(&stored.signed.event)
                    .map_err(|error| StoreError::Damaged { what: format!("event {}: {error}", stored.id) })?;
                if entry.event.is_some_and(|event| is_of_wear(event.payload.kind())) {
                    return Ok(true);
                }
            }
        }
    }

    /// When the estimate that counts arrived here; 0 for none.
    fn arrival_of_estimate(&self) -> Result<u64, StoreError> {
        let Some(hash) = self.known().yard.forecast.as_ref().map(|estimate| estimate.hash.clone()) else {
            return Ok(0);
        };
        let held = self.store.subject(&Subject::Yard)?;
        let found = held.iter().rev().find(|stored| {
            let event = Entry::read(&stored.signed.event).ok().and_then(|entry| entry.event);
            matches!(event.map(|event| event.payload), Some(Payload::ForecastEstimated(of)) if of.hash == hash)
        });
        Ok(found.map_or(0, |stored| stored.arrival))
    }

    /// The first of the yard's owners: in whose name it estimates by itself.
    #[must_use]
    pub fn first_owner(&self) -> Option<PersonId> {
        let state = self.known().state;
        let owns = |person: &PersonId| state.standing(person).is_ok_and(|of| of.role == Role::Owner);
        state.people.keys().find(|person| owns(person)).cloned()
    }
}

/// An estimate with its bytes.
#[must_use]
pub fn estimate(
    catalogue: &muster_core::catalogue::Catalogue,
    yard: &Yard,
    seen: &[Seen<'_>],
    now: Moment,
) -> (Estimate, String) {
    // A test reads what this build carries: it has no faults.
    let practices = data::practices(catalogue).unwrap_or_default();
    let gathered = gather(From { catalogue, yard, practices: &practices, one: Use::Road, now }, seen);
    Estimate::of(&gathered, &practices, &fit(&gathered.fleet, None), now).hashed()
}

/// A moment as the site's clocks show it.
fn at_site(yard: &Yard, at: Moment) -> Moment {
    let zone = TimeZone::get(&yard.time_zone).unwrap_or(TimeZone::UTC);
    Moment::new(at.timestamp(), zone.to_offset(at.timestamp()))
}

/// Whether a kind of event tells anything of wear: a reading, a distance, a part.
const fn is_of_wear(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::ReadingTaken
            | Kind::OdometerNoted
            | Kind::WalkRoundOpened
            | Kind::Returned
            | Kind::PartMounted
            | Kind::PartRemoved
    )
}
