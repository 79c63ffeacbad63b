//! Laws of the formulas on measured figures: inverses, identities, directions, refusals.

use muster_core::formula::battery::{self, BatteryRefusal, Charge, Chemistry, RestReading, RestTable, TableUse};
use muster_core::formula::chain::{self, CHAIN_SIZES, Centres};
use muster_core::formula::coolant::{Concentration, Glycol, freezing_point, mass_fraction, share_to_replace};
use muster_core::formula::oil::{self, LeanCase, LeanU, Sump};
use muster_core::formula::tyre_gas::{self, Surroundings, SurroundingsU, WarmTyreU};
use muster_core::formula::{Propagated, Refusal, belt, indicator, lamp, wear};
use muster_core::quantity::{
    AbsolutePressure, Angle, Distance, Force, Frequency, GaugePressure, Inclination, Length, LinearDensity, Ratio,
    Temperature, Time, Voltage,
};
use muster_core::statistics::uncertainty::StandardUncertainty;
use proptest::prelude::*;

const OWN: &str = "the tests' own figure is in range";

fn kpa(of: f64) -> GaugePressure {
    GaugePressure::from_kpa(of).expect(OWN)
}

fn air(of: f64) -> AbsolutePressure {
    AbsolutePressure::from_kpa(of).expect(OWN)
}

fn celsius(of: f64) -> Temperature {
    Temperature::from_celsius(of).expect(OWN)
}

fn mm(of: f64) -> Length {
    Length::from_mm(of).expect(OWN)
}

fn one(of: f64) -> Ratio {
    Ratio::from_one(of).expect(OWN)
}

fn volt(of: f64) -> Voltage {
    Voltage::from_volt(of).expect(OWN)
}

fn degrees(of: f64) -> Angle {
    Angle::from_degrees(of).expect(OWN)
}

fn u(of: f64) -> StandardUncertainty {
    StandardUncertainty::new(of).expect(OWN)
}

fn square(of: StandardUncertainty) -> f64 {
    of.get() * of.get()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * b.abs().max(1.0)
}

fn rested(voltage: f64, battery: f64) -> RestReading {
    RestReading { voltage: volt(voltage), battery: celsius(battery), rested: Time::from_hours(12.0).expect(OWN) }
}

fn share(chemistry: Chemistry, voltage: f64, battery: f64) -> Charge<Ratio> {
    let table = RestTable::built_in(chemistry).expect("lead-acid has a table");
    battery::state_of_charge(&table, rested(voltage, battery)).expect("the reading is in range")
}

/// Flat, under the table, a share, above full: as one number that rises.
fn rank(charge: &Charge<Ratio>) -> f64 {
    match charge {
        Charge::Flat => -2.0,
        Charge::Under(_) => -1.0,
        Charge::Share(share) => share.one(),
        Charge::AboveFull { excess } => 2.0 + excess.volt(),
    }
}

fn lean_case(lean: f64, change: f64, foot: f64, stick: f64) -> LeanCase {
    LeanCase {
        sheet_lean: degrees(lean),
        ride_height_change: mm(change),
        foot_offset: mm(foot),
        stick_offset: mm(stick),
    }
}

#[test]
fn a_moved_pressure_is_as_uncertain_as_its_slopes_say() {
    // Slopes by central differences, apart from the formulas' own derivatives.
    let figures = [230.0, 34.0, 101.0, 7.0, 96.0];
    let moved = |[p, t1, b1, t2, b2]: [f64; 5]| {
        let place = |t, b| Surroundings { gas: celsius(t), barometer: air(b) };
        tyre_gas::moved(kpa(p), place(t1, b1), place(t2, b2)).expect(OWN).kpa()
    };
    let spreads = [1.5, 5.0, 0.8, 2.0, 0.6];
    let mut squares = 0.0;
    for (at, spread) in spreads.into_iter().enumerate() {
        let shifted = |by: f64| {
            let mut figures = figures;
            figures[at] += by;
            moved(figures)
        };
        squares += ((shifted(1e-3) - shifted(-1e-3)) / 2e-3 * spread).powi(2);
    }
    let u = |of: f64| StandardUncertainty::new(of).expect(OWN);
    let known = |gas, barometer| SurroundingsU { gas_k: u(gas), barometer_kpa: u(barometer) };
    let place = |t, b| Surroundings { gas: celsius(t), barometer: air(b) };
    let got = tyre_gas::moved_with_u(
        (kpa(230.0), u(1.5)),
        (place(34.0, 101.0), known(5.0, 0.8)),
        (place(7.0, 96.0), known(2.0, 0.6)),
    );
    let got = got.expect(OWN).u().get();
    assert!((got - squares.sqrt()).abs() < 1e-6, "{got}, by differences {}", squares.sqrt());
}

