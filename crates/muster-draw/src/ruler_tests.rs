//! Where the marks of a ruler lie, and its drawing as it is kept.

use super::*;
use crate::draw;

const FIT: Tone = Tone::Judged(Verdict::Fit);
const WATCH: Tone = Tone::Judged(Verdict::Watch);
const HOLD: Tone = Tone::Judged(Verdict::Hold);

/// A reading in millimetres to one decimal against nothing yet.
fn figure(value: f64, expanded_u: f64) -> Figure {
    Figure {
        unit: "mm",
        decimals: 1,
        value,
        expanded_u,
        gauge: None,
        at_least: None,
        at_most: None,
        target: None,
        new: None,
        margin: 0.0,
        places: Vec::new(),
    }
}

fn tread(value: f64, expanded_u: f64) -> Figure {
    Figure { at_least: Some(1.6), new: Some(7.0), ..figure(value, expanded_u) }
}

fn pressure(value: f64, expanded_u: f64, gauge: Option<f64>) -> Figure {
    let window = figure(value, expanded_u);
    Figure { unit: "psi", at_least: Some(33.0), at_most: Some(41.0), target: Some(36.0), gauge, ..window }
}

fn disc(value: f64) -> Figure {
    Figure { decimals: 2, at_least: Some(4.0), new: Some(5.0), ..figure(value, 0.04) }
}

fn ruler(figure: &Figure, tone: Tone) -> Ruler {
    Ruler::of(figure, tone, "law").expect("it has a limit")
}

#[track_caller]
fn near(got: f64, expected: f64) {
    assert!((got - expected).abs() < 0.005, "{got} is not {expected}");
}

fn limit_x(figure: &Figure) -> f64 {
    ruler(figure, FIT).notches[0]
}

#[test]
fn new_stands_at_the_left_and_the_limit_at_four_fifths() {
    let falling = ruler(&tread(3.1, 0.2), FIT);
    near(falling.notches[0], 80.0);
    assert_eq!(falling.new.as_ref().map(|label| (label.x, label.anchor)), Some((0.0, Anchor::Start)));
    // (7.0 − 3.1) / (7.0 − 1.6) of the way to the limit
    near(falling.reading.expect("a reading").x, 80.0 * 3.9 / 5.4);

    let rising = Figure { at_most: Some(2.0), new: Some(0.0), ..figure(0.4, 0.3) };
    let rising = ruler(&rising, FIT);
    near(rising.notches[0], 80.0);
    near(rising.reading.expect("a reading").x, 16.0);
}

#[test]
fn a_lone_limit_never_leaves_72_to_88_per_cent() {
    for value in [-40.0, 0.0, 0.7, 1.5, 1.6, 1.7, 2.3, 6.9, 7.0, 7.4, 30.0] {
        for u in [0.0, 0.2, 0.9, 6.0] {
            let x = limit_x(&tread(value, u));
            assert!((71.999..=88.0).contains(&x), "{value} ±{u}: limit at {x}");
            let reading = ruler(&tread(value, u), FIT).reading.expect("a reading");
            assert!((0.0..=100.0).contains(&reading.x), "{value} ±{u}: pointer at {}", reading.x);
            let bare = Figure { at_most: Some(1.6), ..figure(value, u) };
            assert!((71.999..=88.0).contains(&limit_x(&bare)), "{value} ±{u} with neither new nor set");
        }
    }
}

#[test]
fn the_scale_makes_room_behind_the_limit_for_a_reading_past_it() {
    let past = ruler(&disc(3.6), HOLD);
    let reading = past.reading.expect("a reading");
    assert!(reading.whisker.to < 97.5, "{reading:?}");
    // the margin bar runs from the notch out to the pointer
    near(reading.margin.from, past.notches[0]);
    near(reading.margin.to, reading.x);
}

#[test]
fn two_limits_stand_in_the_middle_with_the_low_one_left() {
    let within = ruler(&pressure(36.1, 1.7, None), FIT);
    // a window of 8 with 3/8 of it on either side
    near(within.notches[0], 100.0 * 3.0 / 14.0);
    near(within.notches[1], 100.0 * 11.0 / 14.0);
    let far = ruler(&pressure(22.0, 1.7, None), HOLD);
    near(far.notches[0] + far.notches[1], 100.0);
    assert!(far.reading.expect("a reading").whisker.from > 0.5);
}

