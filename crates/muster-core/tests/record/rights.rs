//! Who may write and see what: the whole table as one text, and commands that are refused exactly where it says no.

use std::fmt::Write as _;

use muster_core::{
    record::{
        decide::{Command, Refusal, ReleaseAsked},
        id::EventId,
        payload::{Document, Kind, PaperIssued, PaperSize, Returned, Role},
        rights::{View, may_draw_calendar, may_view, may_write, shows},
    },
    words::{Use, Uses},
};

use super::{
    golden,
    kit::{Device, NOW, moment, person},
    payloads::Parts,
};

/// Somebody of each role.
const SOMEBODY: [(Role, &str); 5] = [
    (Role::Owner, "p-owner"),
    (Role::Workshop, "p-workshop"),
    (Role::Instructor, "m-okafor"),
    (Role::Rider, "p-rider"),
    (Role::Auditor, "p-auditor"),
];

fn table() -> String {
    let mut text = String::new();
    let mut row = |name: &str, cells: Vec<&str>| {
        let cells: Vec<String> = cells.iter().map(|cell| format!("{cell:<12}")).collect();
        writeln!(text, "{}", format!("{name:<24}{}", cells.concat()).trim_end()).unwrap();
    };
    let roles = || Role::ALL.iter().map(|role| role.as_str()).collect::<Vec<_>>();
    let say = |yes: bool| if yes { "yes" } else { "no" };
    row("writes", roles());
    for kind in Kind::ALL {
        row(kind.as_str(), Role::ALL.iter().map(|role| say(may_write(*role, *kind))).collect());
    }
    row("", Vec::new());
    row("sees", roles());
    for view in View::ALL {
        row(view.as_str(), Role::ALL.iter().map(|role| say(may_view(*role, *view))).collect());
    }
    row("", Vec::new());
    row("prints", roles());
    for document in Document::ALL {
        let may = |role| may_write(role, Kind::PaperIssued) && may_view(role, shows(*document));
        row(document.as_str(), Role::ALL.iter().map(|role| say(may(*role))).collect());
    }
    row("", Vec::new());
    row("draws", roles());
    row("a calendar's address", Role::ALL.iter().map(|role| say(may_draw_calendar(*role))).collect());
    text
}

#[test]
fn rights_are_the_table_people_agreed_on() {
    golden::same("record/rights.txt", &table());
}

/// A return of a release.
fn back(release: EventId) -> Returned {
    Returned { machine: "H-02".into(), release, odometer: None, fuel: None, damage: None, key_back: true }
}

/// Each command that is no plain writing.
fn commands(device: &Device) -> Vec<Command> {
    let machine = || "H-02".to_string();
    let (from, to) = (moment(NOW), moment("2026-11-24T12:00:00+00:00"));
    let (outing, uses) = ("Module one".to_string(), Uses::NONE.with(Use::Range));
    let (planned, riders, reason) = (None, Vec::new(), None);
    let (outings, done) = (Vec::new(), Vec::new());
    let id = *device.log.keys().next().unwrap();
    vec![
        Command::Release(ReleaseAsked {
            machine: machine(),
            outing,
            planned,
            uses,
            riders,
            from,
            to,
            reason,
            outings,
            done,
        }),
        Command::Tag { machine: machine(), why: String::new(), number: None },
        Command::Untag { machine: machine(), lifts: vec![id], reason: "x".into() },
        Command::TakeBack { returned: back(id), class: None },
        Command::Prove { machine: machine(), job: id },
        Command::Impound { machine: machine(), why: String::new() },
        Command::Erase { person: person("p-nobody"), why: String::new() },
        Command::RemovePhoto { machine: machine(), photo: id, why: String::new() },
        Command::Issue(PaperIssued {
            machine: Some(machine()),
            document: Document::Dossier,
            sha256: "5e".repeat(32),
            bytes: 1,
            size: PaperSize::A4,
            rests_on: None,
            event: None,
            tags: Vec::new(),
        }),
    ]
}

#[test]
fn a_command_is_refused_for_want_of_right_exactly_where_the_table_says_no() {
    let device = Device::of_the_yard(2);
    let known = device.known("H-02", NOW);
    for (role, by) in SOMEBODY {
        let written = Kind::ALL.iter().map(|kind| Command::Write(Parts::plain().payload(*kind)));
        for command in written.chain(commands(&device)) {
            let kind = command.kind();
            let decided = known.decide(by, NOW, command.clone());
            let refused = decided == Err(Refusal::NoRight { role, kind });
            assert_eq!(refused, !may_write(role, kind), "{role}, {command:?}: {decided:?}");
        }
    }
}

#[test]
fn what_rests_on_more_than_it_says_is_not_written_by_hand() {
    let known = Device::of_the_yard(2).known("H-02", NOW);
    let kinds = [Kind::Released, Kind::Tagged, Kind::Untagged, Kind::JobProven, Kind::Impounded];
    for kind in kinds.into_iter().chain([Kind::PersonErased, Kind::PhotoRemoved, Kind::PaperIssued]) {
        let decided = known.decide("p-owner", NOW, Command::Write(Parts::plain().payload(kind)));
        assert_eq!(decided, Err(Refusal::NotByHand(kind)));
    }
}