proptest! {
    #[test]
    fn a_tyre_as_warm_as_the_air_is_not_corrected(p in 0.0..600.0_f64, t in -40.0..60.0_f64, pa in 40.0..110.0_f64) {
        let cold = tyre_gas::cold_equivalent(kpa(p), celsius(t), celsius(t), air(pa)).expect("nothing moves");
        prop_assert!(close(cold.kpa(), p));
        let surroundings = Surroundings { gas: celsius(t), barometer: air(pa) };
        prop_assert!(close(tyre_gas::moved(kpa(p), surroundings, surroundings).expect("nothing moves").kpa(), p));
    }

    #[test]
    fn pumping_up_undoes_the_cold_equivalent(p in 100.0..350.0_f64, tyre in -20.0..90.0_f64, out in -20.0..45.0_f64, pa in 60.0..105.0_f64) {
        let now = tyre_gas::pump_to_now(kpa(p), celsius(tyre), celsius(out), air(pa)).expect("in range");
        let cold = tyre_gas::cold_equivalent(now, celsius(tyre), celsius(out), air(pa)).expect("in range");
        prop_assert!(close(cold.kpa(), p));
    }

    #[test]
    fn the_cold_equivalent_goes_one_way_in_each_argument(p in 100.0..300.0_f64, tyre in -20.0..80.0_f64, out in -20.0..45.0_f64, pa in 60.0..105.0_f64, more in 0.01..10.0_f64) {
        let cold = |p, tyre, out, pa| {
            tyre_gas::cold_equivalent(kpa(p), celsius(tyre), celsius(out), air(pa)).expect("in range").kpa()
        };
        let here = cold(p, tyre, out, pa);
        prop_assert!(cold(p + more, tyre, out, pa) > here);
        prop_assert!(cold(p, tyre + more, out, pa) < here);
        prop_assert!(cold(p, tyre, out + more, pa) > here);
        // A warm tyre loses the more in cooling, the more air there is in it, gauge and barometer together.
        if tyre > out {
            prop_assert!(cold(p, tyre, out, pa + more.min(5.0)) < here);
        }
    }

    #[test]
    fn air_thins_with_altitude_and_the_gauge_rises(p in 150.0..350.0_f64, from in 0.0..3000.0_f64, up in 10.0..3000.0_f64, t in -10.0..40.0_f64) {
        let at = |m: f64| Distance::from_km(m / 1000.0).expect(OWN);
        let standard = |m| tyre_gas::standard_pressure(at(m)).expect("a road's altitude");
        prop_assert!(standard(from + up) < standard(from));
        let here = Surroundings { gas: celsius(t), barometer: standard(from) };
        let predicted = tyre_gas::at_altitude(kpa(p), (here, at(from)), (celsius(t), at(from + up))).expect("in range");
        prop_assert!(predicted.kpa() > p);
        let same = tyre_gas::at_altitude(kpa(p), (here, at(from)), (celsius(t), at(from))).expect("in range");
        prop_assert!(close(same.kpa(), p));
    }

    #[test]
    fn the_cold_equivalent_of_an_exact_world_is_exact(p in 100.0..350.0_f64, tyre in -20.0..90.0_f64, out in -20.0..45.0_f64, each in 0.0..5.0_f64) {
        let with = |gauge, tyre_k, air_k| {
            let u = WarmTyreU { gauge_kpa: u(gauge), tyre_k: u(tyre_k), air_k: u(air_k), barometer_kpa: u(0.0) };
            tyre_gas::cold_equivalent_with_u(kpa(p), celsius(tyre), celsius(out), air(100.0), u).expect("in range")
        };
        prop_assert_eq!(with(0.0, 0.0, 0.0).u(), StandardUncertainty::ZERO);
        let all = with(each, each, each);
        let squares: f64 = all.components().iter().map(|part| square(part.contribution())).sum();
        prop_assert!(close(square(all.u()), squares));
        prop_assert!(all.u() >= all.correction_u().expect("finite"));
        prop_assert!(close(all.sensitivity(), (out + 273.15) / (tyre + 273.15)));
    }

    #[test]
    fn wear_uses_up_its_allowance_one_way(limit in 0.5..3.0_f64, span in 2.0..8.0_f64, now in 0.0..12.0_f64, less in 0.001..1.0_f64) {
        let used = |now| wear::share_used(mm(limit + span), mm(now), mm(limit)).expect("there is a span").one();
        prop_assert!(used(now - less) > used(now));
        prop_assert!(close(used(limit + span), 0.0) && close(used(limit), 1.0));
        let left = wear::left(mm(now), mm(limit)).expect("a length").mm();
        prop_assert_eq!(left < 0.0, now < limit);
        if (now - limit).abs() > 1e-6 {
            prop_assert_eq!(used(now) > 1.0, now < limit);
        }
    }

    #[test]
    fn taper_is_the_same_from_either_end(one in 0.0..9.0_f64, other in 0.0..9.0_f64) {
        prop_assert_eq!(wear::taper(mm(one), mm(other)), wear::taper(mm(other), mm(one)));
        prop_assert!(wear::taper(mm(one), mm(other)).expect("a length").mm() >= 0.0);
    }

    #[test]
    fn elongation_and_length_are_inverse(percent in -0.9..7.9_f64, pitches in 4_u16..=120, size in 0_usize..15) {
        let pitch = mm(CHAIN_SIZES[size].pitch_mm);
        let asked = Ratio::from_percent(percent).expect(OWN);
        let length = chain::length_at(asked, pitches, pitch).expect("in range");
        let back = chain::elongation(length, pitches, pitch).expect("in range");
        prop_assert!((back.percent() - percent).abs() < 1e-9);
    }

    #[test]
    fn more_teeth_or_fixed_centres_never_allow_more(teeth in 6_u16..150) {
        let limit = |teeth, centres| chain::general_limit(teeth, centres).expect("in range");
        prop_assert!(limit(teeth + 1, Centres::Adjustable) <= limit(teeth, Centres::Adjustable));
        prop_assert!(limit(teeth, Centres::Fixed) <= limit(teeth, Centres::Adjustable));
    }

    #[test]
    fn play_and_chain_are_inverse(run in 250.0..1200.0_f64, share in 0.001..0.3_f64) {
        let play = run * share;
        let chain = chain::chain_in_run(mm(run), mm(play)).expect("in range");
        prop_assert!((chain::play(mm(run), chain).expect("in range").mm() - play).abs() < 1e-6);
    }

    #[test]
    fn tension_and_note_are_inverse(mass in 0.02..0.5_f64, span in 0.1..0.8_f64, hertz in 10.0..80.0_f64, more in 0.1..20.0_f64) {
        let (mass, span) = (LinearDensity::from_kg_per_m(mass).expect(OWN), Length::from_m(span).expect(OWN));
        let sounds = |hertz| Frequency::from_hertz(hertz).expect(OWN);
        let tension = belt::tension(mass, span, sounds(hertz)).expect("in range");
        prop_assert!(close(belt::frequency(mass, span, tension).expect("in range").hertz(), hertz));
        prop_assert!(belt::tension(mass, span, sounds(hertz + more)).expect("in range") > tension);
    }

    #[test]
    fn force_and_tension_are_inverse(newton in 20.0..2000.0_f64, span in 200.0..900.0_f64, part in 33.0..120.0_f64) {
        let (span, deflection) = (mm(span), mm(span / part));
        let force = belt::force_for_deflection(Force::from_newton(newton).expect(OWN), deflection, span).expect("in range");
        prop_assert!(close(belt::tension_from_deflection(force, deflection, span).expect("in range").newton(), newton));
    }

    #[test]
    fn drop_and_inclination_are_inverse(percent in -3.0..4.0_f64, distance in 2000.0..25_000.0_f64) {
        let aimed = Inclination::from_percent(percent).expect(OWN);
        let drop = lamp::drop_at(aimed, mm(distance)).expect("in range").mm();
        let back = lamp::inclination(mm(1000.0), mm(1000.0 - drop), mm(distance)).expect("in range");
        prop_assert!((back.percent() - percent).abs() < 1e-9);
        let level = lamp::after_pitch(aimed, degrees(0.0)).expect("in range");
        prop_assert!((level.percent() - percent).abs() < 1e-12);
    }

    #[test]
    fn a_nose_that_rises_raises_the_beam(percent in -2.0..4.0_f64, pitch in -5.0..5.0_f64, more in 0.01..3.0_f64) {
        let beam = |pitch| {
            lamp::after_pitch(Inclination::from_percent(percent).expect(OWN), degrees(pitch)).expect("in range").percent()
        };
        prop_assert!(beam(pitch + more) < beam(pitch));
    }

    #[test]
    fn more_volts_are_more_charge(v in 10.0..14.0_f64, more in 0.0..1.0_f64, t in -20.0..50.0_f64) {
        for chemistry in [Chemistry::LeadAcidFlooded, Chemistry::AbsorbedGlassMat] {
            prop_assert!(rank(&share(chemistry, v + more, t)) >= rank(&share(chemistry, v, t)));
        }
    }

    #[test]
    fn the_table_s_own_temperature_corrects_nothing(v in 0.0..17.0_f64) {
        let table = RestTable::built_in(Chemistry::LeadAcidFlooded).expect("there is one");
        let same = battery::at_reference(&table, volt(v), table.table_use().reference).expect("in range");
        prop_assert_eq!(same, volt(v));
    }

    #[test]
    fn more_glycol_freezes_later(w in 0.0..0.6_f64, more in 0.0..0.1_f64) {
        prop_assume!(w + more <= 0.6);
        for glycol in [Glycol::Ethylene, Glycol::Propylene] {
            let at = |w| freezing_point(glycol, Concentration::MassFraction(one(w))).expect("in range");
            prop_assert!(at(w + more) <= at(w));
        }
    }

    #[test]
    fn volume_and_mass_agree_at_the_ends_and_rise_between(phi in 0.0..1.0_f64, more in 0.0..0.1_f64) {
        prop_assume!(phi + more <= 1.0);
        for glycol in [Glycol::Ethylene, Glycol::Propylene] {
            let mass = |phi| mass_fraction(glycol, Concentration::VolumeFraction(one(phi))).expect("a share").one();
            prop_assert!(mass(phi + more) >= mass(phi) && mass(phi) >= phi - 1e-12);
            prop_assert!(close(mass(0.0), 0.0) && close(mass(1.0), 1.0));
        }
    }

    #[test]
    fn refilling_reaches_what_is_wanted(now in 0.0..0.5_f64, up in 0.0..0.3_f64, concentrate in 0.85..1.0_f64) {
        let share = share_to_replace(one(now), one(now + up), one(concentrate)).expect("in order").one();
        prop_assert!(close(now * (1.0 - share) + concentrate * share, now + up));
    }

    #[test]
    fn an_unchanged_ride_height_changes_nothing(lean in 3.0..20.0_f64, foot in 80.0..600.0_f64, stick in -80.0..80.0_f64) {
        let case = lean_case(lean, 0.0, foot, stick);
        prop_assert!(close(oil::lean_after(&case).expect("as on the sheet").degrees(), lean));
        let sump = Sump { width: mm(160.0), depth: mm(60.0) };
        let u = LeanU { ride_height_change_mm: u(0.0), foot_offset_mm: u(9.0), stick_offset_mm: u(9.0) };
        let shift = oil::shift(&case, sump, u).expect("as on the sheet");
        prop_assert!(shift.value().mm().abs() < f64::MIN_POSITIVE);
        prop_assert_eq!(shift.u(), StandardUncertainty::ZERO);
    }

    #[test]
    fn the_shift_is_the_difference_of_two_sticks(lean in 8.0..15.0_f64, change in -20.0..20.0_f64, stick in -80.0..80.0_f64) {
        let case = lean_case(lean, change, 260.0, stick);
        let sump = Sump { width: mm(160.0), depth: mm(60.0) };
        let u = LeanU { ride_height_change_mm: u(0.0), foot_offset_mm: u(0.0), stick_offset_mm: u(0.0) };
        let stick = |lean| oil::stick_reading(sump, case.stick_offset, lean).expect("stays wet").mm();
        let shift = oil::shift(&case, sump, u).expect("in range");
        let after = oil::lean_after(&case).expect("in range");
        prop_assert!((shift.value().mm() - (stick(after) - stick(case.sheet_lean))).abs() < 1e-9);
        prop_assert!(close(shift.u().get(), oil::MODEL_SHARE * shift.value().mm().abs()));
    }

    #[test]
    fn more_flashes_are_a_higher_rate(flashes in 3_u16..600, seconds in 30.0..300.0_f64) {
        let during = Time::from_seconds(seconds).expect(OWN);
        let rate = |flashes| indicator::flash_rate(flashes, during).expect("in range");
        prop_assert!(rate(flashes + 1) > rate(flashes));
    }
}

