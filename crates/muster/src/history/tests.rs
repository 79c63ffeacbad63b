//! What a history must hold to: the demonstration's verdicts, one record on every installation, days one can believe.

use std::{
    collections::{BTreeSet, HashMap},
    path::Path,
    sync::OnceLock,
};

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    form::Form,
    judge::{Context, Verdict, judge},
    record::{
        carried,
        decide::{Actor, Command},
        event::{Entry, Event},
        fold::Aside,
        heads::is_next,
        held::{Held, NotWritten, Rules},
        judged,
        known::Known,
        machine_state::{MachineState, Scope},
        payload::{Kind, OdometerNoted, Payload, Subject, Typed},
    },
    words::Use,
};
use muster_wire::{
    glance::Row,
    sync::{End, Fate, Holds},
};

use super::*;
use crate::{
    keeper::{Device, Keeper},
    store::{Store, sqlite::SqliteStore},
};

/// SHA-256 of all event bytes of `data/demo/history.toml` as it stands: told anew only when the data, the rules or the
/// story change, and then said in the commit.
const DIGEST: &str = "85293418b769d471f3a835a18fde4ec8ffa1bdd70f5aa505307fce622a870189";

pub(super) struct Told {
    pub(super) history: History,
    pub(super) events: Vec<Event>,
    pub(super) keeper: Keeper,
    _folder: tempfile::TempDir,
}

/// Told once for all tests.
pub(super) fn told() -> &'static Told {
    static TOLD: OnceLock<Told> = OnceLock::new();
    TOLD.get_or_init(|| {
        let history = History::demo().unwrap();
        let events = history.events.iter().map(|signed| Entry::read(&signed.event).unwrap().event.unwrap()).collect();
        let folder = tempfile::tempdir().unwrap();
        let store = SqliteStore::open(folder.path()).unwrap();
        history.write_into(&store).unwrap();
        let keeper = keeper(store, &history.office);
        Told { history, events, keeper, _folder: folder }
    })
}

pub(super) fn keeper(store: SqliteStore, key: &[u8; 32]) -> Keeper {
    let catalogue = data::catalogue().unwrap();
    let jobs = data::job_kinds(&catalogue).unwrap();
    Keeper::open(Arc::new(store), Arc::new(catalogue), jobs, Device::of_seed(key)).unwrap()
}

/// The demonstration as its files alone have it.
fn demo(catalogue: &Catalogue) -> (Yard, Vec<Form>) {
    let (forms, files): (Vec<_>, Vec<_>) = embedded::DEMO.iter().partition(|(name, _)| name.starts_with("forms/"));
    let (yard, problems) = Yard::load(&files, catalogue);
    assert!(problems.is_empty(), "{problems:?}");
    let forms = forms.iter().filter_map(|(name, text)| Form::load(name, text, catalogue, &yard).0).collect();
    (yard, forms)
}

fn count(events: &[Event], kind: Kind) -> usize {
    events.iter().filter(|event| event.payload.kind() == kind).count()
}

#[test]
fn the_same_seed_tells_the_same_bytes() {
    assert_eq!(told().history.digest(), DIGEST);
}

#[test]
fn its_page_says_how_large_it_is() {
    let Told { history, events, .. } = told();
    let page =
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/demo-history.md")).unwrap();
    let bytes: usize = history.events.iter().map(|signed| signed.event.len()).sum();
    let (thousands, rest) = (events.len() / 1000, events.len() % 1000);
    let said = format!(
        "{thousands} {rest:03} events, {} MB of event bytes, {} releases, {} commands refused",
        bytes / 1_000_000,
        count(events, Kind::Released),
        history.refused.len()
    );
    assert!(page.contains(&said), "write: {said}\nrefused: {:#?}", history.refused);
}

#[test]
fn what_a_phone_carries_judges_as_the_whole_record_does() {
    let told = told();
    let known = told.keeper.known();
    let catalogue = told.keeper.catalogue();
    let now = known.yard.on.unwrap_or_else(|| Moment::parse("2026-11-24T08:00:00+00:00").unwrap());
    let of = |subject: Subject| -> Vec<Event> {
        told.events.iter().filter(|event| event.payload.subject() == subject).cloned().collect()
    };
    let yard_events = of(Subject::Yard);
    let carried = carried::of_yard(&known.state, &yard_events, now);
    let mut counted = (carried.len(), bytes(&carried));
    let small = Known::of(&carried.into_iter().cloned().collect::<Vec<_>>(), catalogue);
    // Verdicts rest on one estimate there and here.
    assert!(small.yard.forecast.is_some() && small.yard.forecast == known.yard.forecast);
    for id in known.yard.machines.keys() {
        let events = of(Subject::Machine(id.clone()));
        let state = told.keeper.machine(id).unwrap().unwrap();
        let carried = carried::of_machine(&state, &events);
        counted = (counted.0 + carried.len(), counted.1 + bytes(&carried));
        let phone = MachineState::fold(id, carried, Scope { catalogue, yard: &small.state });
        assert_eq!(phone.contradictions(), state.contradictions(), "{id}");
        let hanging = |state: &MachineState| state.hanging().map(|(id, _)| id).collect::<Vec<_>>();
        assert_eq!(hanging(&phone), hanging(&state), "{id}");
        for later in [0, 3 * 86_400, 40 * 86_400] {
            let at = now.later_by(later);
            let judged = |yard, state| judged::judgement(catalogue, yard, state, at, None).unwrap().to_json().unwrap();
            assert_eq!(judged(&small.yard, &phone), judged(&known.yard, &state), "{id} at {at}");
        }
    }
    println!("carried: {} of {} events, {} kB", counted.0, told.events.len(), counted.1 / 1000);
    assert!(counted.0 * 5 < told.events.len(), "{} of {}", counted.0, told.events.len());
}

