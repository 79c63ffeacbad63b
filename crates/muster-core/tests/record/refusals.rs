//! Every refusal, reached by a command; its texts as people read them, each with its remedy.

use std::collections::BTreeSet;

use muster_core::{
    record::{
        decide::{Command, Refusal, ReleaseAsked},
        id::{DeviceId, EventId},
        payload::*,
    },
    words::{Class, Ending, Seen, Service, Use, Uses},
};

use super::{
    forms::MORNING,
    golden,
    kit::{Device, NOW, added, device_added, key, moment, person, sealed},
    out::asked,
    story::{opened, raised, read, released, saw},
};

const MACHINE: &str = "H-01";

/// The morning with something of everything on one machine.
struct Met {
    device: Device,
    walk_round: EventId,
    closed: EventId,
    answer: EventId,
    finding: EventId,
    job: EventId,
    tag: EventId,
    part: EventId,
    odometer: EventId,
}

fn met() -> Met {
    let mut device = MORNING.clone();
    let machine = || MACHINE.to_string();
    let mut put = |by: &str, payload: Payload| device.put(by, NOW, payload).unwrap();
    let walk_round = put("m-okafor", opened(MACHINE).into());
    let answer = put("m-okafor", read(MACHINE, walk_round, "tyre.front.pressure", "26.0 psi", "G-2").into());
    let closed = put("m-okafor", opened(MACHINE).into());
    put("m-okafor", WalkRoundClosed { machine: machine(), walk_round: closed }.into());
    let finding = put("m-okafor", raised(MACHINE, "lever bent", Class::Major).into());
    let (findings, tags) = (Vec::new(), Vec::new());
    let job = put(
        "d-fenwick",
        JobOpened { machine: machine(), job: "levers".into(), why: "bent".into(), findings, tags }.into(),
    );
    let part = put("d-fenwick", mounted(None, None).into());
    let odometer = put("m-okafor", OdometerNoted { machine: machine(), odometer: "90000 km".into() }.into());
    let tag = device.write(
        "m-okafor",
        NOW,
        Tagged { machine: machine(), why: "bent".into(), number: Some("12".into()), rests_on: None, knew: None },
    );
    Met { device, walk_round, closed, answer, finding, job, tag, part, odometer }
}

fn mounted(on: Option<&str>, replaces: Option<EventId>) -> PartMounted {
    let (machine, place, on) = (MACHINE.into(), "tyre.front".into(), on.map(String::from));
    PartMounted { machine, place, marking: None, odometer: None, on, ended: vec![Ending::FrontWheelOut], replaces }
}

fn strange() -> EventId {
    EventId { device: DeviceId::of_key(&[9; 32]), seq: 4 }
}

/// Cases by their names: who asks what.
struct Cases<'m> {
    met: &'m Met,
    out: Vec<(&'static str, Refusal)>,
}

impl Cases<'_> {
    fn of(&mut self, name: &'static str, by: &str, payload: impl Into<Payload>) {
        let payload = payload.into();
        let refusal = self.met.device.clone().put(by, NOW, payload);
        self.out.push((name, refusal.expect_err(name)));
    }

    fn command(&mut self, name: &'static str, by: &str, command: Command) {
        let refusal = self.met.device.known(MACHINE, NOW).decide(by, NOW, command);
        self.out.push((name, refusal.expect_err(name)));
    }

    fn after(&mut self, name: &'static str, by: &str, before: impl FnOnce(&mut Device), command: Command) {
        let mut device = self.met.device.clone();
        before(&mut device);
        let refusal = device.known(MACHINE, NOW).decide(by, NOW, command);
        self.out.push((name, refusal.expect_err(name)));
    }
}

fn machine() -> String {
    MACHINE.into()
}