#[test]
fn nothing_is_read_from_the_plateau_even_with_a_table_of_ones_own() {
    let with = TableUse {
        reference: celsius(25.0),
        volt_per_kelvin: 0.0,
        volt_per_kelvin_u: u(0.0),
        table_volt: u(0.0),
        least_rest: Time::from_hours(1.0).expect(OWN),
    };
    let rows = [(volt(12.0), one(0.0)), (volt(12.9), one(0.2)), (volt(13.6), one(1.0))];
    let table = RestTable::new(Chemistry::LithiumIronPhosphate, &rows, with).expect("a table");
    for on_plateau in [13.0, 13.15, 13.3] {
        let refused = battery::state_of_charge(&table, rested(on_plateau, 25.0));
        assert!(matches!(refused, Err(BatteryRefusal::OnPlateau { .. })), "{on_plateau}: {refused:?}");
    }
    let off = battery::state_of_charge(&table, rested(12.45, 25.0)).expect("off the plateau");
    assert!((rank(&off) - 0.1).abs() < 1e-9);
}

#[test]
fn a_table_that_does_not_rise_is_refused() {
    let with = RestTable::built_in(Chemistry::LeadAcidFlooded).expect("there is one").table_use();
    let table = |rows: &[(f64, f64)]| {
        let rows: Vec<_> = rows.iter().map(|(v, share)| (volt(*v), one(*share))).collect();
        RestTable::new(Chemistry::LeadAcidFlooded, &rows, with)
    };
    assert!(table(&[(11.9, 0.0), (12.6, 1.0)]).is_ok());
    for rows in
        [&[(11.9, 0.0)][..], &[(12.6, 0.0), (11.9, 1.0)], &[(11.9, 1.0), (12.6, 0.0)], &[(11.9, 0.0), (12.6, 1.1)]]
    {
        assert_eq!(table(rows), Err(BatteryRefusal::NotATable), "{rows:?}");
    }
}

