//! Laws of the workshop's formulas: inverses, identities, directions, and what a person reads when one refuses.

use muster_core::formula::bearing::{self, TwoBearings};
use muster_core::formula::brake_fluid::{self, Boils, Grade};
use muster_core::formula::brake_test::{self, RecordRefusal};
use muster_core::formula::chain_run::{self, ArmGeometry, PlayThere, Travel};
use muster_core::formula::charging::{Charging, Window};
use muster_core::formula::coolant::{self, Concentration, Glycol};
use muster_core::formula::heights::{self, Squat, TyreSize};
use muster_core::formula::sprocket::{self, Drive};
use muster_core::formula::standing::{self, Standing};
use muster_core::formula::tyre_fit::mismatches;
use muster_core::formula::tyre_index::LoadIndex;
use muster_core::formula::tyre_load::LoadTable;
use muster_core::formula::tyre_marking::TyreMarking;
use muster_core::formula::{Refusal, run_out};
use muster_core::quantity::{Angle, Current, GaugePressure, Length, Mass, Ratio, Speed, Temperature, Time, Voltage};
use proptest::prelude::*;

const OWN: &str = "the tests' own figure is in range";

fn mm(of: f64) -> Length {
    Length::from_mm(of).expect(OWN)
}

fn one(of: f64) -> Ratio {
    Ratio::from_one(of).expect(OWN)
}

fn degrees(of: f64) -> Angle {
    Angle::from_degrees(of).expect(OWN)
}

fn km_per_h(of: f64) -> Speed {
    Speed::from_km_per_h(of).expect(OWN)
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * b.abs().max(1.0)
}

/// A stop at an even deceleration, read every so often.
fn even(from: f64, m_per_s2: f64, figures: u32) -> Vec<(Time, Speed)> {
    let end = from / 3.6 / m_per_s2;
    (0..=figures)
        .map(|index| {
            let share = f64::from(index) / f64::from(figures);
            (Time::from_seconds(end * share).expect(OWN), km_per_h(from * (1.0 - share)))
        })
        .collect()
}

fn arm() -> impl Strategy<Value = ArmGeometry> {
    (30.0..150.0_f64, -60.0..60.0_f64, 400.0..700.0_f64, 30.0..50.0_f64, 70.0..130.0_f64).prop_map(
        |(ahead, above, arm, front, rear)| ArmGeometry {
            sprocket_ahead: mm(ahead),
            sprocket_above: mm(above),
            arm: mm(arm),
            front_radius: mm(front),
            rear_radius: mm(rear),
        },
    )
}

