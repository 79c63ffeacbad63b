//! A full walk-round of each of eight kinds of machine: nothing that does not apply, nothing missing that does. The lists
//! are read by people (`tests/golden/kinds`); what must and must not be in them is said here, apart from the data.

use std::{collections::BTreeSet, fmt::Write};

use muster_core::{
    catalogue::Catalogue,
    judge::Context,
    state::{Heat, Power, Stance, State},
    walk_round,
    words::{Depth, Use},
    yard::Yard,
};

use super::demo::yard_of;
use crate::record::golden;

/// A kind: its folder, its machine, what it must be asked and what not. Common practice, by how such machines are built.
struct Kind {
    yard: &'static str,
    machine: &'static str,
    asks: &'static [&'static str],
    asks_not: &'static [&'static str],
}

const KINDS: [Kind; 8] = [
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
    let found = State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand };
    let walk = walk_round::plan(&context, &[], Depth::Full, Use::Road, found).unwrap_or_else(|error| panic!("{error}"));
    assert!(walk.deferred.is_empty(), "{machine}: {:?}", walk.deferred);
    let asks = walk.evening.iter().chain(&walk.steps);
    let line = |ask: &walk_round::Ask<'_>| {
        let mut line = format!("{} · {}", ask.check.station, ask.check.id);
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