#[test]
fn refusals_say_what_was_given_and_what_is_allowed() {
    let refused = chain::elongation(mm(280.0), 20, mm(12.7)).expect_err("10 %");
    assert!(matches!(refused, Refusal::NotValid { what: "chain elongation", .. }));
    let said = refused.to_string();
    assert!(said.starts_with("chain elongation must be −1 to 8 %: count the links"), "{said}");
    let flat = tyre_gas::cold_equivalent(kpa(0.0), celsius(50.0), celsius(10.0), air(101.3)).expect_err("flat");
    assert!(flat.to_string().starts_with("gauge pressure must be 0 to 600"), "{flat}");
}

/// The slope of `of` at 0 by differences to both sides, and each sensitivity stated: they agree to a millionth.
fn slopes_are(result: &Propagated<GaugePressure>, steps: &[(&str, &dyn Fn(f64) -> GaugePressure)]) {
    const STEP: f64 = 0.01;
    assert_eq!(result.components().len(), steps.len());
    for (component, (name, of)) in result.components().iter().zip(steps) {
        assert_eq!(component.name(), *name);
        let slope = (of(STEP).kpa() - of(-STEP).kpa()) / (2.0 * STEP);
        assert!((component.sensitivity() - slope).abs() < 1e-6, "{name}: {} is not {slope}", component.sensitivity());
    }
}