fn of_looks(cases: &mut Cases<'_>) {
    let Met { walk_round, closed, answer, finding, .. } = *cases.met;
    let pressure = |figure: &str| read(MACHINE, walk_round, "tyre.front.pressure", figure, "G-2");
    let saw_levers = |walk_round, seen| saw(MACHINE, walk_round, "controls.levers", seen);
    cases.of(
        "an odometer that runs backwards",
        "m-okafor",
        OdometerNoted { machine: machine(), odometer: "40 km".into() },
    );
    cases.of(
        "an odometer in another unit",
        "m-okafor",
        OdometerNoted { machine: machine(), odometer: "40 psi".into() },
    );
    let backwards = WalkRoundOpened { odometer: Some("41 km".into()), ..opened(MACHINE) };
    cases.of("a walk-round whose odometer runs backwards", "m-okafor", backwards);
    cases.of("air in no unit", "m-okafor", WalkRoundOpened { air: Some("7".into()), ..opened(MACHINE) });
    cases.of("a pressure in millimetres", "m-okafor", pressure("2.5 mm"));
    cases.of("a pressure of no tyre", "m-okafor", pressure("2500 psi"));
    cases.of("no figure", "m-okafor", pressure("low"));
    cases.of("nothing read", "m-okafor", pressure(" "));
    cases.of("an unknown check", "m-okafor", read(MACHINE, walk_round, "tyre.middle.pressure", "26 psi", "G-2"));
    cases.of("a check looked at, not read", "m-okafor", read(MACHINE, walk_round, "controls.levers", "26 psi", "G-2"));
    cases.of("an unknown instrument", "m-okafor", read(MACHINE, walk_round, "tyre.front.pressure", "26 psi", "G-77"));
    let places = Saw::Places([("behind".to_string(), Seen::Sound)].into());
    cases.of("an unknown place", "m-okafor", ObservationMade { saw: places, ..saw_levers(walk_round, Seen::Sound) });
    cases.of("an unknown walk-round", "m-okafor", saw_levers(strange(), Seen::Sound));
    cases.of("a reading after closing", "m-okafor", read(MACHINE, closed, "tyre.front.pressure", "26 psi", "G-2"));
    cases.of("a look after closing", "m-okafor", saw_levers(closed, Seen::Sound));
    cases.of(
        "an act after closing",
        "m-okafor",
        ThingSet { machine: machine(), walk_round: closed, check: "chain.slack".into(), act: "adjusted".into() },
    );
    cases.of("closing twice", "m-okafor", WalkRoundClosed { machine: machine(), walk_round: closed });
    let slip = ReadingTaken { corrects: Some(answer), ..pressure("27.0 psi") };
    cases.of("a slip corrected by another person", "t-abara", slip);
    let slip = ReadingTaken { corrects: Some(finding), ..pressure("27.0 psi") };
    cases.of("a correction of no answer", "m-okafor", slip);
    let lowered =
        ObservationMade { class: Some(Class::Minor), ..saw(MACHINE, walk_round, "throttle.return", Seen::Defective) };
    cases.of("a class lowered by the finder", "m-okafor", lowered);
    cases.of(
        "an act that says nothing",
        "m-okafor",
        ThingSet { machine: machine(), walk_round, check: "chain.slack".into(), act: " ".into() },
    );
    cases.of("a finding that says nothing", "m-okafor", raised(MACHINE, "", Class::Minor));
    cases.of(
        "a finding at no check",
        "m-okafor",
        FindingRaised { check: Some("no.check".into()), ..raised(MACHINE, "bent", Class::Minor) },
    );
    cases.of(
        "a finding for no use",
        "m-okafor",
        FindingRaised { uses: Vec::new(), ..raised(MACHINE, "bent", Class::Minor) },
    );
    cases.of("a rider's finding that is no feedback", "p-rider", raised(MACHINE, "bent", Class::Minor));
    let long = raised(MACHINE, &"x".repeat(4001), Class::Minor);
    cases.of("a text too long", "m-okafor", long);
    cases.of(
        "a class lowered without the right",
        "m-okafor",
        FindingClassed { machine: machine(), finding, class: Class::Minor, why: "light".into() },
    );
    cases.of(
        "an unknown finding",
        "m-okafor",
        FindingClosed { machine: machine(), finding: strange(), how: "looked".into() },
    );
    let close = || FindingClosed { machine: machine(), finding, how: "looked".into() };
    cases.after(
        "a finding closed twice",
        "m-okafor",
        |device| _ = device.put("m-okafor", NOW, close()).unwrap(),
        Command::Write(close().into()),
    );
    let classed = FindingClassed { machine: machine(), finding, class: Class::Dangerous, why: "worse".into() };
    cases.after(
        "a finding classed after closing",
        "m-okafor",
        |device| _ = device.put("m-okafor", NOW, close()).unwrap(),
        Command::Write(classed.into()),
    );
    let fall = || FallNoted {
        machine: machine(),
        how: "slid".into(),
        rider: Some(person("p-rider")),
        about_rider: None,
        odometer: None,
    };
    cases.of("a fall of nobody known", "m-okafor", FallNoted { rider: Some(person("p-nobody")), ..fall() });
    cases.of(
        "a rider's matter under another's key",
        "m-okafor",
        FallNoted { about_rider: Some(sealed("p-owner", "x")), ..fall() },
    );
}

