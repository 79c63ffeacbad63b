//! The yard as its events make it: files, instruments, people, devices, outings, rosters.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    format,
    string::{String, ToString},
    sync::Arc,
    vec::Vec,
};

use jiff::civil::Date;

use super::{
    event::{Event, Place},
    fold::{Applied, Aside, Flag, Forks, in_order},
    id::{DeviceId, EventId, PersonId},
    paper::Papers,
    payload::{
        DeviceAdded, DeviceRevoked, InstrumentCompared, InstrumentRegistered, Kind, OutingPlanned, Payload,
        PersonAdded, PersonChanged, PersonErased, Right, Role, RosterRow,
    },
    private::Private,
    rights,
};
use crate::{
    calendar::{self, Moment},
    catalogue::Catalogue,
    forecast::estimate::Estimate,
    hash,
    instrument::{Instrument, Spoilt},
    load::Problem,
    sorted::{self, sort},
    yard::Yard,
};

/// The yard, folded.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct YardState {
    last: Option<Place>,
    /// The last event that counts of each device revoked, known before folding: a lost device may write at any height.
    revoked: BTreeMap<DeviceId, u64>,
    /// Its files by name, `yard.toml` without instruments, each with the event that set it.
    pub files: BTreeMap<String, (String, EventId)>,
    /// The law pack attached after `yard.toml` was written; outer none: none was.
    pub law: Option<Option<String>>,
    /// Instruments by number.
    pub instruments: BTreeMap<String, InstrumentState>,
    /// People.
    pub people: BTreeMap<PersonId, PersonState>,
    /// Devices.
    pub devices: BTreeMap<DeviceId, DeviceState>,
    /// Outings planned.
    pub outings: BTreeMap<EventId, OutingPlanned>,
    /// Who planned each, and when.
    pub planners: BTreeMap<EventId, (PersonId, Moment)>,
    /// Rosters by day, each with the event that set it.
    pub rosters: BTreeMap<String, (Vec<RosterRow>, EventId)>,
    /// The newest forecast's hash and parameters.
    pub forecast: Option<(String, String)>,
    /// Papers over many machines, or over none yet.
    pub papers: Papers,
    /// Events that name the same predecessor.
    pub forks: Forks,
    /// Contradictions a person has settled.
    pub settled: BTreeSet<BTreeSet<EventId>>,
    /// Events kept and not trusted, or that make no sense here.
    pub flags: Vec<Flag>,
}

/// An instrument's row and its comparisons.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InstrumentState {
    /// Text of its row.
    pub text: String,
    /// Comparisons in the order of their days: the day, and whether it was good.
    pub compared: Vec<(String, bool)>,
}

/// A person, with every standing they had.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PersonState {
    /// Name under the person's own key.
    pub name: Private,
    /// What they might do, and from where in the order on.
    standings: Vec<(Place, Standing)>,
    /// Whether their key was destroyed.
    pub erased: bool,
}

/// What a person may do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standing {
    /// What they do here.
    pub role: Role,
    /// Rights beyond the role's.
    pub rights: BTreeSet<Right>,
    /// Whether they may act at all.
    pub active: bool,
}

/// A device.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeviceState {
    /// Its Ed25519 public key, 64 hexadecimal digits.
    pub key: String,
    /// What people call it.
    pub label: String,
    /// Whose it is, if it is one person's.
    pub person: Option<PersonId>,
    /// The last of its events that counts, if it was revoked.
    pub revoked: Option<u64>,
    /// Whether the record began on it: it added itself.
    pub first: bool,
}

impl DeviceState {
    /// Why what is written on it does not speak for its author; none if it does.
    fn speaks_for(&self, event: &Event) -> Option<Aside> {
        match &self.person {
            Some(person) if *person != event.author => Some(Aside::OtherPerson),
            _ => None,
        }
    }
}

impl PersonState {
    /// What they may do now.
    #[must_use]
    pub fn standing(&self) -> Option<&Standing> {
        self.standings.last().map(|(_, standing)| standing)
    }

    /// What they might do at a place in the order.
    #[must_use]
    pub fn standing_at(&self, place: Place) -> Option<&Standing> {
        self.standings.iter().rev().find(|(from, _)| *from < place).map(|(_, standing)| standing)
    }
}