// Check: the slope of the equation itself, GUM (JCGM 100:2008) 5.1.3, note 2 to 5.1.4 (differences in place of derivatives).
#[test]
fn each_sensitivity_of_a_moved_tyre_is_the_slope_of_its_equation() {
    let at = |gas: f64, barometer: f64| Surroundings { gas: celsius(gas), barometer: air(barometer) };
    let known = SurroundingsU { gas_k: u(5.0), barometer_kpa: u(2.0) };
    let moved = |p: f64, t1: f64, a1: f64, t2: f64, a2: f64| {
        tyre_gas::moved(kpa(250.0 + p), at(60.0 + t1, 95.0 + a1), at(10.0 + t2, 101.0 + a2)).expect(OWN)
    };
    let result =
        tyre_gas::moved_with_u((kpa(250.0), u(1.0)), (at(60.0, 95.0), known), (at(10.0, 101.0), known)).expect(OWN);
    slopes_are(
        &result,
        &[
            ("gauge", &|by| moved(by, 0.0, 0.0, 0.0, 0.0)),
            ("gas temperature", &|by| moved(0.0, by, 0.0, 0.0, 0.0)),
            ("barometer", &|by| moved(0.0, 0.0, by, 0.0, 0.0)),
            ("gas temperature there", &|by| moved(0.0, 0.0, 0.0, by, 0.0)),
            ("barometer there", &|by| moved(0.0, 0.0, 0.0, 0.0, by)),
        ],
    );
}