proptest! {
    #[test]
    fn a_circle_off_its_middle_reads_twice_its_eccentricity(off in 0.01..5.0_f64, at in 0.0..1.0_f64, half in 4_usize..60, base in -3.0..3.0_f64) {
        let count = 2 * half;
        let reading = |index: usize| base + off * (std::f64::consts::TAU * (index as f64 / count as f64 - at)).cos();
        let readings: Vec<Length> = (0..count).map(|index| mm(reading(index))).collect();
        let found = run_out::eccentric(&readings).expect("in range");
        prop_assert!((found.off.mm() - off).abs() < 1e-9);
        let turned = (found.high_at.one() - at).abs();
        prop_assert!(turned.min(1.0 - turned) < 1e-6, "{} for {at}", found.high_at.one());
        // Read in steps, the highest and lowest place may be missed by half a step.
        let total = run_out::total_reading(&readings).expect("in range");
        let half_total = run_out::eccentricity(total).expect("in range").mm();
        prop_assert!(half_total <= off + 1e-9 && half_total >= off * (std::f64::consts::PI / count as f64).cos() - 1e-9);
    }

    #[test]
    fn play_and_movement_are_inverse(play in 0.0..1.0_f64, apart in 80.0..250.0_f64, reach in 300.0..400.0_f64) {
        let two = TwoBearings { apart: mm(apart), reach: mm(reach) };
        let axle = bearing::movement_at_axle(mm(play), two).expect("in range");
        prop_assert!(axle.mm() >= play && close(bearing::steering_head_play(axle, two).expect("in range").mm(), play));
        let rim = bearing::movement_at_rim(mm(play), two).expect("in range");
        prop_assert!(close(bearing::wheel_bearing_play(rim, two).expect("in range").mm(), play));
    }

    #[test]
    fn axle_height_and_squash_are_inverse(width in 80.0..200.0_f64, aspect in 50.0..100.0_f64, rim_code in 14_u8..=21, percent in 0.0..35.0_f64) {
        let size = TyreSize { width: mm(width), aspect: Ratio::from_percent(aspect).expect(OWN), rim_code };
        let height = heights::axle_height(size, Ratio::from_percent(percent).expect(OWN)).expect("in range");
        prop_assert!(height <= heights::free_radius(size).expect("in range"));
        prop_assert!((heights::squashed_share(size, height).expect("in range").percent() - percent).abs() < 1e-7);
    }

    #[test]
    fn a_lamp_sinks_between_what_its_ends_sink(front in -50.0..80.0_f64, rear in -50.0..80.0_f64, share in 0.0..1.0_f64) {
        let squat = Squat { front: mm(front), rear: mm(rear), wheelbase: mm(1400.0), lamp_ahead: mm(1400.0 * share) };
        let sunk = 900.0 - heights::lamp_height(mm(900.0), squat).expect("in range").mm();
        prop_assert!(sunk >= front.min(rear) - 1e-9 && sunk <= front.max(rear) + 1e-9);
    }

    #[test]
    fn speed_and_engine_are_inverse(turns in 500.0..12_000.0_f64, reduction in 3.0..20.0_f64, round in 1500.0..2200.0_f64) {
        let engine = muster_core::quantity::Frequency::from_per_minute(turns).expect(OWN);
        let road = sprocket::road_speed(engine, reduction, mm(round));
        prop_assume!(road.is_ok());
        let back = sprocket::engine_speed(road.expect("just seen"), reduction, mm(round)).expect("in range");
        prop_assert!(close(back.per_minute(), turns));
    }

    #[test]
    fn links_and_centres_are_inverse(driving in 11_u16..20, driven in 30_u16..60, even in 48_u16..75, pitch in 12.0..16.0_f64) {
        let drive = Drive { driving, driven, centres: mm(0.0), pitch: mm(pitch) };
        let centres = sprocket::centres_for(2 * even, drive);
        prop_assume!(centres.is_ok());
        let links = sprocket::links(Drive { centres: centres.expect("just seen"), ..drive }).expect("in range");
        prop_assert!((links.exact - f64::from(2 * even)).abs() < 1e-9, "{links:?}");
        prop_assert_eq!(links.even, 2 * even);
    }

    #[test]
    fn a_hunting_pair_meets_after_all_the_others(teeth in 6_u16..150, other in 6_u16..400) {
        let turns = sprocket::turns_till_met_again(teeth, other).expect("in range");
        // The same tooth is at the same link after these turns, and not after fewer.
        let met = |turns: u32| (turns * u32::from(teeth)).is_multiple_of(u32::from(other));
        prop_assert!(met(u32::from(turns)) && (1..u32::from(turns)).all(|fewer| !met(fewer)));
    }

    #[test]
    fn nowhere_in_its_travel_is_a_chain_tighter_than_at_its_tightest(geometry in arm(), bumped in -20.0..10.0_f64, swing in 1.0..30.0_f64, share in 0.0..1.0_f64) {
        let travel = Travel { bumped: degrees(bumped), hanging: degrees(bumped + swing) };
        let tightest = chain_run::tightest(geometry, travel).expect("in range");
        let there = chain_run::centres(geometry, degrees(bumped + swing * share)).expect("in range");
        prop_assert!(there.mm() <= tightest.centres.mm() + 1e-9);
    }

    #[test]
    fn play_set_leaves_the_least_at_the_tightest_place(geometry in arm(), bumped in -20.0..10.0_f64, swing in 1.0..30.0_f64, least in 5.0..25.0_f64) {
        let travel = Travel { bumped: degrees(bumped), hanging: degrees(bumped + swing) };
        let hanging = travel.hanging;
        let set = chain_run::play_to_set(geometry, travel, mm(least), hanging);
        // So much slack that it is no run any more is refused.
        prop_assume!(set.is_ok());
        let PlayThere::Left(set) = set.expect("just seen") else { panic!("no less play than at the tightest place") };
        prop_assume!(set.mm() <= 120.0);
        let tightest = chain_run::tightest(geometry, travel).expect("in range").arm;
        let PlayThere::Left(left) = chain_run::play_at(geometry, (hanging, set), tightest).expect("in range") else {
            panic!("the least is left")
        };
        prop_assert!((left.mm() - least).abs() < 1e-6, "{} for {least}", left.mm());
        prop_assert!(set.mm() >= least - 1e-6);
    }

    #[test]
    fn load_and_pressure_are_inverse_and_rise(kpa in 150.0..290.0_f64, more in 0.1..10.0_f64, exponent in 0.3..1.0_f64) {
        let gauge = |of| GaugePressure::from_kpa(of).expect(OWN);
        let table = LoadTable::of_law(Mass::from_kg(250.0).expect(OWN), gauge(300.0), exponent, gauge(150.0)).expect("a law");
        let load = table.load_at(gauge(kpa)).expect("in the table");
        prop_assert!(close(table.pressure_for(load).expect("in the table").kpa(), kpa));
        prop_assert!(table.load_at(gauge((kpa + more).min(300.0))).expect("in the table") > load);
        prop_assert!(load.kg() <= 250.0 + 1e-9);
    }

    #[test]
    fn a_marking_that_asks_of_itself_is_met(width in 6_u16..24, aspect in 9_u8..=20, rim in 8_u8..=26, index in 16_u8..=90, symbol in "[B-HJ-NP-WY]", brackets in any::<bool>(), radial in any::<bool>()) {
        let between = if radial { "R" } else { "-" };
        let service = if brackets { format!("({index}{symbol})") } else { format!("{index}{symbol}") };
        let text = format!("{}/{}{between}{rim} M/C {service}", 10 * width, 5 * aspect);
        let read = TyreMarking::parse(&text).expect("a marking of the common form");
        prop_assert!(mismatches(&read, &read).is_empty());
        prop_assert_eq!((read.rim_code, read.aspect, read.load.map(LoadIndex::get)), (rim, Some(5 * aspect), Some(index)));
        prop_assert_eq!(TyreMarking::parse(&text.to_ascii_lowercase()), Ok(read));
    }

    #[test]
    fn nothing_that_is_typed_breaks_the_reading_of_a_marking(text in "\\PC{0,24}") {
        let _ = TyreMarking::parse(&text);
        let _ = TyreMarking::parse(&format!("120/70{text}"));
        let _ = TyreMarking::parse(&format!("120/70R17 {text}"));
        let _ = Grade::find(&text);
    }

    #[test]
    fn an_even_stop_has_its_deceleration(from in 25.0..150.0_f64, m_per_s2 in 1.0..10.0_f64, figures in 12_u32..200) {
        let stop = brake_test::of_times(&even(from, m_per_s2, figures)).expect("a full record");
        prop_assert!((stop.mfdd_m_per_s2 - m_per_s2).abs() < 1e-6 * m_per_s2, "{stop:?}");
        let way = (from / 3.6) * (from / 3.6) / (2.0 * m_per_s2);
        prop_assert!((1000.0 * stop.stopped_after.km() - way).abs() < 1e-6 * way);
        let same = brake_test::distance_from(&stop, stop.from).expect("its own speed");
        prop_assert!(close(same.km(), stop.stopped_after.km()));
    }

    #[test]
    fn fluid_that_boils_lower_is_never_better(low in 100.0..350.0_f64, more in 0.0..50.0_f64) {
        let rank = |celsius: f64| {
            let reading = Temperature::from_celsius(celsius.min(350.0)).expect(OWN);
            match brake_fluid::boils(Grade::Dot4, reading).expect("in range") {
                Boils::AsNew => 1.0,
                Boils::Between(share) => -share.one(),
                Boils::BelowWet(by) => -2.0 - by.kelvin(),
            }
        };
        prop_assert!(rank(low + more) >= rank(low));
    }

    #[test]
    fn concentration_and_freezing_point_are_inverse(w in 0.0..0.6_f64, propylene in any::<bool>()) {
        let glycol = if propylene { Glycol::Propylene } else { Glycol::Ethylene };
        let freezes = coolant::freezing_point(glycol, Concentration::MassFraction(one(w))).expect("in range");
        let back = coolant::read_on_scale(glycol, glycol, freezes).expect("its own scale");
        prop_assert!((back.one() - w).abs() < 1e-9, "{} for {w}", back.one());
    }

    #[test]
    fn what_is_filled_in_brings_the_whole_to_what_is_wanted(system in 0.5..5.0_f64, share in 0.05..1.0_f64, now in 0.0..0.6_f64, filled in 0.0..1.0_f64) {
        let missing = system * share;
        let wanted = ((system - missing) * now + missing * filled) / system;
        let mix = coolant::mix_to_top_up(system, missing, one(now), one(wanted)).expect("a mix there is");
        prop_assert!((mix.one() - filled).abs() < 1e-9);
    }

    #[test]
    fn a_colder_battery_asks_for_no_less(celsius in -20.0..49.0_f64, more in 0.0..1.0_f64, read in 12.0..16.0_f64) {
        let volt = |of| Voltage::from_volt(of).expect(OWN);
        let window = Window::new(volt(13.5), volt(14.4)).expect("low below high");
        let at = |celsius| window.at(6, Temperature::from_celsius(celsius).expect(OWN)).expect("in range");
        let (cold, warm) = (at(celsius), at(celsius + more));
        prop_assert!(cold.low() >= warm.low() && cold.high() >= warm.high());
        let within = cold.compare(volt(read)).expect("a voltage") == Charging::Within;
        prop_assert_eq!(within, (cold.low()..=cold.high()).contains(&volt(read)));
    }

    #[test]
    fn more_draw_stands_shorter(now in 0.5..1.0_f64, ampere_hours in 2.0..30.0_f64, milliampere in 1.0..200.0_f64, more in 0.1..50.0_f64) {
        let standing = Standing { now: one(now), least: one(0.5), capacity_ampere_hours: ampere_hours };
        let time = |draw| standing::stands_for(standing, Current::from_milliampere(draw).expect(OWN)).expect("in range");
        prop_assert!(time(milliampere + more) <= time(milliampere));
    }
}

