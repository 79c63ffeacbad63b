//! Oil read on a machine that leans otherwise: what the model needs to say anything.

use muster_core::{
    formula::oil::{self, LeanCase, LeanU, Sump},
    judge::{Outcome, Verdict},
    quantity::{Angle, Length, Unit},
    statistics::uncertainty::StandardUncertainty,
};

use super::{
    super::{NOW, yard::Texts},
    plain, texts, told,
};

fn level(marks: &str, most: &str, read: &str) -> Outcome {
    let sheet = format!(
        "[sump]\ndipstick_offset = \"45 mm\"\nlean = \"10 °\"\nfoot_offset = \"260 mm\"\nwidth = \"200 mm\"\ndepth = \"60 mm\"\n\
         marks = \"{marks}\"\n[[limit]]\ncheck = \"oil.level\"\nwithin = [\"0 %\", \"{most}\"]"
    );
    let form = format!("[[answer]]\ncheck = \"oil.level\"\nread = \"{read}\"\nwith = \"E\"");
    let machine = "[[modification]]\nwhat = \"Lowered\"\nride_height = \"-30 mm\"".into();
    told(&Texts { machine, ..texts("oil.level", &sheet, &form) }, "oil.level", NOW)
}

/// The shift and its uncertainty, in the unit of the marks' share, by the formula itself.
fn shift(marks_mm: f64) -> (f64, f64) {
    let mm = |value| Length::from_mm(value).expect("a length");
    let u = StandardUncertainty::new(3.0).expect("an uncertainty");
    let case = LeanCase {
        sheet_lean: Angle::from_degrees(10.0).expect("an angle"),
        ride_height_change: mm(-30.0),
        foot_offset: mm(260.0),
        stick_offset: mm(45.0),
    };
    let known = LeanU { ride_height_change_mm: u, foot_offset_mm: u, stick_offset_mm: u };
    let moved = oil::shift(&case, Sump { width: mm(200.0), depth: mm(60.0) }, known).expect("within its range");
    let step = Unit::Percent.step();
    (moved.value().mm() / marks_mm / step, moved.u().get() / marks_mm / step)
}

#[test]
fn marks_with_nothing_between_them_leave_the_model_nothing_to_say() {
    let outcome = level("0 mm", "100 %", "80 %");
    assert_eq!(outcome.verdict, Verdict::Watch, "{outcome:?}");
    assert!(outcome.reason.contains("which misleads the stick"), "{outcome:?}");
}

#[test]
fn the_working_tells_by_how_much_the_stick_misleads() {
    // −45 mm · 30 mm / 260 mm = −5.19 mm, of marks 20 mm apart.
    let (moved, _) = shift(20.0);
    assert!((moved + 25.96).abs() < 0.005, "{moved}");
    let working = plain(&level("20 mm", "100 %", "80 %").working.join("\n"));
    assert!(working.contains("ride height −30 mm: the stick shows −26 % more than"), "{working}");
}

#[test]
fn a_model_exactly_as_sure_as_half_of_what_is_allowed_still_speaks() {
    let (_, own) = shift(20.0);
    let verdict = |most: f64| level("20 mm", &format!("{most} %"), "1 %");
    let (just, less) = (verdict(2.0 * own), verdict(2.0 * own - 0.001));
    assert!(!just.reason.contains("the model is less sure"), "{just:?}");
    assert!(less.reason.contains("the model is less sure"), "{less:?}");
}

#[test]
fn far_off_is_told_of_a_level_as_of_anything_that_is_set() {
    // `far_off` is 60 % of what lies between the marks.
    let far =
        |read: &str| level("20 mm", "100 %", read).working.iter().any(|line| line == "found far off: Look for a leak.");
    assert!(!far("-60 %"));
    assert!(far("-61 %"));
}
