//! Every text each of eight kinds of machine is shown, in every walk-round there is: no word of a part it does not have, and
//! what can hurt someone on it.

use muster_core::{
    check::{Check, Yields},
    equipment::Equipment,
    judge::{Context, asked},
    state::{Found, Heat, Power, Stance, State, Station},
    walk_round::Ask,
    words::{Depth, Use},
};

use super::{
    demo::yard_of,
    kinds::{KINDS, walked},
};

/// What a kind lacks: a key of its equipment, values none of which it has, and words that then must not occur in anything it
/// is shown. Common practice, by how such machines are built.
const LACKS: [(&str, &[&str], &[&str]); 17] = [
    (
        "engine",
        &["liquid-cooled", "air-cooled"],
        &[
            "engine",
            "exhaust",
            "fuel",
            "petrol",
            "carburet",
            "choke",
            "clutch",
            "starter",
            "crank",
            " gear",
            "neutral",
            "idl",
            "coolant",
            "radiator",
            "silencer",
            "oil level",
            "spark plug",
        ],
    ),
    (
        "engine",
        &["electric"],
        &[
            "electric",
            "high voltage",
            "high-voltage",
            "orange",
            "drive battery",
            "charging port",
            "ready lamp",
            "no sound",
        ],
    ),
    ("engine", &["liquid-cooled"], &["coolant", "radiator"]),
    ("fuel", &["carburetted"], &["carburet", "choke", "float bowl"]),
    ("stroke", &["two"], &["two-stroke", "premix"]),
    ("final_drive", &["chain"], &["chain", "sprocket"]),
    ("final_drive", &["belt"], &["pulley", "drive belt", "the belt", "and belt"]),
    ("final_drive", &["shaft"], &["shaft"]),
    ("sidecar", &["left", "right", "yes"], &["sidecar", "outfit"]),
    ("wheels", &["spoked"], &["spoke"]),
    ("tyres", &["tubed"], &["the tube along"]),
    ("fork", &["telescopic"], &["stanchion", "yokes and legs", "both tubes"]),
    ("battery", &["flooded", "agm", "lithium-iron"], &["a battery", "posts"]),
    ("battery", &["lithium-iron"], &["lithium"]),
    ("clutch", &["cable", "hydraulic"], &["clutch", "gear out", "first gear"]),
    ("stands", &["side"], &["side stand", "side-stand"]),
    ("stands", &["centre"], &["centre stand"]),
];

/// Words that say themselves that a part may be missing, where that is shorter than a text for each kind.
const SAID_AS_IT_MAY_BE: [(&str, &str); 1] = [("start.cut-out", "any side stand")];

/// Calls with each kind's context and every check that any walk-round asks of it.
fn each(mut of: impl FnMut(&Context<'_>, &Check, &str)) {
    for kind in &KINDS {
        let (catalogue, yard) = yard_of(kind.yard);
        let on = yard.on.unwrap_or_else(|| panic!("a demonstration has its day"));
        let context = Context::of(&catalogue, &yard, kind.machine, on);
        let context = context.unwrap_or_else(|| panic!("{} is there", kind.machine));
        // What is asked in full is all that is ever asked.
        for check in asked(&context, &[], Depth::Full, Use::Road) {
            of(&context, check, &told(&context, check));
        }
    }
}

/// Calls with each kind's context and its full walk-round.
fn each_walked(mut of: impl FnMut(&Context<'_>, &[Ask<'_>])) {
    for kind in &KINDS {
        let (catalogue, yard) = yard_of(kind.yard);
        let on = yard.on.unwrap_or_else(|| panic!("a demonstration has its day"));
        let context = Context::of(&catalogue, &yard, kind.machine, on);
        let context = context.unwrap_or_else(|| panic!("{} is there", kind.machine));
        of(&context, &walked(&context));
    }
}

