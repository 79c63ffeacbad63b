//! Laws of judging that hold for whatever is read: what makes a machine worse never makes its verdict better.

use muster_core::{
    judge::{Judgement, Outcome, Verdict},
    words::Use,
};
use proptest::prelude::*;

use crate::domain::{NOW, yard::Texts};

const CLASSES: [&str; 3] = ["minor", "major", "dangerous"];

/// Tread readings against one limit of a class, in hundredths of a millimetre.
#[derive(Clone, Debug)]
struct Tread {
    limit: u32,
    class: &'static str,
    readings: Vec<u32>,
}

fn tread() -> impl Strategy<Value = Tread> {
    let readings = prop::collection::vec(50_u32..500, 1..4);
    (80_u32..300, prop::sample::select(&CLASSES[..]), readings).prop_map(|(limit, class, readings)| Tread {
        limit,
        class,
        readings,
    })
}

fn mm(hundredths: u32) -> String {
    format!("\"{}.{:02} mm\"", hundredths / 100, hundredths % 100)
}

fn limit(layer_class: &str, hundredths: u32) -> String {
    format!("[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = {}\nclass = \"{layer_class}\"\n", mm(hundredths))
}

fn reading(figures: &str, rest: &str) -> String {
    format!("[[answer]]\ncheck = \"tyre.front.tread\"\nread = {figures}\nwith = \"D\"\n{rest}")
}

fn list(readings: &[u32]) -> String {
    format!("[{}]", readings.iter().map(|reading| mm(*reading)).collect::<Vec<_>>().join(", "))
}

impl Tread {
    fn texts(&self) -> Texts {
        Texts {
            checks: ["tyre.front.tread".into()].into(),
            sheet: limit(self.class, self.limit),
            forms: [reading(&list(&self.readings), "")].into(),
            ..Texts::default()
        }
    }
}

fn judged(texts: &Texts) -> Judgement {
    let small = texts.read();
    assert!(small.problems.is_empty(), "{:#?}", small.problems);
    small.judged(NOW)
}

fn verdicts(texts: &Texts) -> Vec<Verdict> {
    judged(texts).uses.iter().map(|of| of.verdict).collect()
}

fn first(texts: &Texts) -> Outcome {
    let judgement = judged(texts);
    let range = judgement.uses.iter().find(|of| of.one == Use::Range);
    range.and_then(|of| of.outcomes.first().cloned()).unwrap_or_else(|| panic!("no outcome: {judgement:?}"))
}

fn verdict(texts: &Texts) -> Verdict {
    first(texts).verdict
}

/// Three looks answered, by words of the form.
fn looks(levers: &str, throttle: &str, wheel: &str) -> Vec<String> {
    let one = |check: &str, saw: &str| format!("[[answer]]\ncheck = \"{check}\"\nsaw = \"{saw}\"\n");
    [one("controls.levers", levers), one("throttle.return", throttle), one("wheel.front", wheel)].into()
}

fn seen() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec!["sound", "doubtful", "defective"])
}

