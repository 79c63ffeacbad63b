//! Laws of the statistics that hold for every number, and the numbers they refuse.

use muster_core::statistics::conformance::{Window, guard_band};
use muster_core::statistics::global::{Prior, global_risk};
use muster_core::statistics::repeats::{
    Accuracy, Estimate, InstrumentError, Instruments, Repeatability, Source, combined, difference_of,
};
use muster_core::statistics::student::{self, DegreesOfFreedom};
use muster_core::statistics::uncertainty::{Probability, StandardUncertainty, effective_degrees};
use muster_core::statistics::{Refusal, normal};
use proptest::prelude::*;

fn u(of: f64) -> StandardUncertainty {
    StandardUncertainty::new(of).expect("the tests' own figure is in range")
}

fn probability(of: f64) -> Probability {
    Probability::new(of).expect("the tests' own figure is in range")
}

fn degrees(of: f64) -> DegreesOfFreedom {
    DegreesOfFreedom::new(of).expect("the tests' own figure is in range")
}

fn within(lower: f64, width: f64) -> Window {
    Window::within(lower, lower + width).expect("a width is not negative")
}

fn conformance(window: Window, value: f64, spread: f64) -> f64 {
    window.conformance(value, u(spread)).expect("the value is finite").get()
}

fn read(readings: &[f64], step: f64, half_width: f64, known: Option<Repeatability>) -> Estimate {
    let instrument = InstrumentError::new(step, Accuracy::HalfWidth(half_width)).expect("figures are in range");
    combined(readings, instrument, known).expect("there are finite readings")
}

#[test]
fn repeats_that_agree_have_the_figure_they_agree_on() {
    // As a sum, three times 0.1 divided by three lies above 0.1: past a limit of 0.1 that each of them keeps.
    for figure in [0.1, 0.7, 1.1, 1.6, 33.3] {
        for count in 1..30 {
            assert_eq!(
                read(&vec![figure; count], 0.1, 0.1, None).value().to_bits(),
                figure.to_bits(),
                "{count} × {figure}"
            );
        }
    }
}