#[test]
fn what_is_refused_and_what_differs_is_said_in_words() {
    let read = |text| TyreMarking::parse(text).expect("a marking");
    let asked = read("120/70 ZR 17 M/C (58W) TL");
    let said = |text| mismatches(&read(text), &asked).iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
    assert_eq!(
        said("3.50-18 56H TT"),
        "width must be 120 mm, fitted is 3.50 in; aspect must be 70, fitted is not marked; rim code must be 17, fitted is 18; \
         construction must be radial, fitted is bias; load index must be at least 58 (236\u{a0}kg), fitted is 56 (224\u{a0}kg); \
         speed symbol must be at least (W), fitted is H; must be marked M/C, for a motorcycle's rim, and is not; \
         must be tubeless (TL), fitted is one for a tube (TT)"
    );
    assert_eq!(
        said("MR70B17 M/C"),
        "construction must be radial, fitted is bias-belted; load index must be at least 58 (236\u{a0}kg), none is marked; \
         speed symbol must be at least (W), none is marked"
    );
    let refused = |text| TyreMarking::parse(text).expect_err("not understood").to_string();
    assert_eq!(refused("120/70Q+17"), "before the rim code must stand -, B, R, ZR or a speed symbol; got Q+17");
    assert_eq!(
        refused("120/70R17 58W front"),
        "not understood on the tyre: FRONT; behind the size may stand M/C, a load index and speed symbol, TL or TT, reinforced, 4PR"
    );
    assert_eq!(
        refused("120/70R17 TL TT"),
        "the marking says tube or tubeless twice, the second time TT: read it again"
    );
    let reinforced = mismatches(&read("100/90-19 57H"), &read("100/90-19 57H REINF"));
    assert_eq!(
        reinforced.first().map(ToString::to_string).as_deref(),
        Some("must be reinforced, and is not marked so")
    );
    let scale =
        coolant::read_on_scale(Glycol::Ethylene, Glycol::Propylene, Temperature::from_celsius(-20.0).expect(OWN));
    assert_eq!(
        scale.expect_err("the wrong scale").to_string(),
        "scale of the refractometer must be the coolant's own glycol: the other scale errs by 10 K and more, got ethylene"
    );
    assert_eq!(
        brake_fluid::top_up(Grade::Dot4, Grade::Dot5).to_string(),
        "silicone and glycol ether must never be mixed: do not top up with it"
    );
}

