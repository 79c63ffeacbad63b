//! The demonstration yard put in as events is the same yard, and judges to the same bytes as its files.

use muster_core::{
    judge::{Context, judge},
    record::{judged::judgement, payload::Kind},
    yard::Yard,
};

use super::{
    forms,
    kit::{CATALOGUE, Device, NOW, folder, moment, texts},
};

fn yard_of_the_files() -> Yard {
    let text = |name: &str| std::fs::read_to_string(folder().join(name)).unwrap();
    let mut files: Vec<(String, String)> = ["yard.toml", "house.toml"].map(|name| (name.into(), text(name))).into();
    for kind in ["sheets", "machines"] {
        files.extend(texts(kind).into_iter().map(|(name, text)| (format!("{kind}/{name}.toml"), text)));
    }
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let (yard, problems) = Yard::load(&files, &CATALOGUE);
    assert!(problems.is_empty(), "{problems:#?}");
    yard
}

#[test]
fn a_yard_put_in_as_events_is_the_yard_of_its_files() {
    let state = Device::of_the_yard(1).yard();
    assert_eq!(state.flags, []);
    let (yard, problems) = state.yard(&CATALOGUE);
    assert!(problems.is_empty(), "{problems:#?}");
    let files = yard_of_the_files();
    assert_eq!(files.machines.len(), 24);
    assert_eq!(Yard { hash: String::new(), ..yard }, Yard { hash: String::new(), ..files });
}

#[test]
fn forms_written_as_events_judge_to_the_bytes_of_the_files() {
    let mut device = Device::of_the_yard(1);
    let (yard, _) = device.yard().yard(&CATALOGUE);
    let filled = forms::write_all(&mut device, &yard);
    assert_eq!(filled.len(), 45);
    for machine in yard.machines.keys() {
        let state = device.machine(machine);
        assert_eq!(state.flags, [], "{machine}");
        let context = Context::of(&CATALOGUE, &yard, machine, moment(NOW)).unwrap();
        let of_files: Vec<_> = filled.iter().map(|of| &of.form).filter(|form| form.machine == *machine).collect();
        assert!(!of_files.is_empty(), "{machine}");
        let events = judgement(&CATALOGUE, &yard, &state, moment(NOW), None).unwrap().to_json().unwrap();
        assert_eq!(events, judge(&context, &of_files).to_json().unwrap(), "{machine}");
    }
    let kinds = |kind: Kind| device.events().filter(|event| event.payload.kind() == kind).count();
    let rows: usize = filled.iter().map(|of| of.form.answers.len()).sum();
    assert_eq!(kinds(Kind::ReadingTaken) + kinds(Kind::ObservationMade), rows);
    assert!(filled.iter().all(|of| !of.name.is_empty()) && rows > 1000, "{rows} rows");
}
