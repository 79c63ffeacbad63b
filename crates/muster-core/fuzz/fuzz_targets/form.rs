//! A filled form on a small yard: loaded or refused with a line, and what is loaded can be judged.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use muster_core::{
    catalogue::Catalogue,
    data,
    form::Form,
    judge::{Context, implausible, judge},
    walk_round,
    words::{Depth, Use},
    yard::Yard,
};

const FILES: &[(&str, &str)] = &[
    ("yard.toml", include_str!("../../../../data/demo/harrow-lane/yard.toml")),
    ("house.toml", include_str!("../../../../data/demo/harrow-lane/house.toml")),
    ("sheets/corvane-pebble.toml", include_str!("../../../../data/demo/harrow-lane/sheets/corvane-pebble.toml")),
    ("machines/h-02.toml", include_str!("../../../../data/demo/harrow-lane/machines/h-02.toml")),
];

static CATALOGUE: LazyLock<Catalogue> = LazyLock::new(|| data::catalogue().expect("the catalogue has nothing wrong"));
static YARD: LazyLock<Yard> = LazyLock::new(|| Yard::load(FILES, &CATALOGUE).0);

fuzz_target!(|text: &str| {
    let (form, problems) = Form::load("form.toml", text, &CATALOGUE, &YARD);
    assert!(form.is_some() || !problems.is_empty());
    let lines = text.lines().count().max(1) + 1;
    for problem in &problems {
        assert!(problem.file == "form.toml" && problem.line <= lines && !problem.what.is_empty(), "{problem}");
    }
    let Some(form) = form else { return };
    // As long after it was opened as it has bytes, in minutes: lives lapse at different times.
    let now = form.opened.later_by(60 * text.len() as i64);
    let context = Context::of(&CATALOGUE, &YARD, &form.machine, now).expect("a form names a machine of the yard");
    let judgement = judge(&context, &[&form]);
    assert_eq!(judgement.uses.len(), Use::ALL.len());
    judgement.to_json().expect("texts and finite numbers");
    let _ = implausible(&context, "form.toml", &form, &[]);
    walk_round::plan(&context, &[&form], Depth::BeforeRide, Use::Range, form.found).expect("a walk-round");
});