proptest! {
    #[test]
    fn repeats_average_to_what_lies_between_them(readings in prop::collection::vec(-1e9..1e9_f64, 1..12)) {
        let mean = read(&readings, 0.1, 0.1, None).value();
        prop_assert!(readings.iter().any(|reading| *reading <= mean));
        prop_assert!(readings.iter().any(|reading| *reading >= mean));
    }

    #[test]
    fn normal_quantile_undoes_the_distribution(p in 1e-12..0.999_999_f64) {
        prop_assert!((normal::cdf(normal::quantile(probability(p))) - p).abs() < 1e-14);
    }

    #[test]
    fn normal_tails_add_to_one(z in -40.0..40.0_f64) {
        prop_assert!((normal::cdf(z) + normal::upper_tail(z) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn student_quantile_undoes_the_distribution(p in 1e-9..0.999_999_f64, nu in 1.0..3e6_f64) {
        let t = student::quantile(probability(p), degrees(nu));
        prop_assert!((student::cdf(t, degrees(nu)) - p).abs() < 1e-13);
    }

    #[test]
    fn student_has_heavier_tails_the_fewer_degrees(t in 0.1..8.0_f64, nu in 1.0..1e5_f64) {
        prop_assert!(student::cdf(-t, degrees(nu)) >= student::cdf(-t, degrees(nu * 1.5)) - 1e-13);
        prop_assert!(student::cdf(-t, degrees(nu)) >= normal::cdf(-t) - 1e-13);
    }

    #[test]
    fn student_joins_the_expansion_without_a_step(t in -6.0..6.0_f64) {
        let (below, above) = (student::cdf(t, degrees(1e4)), student::cdf(t, degrees(1e4_f64.next_up())));
        prop_assert!((below - above).abs() < 1e-13);
    }

    #[test]
    fn more_of_the_good_never_conforms_less(limit in -50.0..50.0_f64, y in -60.0..60.0_f64, more in 0.0..20.0_f64, spread in 0.0..9.0_f64) {
        let window = Window::at_least(limit).expect("finite");
        prop_assert!(conformance(window, y + more, spread) >= conformance(window, y, spread));
        let window = Window::at_most(limit).expect("finite");
        prop_assert!(conformance(window, y + more, spread) <= conformance(window, y, spread));
    }

    #[test]
    fn doubt_moves_a_one_sided_probability_towards_one_half(limit in -50.0..50.0_f64, y in -60.0..60.0_f64, spread in 0.0..9.0_f64, more in 0.0..9.0_f64) {
        let window = Window::at_least(limit).expect("finite");
        let (sure, unsure) = (conformance(window, y, spread), conformance(window, y, spread + more));
        if y >= limit {
            prop_assert!(unsure <= sure && unsure >= 0.5);
        } else {
            prop_assert!(unsure >= sure && unsure <= 0.5);
        }
    }

    #[test]
    fn doubt_never_raises_a_probability_inside_two_bounds(lower in -50.0..50.0_f64, width in 0.1..40.0_f64, share in 0.0..=1.0_f64, spread in 0.0..9.0_f64, more in 0.0..9.0_f64) {
        let (window, y) = (within(lower, width), lower + share * width);
        prop_assume!(window.contains(y));
        prop_assert!(conformance(window, y, spread + more) <= conformance(window, y, spread) + 1e-15);
    }

    #[test]
    fn two_bounds_are_symmetric_about_their_middle(lower in -50.0..50.0_f64, width in 0.1..40.0_f64, offset in 0.0..40.0_f64, spread in 0.1..9.0_f64) {
        let (window, middle) = (within(lower, width), lower + width / 2.0);
        let (left, right) = (conformance(window, middle - offset, spread), conformance(window, middle + offset, spread));
        prop_assert!((left - right).abs() < 1e-12);
    }

    #[test]
    fn no_reading_beats_the_best_possible(lower in -50.0..50.0_f64, width in 0.1..40.0_f64, y in -100.0..100.0_f64, spread in 0.0..9.0_f64) {
        let window = within(lower, width);
        prop_assert!(conformance(window, y, spread) <= window.best_possible(u(spread)).get() + 1e-14);
    }

    #[test]
    fn both_bounds_conform_less_than_each(lower in -50.0..50.0_f64, width in 0.1..40.0_f64, y in -100.0..100.0_f64, spread in 0.0..9.0_f64) {
        let both = conformance(within(lower, width), y, spread);
        prop_assert!(both <= conformance(Window::at_least(lower).expect("finite"), y, spread) + 1e-15);
        prop_assert!(both <= conformance(Window::at_most(lower + width).expect("finite"), y, spread) + 1e-15);
    }

    #[test]
    fn a_reading_on_the_guard_conforms_with_what_was_asked(limit in -50.0..50.0_f64, spread in 0.01..9.0_f64, p in 0.001..0.999_f64) {
        let band = guard_band(probability(p), u(spread));
        prop_assert!((conformance(Window::at_least(limit).expect("finite"), limit + band, spread) - p).abs() < 1e-11);
        prop_assert!((conformance(Window::at_most(limit).expect("finite"), limit - band, spread) - p).abs() < 1e-11);
    }

    #[test]
    fn acceptance_ends_where_the_probability_is_what_was_asked(width in 0.1..40.0_f64, spread in 0.01..9.0_f64, p in 0.001..0.999_f64) {
        let window = within(-width / 2.0, width);
        match window.acceptance(probability(p), u(spread)).expect("p is above 0") {
            Some(accepted) => {
                for end in [accepted.lower(), accepted.upper()] {
                    prop_assert!((conformance(window, end.expect("two-sided"), spread) - p).abs() < 1e-11);
                }
            }
            None => prop_assert!(window.best_possible(u(spread)) < probability(p)),
        }
    }

    #[test]
    fn the_largest_uncertainty_just_allows_a_reading(width in 0.1..40.0_f64, p in 0.01..0.999_f64) {
        let window = within(0.0, width);
        let largest = window.largest_uncertainty(probability(p)).expect("two-sided");
        prop_assert!((window.best_possible(largest).get() - p).abs() < 1e-12);
    }

    #[test]
    fn few_readings_are_never_surer_inside_one_bound(limit in -50.0..50.0_f64, above in 0.0..20.0_f64, spread in 0.01..9.0_f64, nu in 1.0..100.0_f64) {
        let window = Window::at_least(limit).expect("finite");
        let few = window.conformance_by_student(limit + above, u(spread), degrees(nu)).expect("finite").get();
        prop_assert!(few <= conformance(window, limit + above, spread) + 1e-13);
    }

    #[test]
    fn repeats_never_beat_the_bias_or_the_resolution(readings in prop::collection::vec(20.0..50.0_f64, 1..30), step in 0.0..2.0_f64, half_width in 0.0..5.0_f64) {
        let estimate = read(&readings, step, half_width, None);
        prop_assert!(estimate.u().get() >= estimate.part(Source::Bias).get());
        prop_assert!(estimate.u().get() >= u(step).get() / 12.0_f64.sqrt() - 1e-15);
        let squares: f64 = estimate.parts().iter().map(|part| part.u.get().powi(2)).sum();
        prop_assert!((squares.sqrt() - estimate.u().get()).abs() < 1e-12);
    }

    #[test]
    fn repeats_combine_alike_in_any_order(readings in prop::collection::vec(20.0..50.0_f64, 1..30)) {
        let turned: Vec<_> = readings.iter().rev().copied().collect();
        prop_assert_eq!(read(&readings, 1.0, 2.0, None), read(&turned, 1.0, 2.0, None));
    }

    #[test]
    fn pooling_stays_between_and_does_not_mind_the_order(a in 0.0..5.0_f64, b in 0.0..5.0_f64, nu in 1.0..50.0_f64, mu in 1.0..50.0_f64) {
        let (first, second) = (Repeatability::new(u(a), degrees(nu)), Repeatability::new(u(b), degrees(mu)));
        let pooled = first.pooled(second).expect("small figures");
        prop_assert!(pooled.deviation().get() >= a.min(b) - 1e-12 && pooled.deviation().get() <= a.max(b) + 1e-12);
        prop_assert!((pooled.deviation().get() - second.pooled(first).expect("small figures").deviation().get()).abs() < 1e-12);
    }

    #[test]
    fn one_gauge_makes_a_difference_no_less_sure(a in prop::collection::vec(20.0..50.0_f64, 1..6), b in prop::collection::vec(20.0..50.0_f64, 1..6), half_width in 0.0..5.0_f64) {
        let (a, b) = (read(&a, 1.0, half_width, None), read(&b, 1.0, half_width, None));
        let same = difference_of(&a, &b, Instruments::Same).expect("finite");
        let different = difference_of(&a, &b, Instruments::Different).expect("finite");
        prop_assert!(same.u() <= different.u());
        prop_assert_eq!(same.part(Source::Bias), StandardUncertainty::ZERO);
        prop_assert!((same.value() - different.value()).abs() < 1e-12);
    }

    #[test]
    fn effective_degrees_lie_between_the_least_and_the_sum(parts in prop::collection::vec((0.001..9.0_f64, 1.0..60.0_f64), 1..6)) {
        let parts: Vec<_> = parts.into_iter().map(|(of, nu)| (u(of), degrees(nu))).collect();
        let effective = effective_degrees(&parts).get();
        let least = parts.iter().map(|(_, nu)| nu.get()).fold(f64::INFINITY, f64::min);
        let sum: f64 = parts.iter().map(|(_, nu)| nu.get()).sum();
        prop_assert!(effective >= least * (1.0 - 1e-12) && effective <= sum * (1.0 + 1e-12));
    }

    #[test]
    fn a_guard_protects_the_rider_at_the_workshops_cost(mean in -3.0..3.0_f64, deviation in 0.05..5.0_f64, spread in 0.0..3.0_f64, band in 0.0..2.0_f64) {
        let prior = Prior::new(mean, deviation).expect("in range");
        let limit = Window::at_least(0.0).expect("finite");
        let simple = global_risk(limit, limit, prior, u(spread)).expect("in range");
        let guarded = global_risk(limit, Window::at_least(band).expect("finite"), prior, u(spread)).expect("in range");
        prop_assert!(guarded.consumer.get() <= simple.consumer.get() + 1e-12);
        prop_assert!(guarded.producer.get() >= simple.producer.get() - 1e-12);
        // Both are shares of what is bad, and of what is good.
        let good = conformance(limit, mean, deviation);
        prop_assert!(simple.consumer.get() <= 1.0 - good + 1e-12 && guarded.producer.get() <= good + 1e-12);
    }

    #[test]
    fn swapping_limit_and_acceptance_of_one_bound_balances(mean in -3.0..3.0_f64, deviation in 0.05..5.0_f64, spread in 0.01..3.0_f64) {
        // good − accepted = (good, rejected) − (bad, accepted), and accepted is normal with both spreads.
        let limit = Window::at_most(0.5).expect("finite");
        let risk = global_risk(limit, limit, Prior::new(mean, deviation).expect("in range"), u(spread)).expect("in range");
        let accepted = conformance(limit, mean, deviation.hypot(spread));
        let balance = conformance(limit, mean, deviation) - accepted;
        prop_assert!((risk.producer.get() - risk.consumer.get() - balance).abs() < 1e-12);
    }
}

#[test]
fn numbers_without_meaning_are_refused() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1e-12] {
        assert!(StandardUncertainty::new(bad).is_err());
        assert!(StandardUncertainty::rectangular(bad).is_err());
        assert!(StandardUncertainty::triangular(bad).is_err());
        assert!(StandardUncertainty::resolution(bad).is_err());
        assert!(StandardUncertainty::from_expanded(bad, 2.0).is_err());
        assert!(StandardUncertainty::from_expanded(1.0, bad).is_err());
        assert!(Probability::new(bad).is_err());
        assert!(Prior::new(0.0, bad).is_err());
        assert!(InstrumentError::new(bad, Accuracy::HalfWidth(1.0)).is_err());
        assert!(InstrumentError::new(1.0, Accuracy::ExpandedK2(bad)).is_err());
    }
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert!(Window::at_least(bad).is_err() && Window::at_most(bad).is_err());
        assert!(Window::at_least(0.0).expect("finite").conformance(bad, u(1.0)).is_err());
        assert!(Window::at_least(0.0).expect("finite").conformance(bad, u(0.0)).is_err());
        assert!(u(1.0).scaled(bad).is_err());
        assert!(Repeatability::of(&[1.0, bad]).is_err());
    }
    for bad in [f64::NAN, 0.0, 0.999, -3.0] {
        assert!(DegreesOfFreedom::new(bad).is_err());
    }
    assert!(StandardUncertainty::from_expanded(1.0, 0.0).is_err());
    assert!(StandardUncertainty::combine([u(f64::MAX), u(f64::MAX)]).is_err());
    assert!(Window::within(-f64::MAX, f64::MAX).is_err());
    assert!(Window::at_least(0.0).expect("finite").acceptance(Probability::ZERO, u(1.0)).is_err());
    assert!(!Window::at_least(0.0).expect("finite").contains(f64::NAN));
}