impl YardState {
    /// Folds the yard's events, in whatever order they come.
    ///
    /// A revocation counts for what its device wrote before it too, so revocations are known before folding: first all
    /// there are, then those whose authors had the right to them, as the yard is without what they revoke. One counts even
    /// if its own device was revoked: it only takes trust away. Rights that hang on each other in a ring might never come
    /// to rest: after eight rounds a device once revoked stays so.
    #[must_use]
    pub fn fold<'e>(events: impl IntoIterator<Item = &'e Event>) -> Self {
        let events = in_order(events);
        let mut revoked = BTreeMap::new();
        events.iter().filter_map(|event| revokes(event)).for_each(|of| earliest(&mut revoked, of.device, of.last));
        let mut round = 0;
        loop {
            let mut state = Self { revoked: revoked.clone(), ..Self::default() };
            for event in &events {
                state.take(event);
            }
            let found = state.devices.iter().filter_map(|(id, device)| Some((*id, device.revoked?)));
            let found = sorted::map(found);
            if found == revoked {
                return state;
            }
            if round < ROUNDS {
                revoked = found;
            } else {
                found.into_iter().for_each(|(device, last)| earliest(&mut revoked, device, last));
                if revoked == state.revoked {
                    return state;
                }
            }
            round += 1;
        }
    }

    /// Takes one event more. [`Applied::FoldAgain`] if it stands before one taken already or revokes a device: then nothing
    /// has changed.
    pub fn apply(&mut self, event: &Event) -> Applied {
        if revokes(event).is_some() || self.last.is_some_and(|last| event.place() <= last) {
            return Applied::FoldAgain;
        }
        self.take(event);
        Applied::Taken
    }

    /// Events by which people changed one thing not knowing of each other, and that no person has settled; the last in the
    /// order counts meanwhile.
    pub fn contradictions(&self) -> impl Iterator<Item = &BTreeSet<EventId>> {
        self.forks.contradicting().filter(|events| !self.settled.contains(*events))
    }

    /// What its author may do, now.
    ///
    /// # Errors
    /// [`Aside`] if nothing.
    pub fn standing(&self, person: &PersonId) -> Result<&Standing, Aside> {
        let state = self.people.get(person).ok_or(Aside::Stranger)?;
        state.standing().filter(|standing| standing.active).ok_or(Aside::NotActive)
    }

    /// Why an event is kept and not trusted; none if it is.
    ///
    /// Its device must not have been revoked before it, its author must have had the right where it stands in the order.
    #[must_use]
    pub fn distrust(&self, event: &Event) -> Option<Aside> {
        let Some(device) = self.devices.get(&event.id.device) else { return Some(Aside::UnknownDevice) };
        let last = self.revoked.get(&event.id.device).copied().or(device.revoked);
        if last.is_some_and(|last| event.id.seq > last) {
            return Some(Aside::Revoked);
        }
        device.speaks_for(event).or_else(|| self.without_right(event))
    }

    /// Why a door does not take an event in that the record would count; none if it does.
    ///
    /// On a device people share, whoever holds it might write in the owner's name who may do what. One may give itself up.
    #[must_use]
    pub fn kept_out(&self, event: &Event) -> Option<Aside> {
        let device = self.devices.get(&event.id.device);
        let shared = device.is_none_or(|device| device.person.is_none() && !device.first);
        let itself = revokes(event).is_some_and(|of| of.device == event.id.device);
        let about = rights::is_about_people(event.payload.kind()) && !itself;
        (shared && about).then_some(Aside::SharedDevice)
    }

    /// Why an event of this device is not to be written: the record would set it aside, or a door keep it out.
    #[must_use]
    pub fn would_not_count(&self, event: &Event) -> Option<Aside> {
        self.distrust(event).or_else(|| self.kept_out(event))
    }

    /// The yard as the judge takes it, with what is wrong in its files.
    #[must_use]
    pub fn yard(&self, catalogue: &Catalogue) -> (Yard, Vec<Problem>) {
        let own = self.files.get("yard.toml").map_or("", |(text, _)| text.as_str());
        let rows = self.instruments.values().map(|instrument| instrument.text.as_str());
        let whole = [own].into_iter().chain(rows).collect::<Vec<_>>().join("\n");
        let others = self.files.iter().filter(|(name, _)| *name != "yard.toml");
        let mut files: Vec<(&str, &str)> = others.map(|(name, (text, _))| (name.as_str(), text.as_str())).collect();
        files.push(("yard.toml", &whole));
        let (mut yard, mut problems) = Yard::load(&files, catalogue);
        if let Some(law) = &self.law {
            yard.law.clone_from(law);
        }
        let mut compared = String::new();
        for (id, state) in &self.instruments {
            for (on, good) in &state.compared {
                compared.push_str(&format!("{id} {on} {good}\n"));
            }
            if let Some(instrument) = yard.instruments.get_mut(id) {
                compare(instrument, &state.compared);
            }
        }
        let law = yard.law.clone().unwrap_or_default();
        files.push(("law attached", &law));
        files.push(("instruments compared", &compared));
        yard.hash = hash::of(&files);
        yard.forecast = self.forecast.as_ref().and_then(|(hash, parameters)| match Estimate::read(parameters, hash) {
            Ok(estimate) => Some(Arc::new(estimate)),
            Err(error) => {
                problems.push(Problem { file: "forecast".into(), line: 0, what: error.to_string() });
                None
            }
        });
        (yard, problems)
    }

    fn without_right(&self, event: &Event) -> Option<Aside> {
        let Some(person) = self.people.get(&event.author) else { return Some(Aside::Stranger) };
        match person.standing_at(event.place()) {
            Some(standing) if !standing.active => Some(Aside::NotActive),
            Some(standing) if rights::may_write(standing.role, event.payload.kind()) => None,
            _ => Some(Aside::NoRight),
        }
    }

    fn take(&mut self, event: &Event) {
        self.last = Some(event.place());
        let first = self.people.is_empty() && event.payload.kind() == Kind::PersonAdded;
        let known = self.devices.is_empty() || self.devices.contains_key(&event.id.device);
        let aside = match self.revoked.get(&event.id.device) {
            Some(last) if event.id.seq > *last && revokes(event).is_none() => Some(Aside::Revoked),
            _ if first => None,
            _ if !known => Some(Aside::UnknownDevice),
            _ => {
                let device = self.devices.get(&event.id.device);
                device.and_then(|device| device.speaks_for(event)).or_else(|| self.without_right(event))
            }
        };
        if let Some(why) = aside {
            self.flags.push(Flag { event: event.id, kind: event.payload.kind(), why });
            return;
        }
        self.set(event);
    }

    fn file(&mut self, name: String, text: &str, replaces: Option<EventId>, event: &Event) {
        // The yard's own file names no predecessor.
        if name != YARD {
            self.forks.note(&name, replaces, event.id);
        }
        self.files.insert(name, (text.to_string(), event.id));
    }

    fn set(&mut self, event: &Event) {
        match &event.payload {
            Payload::YardDescribed(of) => self.file(YARD.into(), &of.text, None, event),
            Payload::HouseRuleAttached(of) => self.file("house.toml".into(), &of.text, of.replaces, event),
            Payload::SheetAttached(of) => self.file(format!("sheets/{}.toml", of.sheet), &of.text, of.replaces, event),
            Payload::MachineRegistered(of) => self.file(machine_file(&of.machine), &of.text, None, event),
            Payload::MachineChanged(of) => self.file(machine_file(&of.machine), &of.text, Some(of.replaces), event),
            Payload::LawAttached(of) => self.law = Some(of.pack.clone()),
            Payload::InstrumentRegistered(of) => self.registered(of),
            Payload::InstrumentCompared(of) => self.compared(of, event),
            Payload::PersonAdded(of) => self.added(of, event),
            Payload::PersonChanged(of) => self.changed(of, event),
            Payload::PersonErased(of) => self.erased(of, event),
            Payload::DeviceAdded(of) => self.enrolled(of, event),
            Payload::DeviceRevoked(of) => self.revoked(of, event),
            Payload::OutingPlanned(of) => {
                self.outings.insert(event.id, (**of).clone());
                self.planners.insert(event.id, (event.author.clone(), event.at));
            }
            Payload::RosterSet(of) => {
                self.forks.note(&format!("roster of {}", of.day), of.replaces, event.id);
                self.rosters.insert(of.day.clone(), (of.rows.clone(), event.id));
            }
            Payload::YardSettled(of) => _ = self.settled.insert(sorted::set(of.events.iter().copied())),
            Payload::ForecastEstimated(of) => self.forecast = Some((of.hash.clone(), of.parameters.clone())),
            Payload::PaperIssued(of) => self.papers.note(of, event),
            _ => self.flag(event, Aside::OtherSubject),
        }
    }

    fn flag(&mut self, event: &Event, why: Aside) {
        self.flags.push(Flag { event: event.id, kind: event.payload.kind(), why });
    }

    fn registered(&mut self, of: &InstrumentRegistered) {
        let fresh = || InstrumentState { text: String::new(), compared: Vec::new() };
        self.instruments.entry(of.instrument.clone()).or_insert_with(fresh).text.clone_from(&of.text);
    }

    fn compared(&mut self, of: &InstrumentCompared, event: &Event) {
        match self.instruments.get_mut(&of.instrument) {
            Some(instrument) => instrument.compared.push((of.on.clone(), of.good)),
            None => self.flag(event, Aside::NamesNothing),
        }
    }

    fn added(&mut self, of: &PersonAdded, event: &Event) {
        let standing = Standing { role: of.role, rights: sorted::set(of.rights.iter().copied()), active: true };
        // The first of all stands before its own event, so that it may go on with the next.
        let from = Place { height: event.height.saturating_sub(1), ..event.place() };
        let from = if self.people.is_empty() { from } else { event.place() };
        if self.people.contains_key(&of.person) {
            return self.flag(event, Aside::Twice);
        }
        let state = PersonState { name: of.name.clone(), standings: [(from, standing)].into(), erased: false };
        self.people.insert(of.person.clone(), state);
    }

    fn changed(&mut self, of: &PersonChanged, event: &Event) {
        let Some(person) = self.people.get_mut(&of.person) else { return self.flag(event, Aside::NamesNothing) };
        // Whoever changed them did not know that nothing is left to change.
        if person.erased {
            return self.flag(event, Aside::Overtaken);
        }
        if let Some(name) = &of.name {
            person.name = name.clone();
        }
        let standing = Standing { role: of.role, rights: sorted::set(of.rights.iter().copied()), active: of.active };
        person.standings.push((event.place(), standing));
    }

    fn erased(&mut self, of: &PersonErased, event: &Event) {
        let Some(person) = self.people.get_mut(&of.person) else { return self.flag(event, Aside::NamesNothing) };
        person.erased = true;
        if let Some((_, standing)) = person.standings.last() {
            let standing = Standing { active: false, ..standing.clone() };
            person.standings.push((event.place(), standing));
        }
    }

    fn enrolled(&mut self, of: &DeviceAdded, event: &Event) {
        let fresh = DeviceState {
            key: of.key.clone(),
            label: of.label.clone(),
            person: of.person.clone(),
            revoked: None,
            first: of.device == event.id.device,
        };
        self.devices.entry(of.device).or_insert(fresh);
    }

    fn revoked(&mut self, of: &DeviceRevoked, event: &Event) {
        let Some(device) = self.devices.get_mut(&of.device) else { return self.flag(event, Aside::NamesNothing) };
        device.revoked = Some(device.revoked.map_or(of.last, |last| last.min(of.last)));
    }
}

