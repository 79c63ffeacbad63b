//! An event in one sentence.

use muster_core::record::{
    event::Event,
    payload::{Payload, Saw, Typed},
};

use crate::{ui::when, words::t, yard::Yard};

/// What happened, in words.
pub(crate) fn sentence(yard: Yard, event: &Event) -> String {
    of_machine(yard, &event.payload)
        .or_else(|| of_yard(yard, &event.payload))
        .unwrap_or_else(|| event.payload.kind().as_str().replace('-', " "))
}

fn of_machine(yard: Yard, payload: &Payload) -> Option<String> {
    Some(match payload {
        Payload::WalkRoundOpened(of) => t!("rec-opened", depth = of.depth.as_str()),
        Payload::WalkRoundClosed(_) => t!("rec-closed"),
        Payload::ReadingTaken(of) => t!("rec-read", check = check(yard, &of.check), read = typed(&of.read)),
        Payload::ObservationMade(of) => t!("rec-saw", check = check(yard, &of.check), saw = saw(&of.saw)),
        Payload::ThingSet(of) => t!("rec-set", check = check(yard, &of.check), act = of.act.as_str()),
        Payload::FindingRaised(of) => t!("rec-finding", what = of.what.as_str(), class = of.class.as_str()),
        Payload::FindingClassed(of) => t!("rec-classed", class = of.class.as_str(), why = of.why.as_str()),
        Payload::FindingClosed(of) => t!("rec-finding-closed", how = of.how.as_str()),
        Payload::FallNoted(of) => t!("rec-fall", how = of.how.as_str()),
        Payload::JobOpened(of) => t!("rec-job", job = job(yard, &of.job), why = of.why.as_str()),
        Payload::JobMoved(of) => t!("rec-job-moved", state = of.to.as_str()),
        Payload::JobProven(of) => t!("rec-job-proven", count = of.answers.len()),
        Payload::Released(of) => {
            let left = of.worked_out.as_ref().map(|worked| worked.left.join("; ")).unwrap_or_default();
            let says = t!("rec-released", outing = of.outing.as_str(), till = when(of.to));
            if left.is_empty() { says } else { format!("{says}. {}", t!("rec-left", what = yard.told(&left))) }
        }
        Payload::Returned(of) => t!("rec-returned", damage = of.damage.clone().unwrap_or_else(|| t!("no-damage"))),
        Payload::Tagged(of) => t!("rec-tagged", why = of.why.as_str()),
        Payload::Untagged(of) => t!("rec-untagged", count = of.lifts.len(), reason = of.reason.as_str()),
        Payload::CallNoted(of) => t!("rec-call", answer = of.answer.as_str()),
        Payload::Impounded(of) => t!("rec-impounded", why = of.why.as_str()),
        Payload::Settled(of) => t!("rec-settled", how = of.how.as_str()),
        Payload::PhotoAttached(_) => t!("rec-photo"),
        Payload::Withdrawn(of) => t!("rec-withdrawn", why = of.why.as_str()),
        Payload::ServiceChanged(of) => t!("rec-service", state = of.state.as_str()),
        Payload::PartMounted(of) => t!("rec-mounted", place = of.place.replace('.', " ")),
        Payload::PartRemoved(of) => t!("rec-removed", why = of.why.as_str()),
        Payload::OdometerNoted(of) => t!("rec-odometer", odometer = of.odometer.as_str()),
        Payload::PaperIssued(of) => t!("rec-paper", document = of.document.as_str()),
        _ => return None,
    })
}

fn of_yard(yard: Yard, payload: &Payload) -> Option<String> {
    let name = |person: &muster_core::record::id::PersonId| yard.name(person.as_str());
    Some(match payload {
        Payload::YardDescribed(_) => t!("rec-yard"),
        Payload::SheetAttached(of) => t!("rec-sheet", sheet = of.sheet.as_str()),
        Payload::LawAttached(of) => t!("rec-law", pack = of.pack.clone().unwrap_or_else(|| t!("its-no-law"))),
        Payload::HouseRuleAttached(_) => t!("rec-house"),
        Payload::MachineRegistered(of) => t!("rec-registered", machine = of.machine.as_str()),
        Payload::MachineChanged(of) => t!("rec-changed", machine = of.machine.as_str()),
        Payload::InstrumentRegistered(of) => t!("rec-instrument", instrument = of.instrument.as_str()),
        Payload::InstrumentCompared(of) => {
            let found = if of.good { t!("its-compared-good") } else { t!("its-compared-bad") };
            t!("rec-compared", instrument = of.instrument.as_str(), found = found)
        }
        Payload::PersonAdded(of) => t!("rec-person", person = name(&of.person), role = of.role.as_str()),
        Payload::PersonChanged(of) => t!("rec-person-changed", person = name(&of.person), role = of.role.as_str()),
        Payload::PersonErased(of) => t!("rec-erased", why = of.why.as_str()),
        Payload::DeviceAdded(of) => t!("rec-device", label = of.label.as_str()),
        Payload::DeviceRevoked(of) => t!("rec-revoked", why = of.why.as_str()),
        Payload::OutingPlanned(of) => {
            t!("rec-outing", name = of.name.as_str(), from = when(of.from), count = of.riders.len())
        }
        Payload::RosterSet(of) => t!("rec-roster", day = of.day.as_str(), count = of.rows.len()),
        Payload::YardSettled(of) => t!("rec-settled", how = of.how.as_str()),
        _ => return None,
    })
}

fn check(yard: Yard, id: &str) -> String {
    yard.rules().catalogue.check(id).map_or_else(|| id.to_owned(), |check| check.name.clone())
}

fn job(yard: Yard, id: &str) -> String {
    let rules = yard.rules();
    rules.jobs.iter().find(|kind| kind.id == id).map_or_else(|| id.to_owned(), |kind| kind.name.clone())
}

fn typed(read: &Typed) -> String {
    match read {
        Typed::One(one) => one.clone(),
        Typed::Several(several) => several.join(", "),
        Typed::Places(places) => {
            let place = |(place, figures): (&String, &Vec<String>)| format!("{place} {}", figures.join(", "));
            places.iter().map(place).collect::<Vec<_>>().join("; ")
        }
    }
}

fn saw(saw: &Saw) -> String {
    match saw {
        Saw::One(seen) => seen.to_string(),
        Saw::Places(places) => {
            places.iter().map(|(place, seen)| format!("{place} {seen}")).collect::<Vec<_>>().join(", ")
        }
    }
}