fn of_the_workshop(cases: &mut Cases<'_>) {
    let Met { finding, job, part, answer, .. } = *cases.met;
    let opened = |kind: &str| JobOpened {
        machine: machine(),
        job: kind.into(),
        why: "due".into(),
        findings: Vec::new(),
        tags: Vec::new(),
    };
    let moved = |from, to| JobMoved { machine: machine(), job, from, to, note: None, ended: Vec::new() };
    cases.of("an unknown kind of job", "d-fenwick", opened("polish"));
    cases.of("a kind of job that asks nothing here", "d-fenwick", opened("belt"));
    cases.of(
        "a job for a finding that is not open",
        "d-fenwick",
        JobOpened { findings: vec![strange()], ..opened("levers") },
    );
    cases.of("a job for a tag that does not hang", "d-fenwick", JobOpened { tags: vec![finding], ..opened("levers") });
    cases.of("a job from a stale state", "d-fenwick", moved(strange(), JobState::Done));
    cases.of("a job proven by hand", "d-fenwick", moved(job, JobState::Proven));
    cases.of("an unknown job", "d-fenwick", JobMoved { job: strange(), ..moved(job, JobState::Done) });
    let prove = || Command::Prove { machine: machine(), job };
    cases.command("a job proven before it is done", "d-fenwick", prove());
    cases.after(
        "a job without its readings",
        "d-fenwick",
        |device| _ = device.put("d-fenwick", NOW, moved(job, JobState::Done)).unwrap(),
        prove(),
    );
    cases.of("a part mounted over another unawares", "d-fenwick", mounted(None, None));
    cases.of("a part mounted tomorrow", "d-fenwick", mounted(Some("2026-11-25"), Some(part)));
    cases.of("a part mounted on no day", "d-fenwick", mounted(Some("yesterday"), Some(part)));
    let today = PartMounted { odometer: Some("12 km".into()), ..mounted(Some("2026-11-24"), Some(part)) };
    cases.of("a part mounted at an odometer that runs backwards", "d-fenwick", today);
    let removed = || PartRemoved { machine: machine(), mounted: part, odometer: None, why: "worn".into() };
    cases.of("an unknown part", "d-fenwick", PartRemoved { mounted: strange(), ..removed() });
    cases.after(
        "a part taken off twice",
        "d-fenwick",
        |device| _ = device.put("d-fenwick", NOW, removed()).unwrap(),
        Command::Write(removed().into()),
    );
    cases.of(
        "a photo without its hash",
        "m-okafor",
        PhotoAttached { machine: machine(), of: None, sha256: "f00".into(), bytes: 3 },
    );
    cases.of("an answer withdrawn", "m-okafor", Withdrawn { machine: machine(), event: answer, why: "wrong".into() });
}

