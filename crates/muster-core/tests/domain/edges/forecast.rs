//! Forecasts: which of them make a watch, and that they only worsen.

use muster_core::{
    form::Form,
    judge::{Context, Forecast, Outcome, Verdict, judge},
    statistics::uncertainty::Probability,
    words::Use,
};

use super::{super::NOW, plain, tread, whole};

fn forecast(check: &str, p: f64, from_prior_alone: bool) -> Forecast {
    let meets_limit = Probability::new(p).expect("a share of one");
    Forecast { check: check.into(), meets_limit, from_prior_alone }
}

/// What tread read as `read`, at least 1.5 mm, comes to under forecasts.
fn told(read: &str, forecasts: &[Forecast]) -> Outcome {
    let small = whole(&tread(read));
    let forms: Vec<&Form> = small.forms.iter().collect();
    let context = Context { forecasts, ..small.context(NOW) };
    let range = judge(&context, &forms).uses.into_iter().find(|of| of.one == Use::Range).expect("every use is judged");
    range.outcomes.into_iter().find(|outcome| outcome.check == "tyre.front.tread").expect("it is read")
}

const TREAD: &str = "tyre.front.tread";

#[test]
fn a_limit_likely_met_before_the_next_look_makes_a_watch_and_says_how_likely() {
    let outcome = told("3.25 mm", &[forecast(TREAD, 0.25, false), forecast(TREAD, 0.5, false)]);
    assert_eq!(outcome.verdict, Verdict::Watch);
    let end = "; 50 % likely to meet its limit before it is looked at again";
    assert!(plain(&outcome.reason).ends_with(end), "{outcome:?}");
    assert_eq!(outcome.todo.as_deref(), Some("Plan the work; read it again sooner"));
}

#[test]
fn no_other_forecast_does() {
    for (what, forecasts) in [
        ("none", vec![]),
        ("exactly as likely as allowed", vec![forecast(TREAD, 0.05, false)]),
        ("less likely", vec![forecast(TREAD, 0.01, false)]),
        ("from the prior alone", vec![forecast(TREAD, 0.9, true)]),
        ("of another check", vec![forecast("chain.slack", 0.9, false)]),
    ] {
        let outcome = told("3.25 mm", &forecasts);
        assert_eq!((outcome.verdict, outcome.todo), (Verdict::Fit, None), "{what}: {}", outcome.reason);
    }
}

#[test]
fn a_forecast_never_betters_what_is_worse_than_fit() {
    let soon = [forecast(TREAD, 0.9, false)];
    for (read, verdict) in [("1.4 mm", Verdict::Hold), ("1.7 mm", Verdict::Watch)] {
        assert_eq!(told(read, &soon), told(read, &[]), "{read}");
        assert_eq!(told(read, &soon).verdict, verdict, "{read}");
    }
}
