//! Laws of an outing that hold whatever is carried.

use muster_core::{
    formula::{
        axle_load::{Piece, loaded},
        spring::{Springs, preload_for, sag},
    },
    judge::Verdict,
    outing::Asked,
    quantity::{Length, Mass},
};
use proptest::prelude::*;

use super::{demo, item};

fn mm(of: f64) -> Length {
    Length::from_mm(of).expect("a length")
}

fn kg(of: f64) -> Mass {
    Mass::from_kg(of).expect("a mass")
}

/// A machine and a few things on it, none so far behind that the front wheel lifts.
fn things() -> impl Strategy<Value = Vec<Piece>> {
    let thing = (1.0..60.0_f64, -300.0..900.0_f64, 300.0..1100.0_f64);
    let piece = |(mass, ahead, height)| Piece { mass: kg(mass), ahead: mm(ahead), height: mm(height) };
    prop::collection::vec(thing.prop_map(piece), 1..6).prop_map(|mut things| {
        things.push(Piece { mass: kg(230.0), ahead: mm(720.0), height: mm(540.0) });
        things
    })
}

fn with(rider: u32, luggage: &[(&str, u32)]) -> Asked {
    Asked {
        rider: Some(format!("{rider} kg")),
        passenger: Some("60 kg".into()),
        luggage: luggage.iter().map(|(place, kg)| format!("{place}={kg} kg")).collect(),
        distance: Some("100 km".into()),
        back: Some("17:00".into()),
        ..Asked::default()
    }
}

proptest! {
    #[test]
    fn what_moves_rearward_never_loads_the_front(things in things(), back in 0.0..300.0_f64) {
        let base = mm(1500.0);
        let Ok(before) = loaded(&things, base) else { return Ok(()) };
        let mut moved = things;
        moved[0].ahead = mm(moved[0].ahead.mm() - back);
        let Ok(after) = loaded(&moved, base) else { return Ok(()) };
        prop_assert!(after.front <= before.front && after.rear >= before.rear);
    }

    #[test]
    fn the_axles_carry_the_weight_and_the_order_of_loading_changes_no_digit(things in things(), turn in 0..6_usize) {
        let base = mm(1500.0);
        let Ok(one) = loaded(&things, base) else { return Ok(()) };
        let weight: f64 = things.iter().map(|thing| thing.mass.kg()).sum();
        prop_assert!((one.front.kg() + one.rear.kg() - weight).abs() < 1e-9);
        let mut other = things.clone();
        other.rotate_left(turn % things.len());
        other.reverse();
        prop_assert_eq!(loaded(&other, base), Ok(one));
    }

    #[test]
    fn more_load_never_rises_and_more_preload_never_sinks(
        rate in 5.0..150.0_f64, motion in 0.4..1.2_f64, per_m in 0.0..1.0_f64,
        load in 30.0..300.0_f64, more in 0.0..50.0_f64, preload in 0.0..30.0_f64,
    ) {
        let of = Springs {
            rate_n_per_mm: rate, then: None, motion, motion_per_m: per_m, air: None, unsprung: kg(20.0), travel: mm(140.0),
        };
        let at = |preload: f64, load: f64| sag(&of, mm(preload), kg(load)).expect("in range").mm();
        prop_assert!(at(preload, load + more) >= at(preload, load) - 1e-9);
        prop_assert!(at(preload + more, load) <= at(preload, load) + 1e-9);
        let s = at(preload, load);
        if s > 0.0 && s < 140.0 {
            let back = preload_for(&of, mm(s), kg(load)).map(Length::mm);
            // At no preload a rounding of the sag may ask for less than none, which no spring has.
            prop_assert!(back.map_or(preload < 1e-6, |back| (back - preload).abs() < 1e-6));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn more_rider_never_raises_range_and_never_makes_a_load_fit(rider in 40..150_u32, more in 0..60_u32) {
        let demo = demo();
        let (light, heavy) = (demo.asked("H-24", &with(rider, &[])), demo.asked("H-24", &with(rider + more, &[])));
        let km = |of: &muster_core::outing::Assessment| of.figures.range.expect("its sheet states it").to_empty_km;
        prop_assert!(km(&heavy) <= km(&light));
        for id in ["gross", "axle.front", "axle.rear", "tyre.front.load", "tyre.rear.load"] {
            let of = |of| item(of, id).verdict;
            prop_assert!(of(&heavy) >= of(&light) || of(&light) == Verdict::Unseen, "{}", id);
        }
    }

    #[test]
    fn the_order_luggage_is_named_in_changes_no_figure(cases in 1..20_u32, rack in 1..8_u32, tank in 1..5_u32) {
        let demo = demo();
        let one = demo.asked("H-24", &with(80, &[("cases", cases), ("rack", rack), ("tank bag", tank)]));
        let other = demo.asked("H-24", &with(80, &[("tank bag", tank), ("cases", cases), ("rack", rack)]));
        prop_assert_eq!(one.figures, other.figures);
        prop_assert_eq!(one.verdict, other.verdict);
    }

    /// The same bag farther behind: from the tank to the cases' place to the rack's.
    #[test]
    fn luggage_moved_rearward_never_loads_the_front(rider in 40..150_u32, bag in 1..5_u32) {
        let mut demo = demo();
        demo.yard.machines.get_mut("H-24").expect("it is there").traits.equipment.set("luggage", vec!["cases".into(), "rack".into()]);
        let front = |place: &str| {
            let of = demo.asked("H-24", &with(rider, &[(place, bag)]));
            of.figures.loads.expect("its sheet states them").axles[0].load_kg
        };
        let (tank, cases, rack) = (front("tank bag"), front("cases"), front("rack"));
        prop_assert!(rack < cases && cases < tank, "{rack} {cases} {tank}");
    }
}