fn of_letting_out(cases: &mut Cases<'_>) {
    let Met { finding, tag, .. } = *cases.met;
    let lifted = |device: &mut Device| {
        let lifting = Untagged { machine: machine(), lifts: vec![tag], reason: "mended".into(), knew: Some(tag) };
        device.write("p-owner", NOW, lifting);
    };
    let fit = |device: &mut Device| {
        lifted(device);
        device.put("m-okafor", NOW, FindingClosed { machine: machine(), finding, how: "looked".into() }).unwrap();
    };
    let release = |one, reason| Command::Release(asked(MACHINE, one, reason));
    let with = |change: &dyn Fn(&mut ReleaseAsked)| {
        let mut of = asked(MACHINE, Use::Range, Some("to the wash bay"));
        change(&mut of);
        Command::Release(of)
    };
    cases.command("a release under a tag", "p-owner", release(Use::Range, None));
    cases.after("a release by one without the right", "m-okafor", lifted, release(Use::Range, None));
    cases.after("a release without a reason", "p-owner", lifted, release(Use::Range, None));
    cases.after(
        "a release by the finder",
        "t-abara",
        |device| {
            lifted(device);
            device.put("t-abara", NOW, raised(MACHINE, "bent", Class::Major)).unwrap();
            device.put("m-okafor", NOW, FindingClosed { machine: machine(), finding, how: "looked".into() }).unwrap();
        },
        release(Use::Range, Some("to the wash bay")),
    );
    cases.after("a release over law on the road", "p-owner", lifted, release(Use::Road, Some("urgent")));
    cases.after(
        "a release over danger on the road",
        "p-owner",
        |device| {
            fit(device);
            // Law says nothing of what was not looked at; danger does.
            let walk_round = device.put("m-okafor", NOW, opened(MACHINE)).unwrap();
            device.put("m-okafor", NOW, saw(MACHINE, walk_round, "throttle.return", Seen::Doubtful)).unwrap();
        },
        release(Use::Road, Some("urgent")),
    );
    cases.after("a release for no use", "m-okafor", fit, with(&|of| of.uses = Uses::NONE));
    cases.after("a release for no outing", "m-okafor", fit, with(&|of| of.outing = " ".into()));
    cases.after("a release that ends before it begins", "m-okafor", fit, with(&|of| of.to = of.from));
    cases.after(
        "a release beyond the return judged for",
        "m-okafor",
        fit,
        with(&|of| of.to = moment("2026-11-26T00:00:00+00:00")),
    );
    cases.after("a release for nobody known", "m-okafor", fit, with(&|of| of.riders = vec![person("p-nobody")]));
    let state = |state, replaces, why: Option<&str>| ServiceChanged {
        machine: machine(),
        state,
        why: why.map(String::from),
        replaces,
    };
    cases.after(
        "a release of a machine on loan",
        "p-owner",
        |device| {
            fit(device);
            device.put("p-owner", NOW, state(Service::OnLoan, None, None)).unwrap();
        },
        release(Use::Range, None),
    );
    let out = |device: &mut Device| {
        fit(device);
        device.write("p-owner", NOW, released(MACHINE, None));
    };
    cases.after("a release of a machine that is out", "m-okafor", out, release(Use::Range, None));
    let known = unjudged(cases.met);
    cases
        .out
        .push(("a release that was not judged", known.decide("m-okafor", NOW, release(Use::Range, None)).unwrap_err()));
    cases.of(
        "a return of nothing",
        "m-okafor",
        Returned { machine: machine(), release: strange(), odometer: None, fuel: None, damage: None, key_back: true },
    );
    let untag = |lifts, reason: &str| Command::Untag { machine: machine(), lifts, reason: reason.into() };
    cases.command("an untagging that names no tag", "p-owner", untag(Vec::new(), "mended"));
    cases.command("an untagging of a tag that does not hang", "p-owner", untag(vec![strange()], "mended"));
    cases.command("an untagging without a reason", "p-owner", untag(vec![tag], " "));
    cases.command("an instructor lifting another's tag", "t-abara", untag(vec![tag], "mended"));
    cases.command(
        "a tag without a reason",
        "m-okafor",
        Command::Tag { machine: machine(), why: String::new(), number: None },
    );
    cases.command(
        "a tag on no machine",
        "m-okafor",
        Command::Tag { machine: "H-99".into(), why: "bent".into(), number: None },
    );
    cases.of(
        "a call about nothing",
        "m-okafor",
        CallNoted { machine: machine(), tag, release: strange(), answer: "yes".into() },
    );
    cases.of(
        "a settling of nothing",
        "m-okafor",
        Settled { machine: machine(), events: vec![tag], how: "asked".into() },
    );
    cases.of("a service state changed unawares", "p-owner", state(Service::Away, Some(tag), None));
    cases.of("impounded by service state", "p-owner", state(Service::Impounded, None, Some("crash")));
    let impound = || Command::Impound { machine: machine(), why: "crash".into() };
    let impounded = |device: &mut Device| _ = device.ask("m-okafor", NOW, MACHINE, impound()).unwrap();
    cases.after("impounded twice", "m-okafor", impounded, impound());
    cases.after("a repair of an impounded machine", "p-owner", impounded, Command::Write(mounted(None, None).into()));
    cases.of("a release by hand", "p-owner", released(MACHINE, None));
}

/// What is known, but that nobody judged.
fn unjudged(met: &Met) -> super::kit::Known {
    let mut device = met.device.clone();
    let lifting = Untagged { machine: machine(), lifts: vec![met.tag], reason: "mended".into(), knew: None };
    device.write("p-owner", NOW, lifting);
    super::kit::Known { judged: None, ..device.known(MACHINE, NOW) }
}

