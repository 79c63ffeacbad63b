//! Forecasts: which of them make a watch, that they only worsen, and what a reading comes to that they did not expect.

use std::{collections::BTreeMap, sync::Arc};

use muster_core::{
    calendar::Moment,
    forecast::{
        estimate::{Estimate, Known, Row},
        parameters::Prior,
        practice::{Clock, Shape},
        riding::{Riding, Season},
        state::State,
    },
    form::Form,
    judge::{Context, Outcome, Verdict, coming, judge, judge_check},
    quantity::Unit,
    words::Use,
};

use super::{super::NOW, plain, texts, whole};

const TREAD: &str = "tyre.front.tread";
/// The second the form of every case is opened at: its answers are of then.
const READ_AT: &str = "2026-11-24T07:30:00+00:00";

/// A tread of 5.0 mm when new, at least 1.5 mm, as it stood a month and 500 km ago.
#[derive(Clone, Copy)]
struct Stood {
    /// What it showed then, in mm.
    value: f64,
    /// What it loses, in mm per 1000 km.
    rate: f64,
    readings: u32,
    lives: u32,
    /// Read until: days before the form.
    days_ago: i64,
    expected: Option<[f64; 2]>,
}

const STOOD: Stood = Stood { value: 3.5, rate: 0.5, readings: 4, lives: 0, days_ago: 30, expected: None };

fn estimate(of: Stood) -> Estimate {
    let read_until = Moment::parse(READ_AT).expect("a moment").later_by(-86_400 * of.days_ago);
    let row = Row {
        machine: "M-1".into(),
        lives: of.lives,
        readings: of.readings,
        read_until: read_until.timestamp().as_second(),
        count: if of.days_ago > 0 { 0.5 } else { 1.0 },
        with: Some("D".into()),
        new: 5.0,
        expected: of.expected,
        state: State { mean: [5.0 - of.value, of.rate, 0.0], cov: [0.002, 0.0, 0.0, 0.004, 0.0, 0.001] },
    };
    let known = Known {
        check: TREAD.into(),
        part: "tyre.front".into(),
        name: "Front tyre".into(),
        order: Some("Front tyre".into()),
        clock: Clock::Distance,
        unit: Unit::Millimetre,
        usual: (5.0, 1.6),
        theta: Prior::usual(3.5, 7.0, &Shape::default()).mean,
        fresh: 0.03,
        machines: 5,
        readings: 60,
        rows: vec![row],
    };
    Estimate {
        hash: "0123456789abcdef".into(),
        at: Moment::parse("2026-11-23T05:00:00+00:00").expect("a moment"),
        season: Season { months: [1.0; 12], day_km: 20.0 },
        ridings: BTreeMap::from([("M-1".into(), Riding { day_km: 20.0, spread: 0.3 })]),
        gauges: Vec::new(),
        kinds: vec![known],
    }
}

/// A form with one answer a reading: what was read, and what stands beside it.
fn form(readings: &[(&str, &str)]) -> String {
    let answer = |(read, beside): &(&str, &str)| {
        let with = if beside.contains("with") { "" } else { "with = \"D\"\n" };
        format!("[[answer]]\ncheck = \"{TREAD}\"\nread = \"{read} mm\"\n{with}{beside}\n")
    };
    readings.iter().map(answer).collect()
}

/// What readings come to on the range under an estimate.
fn told(readings: &[(&str, &str)], of: Option<Stood>) -> Outcome {
    told_after(readings, of, &BTreeMap::new())
}

fn told_after(readings: &[(&str, &str)], of: Option<Stood>, mountings: &BTreeMap<String, u32>) -> Outcome {
    let sheet = format!("[[limit]]\ncheck = \"{TREAD}\"\nat_least = \"1.5 mm\"\nnew = \"5.0 mm\"");
    let mut small = whole(&texts(TREAD, &sheet, &form(readings)));
    small.yard.forecast = of.map(|of| Arc::new(estimate(of)));
    let forms: Vec<&Form> = small.forms.iter().collect();
    let context = small.context(NOW);
    let mut machine = context.machine.clone();
    machine.mountings.clone_from(mountings);
    let context = Context { machine: &machine, ..context };
    let judged = judge(&context, &forms);
    let check = context.check(TREAD).expect("it is there");
    let alone = judge_check(&context, &forms, check);
    for of_use in &judged.uses {
        let own = of_use.outcomes.iter().find(|outcome| outcome.check == TREAD);
        assert_eq!(own, alone.iter().find(|outcome| outcome.one == of_use.one), "one check alone is the same");
    }
    assert_eq!(coming(&context, &forms, Use::Range).len(), usize::from(of.is_some() && mountings.is_empty()));
    let range = judged.uses.into_iter().find(|of| of.one == Use::Range).expect("every use is judged");
    range.outcomes.into_iter().find(|outcome| outcome.check == TREAD).expect("it is read")
}