// Check: as above.
#[test]
fn each_sensitivity_of_a_warm_tyre_is_the_slope_of_its_equation() {
    let known = WarmTyreU { gauge_kpa: u(1.0), tyre_k: u(5.0), air_k: u(1.0), barometer_kpa: u(2.0) };
    let cold = |p: f64, tyre: f64, outside: f64, barometer: f64| {
        let (tyre, outside) = (celsius(60.0 + tyre), celsius(10.0 + outside));
        tyre_gas::cold_equivalent(kpa(250.0 + p), tyre, outside, air(95.0 + barometer)).expect(OWN)
    };
    let result = tyre_gas::cold_equivalent_with_u(kpa(250.0), celsius(60.0), celsius(10.0), air(95.0), known);
    slopes_are(
        &result.expect(OWN),
        &[
            ("gauge", &|by| cold(by, 0.0, 0.0, 0.0)),
            ("temperature given at", &|by| cold(0.0, by, 0.0, 0.0)),
            ("temperature asked for", &|by| cold(0.0, 0.0, by, 0.0)),
            ("barometer", &|by| cold(0.0, 0.0, 0.0, by)),
        ],
    );
    let now = |p: f64, tyre: f64, outside: f64, barometer: f64| {
        let (tyre, outside) = (celsius(60.0 + tyre), celsius(10.0 + outside));
        tyre_gas::pump_to_now(kpa(225.0 + p), tyre, outside, air(95.0 + barometer)).expect(OWN)
    };
    let result = tyre_gas::pump_to_now_with_u(kpa(225.0), celsius(60.0), celsius(10.0), air(95.0), known);
    slopes_are(
        &result.expect(OWN),
        &[
            ("gauge", &|by| now(by, 0.0, 0.0, 0.0)),
            ("temperature given at", &|by| now(0.0, 0.0, by, 0.0)),
            ("temperature asked for", &|by| now(0.0, by, 0.0, 0.0)),
            ("barometer", &|by| now(0.0, 0.0, 0.0, by)),
        ],
    );
}

#[test]
fn the_gas_law_counts_up_to_the_ends_of_its_range_and_not_beyond() {
    let gas = |degrees: f64| {
        let here = Surroundings { gas: celsius(20.0), barometer: air(101.325) };
        tyre_gas::moved(kpa(250.0), here, Surroundings { gas: celsius(degrees), ..here }).is_ok()
    };
    let outside =
        |degrees: f64| tyre_gas::cold_equivalent(kpa(250.0), celsius(20.0), celsius(degrees), air(101.325)).is_ok();
    let barometer = |pressure: f64| {
        let here = Surroundings { gas: celsius(20.0), barometer: air(pressure) };
        tyre_gas::moved(kpa(250.0), here, here).is_ok()
    };
    let altitude = |metres: f64| tyre_gas::standard_pressure(Distance::from_km(metres / 1000.0).expect(OWN)).is_ok();
    assert!(gas(-40.0) && gas(150.0) && !gas(-40.01) && !gas(150.01));
    assert!(outside(-40.0) && outside(60.0) && !outside(-40.01) && !outside(60.01));
    // What is too cold is the air, not the gas it is the measure for.
    let refused = tyre_gas::cold_equivalent(kpa(250.0), celsius(20.0), celsius(-40.01), air(101.325));
    let refused = refused.expect_err("air below the range").to_string();
    assert!(refused.starts_with("air temperature must be"), "{refused}");
    assert!(barometer(40.0) && barometer(110.0) && !barometer(110.01));
    assert!(altitude(0.0) && altitude(7000.0) && !altitude(7000.01));
}