fn of_the_books(cases: &mut Cases<'_>) {
    let state = cases.met.device.yard();
    let file = |name: &str| state.files[name].clone();
    let (text, event) = file("machines/H-01.toml");
    cases.of("a machine registered twice", "d-fenwick", MachineRegistered { machine: machine(), text: text.clone() });
    cases.of(
        "a machine's file changed unawares",
        "d-fenwick",
        MachineChanged { machine: machine(), text: text.clone(), replaces: strange() },
    );
    cases.of(
        "a file of no machine",
        "d-fenwick",
        MachineChanged { machine: "H-99".into(), text: text.clone(), replaces: event },
    );
    cases.of(
        "a file of another machine",
        "d-fenwick",
        MachineRegistered { machine: "H-99".into(), text: text.clone() },
    );
    let broken = text.replace("schema = 1", "schema = 1\ncolour = \"red\"");
    cases.of("a file with a fault", "d-fenwick", MachineChanged { machine: machine(), text: broken, replaces: event });
    let approval = format!(
        "{text}\n[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = \"1.0 mm\"\napproval = {{ by = \"P. Ashdown, engineer\" }}\n"
    );
    cases.of(
        "a limit loosened without the right",
        "d-fenwick",
        MachineChanged { machine: machine(), text: approval, replaces: event },
    );
    let (sheet, _) = file("sheets/corvane-pebble.toml");
    cases.of(
        "a sheet replaced unawares",
        "d-fenwick",
        SheetAttached { sheet: "corvane-pebble".into(), text: sheet, replaces: None },
    );
    cases.of(
        "house rules replaced unawares",
        "p-owner",
        HouseRuleAttached { text: "schema = 1".into(), replaces: None },
    );
    cases.of("a yard with a fault", "p-owner", YardDescribed { text: "schema = 1".into() });
    cases.of("an unknown law pack", "p-owner", LawAttached { pack: Some("Atlantis".into()) });
    cases.of("an instrument that names another", "d-fenwick", InstrumentRegistered {
        instrument: "G-9".into(),
        text: "[[instrument]]\nid = \"G-8\"\nname = \"Gauge\"\nkind = \"dial-gauge\"\nreads = \"gauge-pressure\"\nresolution = \"0.5 psi\"\naccuracy = \"1 psi\"\n".into(),
    });
    cases.of("an instrument of unknown accuracy", "d-fenwick", InstrumentRegistered {
        instrument: "G-9".into(),
        text: "[[instrument]]\nid = \"G-9\"\nname = \"Gauge\"\nkind = \"dial-gauge\"\nreads = \"gauge-pressure\"\nresolution = \"0.5 psi\"\n".into(),
    });
    let compared = |instrument: &str, on: &str| InstrumentCompared {
        instrument: instrument.into(),
        on: on.into(),
        good: true,
        note: None,
    };
    cases.of("an unknown instrument compared", "d-fenwick", compared("G-77", "2026-11-24"));
    cases.of("an instrument compared tomorrow", "d-fenwick", compared("G-1", "2026-11-25"));
    cases.of("an outing that ends before it begins", "m-okafor", outing(|of| of.to = of.from));
    cases.of("an outing for no use", "m-okafor", outing(|of| of.uses.clear()));
    cases.of("an outing of nobody known", "m-okafor", outing(|of| of.riders = vec![person("p-nobody")]));
    let roster = |day: &str, replaces| RosterSet { day: day.into(), rows: Vec::new(), replaces };
    cases.of("a roster replaced unawares", "m-okafor", roster("2026-11-25", Some(strange())));
    cases.of("a roster of no day", "m-okafor", roster("tomorrow", None));
    let (from, to) = (moment(NOW), moment("2026-11-24T12:00:00+00:00"));
    let row = RosterRow { machine: "H-99".into(), rider: None, from, to };
    cases.of("a roster with no machine", "m-okafor", RosterSet { rows: vec![row], ..roster("2026-11-25", None) });
    cases.of(
        "a settling of nothing in the yard",
        "m-okafor",
        YardSettled { events: vec![strange()], how: "asked".into() },
    );
    cases.of("a forecast of another hash", "p-owner", ForecastEstimated { parameters: "{}".into(), hash: "0".into() });
}

fn outing(change: impl FnOnce(&mut OutingPlanned)) -> OutingPlanned {
    let (from, to) = (moment(NOW), moment("2026-11-24T12:00:00+00:00"));
    let mut of =
        OutingPlanned { name: "Group B".into(), uses: vec![Use::Range], riders: Vec::new(), from, to, distance: None };
    change(&mut of);
    of
}