/// Everything a person reads at a check of this machine.
fn told(context: &Context<'_>, check: &Check) -> String {
    let caution = context.caution(check);
    let mut texts: Vec<&str> = vec![&check.name];
    texts.extend(context.method(check).iter().chain(&caution).chain(&check.practice).map(String::as_str));
    match &check.yields {
        Yields::Look(look) => texts.extend([&*look.sound, &look.doubtful, &look.defective]),
        Yields::Read(measure) => texts.extend(measure.settable.iter().map(|settable| &*settable.why)),
        Yields::Date(_) => {}
    }
    format!(" {}", texts.join(" ").to_lowercase())
}

fn has(context: &Context<'_>, key: &str, values: &[&str]) -> bool {
    let has = context.machine.traits.equipment.get(key).unwrap_or_default();
    has.iter().any(|value| values.contains(&&**value))
}

#[test]
fn no_kind_is_told_of_a_part_it_does_not_have() {
    let mut wrong = Vec::new();
    each(|context, check, told| {
        let may_be = SAID_AS_IT_MAY_BE.iter().filter(|(id, _)| *id == check.id);
        let told = may_be.fold(told.to_owned(), |told, (_, words)| told.replace(words, ""));
        for (key, values, words) in LACKS.iter().filter(|(key, values, _)| !has(context, key, values)) {
            for word in words.iter().filter(|word| told.contains(**word)) {
                wrong.push(format!(
                    "{}, {}: `{word}`, and its {key} is none of {values:?}",
                    context.machine.id, check.id
                ));
            }
        }
        let brakes = |value| has(context, "front_brake", &[value]) || has(context, "rear_brake", &[value]);
        let lines = has(context, "front_line", &["hydraulic"]) || has(context, "rear_line", &["hydraulic"]);
        let lacks: [(bool, &[&str]); 3] = [
            (!brakes("disc"), &[" disc", " pad", "calliper"]),
            (!brakes("drum"), &["drum", " shoes"]),
            (!lines, &["reservoir", "calliper", "brake hose"]),
        ];
        for (_, words) in lacks.iter().filter(|(lacks, _)| *lacks) {
            let said = words.iter().filter(|word| told.contains(**word));
            wrong.extend(said.map(|word| format!("{}, {}: `{word}`", context.machine.id, check.id)));
        }
    });
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn an_electric_machine_has_no_engine_to_start_and_is_switched_on_with_the_hand_off_the_throttle() {
    each_walked(|context, asks| {
        let changes: Vec<&str> = asks.iter().flat_map(|ask| &ask.changes).map(String::as_str).collect();
        let live: Vec<_> = changes.iter().filter(|act| act.contains("key on") || act.contains("ready")).collect();
        assert!(!live.is_empty(), "{}", context.machine.id);
        if context.machine.traits.equipment.is_electric() {
            assert!(changes.iter().all(|act| !act.contains("engine")), "{changes:?}");
            assert!(live.iter().all(|act| act.contains("hand off the throttle")), "{changes:?}");
        }
    });
}

#[test]
fn nobody_who_sits_on_it_is_sent_round_it_and_nobody_who_holds_it_looks_beneath() {
    each_walked(|context, asks| {
        let has_sidecar = context.machine.traits.equipment.has_sidecar();
        for ask in asks.iter().filter(|ask| !has_sidecar && ask.check.id != "lamp.aim") {
            let round = matches!(ask.station, Station::FrontWheel | Station::RearWheel | Station::Under);
            let seated = ask.state.stance == Stance::Seated && round;
            let at_the_far_end = matches!(ask.station, Station::FrontWheel | Station::Under);
            let held = ask.state.stance == Stance::Upright && at_the_far_end;
            assert!(!seated && !held, "{}: {} {}", context.machine.id, ask.check.id, ask.state);
        }
    });
}

#[test]
fn an_electric_machine_is_never_live_or_touched_without_a_word() {
    let cautions: [(&str, &[&str]); 14] = [
        ("keys", &["hand off the throttle", "without a sound"]),
        ("throttle.return", &["key off and out", "without a sound"]),
        ("controls.stop-switch", &["hand off the throttle", "no sound"]),
        ("stand.cut-out", &["hand off the throttle", "no sound"]),
        ("traction.warning", &["hand off the throttle", "high voltage kills", "call for help"]),
        ("traction.charge", &["hand off the throttle"]),
        ("traction.cables", &["do not touch", "orange"]),
        ("traction.port", &["dry hands"]),
        ("battery.mounting", &["orange", "never touched", "tool"]),
        ("battery.draw", &["orange", "never touched"]),
        ("wiring", &["orange", "motor may be hot"]),
        ("engine.mounts", &["motor burns", "orange"]),
        ("fasteners", &["motor and brakes may be hot", "orange"]),
        ("leaks", &["stay away", "outdoors", "orange"]),
    ];
    let mut met = 0;
    each(|context, check, _| {
        if !context.machine.traits.equipment.is_electric() {
            return;
        }
        let caution = check.caution.clone().unwrap_or_default().to_lowercase();
        for (_, words) in cautions.iter().filter(|(id, _)| *id == check.id) {
            assert!(words.iter().all(|word| caution.contains(word)), "{}: {caution}", check.id);
            met += 1;
        }
    });
    assert_eq!(met, cautions.len());
}

#[test]
fn what_runs_indoors_kills_and_what_creeps_or_rolls_is_held() {
    each(|context, check, _| {
        let (id, equipment) = (&check.id, &context.machine.traits.equipment);
        let caution = check.caution.clone().unwrap_or_default().to_lowercase();
        let runs = !context.needs(check).allows(off(context));
        let started = ["controls.stop-switch", "stand.cut-out", "throttle.cables", "clutch.action", "lamp.warning"];
        if started.contains(&&**id) && !equipment.is_electric() {
            assert!(runs && caution.contains("exhaust gas kills"), "{}, {id}: {caution}", context.machine.id);
            let held = ["gear out", "brake held", "a foot down"].iter().any(|word| caution.contains(word));
            assert!(held, "{}, {id}: {caution}", context.machine.id);
        }
        if equipment.has_sidecar() && ["tyre.front.damage", "brake.rear.action", "guard.front"].contains(&&**id) {
            assert!(caution.contains("two roll it") && !caution.contains("upright"), "{id}: {caution}");
        }
    });
}

/// Switched off, cold, as the machine stands by itself.
fn off(context: &Context<'_>) -> State {
    Found::default().on(&context.machine.traits.equipment)
}

#[test]
fn without_a_battery_lamps_and_horn_are_tried_with_the_engine_running() {
    let mut met = 0;
    each(|context, check, _| {
        if has(context, "battery", &["none"])
            && ["lamp.", "horn", "speedometer"].iter().any(|of| check.id.starts_with(of))
        {
            let on = |stance| context.needs(check).allows(State { heat: Heat::Cold, power: Power::On, stance });
            assert!(!Stance::ALL.iter().any(|stance| on(*stance)), "{} shows nothing with the key on", check.id);
            met += 1;
        }
    });
    assert!(met >= 7, "{met}");
}

#[test]
fn the_first_row_that_holds_counts_and_what_is_not_stated_leaves_a_check_as_it_is() {
    let (catalogue, yard) = yard_of("north-barn");
    let check = catalogue.check("controls.stop-switch").unwrap_or_else(|| panic!("it is there"));
    let equipment = |pairs: &[(&str, &str)]| {
        let mut equipment = yard.machines["N-03"].traits.equipment.clone();
        for (key, value) in pairs {
            equipment.set(key, vec![(*value).to_owned()]);
        }
        equipment
    };
    let said = |pairs: &[(&str, &str)]| check.on(&equipment(pairs)).caution.clone().unwrap_or_default();
    assert!(said(&[]).contains("gear out"));
    assert!(said(&[("clutch", "automatic")]).contains("it may creep"));
    assert!(said(&[("engine", "electric"), ("clutch", "automatic")]).contains("no sound"), "the first counts");
    let nothing = Equipment::default();
    assert_eq!(check.on(&nothing), check, "what is not stated");
}
