//! A full walk-round of each of eight kinds of machine: nothing that does not apply, nothing missing that does. The lists
//! are read by people (`tests/golden/kinds`); what must and must not be in them is said here, apart from the data.

use std::{collections::BTreeSet, fmt::Write};

use muster_core::{
    catalogue::Catalogue,
    check::Yields,
    judge::Context,
    state::{Found, Station},
    walk_round,
    words::{Depth, Use},
    yard::Yard,
};

use super::demo::yard_of;
use crate::record::golden;

/// A kind: its folder, its machine, what it must be asked and what not. Common practice, by how such machines are built.
pub(super) struct Kind {
    pub(super) yard: &'static str,
    pub(super) machine: &'static str,
    asks: &'static [&'static str],
    asks_not: &'static [&'static str],
}

pub(super) const KINDS: [Kind; 8] = [
    // A water-cooled 125 on cast wheels, chain and two linked discs.
    Kind {
        yard: "harrow-lane",
        machine: "H-03",
        asks: &["chain.slack", "chain.sprockets", "coolant.level", "brake.linked", "brake.rear.disc", "clutch.cable"],
        asks_not: &[
            "wheel.front.spokes",
            "belt.condition",
            "shaft.boots",
            "fuel.carburettor",
            "lamp.abs",
            "traction.cables",
        ],
    },
    // An air-cooled 125 on spokes, with a carburettor and a rear drum by rod.
    Kind {
        yard: "harrow-lane",
        machine: "H-10",
        asks: &["wheel.front.spokes", "fuel.carburettor", "brake.rear.wear", "brake.rear.cable", "throttle.cables"],
        asks_not: &[
            "coolant.level",
            "coolant.hoses",
            "brake.rear.disc",
            "brake.rear.fluid",
            "two-stroke.oil",
            "clutch.fluid",
        ],
    },
    // A belt-driven cruiser without a centre stand.
    Kind {
        yard: "harrow-lane",
        machine: "H-15",
        asks: &["belt.deflection", "belt.condition", "chain.alignment", "passenger.holds", "exhaust"],
        asks_not: &["chain.slack", "chain.condition", "stand.centre", "coolant.level", "luggage", "gearbox.oil"],
    },
    // An electric one.
    Kind {
        yard: "harrow-lane",
        machine: "H-19",
        asks: &[
            "traction.warning",
            "traction.cables",
            "traction.port",
            "traction.charge",
            "belt.condition",
            "battery.rest",
        ],
        asks_not: &[
            "oil.level",
            "exhaust",
            "fuel.system",
            "clutch.action",
            "coolant.level",
            "battery.charging",
            "throttle.cables",
            "lamp.warning",
        ],
    },
    // A tourer with shaft drive, anti-lock brakes and cases.
    Kind {
        yard: "harrow-lane",
        machine: "H-24",
        asks: &[
            "shaft.boots",
            "shaft.oil",
            "lamp.abs",
            "abs.front",
            "luggage",
            "clutch.fluid",
            "stand.centre",
            "gearbox.oil",
        ],
        asks_not: &[
            "chain.slack",
            "belt.deflection",
            "clutch.cable",
            "chain.alignment",
            "throttle.cables",
            "brake.linked",
        ],
    },
    // An outfit.
    Kind {
        yard: "north-barn",
        machine: "N-01",
        asks: &[
            "tyre.sidecar.pressure",
            "tyre.sidecar.age",
            "sidecar.body",
            "sidecar.mounts",
            "sidecar.lamps",
            "brake.front.wear",
            "brake.front.cable",
            "gearbox.oil",
        ],
        asks_not: &[
            "brake.front.pads",
            "brake.front.fluid",
            "brake.hoses",
            "fork.stanchions",
            "lamp.abs",
            "coolant.level",
            "stand.side",
            "stand.cut-out",
        ],
    },
    // A two-stroke moped without a battery.
    Kind {
        yard: "north-barn",
        machine: "N-02",
        asks: &["two-stroke.oil", "gearbox.oil", "brake.front.wear", "brake.rear.wear", "chain.slack", "stand.centre"],
        asks_not: &[
            "oil.level",
            "battery.rest",
            "battery.mounting",
            "clutch.action",
            "stand.cut-out",
            "lamp.indicators",
            "passenger.holds",
        ],
    },
    // A long-travel single on spokes with anti-lock brakes and a lithium battery.
    Kind {
        yard: "north-barn",
        machine: "N-03",
        asks: &[
            "wheel.rear.spokes",
            "abs.rear",
            "chain.slack",
            "battery.charging",
            "clutch.fluid",
            "coolant.hoses",
            "luggage",
        ],
        asks_not: &[
            "battery.rest",
            "fuel.carburettor",
            "stand.centre",
            "brake.front.wear",
            "gearbox.oil",
            "tyre.sidecar.tread",
        ],
    },
];