#[test]
fn a_record_says_where_it_is_wrong() {
    let mut rising = even(60.0, 6.0, 30);
    rising[12].1 = km_per_h(50.0);
    let refused = brake_test::of_times(&rising).expect_err("it rises").to_string();
    assert_eq!(refused, "speed must fall all through a stop, it rises at figure 13 to 50\u{a0}km/h");
    let mut gap = even(60.0, 6.0, 30);
    gap.drain(10..16);
    assert_eq!(brake_test::of_times(&gap), Err(RecordRefusal::Gap { number: 11 }));
    let mut moving = even(60.0, 6.0, 30);
    moving.truncate(30);
    let refused = brake_test::of_times(&moving).expect_err("it ends on the move").to_string();
    assert_eq!(refused, "the record of a stop must end standing, at 1\u{a0}km/h or less; it ends at 2\u{a0}km/h");
    let slow = brake_test::of_times(&even(15.0, 6.0, 30));
    assert!(matches!(slow, Err(RecordRefusal::Formula(Refusal::NotValid { .. }))), "{slow:?}");
}

/// Whether what is asked holds at the first figure and is refused at the second.
fn ends(what: &str, holds: impl Fn(f64) -> bool, pairs: &[(f64, f64)]) {
    for (last, beyond) in pairs {
        assert!(holds(*last), "{what} holds at {last}");
        assert!(!holds(*beyond), "{what} is refused at {beyond}");
    }
}

