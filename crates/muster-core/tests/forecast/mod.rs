//! Forecasts from what people write: little, nothing, too much, and what cannot be.

use std::fmt::Write;

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    forecast::{
        estimate::Estimate,
        fit::{Fit, fit},
        lives::{From, Gathered, Seen, gather},
        outlook::{Outlook, outlooks},
        riding::Within,
    },
    form::Form,
    record::payload::PartMounted,
    words::Use,
    yard::Yard,
};

const SHEET: &str = "schema = 1\nsheet = \"a\"\nmodel = \"A\"\nhandbook = { title = \"A handbook\" }\n[[limit]]\n\
    check = \"tyre.rear.tread\"\nat_least = \"1.6 mm\"\nnew = \"7.0 mm\"\npage = \"p. 1\"\n";
const YARD: &str = "schema = 1\nname = \"Yard\"\ntime_zone = \"Europe/London\"\n[[instrument]]\nid = \"T-1\"\n\
    name = \"Gauge\"\nkind = \"depth-gauge\"\nreads = \"length\"\nresolution = \"0.1 mm\"\naccuracy = \"0.1 mm\"\n";
const TREAD: &str = "tyre.rear.tread";

/// A day, an odometer in km, readings in mm.
type Look<'l> = (&'l str, f64, &'l [f64]);

/// A yard of two machines, of which the first is read.
struct Small {
    catalogue: Catalogue,
    yard: Yard,
    forms: Vec<Form>,
    parts: Vec<PartMounted>,
}