#[test]
fn refusals_say_what_is_allowed_and_what_was_given() {
    let said = |refusal: Refusal| refusal.to_string();
    assert_eq!(Window::new(None, None).map_err(said), Err("a window needs a lower or an upper bound".into()));
    assert_eq!(
        Window::within(275.0, 225.0).map_err(said),
        Err("the lower bound 275 must not lie above the upper bound 225".into())
    );
    assert_eq!(
        StandardUncertainty::new(-0.5).map_err(said),
        Err("standard uncertainty must be finite and at least 0, got -0.5".into())
    );
    assert_eq!(Probability::new(1.5).map_err(said), Err("probability must be 0 to 1, got 1.5".into()));
    let instrument = InstrumentError::new(1.0, Accuracy::HalfWidth(0.0)).expect("in range");
    assert_eq!(combined(&[], instrument, None).map_err(said), Err("at least one reading is needed to combine".into()));
}

#[test]
fn a_known_scatter_that_is_exact_outweighs_the_readings() {
    let exact = Repeatability::new(u(2.0), DegreesOfFreedom::INFINITE);
    let seen = Repeatability::of(&[1.0, 9.0]).expect("finite").expect("two readings");
    assert_eq!(seen.pooled(exact), Ok(exact));
    assert_eq!(exact.pooled(seen), Ok(exact));
    let larger = Repeatability::new(u(3.0), DegreesOfFreedom::INFINITE);
    assert_eq!(exact.pooled(larger), Ok(larger));
    assert_eq!(larger.pooled(exact), Ok(larger));
}

#[test]
fn parts_are_named_and_missing_scatter_is_missing() {
    let single = read(&[232.0], 1.0, 3.0, None);
    let named: Vec<_> = single.parts().iter().map(|part| part.source.to_string()).collect();
    assert_eq!(named, ["resolution of the instrument", "accuracy of the instrument"]);
    let corrected = read(&[232.0, 233.0], 1.0, 3.0, None).corrected(220.0, 0.95, u(4.0)).expect("finite");
    let named: Vec<_> = corrected.parts().iter().map(|part| part.source.to_string()).collect();
    assert_eq!(
        named,
        ["scatter of the readings", "resolution of the instrument", "accuracy of the instrument", "correction"]
    );
    let twice = corrected.corrected(210.0, 2.0, u(6.0)).expect("finite");
    assert!((twice.part(Source::Correction).get() - 10.0).abs() < 1e-12);
}