#[test]
fn the_bar_of_two_limits_goes_to_the_nearer_one() {
    let low = ruler(&pressure(35.0, 0.5, None), FIT);
    near(low.reading.expect("a reading").margin.from, low.notches[0]);
    let high = ruler(&pressure(39.5, 0.5, None), FIT);
    near(high.reading.expect("a reading").margin.to, high.notches[1]);
}

/// Source: the 95th centile of the standard normal distribution, 1.645 (JCGM 106:2012, table 1 has the same for k).
#[test]
fn the_guard_band_of_one_limit_ends_at_1_645_u() {
    let one = ruler(&tread(3.1, 0.2), FIT);
    let per_mm = 80.0 / 5.4;
    near(one.guard[0].width(), 1.645 * 0.1 * per_mm);
    near(one.guard[0].to, one.notches[0]);
}

#[test]
fn the_guard_bands_of_two_limits_end_where_p_is_0_95() {
    let per_psi = 100.0 / 14.0;
    // far apart: as for one limit each
    let wide = ruler(&pressure(36.0, 1.7, None), FIT);
    near(wide.guard[0].width(), 1.645 * 0.85 * per_psi);
    near(wide.guard[1].width(), wide.guard[0].width());
    // 8 wide with u = 2: P at its middle is 2 Φ(2) − 1 = 0.9545, so the bands all but meet
    let tight = ruler(&pressure(37.0, 4.0, None), WATCH);
    assert!(tight.guard[0].width() > 1.645 * 2.0 * per_psi, "{:?}", tight.guard);
    assert!(tight.guard[0].to < tight.guard[1].from, "{:?}", tight.guard);
    // with u = 2.1 it is 2 Φ(1.905) − 1 = 0.943: no reading is sure, one band fills the window
    let hopeless = ruler(&pressure(37.0, 4.2, None), WATCH);
    assert_eq!(hopeless.guard.len(), 1);
    near(hopeless.guard[0].from, hopeless.notches[0]);
    near(hopeless.guard[0].to, hopeless.notches[1]);
}

#[test]
fn a_reading_taken_as_exact_has_no_guard_band() {
    assert_eq!(ruler(&tread(3.1, 0.0), FIT).guard, []);
}

#[test]
fn figures_keep_clear_of_the_pointer_and_the_notch() {
    let ruler = ruler(&tread(3.1, 0.2), FIT);
    let figures: Vec<&str> = ruler.ticks.iter().filter_map(|tick| tick.figure.as_deref()).collect();
    assert_eq!(figures, ["6", "5", "4", "2", "1"]);
    assert!(ruler.ticks.iter().any(|tick| tick.is_major && tick.figure.is_none()));
}

#[test]
fn the_scale_runs_past_zero_without_figures() {
    let near_zero = Figure { at_least: Some(0.2), new: Some(3.0), ..figure(1.0, 0.1) };
    let ruler = ruler(&near_zero, FIT);
    assert!(ruler.ticks.last().is_some_and(|tick| tick.x > ruler.notches[0]));
    assert!(ruler.ticks.iter().filter_map(|tick| tick.figure.as_deref()).all(|text| !text.starts_with('−')));
}

#[test]
fn a_label_that_would_touch_a_limit_is_dropped() {
    let apart = ruler(&pressure(36.1, 1.7, None), FIT);
    assert_eq!(apart.set.map(|label| label.text), Some("set 36.0".to_owned()));
    let close = Figure { target: Some(33.5), ..pressure(36.1, 1.7, None) };
    let close = ruler(&close, FIT);
    assert_eq!(close.set, None, "beside the low limit there is no room for its name");
    assert!(close.target.is_some(), "its diamond stays");
    assert_eq!(close.limits.len(), 2);
    let new_near_limit = Figure { new: Some(1.7), ..tread(1.65, 0.01) };
    assert!(ruler(&new_near_limit, FIT).limits.len() == 1);
}

