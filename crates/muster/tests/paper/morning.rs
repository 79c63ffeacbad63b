//! One morning on paper: printed by one command, a form typed in and judged, a numbered tag hung and lifted, files known again.

use std::fs;

use muster::keeper::Opened;
use serde_json::{Value, json};

use super::{
    command::{muster, said},
    kit::{Client, Place, demo_files},
    verdict,
};

/// The machines of the demonstration that this morning has: a form takes seconds, where typesetting is not optimised. The
/// suite prints the morning of all of them.
const MACHINES: [&str; 4] = ["h-01", "h-02", "h-07", "h-08"];

/// When the form was walked, some twenty minutes before it is typed in.
const WALKED: &str = "2026-11-24T07:40:00+00:00";

/// Writes as the screen for forms filled by hand does: with the time that stands on the paper.
fn typed(client: &Client, kind: &str, payload: &Value) -> String {
    let path = format!("/api/v1/commands?at={}", WALKED.replace('+', "%2B"));
    let body = json!({ "do": "write", "kind": kind, "payload": payload });
    let (status, answer) = client.ask("POST", &path, Some(&body));
    assert_eq!(status, 201, "{kind}: {answer}");
    answer["events"][0].as_str().unwrap().to_string()
}

/// A form of two rows: the front tyre's pressure, and what was seen of it.
fn form(client: &Client, machine: &str, pressure: &str, damage: &str) {
    let opened = json!({ "machine": machine, "depth": "before-ride",
        "found": { "heat": "cold", "power": "off", "stance": "side-stand" }, "no_hold_tag": true, "key_on_hook": true,
        "odometer": "12480 km", "air": "12 °C", "barometer": null, "ridden": null,
        "planned": { "use": "range", "back": "2026-11-24T12:00:00+00:00", "distance": null }, "comma": false });
    let walk_round = typed(client, "walk-round-opened", &opened);
    let note = "walked by M. Okafor, on paper";
    let read = json!({ "machine": machine, "walk_round": walk_round, "check": "tyre.front.pressure", "read": pressure,
        "with": "G-2", "tyre": null, "air": null, "odometer": null, "why": null, "note": note, "corrects": null });
    typed(client, "reading-taken", &read);
    let saw = json!({ "machine": machine, "walk_round": walk_round, "check": "tyre.front.damage", "saw": damage,
        "class": null, "why": null, "note": note, "corrects": null });
    typed(client, "observation-made", &saw);
    typed(client, "walk-round-closed", &json!({ "machine": machine, "walk_round": walk_round }));
}

/// Verdicts of what was typed in, for the range: pressure, damage.
fn verdicts(client: &Client, machine: &str) -> [Value; 2] {
    let view = client.get(&format!("/api/v1/machines/{machine}"));
    let uses = view["judgement"]["uses"].as_array().unwrap();
    let range = uses.iter().find(|of| of["use"] == "range").unwrap();
    let outcomes = range["outcomes"].as_array().unwrap();
    ["tyre.front.pressure", "tyre.front.damage"]
        .map(|check| outcomes.iter().find(|of| of["check"] == check).unwrap()["verdict"].clone())
}

#[test]
fn a_morning_on_paper() {
    let here = |name: &str| MACHINES.iter().any(|machine| name == format!("machines/{machine}.toml"));
    let files = demo_files().into_iter().filter(|(name, _)| !name.starts_with("machines/") || here(name));
    let Place { opened, _folder: folder } = Place::of(&files.collect::<Vec<_>>());
    let machines = opened.keeper.known().yard.machines.len();
    // One program at a time opens a record.
    drop(opened);
    let path = folder.path();

    // One command prints it all: the yard sheet, and a form a machine; nothing is on hold yet.
    let printed = muster(path, &["paper", "yard", "--out", "morning.pdf", "--on", "2026-11-24T07:00:00+00:00"]);
    assert!(printed.status.success(), "{}", said(&printed));
    let pages: usize =
        said(&printed).split(" pages").next().and_then(|text| text.rsplit(' ').next()?.parse().ok()).unwrap();
    assert!(pages > machines, "{}", said(&printed));
    let numbered = muster(path, &["paper", "tag", "--number", "87", "--count", "2", "--out", "tags.pdf"]);
    assert!(numbered.status.success(), "{}", said(&numbered));

    let morning = fs::read(path.join("morning.pdf")).unwrap();
    let place = Place { opened: Opened::existing(path).unwrap(), _folder: folder };
    let client = place.client("p-owner");

    // Two forms are typed in and judged: inside the sheet's 165 to 195 kPa, and a tyre that is damaged.
    form(&client, "H-02", "25.7 psi", "sound");
    form(&client, "H-07", "25.7 psi", "defective");
    assert_eq!(verdicts(&client, "H-02"), [json!("fit"), json!("fit")]);
    assert_eq!(verdicts(&client, "H-07"), [json!("fit"), json!("hold")]);
    let view = client.get("/api/v1/machines/H-07");
    assert_eq!(view["walk_rounds"][0]["opened"], WALKED, "as of when it was walked");

    // Tag 87 hangs on what is on hold, keeps it in, and is lifted by its number alone.
    let tag = json!({ "do": "tag", "machine": "H-07", "why": "front tyre cut", "number": "0087" });
    client.does(&tag);
    let known = client.get("/api/v1/tags/87");
    assert_eq!(known["hangs"]["machine"], "H-07");
    let release = json!({ "do": "release", "machine": "H-07", "outing": "Class B", "uses": ["range"],
        "from": "2026-11-24T08:00:00+00:00", "to": "2026-11-24T12:00:00+00:00", "reason": null });
    assert!(client.refused(&release).0 >= 400);
    let untag =
        json!({ "do": "untag", "machine": "H-07", "lifts": [known["hangs"]["event"]], "reason": "new tyre mounted" });
    client.does(&untag);
    let lifted = client.get("/api/v1/tags/0087");
    assert_eq!((&lifted["hangs"], lifted["lifted"].as_array().unwrap().len()), (&Value::Null, 1));

    // The morning's file is known again; changed by a byte it is not, nor as it is saved anew.
    assert_eq!(verdict(&client, &morning)["genuine"], true);
    let mut flipped = morning.clone();
    flipped[morning.len() / 3] ^= 1;
    assert_eq!(verdict(&client, &flipped)["genuine"], false);
    // An editor appends what it changes (ISO 32000-1, 7.5.6): here nothing but a comment.
    let saved = [&morning[..], b"% saved again\n%%EOF\n"].concat();
    assert_eq!(verdict(&client, &saved)["genuine"], false);

    // So says the command.
    let folder = place._folder;
    drop(client);
    drop(place.opened);
    fs::write(folder.path().join("flipped.pdf"), flipped).unwrap();
    fs::write(folder.path().join("saved.pdf"), saved).unwrap();
    for (file, code, words) in
        [("morning.pdf", 0, "genuine"), ("flipped.pdf", 1, "not known"), ("saved.pdf", 1, "not known")]
    {
        let known = muster(folder.path(), &["verify", file]);
        assert_eq!(known.status.code(), Some(code), "{file}: {}", said(&known));
        assert!(said(&known).contains(words), "{file}: {}", said(&known));
    }
}