fn full<'c>(catalogue: &'c Catalogue, yard: &'c Yard, machine: &str) -> (Context<'c>, Vec<String>) {
    let on = yard.on.unwrap_or_else(|| panic!("a demonstration has its day"));
    let context = Context::of(catalogue, yard, machine, on).unwrap_or_else(|| panic!("{machine} is there"));
    let found = Found::default().on(&context.machine.traits.equipment);
    let walk = walk_round::plan(&context, &[], Depth::Full, Use::Road, found).unwrap_or_else(|error| panic!("{error}"));
    assert!(walk.deferred.is_empty(), "{machine}: {:?}", walk.deferred);
    let asks = walk.evening.iter().chain(&walk.steps);
    let line = |ask: &walk_round::Ask<'_>| {
        let mut line = format!("{} · {}", ask.station, ask.check.id);
        for limit in &ask.limits {
            write!(line, "\n    {limit}").unwrap_or_default();
        }
        line
    };
    let lines = asks.map(line).collect();
    (context, lines)
}

#[test]
fn each_kind_is_asked_what_it_has_and_nothing_else() {
    for kind in &KINDS {
        let (catalogue, yard) = yard_of(kind.yard);
        let (context, lines) = full(&catalogue, &yard, kind.machine);
        let asked: BTreeSet<&str> = lines.iter().filter_map(|line| line.lines().next()?.split(" · ").nth(1)).collect();
        for id in kind.asks {
            assert!(asked.contains(id), "{} is not asked {id}", kind.machine);
        }
        for id in kind.asks_not {
            assert!(catalogue.check(id).is_some() && !asked.contains(id), "{} is asked {id}", kind.machine);
        }
        let model = context.machine.sheet.clone();
        golden::same(&format!("kinds/{model}.txt"), &(lines.join("\n") + "\n"));
    }
}

#[test]
fn each_kind_is_asked_the_same_in_every_pack_and_every_pack_binds_some() {
    let mut binding = BTreeSet::new();
    for kind in &KINDS {
        let (catalogue, mut yard) = yard_of(kind.yard);
        let ids = |lines: &[String]| -> Vec<String> {
            lines.iter().filter_map(|line| Some(line.lines().next()?.to_owned())).collect()
        };
        let at_home = ids(&full(&catalogue, &yard, kind.machine).1);
        for pack in catalogue.laws.keys() {
            yard.law = Some(pack.clone());
            let (_, lines) = full(&catalogue, &yard, kind.machine);
            if lines.iter().any(|line| line.contains("(law: ")) {
                binding.insert(pack.clone());
            }
            assert_eq!(ids(&lines), at_home, "{} under {pack}", kind.machine);
        }
    }
    let (catalogue, _) = yard_of("north-barn");
    let with_limits = catalogue.laws.iter().filter(|(_, law)| !law.limits.is_empty());
    assert_eq!(binding, with_limits.map(|(pack, _)| pack.clone()).collect());
}

/// What a full walk-round of a kind asks, check by check.
pub(super) fn walked<'c>(context: &Context<'c>) -> Vec<walk_round::Ask<'c>> {
    let found = Found::default().on(&context.machine.traits.equipment);
    let walk = walk_round::plan(context, &[], Depth::Full, Use::Road, found).unwrap_or_else(|error| panic!("{error}"));
    walk.evening.into_iter().chain(walk.steps).collect()
}

/// Calls with each kind's context and its walk-round.
fn each(mut of: impl FnMut(&Context<'_>, &[walk_round::Ask<'_>])) {
    for kind in &KINDS {
        let (catalogue, yard) = yard_of(kind.yard);
        let on = yard.on.unwrap_or_else(|| panic!("a demonstration has its day"));
        let context = Context::of(&catalogue, &yard, kind.machine, on).unwrap_or_else(|| panic!("{}", kind.machine));
        of(&context, &walked(&context));
    }
}