#[test]
fn a_limit_likely_met_before_the_next_look_makes_a_watch_and_says_how_far_and_when() {
    // 3.25 mm, 3 mm in 1000 km: 1.75 mm are gone in 580 km, and the answer lives for 1000 km or 30 days of 20 km.
    let outcome = told(&[("3.25", "")], Some(Stood { value: 4.7, rate: 3.0, ..STOOD }));
    assert_eq!(outcome.verdict, Verdict::Watch, "{outcome:?}");
    let reason = plain(&outcome.reason);
    assert!(reason.contains("; forecast: limit met in 5") && reason.contains(" km ("), "{reason}");
    assert!(reason.contains("2026-12-") && reason.ends_with("% before it is looked at again"), "{reason}");
    assert_eq!(outcome.todo.as_deref(), Some("Plan the work; read it again sooner"));
    let source = outcome.working.iter().find(|line| line.starts_with("forecast: ")).expect("it says what it rests on");
    assert!(source.contains("estimate of 2026-11-23 from 4 of") && source.ends_with("0123456789abcdef"), "{source}");
}

#[test]
fn no_other_forecast_does() {
    let soon = Stood { value: 4.7, rate: 3.0, ..STOOD };
    let is_in = Stood { value: 3.25, days_ago: 0, ..soon };
    for (what, of) in [
        ("none", None),
        ("far from its limit", Some(STOOD)),
        ("from what is usual alone", Some(Stood { readings: 0, ..is_in })),
    ] {
        let outcome = told(&[("3.25", "")], of);
        assert_eq!((outcome.verdict, outcome.todo), (Verdict::Fit, None), "{what}: {}", outcome.reason);
    }
    assert_eq!(told(&[("3.25", "")], Some(is_in)).verdict, Verdict::Watch, "the same, read before");
    for count in [1, u32::MAX] {
        let mounted = BTreeMap::from([("tyre.front".to_string(), count)]);
        assert_eq!(
            told_after(&[("3.25", "")], Some(soon), &mounted).verdict,
            Verdict::Fit,
            "mounted or taken off since"
        );
    }
}

#[test]
fn a_forecast_never_betters_what_is_worse_than_fit() {
    for (read, verdict) in [("1.4", Verdict::Hold), ("1.7", Verdict::Watch)] {
        let of = Stood { value: 1.9, rate: 0.5, ..STOOD };
        let outcome = told(&[(read, "")], Some(of));
        assert_eq!((outcome.verdict, &outcome.reason), (verdict, &told(&[(read, "")], None).reason), "{read}");
    }
}

#[test]
fn less_wear_than_can_be_is_unseen_till_it_is_explained() {
    // 500 km after 3.5 mm, at 0.5 mm in 1000 km, 3.25 mm is expected.
    let unseen = |readings: &[(&str, &str)], todo: &str| {
        let outcome = told(readings, Some(STOOD));
        assert_eq!(outcome.verdict, Verdict::Unseen, "{readings:?}: {outcome:?}");
        assert!(plain(&outcome.reason).contains(": less wear than can be"), "{outcome:?}");
        assert_eq!(outcome.todo.as_deref(), Some(todo), "{readings:?}");
    };
    let again = "Note the part mounted, read it with another instrument, or say why beside the reading";
    unseen(&[("4.6", "")], "Read it a second time on the spot");
    unseen(&[("4.6", ""), ("4.6", "")], again);
    unseen(&[("3.2", ""), ("4.6", "")], "Read it a second time on the spot");
    for (what, readings) in [
        ("the second is as expected", &[("4.6", ""), ("3.2", "")][..]),
        ("two gauges agree", &[("4.6", ""), ("4.5", "with = \"V\"")]),
        ("somebody said why", &[("4.6", ""), ("4.6", "why = \"last month's was between the bars\"")]),
    ] {
        let outcome = told(readings, Some(STOOD));
        assert!(outcome.verdict < Verdict::Unseen, "{what}: {outcome:?}");
    }
    let mounted = BTreeMap::from([("tyre.front".to_string(), 1)]);
    assert_eq!(told_after(&[("4.6", "")], Some(STOOD), &mounted).verdict, Verdict::Fit, "another part");
    assert_eq!(told(&[("4.6", "")], Some(Stood { readings: 0, ..STOOD })).verdict, Verdict::Fit, "its first reading");
}

#[test]
fn it_stays_unseen_when_the_estimate_has_taken_it_in() {
    let of = Stood { value: 4.6, days_ago: 0, expected: Some([3.0, 3.5]), ..STOOD };
    assert_eq!(told(&[("4.6", "")], Some(of)).verdict, Verdict::Unseen);
    assert_eq!(told(&[("4.6", ""), ("4.6", "with = \"V\"")], Some(of)).verdict, Verdict::Fit, "two gauges agree");
}

#[test]
fn more_wear_than_expected_counts_and_is_asked_for_again() {
    let once = told(&[("2.6", "")], Some(STOOD));
    assert_eq!(once.verdict, Verdict::Fit, "{once:?}");
    assert!(
        plain(&once.reason).contains("; 3 mm where 3 to 4 was expected") || once.reason.contains("was expected"),
        "{once:?}"
    );
    assert!(
        once.todo.as_deref().is_some_and(|todo| todo.starts_with("Read it a second time on the spot. More wear")),
        "{once:?}"
    );
    let twice = told(&[("2.6", ""), ("2.6", "")], Some(STOOD));
    assert_eq!((twice.verdict, twice.todo), (Verdict::Fit, None));
    let hold = told(&[("1.4", "")], Some(STOOD));
    assert_eq!(hold.verdict, Verdict::Hold, "it counts");
    assert!(hold.todo.as_deref().is_some_and(|todo| todo.contains("on the spot. Then: Hang a hold tag")), "{hold:?}");
}
