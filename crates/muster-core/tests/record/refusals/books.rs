//! The yard's books: files, instruments, outings, rosters, people, devices.

use muster_core::{
    record::{decide::Command, id::DeviceId, payload::*},
    words::Use,
};

use super::{
    super::kit::{NOW, added, device_added, key, moment, person, sealed},
    Cases, MACHINE, machine, strange,
};

pub(super) fn of_files(cases: &mut Cases<'_>) {
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
}

pub(super) fn of_the_yard(cases: &mut Cases<'_>) {
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
    let mut of = OutingPlanned {
        name: "Group B".into(),
        uses: vec![Use::Range],
        riders: Vec::new(),
        from,
        to,
        distance: None,
        machine: None,
        worked_out: None,
    };
    change(&mut of);
    of
}

pub(super) fn of_people(cases: &mut Cases<'_>) {
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