#[test]
fn a_figure_that_is_asked_for_has_a_limit_or_says_nothing() {
    each(|context, asks| {
        for ask in asks.iter().filter(|ask| matches!(ask.check.yields, Yields::Read(_))) {
            assert!(!ask.limits.is_empty(), "{}: {} is read against nothing", context.machine.id, ask.check.id);
        }
    });
}

#[test]
fn what_turns_or_is_sharp_or_heavy_has_its_caution() {
    let (catalogue, _) = yard_of("north-barn");
    let caution = |id: &str| {
        let check = catalogue.check(id).unwrap_or_else(|| panic!("no check {id}"));
        check.caution.clone().unwrap_or_default().to_lowercase()
    };
    for id in ["abs.front", "abs.rear", "guard.front", "guard.rear", "chain.alignment", "wheel.front", "wheel.rear"] {
        assert!(caution(id).contains("fingers"), "{id}");
    }
    for id in ["controls.levers", "clutch.cable", "brake.front.cable", "brake.rear.cable"] {
        assert!(caution(id).contains("stab"), "{id}");
    }
    for id in ["tyre.front.damage", "tyre.rear.damage", "guard.front"] {
        assert!(caution(id).contains("hold it upright"), "{id}");
    }
    for id in ["tyre.front.valve", "tyre.rear.valve", "wheel.front.axle", "wheel.rear.axle", "two-stroke.oil"] {
        assert!(caution(id).contains("hot"), "{id}");
    }
    for (id, word) in [
        ("keys", "fingers"),
        ("passenger.holds", "fingers"),
        ("sidecar.mounts", "do not lift"),
        ("tyre.sidecar.damage", "two roll it"),
        ("plate", "behind you"),
        ("controls.bars", "topple"),
        ("stand.centre", "straight back"),
        ("luggage", "straight back"),
    ] {
        assert!(caution(id).contains(word), "{id}");
    }
    for id in ["controls.stop-switch", "stand.cut-out", "throttle.cables", "clutch.action", "fuel.carburettor"] {
        assert!(caution(id).contains("in the open") || caution(id).contains("indoors"), "{id}");
    }
}

#[test]
fn a_machine_without_springs_at_the_rear_has_no_swing_arm_and_one_that_needs_no_inspection_has_no_paper() {
    let (catalogue, mut yard) = yard_of("north-barn");
    for (key, value) in [("shocks", "none"), ("inspection", "no")] {
        let machine = yard.machines.get_mut("N-03").unwrap_or_else(|| panic!("N-03 is there"));
        machine.traits.equipment.set(key, [value.to_owned()].into());
    }
    let on = yard.on.unwrap_or_else(|| panic!("a demonstration has its day"));
    let context = Context::of(&catalogue, &yard, "N-03", on).unwrap_or_else(|| panic!("N-03 is there"));
    let asked: BTreeSet<&str> = walked(&context).iter().map(|ask| ask.check.id.as_str()).collect();
    for id in ["swing-arm", "shock.action", "shock.mounts", "papers.inspection"] {
        assert!(!asked.contains(id), "{id} is asked");
    }
}

#[test]
fn the_gear_lever_is_met_on_the_side_where_it_is() {
    let (catalogue, _) = yard_of("north-barn");
    let lever = catalogue.check("controls.gear-lever").unwrap_or_else(|| panic!("it is there"));
    assert_eq!(lever.station, Station::LeftSide);
    let (_, yard) = yard_of("harrow-lane");
    for sheet in yard.sheets.values() {
        for procedure in sheet.procedures.iter().filter(|of| of.check == "oil.level" || of.check == "gearbox.oil") {
            let words = procedure.method.join(" ");
            assert!(!words.contains("on the left"), "{}: {words}", sheet.id);
        }
    }
}

#[test]
fn a_rule_for_every_tyre_binds_a_sidecars() {
    let (catalogue, _) = yard_of("north-barn");
    for pack in ["GB", "DE"] {
        let law = &catalogue.laws[pack];
        assert!(law.limits.iter().any(|row| row.check == "tyre.sidecar.tread"), "{pack}");
    }
}
