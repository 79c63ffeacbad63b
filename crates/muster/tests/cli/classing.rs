//! `muster do class`: a finding's class, and which of the law pack's defects it is, afterwards.

use serde_json::{Value, json};

use super::{
    outing::{does, school},
    program::{Folder, fed},
    record::says,
};

/// Raises a finding at the head lamp of H-24, and says its name.
fn raised(record: &str, what: &str) -> String {
    let payload = json!({
        "machine": "H-24", "walk_round": null, "check": "lamp.head", "what": what, "class": "major", "defect": null,
        "uses": ["road"], "feedback": false,
    });
    let command = json!({ "do": "write", "kind": "finding-raised", "payload": payload }).to_string();
    let path = ["api", "--record", record, "--as", "p-instructor", "POST", "/api/v1/commands", "--body", "-"];
    let ran = fed(&path, None, command.as_bytes());
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    let said: Value = serde_json::from_str(&ran.out).expect("JSON");
    said["events"][0].as_str().expect("its name").to_string()
}

/// Class and defect of a finding as the record has them.
fn stands(record: &str, finding: &str) -> (Value, Value) {
    let view: Value = serde_json::from_str(&does(record, "p-owner", &["api", "GET", "/api/v1/machines/H-24"]).out)
        .expect("the machine as JSON");
    let all = view["findings"].as_array().expect("its findings");
    let one = all.iter().find(|one| one["id"] == finding).expect("the finding");
    (one["class"].clone(), one["defect"].clone())
}

#[test]
fn a_finding_is_classed_and_its_defect_named() {
    let folder = Folder::new();
    let record = school(&folder);
    let class = |who: &str, more: &[&str]| does(&record, who, &[&["do", "class", "H-24"], more].concat());
    says(&class("p-owner", &["minor", "--why", "looked"]), 2, &["no finding is open at H-24"]);
    let finding = raised(&record, "a chip in the lens");
    // To lower it, or to name the defect, needs the right; to raise it does not.
    let minor = ["minor", "--defect", "lens-slightly-faulty", "--why", "a chip at the rim"];
    says(&class("p-instructor", &minor), 2, &["right"]);
    says(&class("p-instructor", &["dangerous", "--why", "glass falls out"]), 0, &["the finding at H-24 is dangerous"]);
    assert_eq!(stands(&record, &finding), (json!("dangerous"), Value::Null));
    let strange = ["minor", "--defect", "chip", "--why", "a chip at the rim"];
    says(&class("p-owner", &strange), 2, &["lens-slightly-faulty"]);
    says(&class("p-owner", &minor), 0, &["the finding at H-24 is minor"]);
    assert_eq!(stands(&record, &finding), (json!("minor"), json!("lens-slightly-faulty")));
    says(&class("p-owner", &["grave", "--why", "x"]), 2, &["grave"]);
    // With several open it is named.
    let other = raised(&record, "loose in its shell");
    says(&class("p-owner", &["dangerous", "--why", "it falls"]), 2, &["--finding", &finding, &other]);
    says(&class("p-owner", &["dangerous", "--finding", &other, "--why", "it falls"]), 0, &["is dangerous"]);
    assert_eq!(stands(&record, &other).0, json!("dangerous"));
}
