//! Tests of the page and of the geometry of its rulers.

use muster_core::{
    judge::{Figure, Judgement, Outcome, Set, UseVerdict, Verdict},
    words::{Class, Use},
};

use super::{drawing, page, ruler::Ruler};

/// A reading in millimetres with one decimal, no limits yet.
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

fn tread(value: f64) -> Figure {
    Figure { at_least: Some(1.6), new: Some(7.0), margin: value - 1.6, ..figure(value, 0.2) }
}

fn pressure(value: f64, expanded_u: f64) -> Figure {
    Figure {
        unit: "kPa",
        decimals: 0,
        at_least: Some(190.0),
        at_most: Some(220.0),
        target: Some(200.0),
        margin: (value - 190.0).min(220.0 - value),
        ..figure(value, expanded_u)
    }
}

fn outcome(name: &str, verdict: Verdict, reason: &str) -> Outcome {
    Outcome::new("a.check", name, Use::Road, verdict, reason).classed(Class::Major)
}

fn with(figure: Figure, verdict: Verdict, reason: &str, source: &str) -> Outcome {
    let named = outcome("A check", verdict, reason);
    Outcome { figure: Some(figure), source: Some(source.into()), ..named }
}

fn judgement(outcomes: Vec<Outcome>) -> Judgement {
    let verdict = outcomes.iter().map(|one| one.verdict).max().unwrap_or(Verdict::Unseen);
    Judgement {
        schema: 1,
        machine: "M-01".into(),
        model: "Corvane Pebble".into(),
        judged_at: "2026-11-24T08:00:00+00:00".into(),
        known_at: Some("2026-11-24T07:25:00+00:00".into()),
        planned: Some(Use::Road),
        back: None,
        uses: vec![UseVerdict { one: Use::Road, verdict, conditions: Vec::new(), outcomes }],
        catalogue: "0123456789abcdef0123456789abcdef".into(),
        yard: "fedcba9876543210".into(),
    }
}

fn near(got: f64, expected: f64) {
    assert!((got - expected).abs() < 0.01, "{got}, expected {expected}");
}

#[test]
fn new_stands_left_and_the_limit_right_also_when_the_number_falls() {
    let ruler = Ruler::of(&tread(3.1)).unwrap();
    near(ruler.new.unwrap(), 0.0);
    near(ruler.low.unwrap(), 80.0);
    // 3.9 mm of the 5.4 mm between new and the limit are used.
    near(ruler.pointer, 3.9 / 5.4 * 80.0);
    assert_eq!((ruler.margin.from, ruler.margin.to), (ruler.pointer, 80.0));
    let rising = Ruler::of(&Figure { at_most: Some(35.0), target: Some(25.0), ..figure(34.0, 1.5) }).unwrap();
    near(rising.target.unwrap(), 0.0);
    near(rising.high.unwrap(), 80.0);
    near(rising.pointer, 72.0);
}

#[test]
fn the_limit_stays_in_its_band_and_the_whisker_in_sight() {
    for tenths in -300..200 {
        let ruler = Ruler::of(&tread(f64::from(tenths) / 10.0)).unwrap();
        let limit = ruler.low.unwrap();
        assert!((71.9..=88.0).contains(&limit), "{tenths}: {limit}");
        near(ruler.whisker.from + ruler.whisker.to, ruler.pointer * 2.0);
        assert!(ruler.whisker.to > ruler.whisker.from);
    }
}

#[test]
fn the_hatch_of_a_one_sided_limit_ends_1_645_u_inside() {
    // JCGM 106:2012, 7.3 table 1 and 8.3.2: 95 % sure at 1.64 u. U = 0.2 mm is 2 u, so the band is 0.1645 mm wide.
    let ruler = Ruler::of(&tread(3.1)).unwrap();
    let [band] = ruler.guard[..] else { panic!("one band") };
    near(band.to, 80.0);
    near(band.to - band.from, 0.164_49 / 5.4 * 80.0);
}