#[test]
fn wheels_and_drives_count_up_to_the_ends_of_their_ranges_and_not_beyond() {
    let head = |apart, reach| TwoBearings { apart: mm(apart), reach: mm(reach) };
    let movement = |of| bearing::steering_head_play(mm(of), head(180.0, 700.0)).is_ok();
    ends("movement at the axle", movement, &[(0.0, -0.1), (30.0, 30.1)]);
    let apart = |of| bearing::steering_head_play(mm(1.0), head(of, 700.0)).is_ok();
    ends("bearings of a steering head apart", apart, &[(80.0, 79.9), (400.0, 400.1)]);
    let reach = |of| bearing::steering_head_play(mm(1.0), head(180.0, of)).is_ok();
    ends("bearing to axle", reach, &[(300.0, 299.9), (1000.0, 1000.1)]);
    let apart = |of| bearing::wheel_bearing_play(mm(1.0), head(of, 220.0)).is_ok();
    ends("bearings of a wheel apart", apart, &[(30.0, 29.9), (250.0, 250.1)]);
    let radius = |of| bearing::wheel_bearing_play(mm(1.0), head(90.0, of)).is_ok();
    ends("axle to rim", radius, &[(100.0, 99.9), (400.0, 400.1)]);
    let total = |of| run_out::eccentricity(mm(of)).is_ok();
    ends("total indicator reading", total, &[(0.0, -0.1), (20.0, 20.1)]);
    let readings = |count: f64| run_out::total_reading(&vec![mm(0.1); count as usize]).is_ok();
    ends("readings of a turn", readings, &[(4.0, 3.0), (360.0, 361.0)]);
    let size = |width, aspect, rim_code| {
        let aspect = Ratio::from_percent(aspect).expect(OWN);
        heights::free_radius(TyreSize { width: mm(width), aspect, rim_code }).is_ok()
    };
    ends("tyre width", |of| size(of, 70.0, 17), &[(50.0, 49.9), (330.0, 330.1)]);
    ends("tyre aspect", |of| size(120.0, of, 17), &[(40.0, 39.9), (100.0, 100.1)]);
    ends("rim code", |of| size(120.0, 70.0, of as u8), &[(8.0, 7.0), (26.0, 27.0)]);
    let lamp = |front, rear, base, ahead| {
        let squat = Squat { front: mm(front), rear: mm(rear), wheelbase: mm(base), lamp_ahead: mm(ahead) };
        heights::lamp_height(mm(900.0), squat).is_ok()
    };
    ends("front compression", |of| lamp(of, 0.0, 1400.0, 1300.0), &[(-200.0, -200.1), (200.0, 200.1)]);
    ends("rear compression", |of| lamp(0.0, of, 1400.0, 1300.0), &[(-200.0, -200.1), (200.0, 200.1)]);
    ends("wheelbase", |of| lamp(0.0, 0.0, of, 600.0), &[(900.0, 899.9), (2500.0, 2500.1)]);
    ends("lamp ahead", |of| lamp(0.0, 0.0, 1400.0, of), &[(-200.0, -200.1), (1900.0, 1900.1)]);
    ends("teeth", |of| sprocket::ratio(of as u16, 40).is_ok(), &[(6.0, 5.0), (150.0, 151.0)]);
    let pitch = |of| sprocket::pitch_diameter(15, mm(of)).is_ok();
    ends("pitch", pitch, &[(6.0, 5.9), (40.0, 40.1)]);
    let centres = |of| sprocket::links(Drive { driving: 15, driven: 42, centres: mm(of), pitch: mm(10.0) }).is_ok();
    let clear = 570.0 / std::f64::consts::TAU;
    ends("centres", centres, &[(clear + 1e-6, clear - 1e-6), (1200.0, 1200.1)]);
    let road = |reduction, round| sprocket::engine_speed(km_per_h(10.0), reduction, mm(round)).is_ok();
    ends("reduction", |of| road(of, 1900.0), &[(0.5, 0.49), (100.0, 100.1)]);
    ends("rolling circumference", |of| road(6.0, of), &[(800.0, 799.9), (3000.0, 3000.1)]);
}

