//! The yard's books: its files, instruments, people, devices, outings, rosters.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::{Asked, Refusal, said};
use crate::{
    calendar,
    forecast::estimate::Estimate,
    hash,
    limit::Limit,
    load::Problem,
    machine::Machine,
    record::{
        id::{DeviceId, EventId, PersonId},
        payload::{
            DeviceAdded, ForecastEstimated, InstrumentRegistered, LawAttached, MachineChanged, MachineRegistered,
            OutingPlanned, Payload, PersonAdded, PersonChanged, PersonErased, Right, Role, RosterSet, SheetAttached,
            YardSettled,
        },
        yard_state::{InstrumentState, YardState},
    },
    sorted,
    words::Service,
    yard::Yard,
};

/// A key is destroyed; an impounded machine's record keeps those it speaks of.
pub(super) fn erase(asked: &Asked<'_>, person: PersonId, why: String) -> Result<Payload, Refusal> {
    said("why", &why)?;
    known(asked, &person)?;
    if asked.world.kept.contains(&person) {
        return Err(Refusal::Kept(person));
    }
    not_last_owner(asked, &person)?;
    Ok(PersonErased { person, why }.into())
}

pub(super) fn written(asked: &Asked<'_>, payload: &Payload) -> Result<(), Refusal> {
    match payload {
        Payload::YardDescribed(of) => tried(asked, "yard.toml", &of.text).map(|_| ()),
        Payload::SheetAttached(of) => sheet(asked, of),
        Payload::HouseRuleAttached(of) => {
            replaces(asked.world.state, "house.toml", of.replaces)?;
            tried(asked, "house.toml", &of.text).map(|_| ())
        }
        Payload::MachineRegistered(of) => machine_registered(asked, of),
        Payload::MachineChanged(of) => machine_changed(asked, of),
        Payload::LawAttached(of) => law(asked, of),
        Payload::InstrumentRegistered(of) => instrument(asked, of),
        Payload::InstrumentCompared(of) => {
            if !asked.world.yard.instruments.contains_key(&of.instrument) {
                return Err(not_here("instrument", &of.instrument, "list it in the yard first"));
            }
            day(asked, "on", &of.on)
        }
        Payload::PersonAdded(of) => added(asked, of),
        Payload::PersonChanged(of) => changed(asked, of),
        Payload::DeviceAdded(of) => device(asked, of),
        Payload::DeviceRevoked(of) => {
            said("why", &of.why)?;
            let here = asked.world.state.devices.contains_key(&of.device);
            if here { Ok(()) } else { Err(not_here("device", &of.device, "look at the devices")) }
        }
        Payload::OutingPlanned(of) => outing(asked, of),
        Payload::RosterSet(of) => roster(asked, of),
        Payload::YardSettled(of) => settled(asked, of),
        Payload::ForecastEstimated(of) => forecast(of),
        _ => Ok(()),
    }
}

fn forecast(of: &ForecastEstimated) -> Result<(), Refusal> {
    if hash::of_text(&of.parameters) != of.hash {
        return Err(Refusal::Field {
            field: "hash",
            what: "not the SHA-256 of the parameters: estimate it again".into(),
        });
    }
    let read = Estimate::read(&of.parameters, &of.hash);
    read.map(drop).map_err(|error| Refusal::Field { field: "parameters", what: error.to_string() })
}

fn sheet(asked: &Asked<'_>, of: &SheetAttached) -> Result<(), Refusal> {
    let name = format!("sheets/{}.toml", of.sheet);
    replaces(asked.world.state, &name, of.replaces)?;
    let yard = tried(asked, &name, &of.text)?;
    names_itself(yard.sheets.contains_key(&of.sheet), "sheet", &of.sheet)
}

fn machine_registered(asked: &Asked<'_>, of: &MachineRegistered) -> Result<(), Refusal> {
    let name = format!("machines/{}.toml", of.machine);
    if asked.world.state.files.contains_key(&name) {
        return Err(Refusal::Here { what: "machine", name: of.machine.clone() });
    }
    let yard = tried(asked, &name, &of.text)?;
    loosens(asked, yard.machines.get(&of.machine), None)?;
    names_itself(yard.machines.contains_key(&of.machine), "machine", &of.machine)
}

