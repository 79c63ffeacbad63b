//! What an answer is told to come to before it is written is what it comes to once it is.

use muster_core::{
    judge::Context,
    record::{
        payload::{Payload, ReadingTaken, Typed},
        provisional::{Tried, blank, outcomes},
    },
    words::{Seen, Use},
};

use super::super::domain::demo::yard_of;
use super::{
    kit::{CATALOGUE, Device, NOW, moment, person},
    story::{opened, read, saw},
};

const MACHINE: &str = "H-02";

/// Tries an answer, writes it, and compares its check's outcome for every use; returns how many uses asked for it.
fn same(device: &mut Device, answer: Payload, check: &str) -> usize {
    let known = device.known(MACHINE, NOW);
    let (state, by) = (known.machine.expect("the machine is there"), person("m-okafor"));
    let units = known.yard.units;
    let tried = Tried { catalogue: &CATALOGUE, yard: &known.yard, state: &state, by: &by, now: moment(NOW), units };
    let told = outcomes(tried, &answer).expect("the answer can be read");
    device.put("m-okafor", NOW, answer).expect("it may be written");
    let judged = device.known(MACHINE, NOW).judged.expect("the machine is judged");
    let of_check = |outcomes: Vec<muster_core::judge::Outcome>| outcomes.into_iter().find(|of| of.check == check);
    let written: Vec<_> = judged.uses.into_iter().filter_map(|of| of_check(of.outcomes)).collect();
    assert_eq!(told, written, "{check}");
    told.len()
}

#[test]
fn each_answer_comes_to_what_it_was_told_to() {
    let mut device = Device::of_the_yard(2);
    let walk_round = device.put("m-okafor", NOW, opened(MACHINE)).unwrap();
    let mut uses = 0;
    for figure in ["100 kPa", "170 kPa", "175 kPa", "190 kPa", "400 kPa"] {
        let front = "tyre.front.pressure";
        // Each figure is a repeat of those before it: the worst state a reading can be tried in.
        uses += same(&mut device, read(MACHINE, walk_round, front, figure, "G-2").into(), front);
    }
    for seen in [Seen::Sound, Seen::Doubtful, Seen::Defective] {
        uses += same(&mut device, saw(MACHINE, walk_round, "controls.levers", seen).into(), "controls.levers");
    }
    assert!(uses >= 8, "the range asks for both, {uses}");
}

#[test]
fn what_cannot_be_read_is_told_in_words_and_answers_nothing() {
    let device = Device::of_the_yard(2);
    let known = device.known(MACHINE, NOW);
    let (state, by) = (known.machine.unwrap(), person("m-okafor"));
    let units = known.yard.units;
    let tried = Tried { catalogue: &CATALOGUE, yard: &known.yard, state: &state, by: &by, now: moment(NOW), units };
    let nowhere = "0123456789abcdef.1".parse().unwrap();
    let answer = read(MACHINE, nowhere, "tyre.front.pressure", "175 kPa", "G-2");
    assert_eq!(outcomes(tried, &answer.clone().into()).unwrap_err(), "no such walk-round here");
    let mut device = device;
    let walk_round = device.put("m-okafor", NOW, opened(MACHINE)).unwrap();
    let state = device.known(MACHINE, NOW).machine.unwrap();
    let tried = Tried { state: &state, ..tried };
    for typed in ["175 mm", "soon", ""] {
        let answer = ReadingTaken { walk_round, read: Typed::One(typed.into()), ..answer.clone() };
        assert!(!outcomes(tried, &answer.into()).unwrap_err().is_empty(), "{typed}");
    }
}

#[test]
fn a_blank_shows_each_place_its_own_limits() {
    // North Barn's outfit stands on steel rims: the law allows more sideways than up and down, the sheet less than either.
    let (catalogue, mut yard) = yard_of("north-barn");
    let sheet = yard.sheets.get_mut("brackmoor-plover").expect("the outfit's sheet");
    sheet.limits.retain(|row| row.check != "wheel.front.run-out");
    let on = yard.on.expect("a demonstration has its day");
    let context = Context::of(&catalogue, &yard, "N-01", on).expect("the outfit");
    let check = catalogue.check("wheel.front.run-out").expect("it is there");
    let most = |context: &Context<'_>, place: Option<&str>| {
        blank(context, check, place, Use::Road).and_then(|of| of.figure?.at_most)
    };
    assert_eq!(most(&context, Some("sideways")), Some(2.0), "general practice binds everywhere");
    assert_eq!(most(&context, None), Some(2.0));
    let mut lawful = catalogue.clone();
    lawful.practice.retain(|row| row.check != check.id);
    let context = Context { catalogue: &lawful, ..context };
    assert_eq!(most(&context, Some("sideways")), Some(4.0));
    assert_eq!(most(&context, Some("up and down")), Some(3.0));
    assert_eq!(most(&context, None), Some(3.0), "where nothing binds everywhere the tightest stands");
}