#[test]
fn two_limits_hatch_both_sides_and_all_between_where_nothing_is_sure() {
    let ruler = Ruler::of(&pressure(201.0, 6.0)).unwrap();
    assert_eq!((ruler.guard.len(), ruler.past.len()), (2, 2));
    // 1.645 × 3 kPa of the 48 kPa shown, as the other limit is ten u away.
    near(ruler.guard[0].to - ruler.guard[0].from, 4.934_6 / 48.0 * 100.0);
    near(ruler.low.unwrap(), 18.75);
    near(ruler.high.unwrap(), 81.25);
    let unsure = Ruler::of(&pressure(201.0, 60.0)).unwrap();
    let [all] = unsure.guard[..] else { panic!("one band") };
    assert_eq!((Some(all.from), Some(all.to)), (unsure.low, unsure.high));
}

#[test]
fn the_bar_runs_to_the_nearer_limit_or_from_the_one_passed() {
    let high = Ruler::of(&pressure(215.0, 6.0)).unwrap();
    assert_eq!((high.margin.from, Some(high.margin.to)), (high.pointer, high.high));
    let past = Ruler::of(&pressure(170.0, 6.0)).unwrap();
    assert_eq!((past.margin.from, Some(past.margin.to)), (past.pointer, past.low));
    let disc = Ruler::of(&tread(1.2)).unwrap();
    assert_eq!((Some(disc.margin.from), disc.margin.to), (disc.low, disc.pointer));
}

#[test]
fn figures_keep_clear_of_pointer_notch_and_edge_and_stop_at_zero() {
    for tenths in -30..120 {
        let ruler = Ruler::of(&tread(f64::from(tenths) / 10.0)).unwrap();
        for tick in ruler.ticks.iter().filter(|tick| tick.figure.is_some()) {
            let notch = ruler.low.unwrap();
            assert!((tick.at - ruler.pointer).abs() >= 3.4 && (tick.at - notch).abs() >= 3.4, "{tenths}: {tick:?}");
            assert!(tick.at > 1.0 && tick.at < 99.0);
        }
    }
    let ruler = Ruler::of(&Figure { at_least: Some(0.5), new: Some(5.0), ..figure(4.0, 0.1) }).unwrap();
    assert!(ruler.ticks.iter().filter_map(|tick| tick.figure).all(|figure| figure > -1e-9));
    assert!(ruler.ticks.iter().filter(|tick| tick.long).count() >= 3);
}

#[test]
fn neighbouring_figures_leave_room_for_each_other() {
    for (low, high, decimals) in [(190.0, 220.0, 0), (12.4, 12.9, 2), (0.001, 0.005, 3), (12_000.0, 18_000.0, 0)] {
        let figure = Figure { at_least: Some(low), at_most: Some(high), decimals, ..figure(low + high, 0.0) };
        let ruler = Ruler::of(&Figure { value: (low + high) / 2.0, ..figure }).unwrap();
        let told: Vec<f64> = ruler.ticks.iter().filter(|tick| tick.figure.is_some()).map(|tick| tick.at).collect();
        assert!(!told.is_empty(), "{low} to {high}");
        // Six px a character of 288 px, the narrowest ruler on a phone.
        let wide = format!("{high:.*}", ruler.decimals).len() as f64 * 6.0 / 2.88;
        assert!(told.windows(2).all(|pair| pair[1] - pair[0] > wide), "{low} to {high}: {told:?}");
    }
}

#[test]
fn nothing_is_drawn_without_a_limit_or_from_what_is_not_a_number() {
    assert_eq!(Ruler::of(&figure(3.0, 0.1)), None);
    assert_eq!(Ruler::of(&tread(f64::NAN)), None);
    assert_eq!(Ruler::of(&Figure { at_least: Some(f64::INFINITY), ..figure(3.0, 0.1) }), None);
    // One point between two limits that meet, and no doubt at all, still has a width.
    let meeting = Figure { at_least: Some(5.0), at_most: Some(5.0), ..figure(5.0, 0.0) };
    assert!(Ruler::of(&meeting).is_none_or(|ruler| ruler.pointer.is_finite()));
}