fn law(asked: &Asked<'_>, of: &LawAttached) -> Result<(), Refusal> {
    match of.pack.as_ref().filter(|pack| !asked.world.catalogue.laws.contains_key(*pack)) {
        Some(pack) => Err(not_here("law pack", pack, "choose one of the catalogue's")),
        None => Ok(()),
    }
}

fn instrument(asked: &Asked<'_>, of: &InstrumentRegistered) -> Result<(), Refusal> {
    let mut tried = asked.world.state.clone();
    let fresh = InstrumentState { text: of.text.clone(), compared: Vec::new() };
    tried.instruments.insert(of.instrument.clone(), fresh);
    let (yard, problems) = tried.yard(asked.world.catalogue);
    faults(problems.into_iter().filter(|problem| problem.file == "yard.toml").collect())?;
    names_itself(yard.instruments.contains_key(&of.instrument), "instrument", &of.instrument)
}

fn not_here(what: &'static str, name: &impl ToString, remedy: &'static str) -> Refusal {
    Refusal::NotHere { what, name: name.to_string(), remedy }
}

/// The yard with one file more or changed, if that file has no fault.
fn tried(asked: &Asked<'_>, name: &str, text: &str) -> Result<Yard, Refusal> {
    let mut tried = asked.world.state.clone();
    let (device, seq) = (DeviceId::of_key(&[0; 32]), 1);
    tried.files.insert(name.to_string(), (text.to_string(), EventId { device, seq }));
    let (yard, problems) = tried.yard(asked.world.catalogue);
    faults(problems.into_iter().filter(|problem| problem.file == name).collect())?;
    Ok(yard)
}

fn faults(problems: Vec<Problem>) -> Result<(), Refusal> {
    if problems.is_empty() { Ok(()) } else { Err(Refusal::Faults(problems)) }
}

fn replaces(state: &YardState, name: &str, replaces: Option<EventId>) -> Result<(), Refusal> {
    let now = state.files.get(name).map(|(_, event)| *event);
    if now == replaces { Ok(()) } else { Err(Refusal::Stale { what: "the file", now }) }
}

fn names_itself(so: bool, field: &'static str, name: &str) -> Result<(), Refusal> {
    if so { Ok(()) } else { Err(Refusal::Field { field, what: format!("the text must name itself `{name}`") }) }
}

fn machine_changed(asked: &Asked<'_>, of: &MachineChanged) -> Result<(), Refusal> {
    let name = format!("machines/{}.toml", of.machine);
    let Some((_, now)) = asked.world.state.files.get(&name) else {
        return Err(Refusal::NoMachine(of.machine.clone()));
    };
    if *now != of.replaces {
        return Err(Refusal::Stale { what: "the machine's file", now: Some(*now) });
    }
    let by_file = asked.world.yard.machines.get(&of.machine).map(|machine| machine.service);
    let state = asked.world.machine.filter(|state| state.machine == of.machine);
    if state.map_or(by_file == Some(Service::Impounded), |state| asked.impounded(state)) {
        return Err(Refusal::Impounded(of.machine.clone()));
    }
    let yard = tried(asked, &name, &of.text)?;
    loosens(asked, yard.machines.get(&of.machine), asked.world.yard.machines.get(&of.machine))?;
    names_itself(yard.machines.contains_key(&of.machine), "machine", &of.machine)
}

/// A new approval that lets a row loosen a safety limit needs the right.
fn loosens(asked: &Asked<'_>, then: Option<&Machine>, now: Option<&Machine>) -> Result<(), Refusal> {
    let before: Vec<&Limit> = now.into_iter().flat_map(|machine| &machine.limits).collect();
    let mut rows = then.into_iter().flat_map(|machine| &machine.limits);
    let fresh = rows.any(|row| row.approval.is_some() && !before.contains(&row));
    if fresh { asked.needs(Right::LoosenLimit) } else { Ok(()) }
}

fn day(asked: &Asked<'_>, field: &'static str, text: &str) -> Result<(), Refusal> {
    match calendar::date(text).filter(|day| *day <= asked.actor.now.date()) {
        Some(_) => Ok(()),
        None => Err(Refusal::Field { field, what: "a day up to now is needed, written like 2026-11-24".into() }),
    }
}