fn revokes(event: &Event) -> Option<&DeviceRevoked> {
    match &event.payload {
        Payload::DeviceRevoked(of) => Some(of),
        _ => None,
    }
}

/// Notes the last event of a device that counts: of several the earliest.
fn earliest(revoked: &mut BTreeMap<DeviceId, u64>, device: DeviceId, last: u64) {
    let noted = revoked.entry(device).or_insert(last);
    *noted = last.min(*noted);
}

/// How often the yard is folded before a device once revoked stays so.
const ROUNDS: u32 = 8;

/// Takes comparisons into an instrument's row, day by day; of one day the bad before the good: it was put right.
fn compare(instrument: &mut Instrument, compared: &[(String, bool)]) {
    let own = [(instrument.compared, true), (instrument.found_bad, false)];
    let own = own.into_iter().filter_map(|(day, good)| Some((day?, good)));
    let noted = compared.iter().filter_map(|(on, good)| Some((calendar::date(on)?, *good)));
    let mut all: Vec<(Date, bool)> = own.chain(noted).collect();
    sort(&mut all);
    (instrument.compared, instrument.found_bad) = (None, None);
    for (day, good) in all {
        match instrument.found_bad {
            None if !good => instrument.found_bad = Some(day),
            Some(found) if good => {
                let last = calendar::days_later(day, -1).max(found);
                instrument.spoilt.push(Spoilt { since: instrument.compared, found, last });
                (instrument.compared, instrument.found_bad) = (Some(day), None);
            }
            None => instrument.compared = Some(day),
            Some(_) => {}
        }
    }
}

/// The yard's own file.
const YARD: &str = "yard.toml";

fn machine_file(machine: &str) -> String {
    format!("machines/{machine}.toml")
}