#[test]
fn what_cannot_be_drawn_is_left_out() {
    assert_eq!(Ruler::of(&figure(3.0, 0.1), FIT, ""), None);
    assert_eq!(Ruler::of(&Figure { at_least: Some(f64::NAN), ..figure(3.0, 0.1) }, FIT, ""), None);
    let unread = ruler(&tread(f64::NAN, 0.2), Tone::Judged(Verdict::Unseen));
    assert_eq!(unread.reading, None);
    assert_eq!(Ruler::of(&tread(f64::MAX, f64::INFINITY), FIT, ""), None);
    let exact = Figure { at_most: Some(1.6), ..tread(1.6, 0.0) };
    assert!(ruler(&exact, FIT).notches.iter().all(|x| x.is_finite()));
}

/// Checks the drawing of a figure against the one kept, one element a line.
#[track_caller]
fn kept(name: &str, figure: &Figure, tone: Tone) {
    let ruler = ruler(figure, tone);
    let drawn = format!("{}\n{}", draw::full(&ruler, "what it says"), draw::mini(&ruler));
    insta::assert_snapshot!(name, drawn.replace("><", ">\n<"));
}

#[test]
fn drawings_stay_as_they_are_kept() {
    kept("one_sided", &tread(3.1, 0.2), FIT);
    kept("past_its_limit", &disc(3.9), HOLD);
    kept("too_close_to_call", &disc(4.02), HOLD);
    kept("two_sided_warm_to_set", &pressure(33.5, 1.7, Some(35.8)), Tone::Set);
    kept("coarse", &tread(2.3, 0.9), WATCH);
    kept("no_reading", &tread(f64::NAN, 0.2), Tone::Judged(Verdict::Unseen));
}

#[test]
fn the_last_five_readings_before_are_marked_over_the_edge_the_newest_longest() {
    let read = [7.4, 6.0, 5.5, f64::NAN, 5.0, 4.5, 4.0, 40.0];
    let ruler = Ruler::with_past(&tread(3.0, 0.2), &read, FIT, "law").expect("limits");
    assert_eq!(ruler.pencil.len(), 5, "{:?}", ruler.pencil);
    assert!(ruler.pencil.is_sorted(), "worn from left to right: {:?}", ruler.pencil);
    assert!(ruler.pencil.iter().all(|x| *x < ruler.reading.as_ref().expect("a reading").x));
    let drawn = draw::full(&ruler, "tread");
    assert_eq!((drawn.matches("r-hist").count(), drawn.matches("r-last").count()), (4, 1));
}

#[test]
fn what_is_to_come_fans_out_under_the_reading_to_its_limit() {
    let ahead = Ahead {
        id: "tyre.rear.tread".into(),
        off: [220.0, 420.0, 670.0],
        labels: ["12 700", "12 900", "13 150"].map(String::from),
        now: "now 12 480 km".into(),
        says: "Limit met at 12 700, 12 900 or 13 150 km with 5, 50 and 95 per cent.".into(),
    };
    let with =
        |figure: &Figure, ahead: &Ahead| Ruler::with_ahead(figure, &[], (FIT, Some(ahead)), "law").expect("a ruler");
    let ruler = with(&tread(1.9, 0.2), &ahead);
    assert!((ruler.notches[0] - 74.0).abs() < 1e-9, "room for odometers: {:?}", ruler.notches);
    let reading = ruler.reading.as_ref().expect("it is read");
    assert_eq!(
        (reading.label.anchor, reading.label.x),
        (Anchor::End, ruler.notches[0]),
        "its figure ends before the line"
    );
    insta::assert_snapshot!("ahead", draw::full(&ruler, "It is read. Limit met soon.").replace("><", ">\n<"));
    // Out of sight, past its limit, or between two limits nothing fans out.
    let endless = Ahead { off: [220.0, 420.0, f64::INFINITY], ..ahead.clone() };
    assert_eq!(with(&tread(1.9, 0.2), &endless).ahead, None);
    assert_eq!(with(&tread(1.4, 0.2), &ahead).ahead, None);
}