impl Small {
    /// From days, odometers in km and readings in mm.
    fn of(readings: &[Look<'_>]) -> Self {
        let catalogue = data::catalogue().expect("the catalogue is sound");
        let machine = |id: &str| format!("schema = 1\nmachine = \"{id}\"\nsheet = \"a\"\n");
        let (one, two) = (machine("M-01"), machine("M-02"));
        let files =
            [("yard.toml", YARD), ("sheets/a.toml", SHEET), ("machines/m1.toml", &*one), ("machines/m2.toml", &*two)];
        let (yard, problems) = Yard::load(&files, &catalogue);
        assert!(problems.is_empty(), "{problems:?}");
        let mut forms = Vec::new();
        for (day, km, figures) in readings {
            let mut text = format!(
                "schema = 1\nmachine = \"M-01\"\nby = \"A\"\nopened = {day}T08:00:00+00:00\nodometer = \"{km} km\"\n"
            );
            for figure in *figures {
                let _ = write!(text, "[[answer]]\ncheck = \"{TREAD}\"\nread = \"{figure} mm\"\nwith = \"T-1\"\n");
            }
            let (form, problems) = Form::load("f.toml", &text, &catalogue, &yard);
            forms.push(form.unwrap_or_else(|| panic!("{problems:?}")));
        }
        Self { catalogue, yard, forms, parts: Vec::new() }
    }

    fn gathered(&self) -> Gathered {
        let practices = data::practices(&self.catalogue).expect("stated practice is sound");
        let now = Moment::parse("2026-11-24T08:00:00+00:00").expect("a moment");
        let from = From { catalogue: &self.catalogue, yard: &self.yard, practices: &practices, one: Use::Road, now };
        let forms = self.forms.iter().collect();
        let parts = self.parts.iter().map(|part| (part, true)).collect();
        let other = Seen { machine: "M-02", forms: Vec::new(), parts: Vec::new() };
        gather(from, &[Seen { machine: "M-01", forms, parts }, other])
    }

    fn told(&self) -> (Gathered, Fit, Vec<Outlook>) {
        let gathered = self.gathered();
        let fit = fit(&gathered.fleet, None);
        let practices = data::practices(&self.catalogue).expect("stated practice is sound");
        let today = Moment::parse("2026-11-24T08:00:00+00:00").expect("a moment").date();
        let all = outlooks(&gathered, &practices, &fit, today);
        for one in &all {
            let p = one.meets(&gathered.season, today, Within { km: Some(500.0), days: Some(30.0) });
            assert!((0.0..=1.0).contains(&p), "{}: {p}", one.check);
            assert!(one.today.iter().all(|figure| figure.is_finite()), "{}: {:?}", one.check, one.today);
            for pair in one.left.windows(2) {
                assert!(pair[0].unwrap_or(f64::INFINITY) <= pair[1].unwrap_or(f64::INFINITY), "{:?}", one.left);
            }
        }
        (gathered, fit, all)
    }

    fn tread(&self) -> (Gathered, Outlook) {
        let (gathered, _, all) = self.told();
        let tread = all.into_iter().find(|one| one.machine == "M-01" && one.check == TREAD);
        (gathered, tread.expect("every machine has its tread told"))
    }
}

#[test]
fn without_any_reading_practice_stands_alone_and_says_so() {
    let (_, tread) = Small::of(&[]).tread();
    assert!(tread.practice_alone && tread.readings == 0 && tread.last.is_none());
    let [early, _, late] = tread.left;
    assert!(late.unwrap_or(f64::INFINITY) > 5.0 * early.unwrap_or(0.0).max(1.0), "wide: {:?}", tread.left);
}

#[test]
fn one_reading_borrows_and_the_other_machine_is_never_a_watch() {
    let small = Small::of(&[("2026-11-20", 9000.0, &[5.0])]);
    let (_, _, all) = small.told();
    let of = |id: &str| all.iter().find(|one| one.machine == id && one.check == TREAD).expect("told");
    assert!(!of("M-01").practice_alone && of("M-01").readings == 1);
    assert!(!of("M-02").practice_alone && of("M-02").readings == 0);
    assert!((of("M-01").today[1] - 5.0).abs() < 0.3, "{:?}", of("M-01").today);
}

#[test]
fn odd_histories_are_told_all_the_same() {
    let many = [4.0; 1000];
    let cases: [(&str, Vec<Look<'_>>); 5] = [
        (
            "all equal",
            vec![("2026-09-01", 1000.0, &[4.0]), ("2026-10-01", 1500.0, &[4.0]), ("2026-11-01", 2000.0, &[4.0])],
        ),
        ("past the limit", vec![("2026-10-01", 1000.0, &[1.5]), ("2026-11-01", 1400.0, &[1.2])]),
        ("no distance", vec![("2026-10-01", 1000.0, &[5.0]), ("2026-11-01", 1000.0, &[4.9])]),
        ("one day", vec![("2026-11-01", 1000.0, &[5.0]), ("2026-11-01", 1010.0, &[4.9])]),
        ("a thousand a day", vec![("2026-11-01", 1000.0, &many)]),
    ];
    for (what, readings) in cases {
        let (gathered, tread) = Small::of(&readings).tread();
        assert!(tread.readings >= 1, "{what}");
        if what == "past the limit" {
            assert!(tread.met_now > 0.5 && tread.left[1] == Some(0.0), "{what}: {tread:?}");
        }
        if what == "a thousand a day" {
            let at = gathered.fleet.kinds.iter().position(|kind| kind.check == TREAD).expect("there");
            assert_eq!(gathered.fleet.kinds[at].chains[0].steps.len(), 1, "{what}");
        }
    }
}

#[test]
fn a_tread_that_grew_is_said_and_what_the_odometer_cannot_say_is_set_aside() {
    let grew = Small::of(&[
        ("2026-06-01", 1000.0, &[4.6]),
        ("2026-07-01", 1500.0, &[4.3]),
        ("2026-08-01", 2000.0, &[3.9]),
        ("2026-09-01", 2500.0, &[6.7]),
        ("2026-10-01", 3000.0, &[6.4]),
        ("2026-11-01", 3500.0, &[6.1]),
    ]);
    let (_, tread) = grew.tread();
    assert!(tread.said.iter().any(|said| said.contains("part changed and not noted?")), "{:?}", tread.said);
    let fell = Small::of(&[
        ("2026-08-01", 2000.0, &[5.0]),
        ("2026-09-01", 25_000.0, &[4.8]),
        ("2026-10-01", 2800.0, &[4.5]),
        ("2026-11-01", 3100.0, &[4.3]),
    ]);
    let (gathered, _) = fell.tread();
    assert!(gathered.aside.iter().any(|aside| aside.why.contains("25000 km")), "{:?}", gathered.aside);
    assert!(gathered.traces["M-01"].iter().all(|(_, km)| *km < 4000.0));
}

#[test]
fn a_slip_of_the_keys_leaves_the_life_alone() {
    let small = Small::of(&[
        ("2026-06-01", 1000.0, &[5.6]),
        ("2026-07-01", 1500.0, &[5.3]),
        ("2026-08-01", 2000.0, &[4.9]),
        ("2026-09-01", 2500.0, &[1.7]),
        ("2026-10-01", 3000.0, &[4.3]),
        ("2026-11-01", 3500.0, &[4.0]),
    ]);
    let (_, tread) = small.tread();
    assert!(tread.said.iter().any(|said| said.contains("set aside")), "{:?}", tread.said);
    assert!((tread.today[1] - 4.0).abs() < 0.4, "{:?}", tread.today);
}

#[test]
fn an_estimate_is_its_bytes() {
    let mut small =
        Small::of(&[("2026-09-01", 1000.0, &[5.0]), ("2026-10-01", 1500.0, &[4.7]), ("2026-11-01", 2000.0, &[4.3])]);
    small.parts.push(PartMounted {
        machine: "M-01".into(),
        place: "tyre.rear".into(),
        marking: None,
        odometer: Some("800 km".into()),
        on: Some("2026-08-01".into()),
        ended: Vec::new(),
        replaces: None,
    });
    let (gathered, fitted, _) = small.told();
    assert_eq!(fit(&gathered.fleet, None), fitted, "the same numbers from the same events");
    let practices = data::practices(&small.catalogue).expect("stated practice is sound");
    let at = Moment::parse("2026-11-24T08:00:00+00:00").expect("a moment");
    let (estimate, text) = Estimate::of(&gathered, &practices, &fitted, at).hashed();
    assert_eq!(muster_core::hash::of_text(&text), estimate.hash);
    assert!(serde_json::from_str::<serde_json::Value>(&text).is_ok(), "{text}");
    assert_eq!(Estimate::read(&text, &estimate.hash), Ok(estimate.clone()), "what was written is read");
    let row = &estimate.kinds.iter().find(|kind| kind.check == TREAD).expect("it was read").rows[0];
    assert_eq!((row.lives, row.readings, row.machine.as_str()), (1, 3, "M-01"));
    assert!((row.count - 2.0).abs() < 1e-9 && (7.0 - row.state.mean[0] - 4.3).abs() < 0.2, "{row:?}");
    let [from, to] = row.expected.expect("the last of three was expected");
    assert!(from < 4.3 && 4.3 < to, "{from} to {to}");
    for broken in [
        "",
        "[]",
        "{}",
        "{\"schema\":1,\"kinds\":{},\"gauges\":[]}",
        &text.replace("\"months\":[", "\"months\":[1,"),
        &text[..text.len() / 2],
    ] {
        assert!(Estimate::read(broken, "").is_err(), "{broken}");
    }
}

#[test]
fn a_last_reading_past_the_limit_counts_however_little_it_was_expected() {
    let looks: [Look<'_>; 5] = [
        ("2026-03-01", 1000.0, &[6.5]),
        ("2026-05-01", 2000.0, &[6.0]),
        ("2026-07-01", 3000.0, &[5.5]),
        ("2026-09-01", 4000.0, &[5.0]),
        ("2026-11-01", 5000.0, &[1.2]),
    ];
    let (gathered, tread) = Small::of(&looks).tread();
    assert!(tread.today[1] > 2.0, "so little was not expected: {:?}", tread.today);
    let today = Moment::parse("2026-11-24T08:00:00+00:00").expect("a moment").date();
    assert_eq!(tread.past.map(|on| on.to_string()).as_deref(), Some("2026-11-01"));
    assert!(tread.met_now >= 1.0 && tread.days == [Some(today); 3]);
    assert!(tread.meets(&gathered.season, today, Within { km: Some(10.0), days: Some(1.0) }) >= 1.0);
    assert!(tread.said.iter().any(|said| said.contains("1.2\u{a0}mm where about")), "{:?}", tread.said);
    // The same figure in the middle of a life is a slip, and the life goes on.
    let slip = [looks[0], looks[1], looks[4], ("2026-11-10", 5100.0, &[4.4])];
    let (_, tread) = Small::of(&slip).tread();
    assert!(tread.past.is_none() && tread.met_now < 0.5, "{}", tread.met_now);
}
