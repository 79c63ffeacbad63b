//! A file of a yard, each sort of file in turn: what has a fault is said, the rest can be judged.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    judge::{Context, judge},
    yard::Yard,
};

static CATALOGUE: LazyLock<Catalogue> = LazyLock::new(|| data::catalogue().expect("the catalogue has nothing wrong"));

const FILES: &[(&str, &str)] = &[
    ("yard.toml", include_str!("../../../../data/demo/harrow-lane/yard.toml")),
    ("house.toml", include_str!("../../../../data/demo/harrow-lane/house.toml")),
    ("sheets/corvane-pebble.toml", include_str!("../../../../data/demo/harrow-lane/sheets/corvane-pebble.toml")),
    ("machines/h-02.toml", include_str!("../../../../data/demo/harrow-lane/machines/h-02.toml")),
];

fuzz_target!(|input: (u8, &str)| {
    let mut files = FILES.to_vec();
    let at = usize::from(input.0) % files.len();
    files[at].1 = input.1;
    let (yard, problems) = Yard::load(&files, &CATALOGUE);
    for problem in &problems {
        assert!(!problem.file.is_empty() && !problem.what.is_empty());
    }
    let now = Moment::parse("2026-11-24T08:00:00Z").expect("a moment");
    for machine in yard.machines.keys() {
        if let Some(context) = Context::of(&CATALOGUE, &yard, machine, now) {
            judge(&context, &[]).to_json().expect("texts and finite numbers");
        }
    }
});