fn of_people(cases: &mut Cases<'_>) {
    let changed = |who: &str| PersonChanged {
        person: person(who),
        name: None,
        role: Role::Rider,
        rights: Vec::new(),
        active: true,
    };
    cases.of("nobody this yard knows", "nobody", outing(|_| ()));
    cases.after(
        "somebody who left",
        "m-okafor",
        |device| {
            device.put("p-owner", NOW, PersonChanged { active: false, ..changed("m-okafor") }).unwrap();
        },
        Command::Write(outing(|_| ()).into()),
    );
    cases.of("a rider planning an outing", "p-rider", outing(|_| ()));
    cases.of("a person added twice", "p-owner", added("p-rider", Role::Rider, &[]));
    cases.of(
        "a name under another's key",
        "p-owner",
        PersonAdded { name: sealed("p-owner", "x"), ..added("p-new", Role::Rider, &[]) },
    );
    cases.of("a change of nobody known", "p-owner", changed("p-nobody"));
    let erase = |who: &str| Command::Erase { person: person(who), why: "asked".into() };
    cases.after(
        "a change of somebody erased",
        "p-owner",
        |device| _ = device.ask("p-owner", NOW, MACHINE, erase("p-rider")).unwrap(),
        Command::Write(changed("p-rider").into()),
    );
    cases.after(
        "the last owner erased",
        "p-owner",
        |device| _ = device.ask("p-owner", NOW, MACHINE, erase("p-plain-owner")).unwrap(),
        erase("p-owner"),
    );
    let mut known = cases.met.device.known(MACHINE, NOW);
    known.kept.insert(person("p-rider"));
    cases.out.push((
        "somebody an impounded machine's record speaks of",
        known.decide("p-owner", NOW, erase("p-rider")).unwrap_err(),
    ));
    cases.of("a device added twice", "p-owner", device_added(2));
    cases.of(
        "a device of another key",
        "p-owner",
        DeviceAdded { device: DeviceId::of_key(&key(8)), ..device_added(9) },
    );
    cases.of(
        "an unknown device revoked",
        "p-owner",
        DeviceRevoked { device: strange().device, last: 1, why: "lost".into() },
    );
    cases.of(
        "a device revoked without a reason",
        "p-owner",
        DeviceRevoked { device: DeviceId::of_key(&key(2)), last: 1, why: String::new() },
    );
}

const fn variant(refusal: &Refusal) -> &'static str {
    match refusal {
        Refusal::Person(_) => "person",
        Refusal::NoRight { .. } => "no right",
        Refusal::NeedsRight(_) => "needs right",
        Refusal::NoMachine(_) => "no machine",
        Refusal::NotHere { .. } => "not here",
        Refusal::Here { .. } => "here",
        Refusal::Stale { .. } => "stale",
        Refusal::Field { .. } => "field",
        Refusal::Faults(_) => "faults",
        Refusal::Impounded(_) => "impounded",
        Refusal::Out { .. } => "out",
        Refusal::Over { .. } => "over",
        Refusal::NoSuchMove { .. } => "no such move",
        Refusal::NotProven(_) => "not proven",
        Refusal::NotJudged => "not judged",
        Refusal::Release(_) => "release",
        Refusal::Untag(_) => "untag",
        Refusal::NotByHand(_) => "not by hand",
        Refusal::Kept(_) => "kept",
        Refusal::LastOwner(_) => "last owner",
    }
}

#[test]
fn every_refusal_is_reached_and_names_its_remedy() {
    let met = met();
    let mut cases = Cases { met: &met, out: Vec::new() };
    for part in [of_looks, of_the_workshop, of_letting_out, of_the_books, of_people] {
        part(&mut cases);
    }
    let text: String = cases.out.iter().map(|(name, refusal)| format!("{name}\n    {refusal}\n")).collect();
    golden::same("record/refusals.txt", &plain(&text));
    let reached: BTreeSet<&str> = cases.out.iter().map(|(_, refusal)| variant(refusal)).collect();
    assert_eq!(reached.len(), 20, "{reached:?}");
    for (name, refusal) in &cases.out {
        let text = refusal.to_string();
        assert!(!text.ends_with('.') && text.len() > 20, "{name}: {text}");
    }
    assert!(met.device.machine(MACHINE).odometers.contains(&met.odometer));
}

/// With breaking spaces, and ids of events by their number alone.
fn plain(text: &str) -> String {
    let text = text.replace(['\u{a0}', '\u{202f}'], " ");
    let mut out = String::new();
    let mut rest = text.as_str();
    while let Some(at) = rest.find(|character: char| character.is_ascii_hexdigit()) {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        let end = from.find(|character: char| !character.is_ascii_hexdigit()).unwrap_or(from.len());
        out.push_str(if end == 16 { "‹device›" } else { &from[..end] });
        rest = &from[end..];
    }
    out + rest
}