fn pressure(window: (u32, u32), found: u32, second: u32) -> Texts {
    let answer = |kpa: u32, after: &str| {
        format!("[[answer]]\ncheck = \"tyre.front.pressure\"\nread = \"{kpa} kPa\"\nwith = \"P\"\n{after}")
    };
    Texts {
        checks: ["tyre.front.pressure".into()].into(),
        sheet: format!(
            "[[limit]]\ncheck = \"tyre.front.pressure\"\nwithin = [\"{} kPa\", \"{} kPa\"]\n",
            window.0, window.1
        ),
        forms: [answer(found, "") + &answer(second, "after = \"pumped\"\n")].into(),
        ..Texts::default()
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn more_wear_is_never_better(tread in tread(), more in 0_u32..50) {
        let worn = Tread { readings: tread.readings.iter().map(|reading| reading - more).collect(), ..tread.clone() };
        prop_assert!(verdict(&worn.texts()) >= verdict(&tread.texts()));
    }

    #[test]
    fn further_from_the_middle_of_a_window_is_never_better(
        low in 180_u32..220, width in 10_u32..60, off in 0_u32..40, more in 0_u32..40, high in any::<bool>(), found in 150_u32..280,
    ) {
        let middle = low + width / 2;
        let at = |off: u32| if high { middle + off } else { middle - off };
        let near = pressure((low, low + 2 * (width / 2)), found, at(off));
        let far = pressure((low, low + 2 * (width / 2)), found, at(off + more));
        prop_assert!(verdict(&far) >= verdict(&near));
    }

    #[test]
    fn a_worse_worst_place_is_never_better(left in 100_u32..500, right in 100_u32..500, centre in 100_u32..500, more in 0_u32..50, class in prop::sample::select(&CLASSES[..])) {
        let texts = |least: u32| {
            let [left, centre, right] = {
                let worst = left.min(centre).min(right);
                [left, centre, right].map(|place| if place == worst { least.min(place) } else { place })
            };
            let places = format!("{{ left = {}, centre = {}, right = {} }}", mm(left), mm(centre), mm(right));
            Texts {
                checks: ["tyre.front.tread".into()].into(),
                sheet: limit(class, 150),
                forms: [reading(&places, "")].into(),
                ..Texts::default()
            }
        };
        let worst = left.min(centre).min(right);
        prop_assert!(verdict(&texts(worst - more)) >= verdict(&texts(worst)));
    }

    #[test]
    fn a_repeat_cannot_launder_a_miss(tread in tread(), miss in 1_u32..50, other in any::<bool>()) {
        let missed = Tread { readings: [tread.limit - miss].into(), ..tread.clone() };
        prop_assert_eq!(verdict(&missed.texts()), Verdict::Hold);
        // By the same person in the same answer, or by another in a form of their own.
        let mut texts = missed.texts();
        let form = reading(&list(&tread.readings), "");
        if other {
            texts.forms.push(format!("by = \"B. Second\"\nopened = 2026-11-24T07:45:00+00:00\n{form}"));
        } else {
            texts.forms = [reading(&list(&[tread.readings.as_slice(), &[tread.limit - miss]].concat()), "")].into();
        }
        prop_assert_eq!(verdict(&texts), Verdict::Hold);
    }

    #[test]
    fn the_same_figure_again_is_that_figure(limit in 80_u32..300, times in 1_usize..8) {
        let equal = Tread { limit, class: "minor", readings: vec![limit; times] };
        prop_assert_eq!(verdict(&equal.texts()), Verdict::Watch, "equality conforms, and is too close to call");
    }

    #[test]
    fn the_order_of_forms_and_of_answers_does_not_matter(
        looked in (seen(), seen(), seen()), again in (seen(), seen(), seen()), turn in 0_usize..3, back in any::<bool>(),
        together in any::<bool>(), tag in any::<bool>(),
    ) {
        let checks: Vec<String> = ["controls.levers", "throttle.return", "wheel.front"].map(String::from).into();
        let own = looks(looked.0, looked.1, looked.2);
        // Two forms opened in the same minute, by the same person too, and the first lines of them differ.
        let head = if together { "no_hold_tag = false" } else { "by = \"B. Second\"\nopened = 2026-11-24T07:45:00+00:00" };
        let head = if together && !tag { "by = \"B. Second\"\nkey_on_hook = false" } else { head };
        let second = format!("{head}\n{}", looks(again.0, again.1, again.2).concat());
        let mut turned = own.clone();
        turned.rotate_left(turn);
        if back {
            turned.reverse();
        }
        let one = Texts { checks: checks.clone(), forms: [own.concat(), second.clone()].into(), ..Texts::default() };
        let other = Texts { checks, forms: [second, turned.concat()].into(), ..Texts::default() };
        prop_assert_eq!(judged(&one), judged(&other));
    }

    #[test]
    fn the_order_of_repeats_does_not_matter(tread in tread(), turn in 0_usize..4) {
        let mut turned = tread.clone();
        turned.readings.rotate_left(turn % tread.readings.len());
        let (one, other) = (first(&tread.texts()), first(&turned.texts()));
        prop_assert_eq!((one.verdict, one.probability), (other.verdict, other.probability));
    }

    #[test]
    fn an_open_finding_never_improves(looked in (seen(), seen(), seen()), class in prop::sample::select(&CLASSES[..]), law in any::<bool>()) {
        let checks: Vec<String> = ["controls.levers", "throttle.return", "wheel.front"].map(String::from).into();
        let form = looks(looked.0, looked.1, looked.2).concat();
        let finding = format!("{form}[[finding]]\nid = \"F-1\"\ncheck = \"controls.levers\"\nwhat = \"Scuffed\"\nclass = \"{class}\"\n");
        let without = Texts { checks, law, forms: [form].into(), ..Texts::default() };
        let with = Texts { forms: [finding].into(), ..without.clone() };
        for (with, without) in verdicts(&with).iter().zip(verdicts(&without)) {
            prop_assert!(*with >= without && *with > Verdict::Fit);
        }
    }

    #[test]
    fn a_house_rule_never_improves_and_a_stricter_one_neither(tread in tread(), house in 50_u32..400, more in 0_u32..100, class in prop::sample::select(&CLASSES[..])) {
        let without = tread.texts();
        let with = Texts { house: limit(class, house), ..without.clone() };
        let stricter = Texts { house: limit(class, house + more), ..without.clone() };
        prop_assert!(verdict(&with) >= verdict(&without));
        prop_assert!(verdict(&stricter) >= verdict(&with));
    }

    #[test]
    fn a_law_pack_never_improves(tread in tread(), looked in (seen(), seen(), seen())) {
        let mut without = tread.texts();
        without.checks.extend(["controls.levers", "throttle.return", "wheel.front"].map(String::from));
        without.forms = [without.forms.concat() + &looks(looked.0, looked.1, looked.2).concat()].into();
        let with = Texts { law: true, ..without.clone() };
        for (with, without) in verdicts(&with).iter().zip(verdicts(&without)) {
            prop_assert!(*with >= without);
        }
        prop_assert_eq!(verdict(&with), verdict(&without), "no law binds on the range here");
    }

    #[test]
    fn unapproved_rows_of_the_machine_never_improve(
        tread in tread(), own in prop::collection::vec((50_u32..400, any::<bool>(), any::<bool>()), 1..4),
    ) {
        let without = tread.texts();
        let row = |(least, marking, range): &(u32, bool, bool)| {
            let layer = if *marking { "layer = \"marking\"\n" } else { "" };
            let uses = if *range { "uses = [\"range\"]\n" } else { "" };
            limit(tread.class, *least) + layer + uses
        };
        let with = Texts { machine: own.iter().map(row).collect(), ..without.clone() };
        prop_assert!(verdict(&with) >= verdict(&without));
    }

    #[test]
    fn the_unit_of_typing_does_not_matter(thirty_seconds in 2_u32..14, limit in 2_u32..14, class in prop::sample::select(&CLASSES[..]), inches in any::<bool>()) {
        // 1/32 in is 0.79375 mm exactly (the inch of 1959), so that both ways of writing mean one length.
        let exact = |n: u32| format!("\"{}.{:05} mm\"", n * 79_375 / 100_000, n * 79_375 % 100_000);
        let fraction = |n: u32| format!("\"{n}/32 in\"");
        let bound = if inches { fraction(limit) } else { exact(limit) };
        let texts = |figure: String| Texts {
            checks: ["tyre.front.tread".into()].into(),
            sheet: format!("[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = {bound}\nclass = \"{class}\"\n"),
            forms: [reading(&figure, "")].into(),
            ..Texts::default()
        };
        let (metric, customary) = (first(&texts(exact(thirty_seconds))), first(&texts(fraction(thirty_seconds))));
        prop_assert_eq!(metric.verdict, customary.verdict);
        let (a, b) = (metric.probability.unwrap_or(0.0), customary.probability.unwrap_or(1.0));
        prop_assert!((a - b).abs() < 1e-9, "{} {}", a, b);
        prop_assert_eq!(thirty_seconds >= limit, a >= 0.5);
    }

    #[test]
    fn a_coarser_instrument_never_improves(tread in tread(), fine in 1_u32..100, more in 0_u32..200) {
        let with = |accuracy: u32| {
            let gauge = format!("\n[[instrument]]\nid = \"X\"\nname = \"Gauge\"\nkind = \"depth-gauge\"\nreads = \"length\"\nresolution = \"0.01 mm\"\naccuracy = {}\n", mm(accuracy));
            let texts = tread.texts();
            Texts { yard: gauge, forms: texts.forms.iter().map(|form| form.replace("with = \"D\"", "with = \"X\"")).collect(), ..texts }
        };
        prop_assert!(verdict(&with(fine + more)) >= verdict(&with(fine)));
    }

    #[test]
    fn a_class_raised_never_improves(tread in tread(), raised in prop::sample::select(&CLASSES[..])) {
        let without = tread.texts();
        let form = reading(&list(&tread.readings), &format!("class = \"{raised}\"\n"));
        let with = Texts { forms: [form].into(), ..without.clone() };
        prop_assert!(verdict(&with) >= verdict(&without));
    }

    #[test]
    fn an_answer_left_out_is_never_fit(looked in (seen(), seen(), seen()), out in 0_usize..3) {
        let checks: Vec<String> = ["controls.levers", "throttle.return", "wheel.front"].map(String::from).into();
        let mut left = looks(looked.0, looked.1, looked.2);
        left.remove(out);
        let texts = Texts { checks, forms: [left.concat()].into(), ..Texts::default() };
        prop_assert!(verdicts(&texts).iter().all(|verdict| *verdict >= Verdict::Unseen));
    }
}