#[test]
fn arms_fluids_and_batteries_count_up_to_the_ends_of_their_ranges_and_not_beyond() {
    let geometry = ArmGeometry {
        sprocket_ahead: mm(80.0),
        sprocket_above: mm(10.0),
        arm: mm(560.0),
        front_radius: mm(38.0),
        rear_radius: mm(106.0),
    };
    let centres = |geometry, arm| chain_run::centres(geometry, degrees(arm)).is_ok();
    ends("arm angle", |of| centres(geometry, of), &[(-60.0, -60.1), (60.0, 60.1)]);
    let ahead = |of| centres(ArmGeometry { sprocket_ahead: mm(of), ..geometry }, 8.0);
    ends("sprocket ahead", ahead, &[(20.0, 19.9), (300.0, 300.1)]);
    let above = |of| centres(ArmGeometry { sprocket_above: mm(of), ..geometry }, 8.0);
    ends("sprocket above", above, &[(-150.0, -150.1), (150.0, 150.1)]);
    let arm = |of| centres(ArmGeometry { arm: mm(of), ..geometry }, 8.0);
    ends("arm", arm, &[(300.0, 299.9), (900.0, 900.1)]);
    let play = |geometry, play| chain_run::play_at(geometry, (degrees(8.0), mm(play)), degrees(8.0)).is_ok();
    ends("play", |of| play(geometry, of), &[(0.0, -0.1), (120.0, 120.1)]);
    let radius = |of| play(ArmGeometry { rear_radius: mm(of), ..geometry }, 30.0);
    ends("sprocket radius", radius, &[(15.0, 14.9), (250.0, 250.1)]);
    let celsius = |of| Temperature::from_celsius(of).expect(OWN);
    let boils = |of| brake_fluid::boils(Grade::Dot3, celsius(of)).is_ok();
    ends("boiling point", boils, &[(100.0, 99.9), (350.0, 350.1)]);
    let top_up = |system: f64, missing: f64| coolant::mix_to_top_up(system, missing, one(0.4), one(0.4)).is_ok();
    ends("system", |of| top_up(of, 0.05 * of), &[(0.1, 0.09), (20.0, 20.1)]);
    ends("missing", |of| top_up(2.0, of), &[(0.02, 0.019), (2.0, 2.01)]);
    let stands = |now, least, ampere_hours, milliampere| {
        let standing = Standing { now: one(now), least: one(least), capacity_ampere_hours: ampere_hours };
        standing::stands_for(standing, Current::from_milliampere(milliampere).expect(OWN)).is_ok()
    };
    ends("state of charge", |of| stands(of, 0.5, 12.0, 20.0), &[(0.5, 0.49), (1.0, 1.01)]);
    ends("capacity", |of| stands(1.0, 0.5, of, 20.0), &[(1.0, 0.9), (100.0, 100.1)]);
    ends("draw", |of| stands(1.0, 0.5, 12.0, of), &[(0.1, 0.09), (10_000.0, 10_001.0)]);
    let test = |of| {
        let stop = brake_test::of_times(&even(60.0, 6.0, 30)).expect("a full record");
        brake_test::distance_from(&stop, km_per_h(of)).is_ok()
    };
    ends("speed of a test", test, &[(55.0, 54.9), (65.0, 65.1)]);
    let begun = |of| brake_test::of_times(&even(of, 6.0, 60)).is_ok();
    ends("first speed", begun, &[(20.0, 19.9), (200.0, 200.1)]);
    let exponent = |of| {
        let gauge = |of| GaugePressure::from_kpa(of).expect(OWN);
        LoadTable::of_law(Mass::from_kg(236.0).expect(OWN), gauge(240.0), of, gauge(140.0)).is_ok()
    };
    ends("exponent", exponent, &[(0.3, 0.29), (1.0, 1.01)]);
}