fn known(asked: &Asked<'_>, person: &PersonId) -> Result<(), Refusal> {
    if asked.world.state.people.contains_key(person) {
        return Ok(());
    }
    Err(Refusal::NotHere { what: "person", name: person.to_string(), remedy: "add the person first" })
}

fn added(asked: &Asked<'_>, of: &PersonAdded) -> Result<(), Refusal> {
    if asked.world.state.people.contains_key(&of.person) {
        return Err(Refusal::Here { what: "person", name: of.person.to_string() });
    }
    own_name(&of.person, Some(&of.name.person))
}

fn changed(asked: &Asked<'_>, of: &PersonChanged) -> Result<(), Refusal> {
    known(asked, &of.person)?;
    own_name(&of.person, of.name.as_ref().map(|name| &name.person))?;
    if asked.world.state.people.get(&of.person).is_some_and(|person| person.erased) {
        return Err(Refusal::Over { what: "the person's record", remedy: "add them anew" });
    }
    if of.active && of.role == Role::Owner { Ok(()) } else { not_last_owner(asked, &of.person) }
}

fn own_name(person: &PersonId, sealed: Option<&PersonId>) -> Result<(), Refusal> {
    if sealed.is_none_or(|sealed| sealed == person) {
        return Ok(());
    }
    Err(Refusal::Field { field: "name", what: "seal it under the person's own key".into() })
}

fn not_last_owner(asked: &Asked<'_>, person: &PersonId) -> Result<(), Refusal> {
    let owners =
        asked.world.state.people.iter().filter(|(_, state)| {
            state.standing().is_some_and(|standing| standing.active && standing.role == Role::Owner)
        });
    let mut others = owners.clone().filter(|(id, _)| *id != person);
    let is_one = owners.clone().any(|(id, _)| id == person);
    if is_one && others.next().is_none() { Err(Refusal::LastOwner(person.clone())) } else { Ok(()) }
}

fn device(asked: &Asked<'_>, of: &DeviceAdded) -> Result<(), Refusal> {
    said("label", &of.label)?;
    let key = hash::unhex::<32>(&of.key).map(|key| DeviceId::of_key(&key));
    if key != Some(of.device) {
        return Err(Refusal::Field { field: "key", what: "not the key this device is named by: send its own".into() });
    }
    if asked.world.state.devices.contains_key(&of.device) {
        return Err(Refusal::Here { what: "device", name: of.device.to_string() });
    }
    match &of.person {
        Some(person) => known(asked, person),
        None => Ok(()),
    }
}

fn outing(asked: &Asked<'_>, of: &OutingPlanned) -> Result<(), Refusal> {
    said("name", &of.name)?;
    if of.machine.is_some() || of.worked_out.is_some() {
        let what = "what an outing comes to is worked out, not written: plan it, a command of its own".into();
        return Err(Refusal::Field { field: "worked_out", what });
    }
    if of.to <= of.from {
        return Err(Refusal::Field { field: "to", what: format!("must be after {}", of.from) });
    }
    if of.uses.is_empty() {
        return Err(Refusal::Field { field: "uses", what: "name at least one: range, road, passenger or dark".into() });
    }
    of.riders.iter().try_for_each(|rider| known(asked, rider))
}

fn settled(asked: &Asked<'_>, of: &YardSettled) -> Result<(), Refusal> {
    said("how", &of.how)?;
    let events = sorted::set(of.events.iter().copied());
    if asked.world.state.contradictions().any(|these| *these == events) {
        return Ok(());
    }
    let name = of.events.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
    Err(not_here("contradiction of", &name, "look at what contradicts now"))
}

fn roster(asked: &Asked<'_>, of: &RosterSet) -> Result<(), Refusal> {
    let now = asked.world.state.rosters.get(&of.day).map(|(_, event)| *event);
    if now != of.replaces {
        return Err(Refusal::Stale { what: "the roster", now });
    }
    if calendar::date(&of.day).is_none() {
        return Err(Refusal::Field { field: "day", what: "write it like 2026-11-24".into() });
    }
    for row in &of.rows {
        if !asked.world.yard.machines.contains_key(&row.machine) {
            return Err(Refusal::NoMachine(row.machine.clone()));
        }
        if let Some(rider) = &row.rider {
            known(asked, rider)?;
        }
    }
    Ok(())
}