/// What the server shows of a machine till the app has judged it is what the app then says itself.
#[test]
fn the_yard_at_a_glance_is_what_a_phone_judges() {
    let told = told();
    let catalogue = data::catalogue().unwrap();
    let rules = Rules { jobs: data::job_kinds(&catalogue).unwrap(), catalogue };
    let now = Moment::parse("2026-11-24T09:00:00+00:00").unwrap();
    let glances = told.keeper.at_a_glance(now).unwrap();
    let carried = told.keeper.carried(now).unwrap();
    let events = carried.events.iter().map(|event| Entry::read(event).unwrap().event.unwrap());
    let mut phone = Held::unfolded(told.keeper.here(), carried.ends.iter().filter_map(End::series), events);
    while phone.fold_next(&rules) {}
    assert_eq!(glances.heads, Holds::from(phone.heads()).heads);
    let yard = &phone.known().yard;
    assert_eq!(glances.rows.len(), yard.machines.len());
    for row in &glances.rows {
        let state = phone.machine(&row.machine).unwrap();
        let judgement = phone.judge(&row.machine, now, None, &rules).unwrap();
        let machine = judged::machine(yard, state).unwrap();
        let context = Context::of(&rules.catalogue, yard, &row.machine, now).unwrap();
        let own = Row::of(&Context { machine: &machine, ..context }, &rules.jobs, state, &judgement);
        assert_eq!(serde_json::to_value(row).unwrap(), serde_json::to_value(own.brief()).unwrap(), "{}", row.machine);
    }
}

#[test]
fn a_phone_that_carries_little_decides_and_is_taken_in_as_the_whole_does() {
    let told = told();
    let catalogue = data::catalogue().unwrap();
    let rules = Rules { jobs: data::job_kinds(&catalogue).unwrap(), catalogue };
    let now = Moment::parse("2026-11-24T09:00:00+00:00").unwrap();
    let carried = told.keeper.carried(now).unwrap();
    let events = carried.events.iter().map(|event| Entry::read(event).unwrap().event.unwrap());
    let office = told.keeper.here();
    let mut phone = Held::of(office, carried.ends.iter().filter_map(End::series), events, &rules);
    let owner = told.events.first().unwrap().author.clone();
    let odometer = OdometerNoted { machine: "H-07".into(), odometer: "99999 km".into() };
    let written = phone.decide(Command::Write(odometer.into()), Actor { person: &owner, now }, None, &rules).unwrap();
    let entries: Vec<Entry> = written.iter().map(|of| Entry::read(&of.bytes).unwrap()).collect();
    assert_eq!(phone.take(entries.clone(), &rules), 1);
    assert_eq!(phone.take(entries.clone(), &rules), 0, "a second time nothing is new");
    assert_eq!(phone.machine("H-07").unwrap().odometer().unwrap().km().to_string(), "99999");
    // Where the whole record's next event of that device would stand.
    let ends = told.keeper.store().series_ends().unwrap();
    let end = ends.iter().find(|(device, _)| *device == office).map(|(_, end)| end);
    assert_eq!(is_next(end, &entries[0]), Ok(()));
    // Whose name an event speaks of that is not carried, nobody here can say.
    let erase = Command::Erase { person: owner.clone(), why: "asked".into() };
    let refused = phone.decide(erase, Actor { person: &owner, now }, None, &rules);
    assert_eq!(refused, Err(NotWritten::NeedsWholeRecord));
    // Said again, lower: refused as it would be there.
    let odometer = OdometerNoted { machine: "H-07".into(), odometer: "5 km".into() };
    assert!(phone.decide(Command::Write(odometer.into()), Actor { person: &owner, now }, None, &rules).is_err());
}

fn bytes(events: &[&Event]) -> usize {
    events.iter().map(|event| event.to_bytes().unwrap().len()).sum()
}