#[test]
fn three_rulers_as_they_are_drawn() {
    let law = "law: Construction and use, 27(4) (read in a copy)";
    let one_sided = with(tread(3.1), Verdict::Fit, "3.1 ± 0.2 mm, at least 1.6 mm", law);
    insta::assert_snapshot!("one_sided", drawing::full(&one_sided).unwrap());
    let warm = Figure { gauge: Some(205.0), ..pressure(185.0, 12.0) };
    let to_set = with(warm, Verdict::Unseen, "to set: 185 ± 12 kPa cold: past its limit", "sheet: A handbook, p. 66");
    insta::assert_snapshot!("warm_to_set", drawing::full(&to_set).unwrap());
    let past = with(tread(1.2), Verdict::Hold, "1.2 ± 0.2 mm: past its limit", "house: House rule, rule 2");
    insta::assert_snapshot!("mini_past", drawing::mini(&past).unwrap());
}

#[test]
fn every_text_of_a_stranger_is_escaped() {
    let evil = "<script>alert(\"1\" & '2')</script>";
    let set = Set { found: evil.into(), act: evil.into(), now: evil.into() };
    let held = Outcome {
        todo: Some(evil.into()),
        source: Some(format!("law: {evil}")),
        working: vec![evil.into()],
        set: Some(set),
        by: Some(evil.into()),
        at: Some(evil.into()),
        ..with(tread(1.2), Verdict::Hold, evil, "")
    };
    let held = Outcome { name: evil.into(), ..held };
    let rows = [Verdict::Fit, Verdict::Watch, Verdict::Unseen].map(|verdict| Outcome { verdict, ..held.clone() });
    let mut judgement = judgement([vec![held], rows.to_vec(), vec![outcome(evil, Verdict::Fit, "sound")]].concat());
    for text in [&mut judgement.machine, &mut judgement.model, &mut judgement.judged_at, &mut judgement.catalogue] {
        *text = evil.into();
    }
    judgement.known_at = Some(evil.into());
    judgement.back = Some(evil.into());
    judgement.uses[0].conditions = vec![evil.into()];
    let page = page(&judgement, evil);
    assert!(!page.contains("<script") && !page.contains("</script") && !page.contains("alert(\""), "{page}");
    assert!(page.contains("&lt;script&gt;alert(&quot;1&quot; &amp; &#39;2&#39;)&lt;/script&gt;"));
}

#[test]
fn the_page_stands_alone_and_its_headings_are_in_order() {
    let held = with(tread(1.2), Verdict::Hold, "1.2 ± 0.2 mm: past its limit", "law: A law, 3");
    let page = page(&judgement(vec![held, outcome("Brake hoses", Verdict::Fit, "sound")]), "A yard");
    for outside in ["http:", "https:", "src=", "@import", "<link", "<script", "url(\""] {
        assert!(!page.contains(outside), "{outside}");
    }
    assert!(page.starts_with("<!doctype html>\n<html lang=\"en\">"));
    let mut last = 0;
    for level in page.match_indices("<h").filter_map(|(at, _)| page[at + 2..].chars().next()?.to_digit(10)) {
        assert!(level <= last + 1, "h{level} after h{last}");
        last = level;
    }
    assert_eq!(page.matches("<h1>").count(), 1);
    assert!(page.contains("0123456789ab…") && !page.contains("0123456789abc"));
    assert!(page.contains("<span class=\"src law\">law</span> A law, 3"));
    assert!(page.contains("aria-label=\"A check: 1.2 ±0.2\u{a0}mm, at least 1.6\u{a0}mm, hold.\""));
}
