//! Each of eight kinds of machine under each law pack, as a mechanic reads it: what a pack says of a part is asked only of
//! machines that have it, in the pack's own figures, with its clause, and weak where it is weak.

use std::collections::BTreeSet;

use muster_core::{
    check::{Check, Yields},
    judge::{Context, asked},
    state::{Found, Stance, Station},
    walk_round,
    words::{Depth, Known, Layer, Use},
    yard::{Units, Yard},
};

use super::{
    demo::yard_of,
    kinds::{KINDS, walked},
};

/// Calls with each kind under each pack: its context and what a full walk-round asks, in the units the pack's land
/// measures in.
fn each_in_each(mut of: impl FnMut(&str, &Context<'_>, &[&Check])) {
    for name in ["harrow-lane", "north-barn"] {
        let (catalogue, yard) = yard_of(name);
        let on = yard.on.unwrap_or_else(|| panic!("a demonstration has its day"));
        for pack in catalogue.laws.keys() {
            let units = if pack.starts_with("US-") { Units::Us } else { Units::Si };
            let yard = Yard { law: Some(pack.clone()), units, ..yard.clone() };
            for kind in KINDS.iter().filter(|kind| kind.yard == name) {
                let context = Context::of(&catalogue, &yard, kind.machine, on);
                let context = context.unwrap_or_else(|| panic!("{} is there", kind.machine));
                of(pack, &context, &asked(&context, &[], Depth::Full, Use::Road));
            }
        }
    }
}

fn has(context: &Context<'_>, key: &str, value: &str) -> bool {
    context.machine.traits.equipment.get(key).is_some_and(|has| has.iter().any(|of| of == value))
}

/// What the pack says may be wrong at a check of this machine.
fn told(context: &Context<'_>, check: &Check) -> Vec<String> {
    context.defects(check).iter().map(|row| format!("{}: {}", row.key, row.when.to_lowercase())).collect()
}

#[test]
fn no_pack_offers_a_defect_of_a_part_that_the_machine_lacks() {
    each_in_each(|pack, context, asks| {
        let (disc, drum) = (
            has(context, "front_brake", "disc") || has(context, "rear_brake", "disc"),
            has(context, "front_brake", "drum") || has(context, "rear_brake", "drum"),
        );
        let cable = ["front_line", "rear_line"].iter().any(|line| !has(context, line, "hydraulic"));
        let lacks: [(bool, &[&str]); 9] = [
            (
                has(context, "engine", "electric"),
                &["fuel", "petrol", "silencer", "exhaust", "oil level", "engine stop"],
            ),
            (!disc, &[" disc ", "pad ", "pads "]),
            (!drum, &["drum"]),
            (!cable, &["cable"]),
            (!has(context, "final_drive", "chain"), &["chain", "sprocket"]),
            (!has(context, "final_drive", "belt"), &["a belt much"]),
            (!has(context, "wheels", "spoked"), &["spoke missing", "spoke loose"]),
            (!context.machine.traits.equipment.has_sidecar(), &["sidecar"]),
            (!has(context, "passenger_seat", "yes"), &["passenger"]),
        ];
        for ask in asks {
            for says in told(context, ask) {
                for (_, words) in lacks.iter().filter(|(lacking, _)| *lacking) {
                    let said = words.iter().find(|word| says.contains(**word));
                    assert!(said.is_none(), "{pack}, {} at {}: {says}", context.machine.id, ask.id);
                }
            }
        }
    });
}

#[test]
fn every_defect_has_its_name_its_clause_and_a_class_and_no_two_share_a_name() {
    let (catalogue, _) = yard_of("north-barn");
    for (pack, law) in &catalogue.laws {
        let keys: BTreeSet<&str> = law.classes.iter().map(|row| row.key.as_str()).collect();
        assert_eq!(keys.len(), law.classes.len(), "{pack} names two defects alike");
        for row in &law.classes {
            assert!(!row.key.is_empty() && row.provenance.place.is_some(), "{pack}: {}", row.key);
            assert!(row.when.len() > 5 && !row.when.ends_with('.'), "{pack}: {}", row.when);
            let known = row.checks.iter().all(|check| catalogue.check(check).is_some());
            assert!(known, "{pack}: {}", row.key);
        }
        assert!(law.limits.iter().all(|row| row.provenance.place.is_some()), "{pack}: a limit without its clause");
    }
}

#[test]
fn a_check_s_words_and_its_law_agree_on_whose_footrests_are_meant() {
    let (catalogue, _) = yard_of("north-barn");
    for (pack, law) in &catalogue.laws {
        for row in law.classes.iter().filter(|row| row.checks.iter().any(|check| check == "footrests")) {
            assert!(!row.when.contains("passenger"), "{pack}: {}: the check is the rider's", row.key);
        }
    }
}

#[test]
fn every_limit_says_its_unit_and_source_once_and_says_that_it_is_weak() {
    each_in_each(|pack, context, asks| {
        for ask in asks {
            let Yields::Read(measure) = &ask.yields else { continue };
            let counting = context.limits(ask, Use::Road);
            let lines = walk_round::limits(context, measure, &counting);
            assert_eq!(lines.iter().collect::<BTreeSet<_>>().len(), lines.len(), "{pack}, {}: {lines:?}", ask.id);
            let unit = context.shown(measure).unit.symbol();
            for line in &lines {
                assert!(line.contains(unit), "{pack}, {}: no {unit} in {line}", ask.id);
            }
            for row in counting.bounds.iter().filter(|row| row.layer == Layer::Law) {
                let said = lines.iter().any(|line| line.contains(&row.provenance.to_string()));
                assert!(said, "{pack}, {}: {lines:?}", ask.id);
                let weak = match row.provenance.known {
                    Known::Memory => "(from memory)",
                    Known::Secondary => "(read in a copy)",
                    _ => "",
                };
                assert!(row.provenance.to_string().contains(weak), "{pack}: {}", row.provenance);
            }
        }
    });
}

/// What a pack's own law asks of the front tread of a machine, as a walk-round says it; none: nothing.
///
/// Sources: GB reg 27(1)(g)(i), 27(4)(c); DE StVZO § 36(3) sentences 4 and 5; US-VA 19VAC30-70-400(5); US-MD COMAR
/// 11.14.03.05 A(1), for tyres without wear bars; AU-SA rider's handbook; NZ tyres and wheels rule 2001, 2.3. Of US-NC,
/// US-NY and US-UT no text for motorcycles was read.
const TREADS: [(&str, &str, Option<&str>); 20] = [
    ("GB", "H-03", Some("at least 1.0\u{a0}mm")),
    ("GB", "H-19", Some("at least 1.0\u{a0}mm")),
    ("GB", "N-01", Some("at least 1.0\u{a0}mm")),
    ("GB", "N-02", None),
    ("DE", "H-03", Some("at least 1.0\u{a0}mm")),
    ("DE", "H-15", Some("at least 1.6\u{a0}mm")),
    ("DE", "H-19", Some("at least 1.0\u{a0}mm")),
    ("DE", "H-24", Some("at least 1.6\u{a0}mm")),
    ("DE", "N-02", Some("at least 1.0\u{a0}mm")),
    ("US-VA", "H-03", Some("at least 2/32\u{a0}in")),
    ("US-VA", "N-02", Some("at least 2/32\u{a0}in")),
    ("US-MD", "H-03", None),
    ("US-MD", "N-02", Some("at least 1/32\u{a0}in")),
    ("US-NC", "H-03", None),
    ("US-NY", "H-24", None),
    ("US-UT", "H-24", None),
    ("AU-SA", "H-03", Some("at least 1.5\u{a0}mm")),
    ("AU-SA", "N-03", Some("at least 1.5\u{a0}mm")),
    ("NZ", "H-10", Some("at least 1.5\u{a0}mm")),
    ("NZ", "H-24", Some("at least 1.5\u{a0}mm")),
];

#[test]
fn the_tread_a_pack_asks_is_what_its_law_prints() {
    let mut met = 0;
    each_in_each(|pack, context, asks| {
        let tread = asks.iter().find(|ask| ask.id == "tyre.front.tread");
        let tread = tread.unwrap_or_else(|| panic!("{} is asked its tread", context.machine.id));
        let Yields::Read(measure) = &tread.yields else { panic!("a tread is read") };
        let lines = walk_round::limits(context, measure, &context.limits(tread, Use::Road));
        let law = lines.iter().filter(|line| line.contains("(law: "));
        let law: Vec<&str> = law.filter_map(|line| line.split(" (").next()).collect();
        for (_, _, asks) in TREADS.iter().filter(|(of, machine, _)| (*of, *machine) == (pack, &*context.machine.id)) {
            assert_eq!(law.last().copied(), *asks, "{pack}, {}: {law:?}", context.machine.id);
            met += 1;
        }
    });
    assert_eq!(met, TREADS.len());
}

#[test]
fn an_electric_machine_is_told_that_it_has_no_displacement_and_not_that_somebody_forgot_it() {
    each_in_each(|pack, context, asks| {
        if !has(context, "engine", "electric") {
            return;
        }
        for ask in asks {
            let notes = context.limits(ask, Use::Road).notes.join("\n");
            assert!(!notes.contains("displacement not stated"), "{pack}, {}: {notes}", ask.id);
        }
    });
}

#[test]
fn a_machine_is_found_on_what_it_stands_on() {
    for (machine, stance) in [("H-03", Stance::SideStand), ("N-01", Stance::Upright), ("N-02", Stance::RearRaised)] {
        let kind = KINDS.iter().find(|kind| kind.machine == machine).unwrap_or_else(|| panic!("{machine} is a kind"));
        let (catalogue, yard) = yard_of(kind.yard);
        let on = yard.on.unwrap_or_else(|| panic!("a demonstration has its day"));
        let context = Context::of(&catalogue, &yard, machine, on).unwrap_or_else(|| panic!("{machine} is there"));
        assert_eq!(Found::default().on(&context.machine.traits.equipment).stance, stance, "{machine}");
        let on_side_stand = walked(&context).iter().any(|ask| ask.state.stance == Stance::SideStand);
        assert_eq!(on_side_stand, stance == Stance::SideStand, "{machine}");
    }
}

#[test]
fn a_sidecar_is_met_on_its_own_side_and_a_law_s_side_binds_it() {
    for (side, station) in [("left", Station::LeftSide), ("right", Station::RightSide), ("yes", Station::RightSide)] {
        let (catalogue, mut yard) = yard_of("north-barn");
        let machine = yard.machines.get_mut("N-01").unwrap_or_else(|| panic!("N-01 is there"));
        machine.traits.equipment.set("sidecar", vec![side.to_owned()]);
        let on = yard.on.unwrap_or_else(|| panic!("a demonstration has its day"));
        let context = Context::of(&catalogue, &yard, "N-01", on).unwrap_or_else(|| panic!("N-01 is there"));
        let asks = walked(&context);
        let own: Vec<_> = asks.iter().filter(|ask| ask.check.id.contains("sidecar")).collect();
        assert_eq!(own.len(), 8, "{side}");
        assert!(own.iter().all(|ask| ask.station == station), "{side}");
        // reg 93 of the Construction and Use Regulations 1986: none on the right of a machine registered since August 1981.
        let mounts = catalogue.check("sidecar.mounts").unwrap_or_else(|| panic!("it is there"));
        let right = context.defects(mounts).iter().any(|row| row.key == "sidecar-on-the-right");
        assert_eq!(right, side == "right", "{side}");
    }
}

#[test]
fn a_law_that_does_not_name_a_sidecar_s_tyre_says_so_on_its_page() {
    let (catalogue, _) = yard_of("north-barn");
    for (pack, law) in &catalogue.laws {
        let of = |check: &str| law.limits.iter().any(|row| row.check == check);
        if of("tyre.rear.tread") && !of("tyre.sidecar.tread") {
            let page = format!("{}/../../data/law/{}.toml", env!("CARGO_MANIFEST_DIR"), pack.to_lowercase());
            let page = std::fs::read_to_string(&page).unwrap_or_else(|error| panic!("{page}: {error}"));
            assert!(page.contains("sidecar's tyre"), "{pack}");
        }
    }
}