#[test]
fn another_seed_tells_other_days() {
    let settings = Settings::demo().unwrap();
    let first = founding::device_seed(&settings, "office");
    let other = founding::device_seed(&Settings { seed: settings.seed + 1, ..settings }, "office");
    assert_ne!(first, other);
}

#[test]
fn its_last_morning_is_the_demonstrations() {
    let told = told();
    let catalogue = told.keeper.catalogue().clone();
    let (yard, forms) = demo(&catalogue);
    let now = yard.on.unwrap();
    let mut wrong = Vec::new();
    for id in yard.machines.keys() {
        let own: Vec<&Form> = forms.iter().filter(|form| form.machine == *id).collect();
        let wanted = judge(&Context::of(&catalogue, &yard, id, now).unwrap(), &own);
        let got = told.keeper.judge(id, now, None).unwrap().unwrap();
        for (wanted, got) in wanted.uses.iter().zip(&got.uses) {
            if wanted.verdict != got.verdict {
                let why: Vec<String> =
                    got.reasons().map(|of| format!("{} {}: {}", of.check, of.verdict, of.reason)).collect();
                wrong.push(format!(
                    "{id} {}: {} wanted, got {}\n  {}",
                    wanted.one,
                    wanted.verdict,
                    got.verdict,
                    why.join("\n  ")
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn its_last_morning_is_the_page_worked_by_hand() {
    // Range and road of docs/demo.md, whose verdicts were worked apart from the program.
    let told = told();
    let page = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/demo.md")).unwrap();
    let now = Moment::parse("2026-11-24T08:00:00+00:00").unwrap();
    let rows: Vec<Vec<&str>> = page
        .lines()
        .filter(|line| line.starts_with("| H-"))
        .map(|line| line.split('|').map(str::trim).collect())
        .collect();
    assert_eq!(rows.len(), 24);
    for row in rows {
        let judged = told.keeper.judge(row[1], now, None).unwrap().unwrap();
        for (one, wanted) in [(Use::Range, row[4]), (Use::Road, row[5])] {
            let verdict = judged.uses.iter().find(|of| of.one == one).map(|of| of.verdict);
            assert_eq!(verdict, wanted.parse::<Verdict>().ok(), "{} {one}", row[1]);
        }
    }
}

#[test]
fn a_second_installation_receives_the_whole() {
    let told = told();
    let folder = tempfile::tempdir().unwrap();
    let store = SqliteStore::open(folder.path()).unwrap();
    // It knows the office: its owner and its key, the first two events, are carried over by hand.
    let (first, rest) = told.history.events.split_at(2);
    store.append(first).unwrap();
    let second = keeper(store, &[7; 32]);
    let received = second.receive(rest).unwrap();
    let refused: Vec<&Fate> = received.events.iter().filter(|fate| !matches!(fate, Fate::Kept { .. })).collect();
    assert!(refused.is_empty(), "{} refused, first {:?}", refused.len(), refused.first());
    assert_eq!(second.known().state, told.keeper.known().state);
    for id in told.keeper.known().yard.machines.keys() {
        assert_eq!(second.machine(id).unwrap(), told.keeper.machine(id).unwrap(), "{id}");
    }
}

#[test]
fn whatever_order_it_arrives_in_it_is_the_same() {
    let told = told();
    let known = told.keeper.known();
    let scope = Scope { catalogue: told.keeper.catalogue(), yard: &known.state };
    let mut random = random::Random::new(5);
    for id in known.yard.machines.keys() {
        let subject = Subject::Machine(id.clone());
        let mut own: Vec<&Event> = told.events.iter().filter(|event| event.payload.subject() == subject).collect();
        for index in (1..own.len()).rev() {
            own.swap(index, random.index(index + 1));
        }
        assert_eq!(MachineState::fold(id, own, scope), *told.keeper.machine(id).unwrap().unwrap(), "{id}");
    }
}

#[test]
fn only_what_the_lost_phone_held_back_is_set_aside() {
    let told = told();
    let known = told.keeper.known();
    assert!(known.state.flags.is_empty(), "{:?}", known.state.flags);
    assert!(known.problems.is_empty(), "{:?}", known.problems);
    let mut aside = Vec::new();
    for id in known.yard.machines.keys() {
        let state = told.keeper.machine(id).unwrap().unwrap();
        aside.extend(state.flags.iter().map(|flag| (id.clone(), flag.kind, flag.why)));
        assert!(state.contradictions().is_empty(), "{id}: {:?}", state.contradictions());
    }
    let meant = ["H-04", "H-10", "H-15"].map(|id| (id.to_string(), Kind::OdometerNoted, Aside::Revoked));
    assert_eq!(aside, meant);
}

#[test]
fn days_can_be_believed() {
    let Told { history, events, .. } = told();
    assert!((25_000..=80_000).contains(&events.len()), "{} events", events.len());
    let mut falls: BTreeMap<String, usize> = BTreeMap::new();
    for event in events.iter().filter(|event| event.payload.kind() == Kind::FallNoted) {
        *falls.entry(event.at.to_string()[..7].into()).or_default() += 1;
    }
    let most = falls.values().max().copied().unwrap_or_default();
    assert!((20..=80).contains(&count(events, Kind::FallNoted)) && most <= 10, "{falls:?}");
    let ridden: f64 = history.truth.ridden_km.values().map(|(range, road)| range + road).sum();
    assert!((25_000.0..70_000.0).contains(&ridden), "{ridden} km in fourteen months");
    let air = |months: [&str; 2]| {
        let opened = events.iter().filter_map(|event| match &event.payload {
            Payload::WalkRoundOpened(of) if months.iter().any(|month| event.at.to_string()[5..7] == **month) => {
                of.air.as_ref()?.split(' ').next()?.parse::<f64>().ok()
            }
            _ => None,
        });
        let all: Vec<f64> = opened.collect();
        all.iter().sum::<f64>() / all.len() as f64
    };
    let (winter, summer) = (air(["01", "02"]), air(["07", "08"]));
    assert!((-2.0..8.0).contains(&winter) && (13.0..22.0).contains(&summer), "{winter} °C, {summer} °C");
    for (kind, least) in [
        (Kind::JobOpened, 80),
        (Kind::JobProven, 40),
        (Kind::PartMounted, 150),
        (Kind::ThingSet, 200),
        (Kind::Returned, 200),
        (Kind::Tagged, 15),
    ] {
        assert!(count(events, kind) >= least, "{kind}: {}", count(events, kind));
    }
    assert_eq!([Kind::PersonErased, Kind::DeviceRevoked, Kind::Withdrawn].map(|kind| count(events, kind)), [1; 3]);
    assert_eq!([Kind::CallNoted, Kind::Impounded].map(|kind| count(events, kind)), [2; 2]);
    let corrected =
        events.iter().filter(|event| matches!(&event.payload, Payload::ReadingTaken(of) if of.corrects.is_some()));
    assert!((5..200).contains(&corrected.count()));
    let authors: HashMap<EventId, &PersonId> = events
        .iter()
        .filter(|event| event.payload.kind() == Kind::WalkRoundOpened)
        .map(|event| (event.id, &event.author))
        .collect();
    let handed = events.iter().filter(|event| matches!(&event.payload, Payload::WalkRoundClosed(of) if authors.get(&of.walk_round).is_some_and(|by| **by != event.author)));
    assert!(handed.count() > 3);
}

#[test]
fn what_is_read_lies_about_what_is_true() {
    let Told { history, events, .. } = told();
    let mut errors: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for event in events {
        let Payload::ReadingTaken(of) = &event.payload else { continue };
        let Some(truth) = history.truth.readings.get(&event.id) else { continue };
        let texts: Vec<&String> = match &of.read {
            Typed::One(one) => [one].into(),
            Typed::Several(several) => several.iter().collect(),
            Typed::Places(places) => places.values().flatten().collect(),
        };
        let figures = texts.iter().filter_map(|text| text.split(' ').next()?.parse::<f64>().ok());
        if let Some(nearest) = figures.min_by(|a, b| (a - truth).abs().total_cmp(&(b - truth).abs())) {
            errors.entry(&of.check).or_default().push(nearest - truth);
        }
    }
    // Rooms about the instruments' stated accuracy in yard.toml.
    for (check, room, least) in [
        ("tyre.rear.tread", 0.1, 200),
        ("brake.front.pads", 0.25, 200),
        ("brake.front.disc", 0.03, 100),
        ("chain.elongation", 0.15, 50),
        ("battery.rest", 0.05, 200),
    ] {
        let of = &errors[check];
        let mean = of.iter().sum::<f64>() / of.len() as f64;
        assert!(of.len() >= least && mean.abs() < room, "{check}: {} readings, {mean} off", of.len());
    }
    let lives = &history.truth.lives;
    let whole = lives.iter().filter(|life| life.mounted.is_some() && life.removed.is_some()).count();
    let cut = lives.iter().filter(|life| life.mounted.is_none() && life.removed.is_some()).count();
    let unknown = lives.iter().filter(|life| life.unknown).count();
    assert!(cut >= 10 && unknown >= 40, "{whole} whole lives, {cut} cut off, {unknown} unknown");
}

#[test]
fn no_two_devices_share_a_key() {
    let settings = Settings::demo().unwrap();
    let keys: BTreeSet<[u8; 32]> =
        settings.devices.iter().map(|row| founding::device_seed(&settings, &row.id)).collect();
    assert_eq!(keys.len(), 4);
}
