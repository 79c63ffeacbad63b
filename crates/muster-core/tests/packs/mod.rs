//! Law packs: what each says of one reading, pinned against the words of its clause; and the pages that list its rows.

mod pages;

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    form::Form,
    judge::{Context, Outcome, judge},
    words::Use,
    yard::Yard,
};
use serde::Deserialize;

const NOW: &str = "2026-11-24T08:00:00+00:00";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    case: Vec<Case>,
}

/// What one clause says of one machine.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    /// The law pack.
    pack: String,
    /// The clause in words, and where its words were seen.
    source: String,
    /// What the clause turns on: lines of the sheet.
    #[serde(default)]
    sheet: String,
    check: String,
    /// Where it is read, if the clause says so.
    #[serde(default)]
    place: String,
    /// Readings that conform.
    #[serde(default)]
    conforms: Vec<String>,
    /// Readings that do not.
    #[serde(default)]
    past: Vec<String>,
    /// The pack bounds nothing here: what counts is another layer's.
    #[serde(default)]
    silent: bool,
    /// Must stand in the working.
    #[serde(default)]
    says: String,
}

fn cases() -> Vec<Case> {
    toml::from_str::<File>(include_str!("../golden/packs.toml")).unwrap_or_else(|error| panic!("{error}")).case
}

fn catalogue() -> Catalogue {
    data::catalogue().unwrap_or_else(|problems| panic!("{problems:#?}"))
}

/// The outcome on the road of one reading under a pack.
fn judged(catalogue: &Catalogue, case: &Case, read: &str, units: &str) -> Outcome {
    let yard = format!(
        "schema = 1\nname = \"Proving ground\"\ntime_zone = \"UTC\"\nunits = \"{units}\"\nlaw = \"{}\"\n\
         [[instrument]]\nid = \"D\"\nname = \"Depth gauge\"\nkind = \"depth-gauge\"\nreads = \"length\"\n\
         resolution = \"0.01 mm\"\naccuracy = \"0.02 mm\"\ncompared = 2026-09-14\n\
         [[instrument]]\nid = \"V\"\nname = \"Vernier\"\nkind = \"vernier\"\nreads = \"length\"\n\
         resolution = \"0.02 mm\"\naccuracy = \"0.03 mm\"\ncompared = 2026-09-14\n\
         [[instrument]]\nid = \"R\"\nname = \"Rule\"\nkind = \"rule\"\nreads = \"length\"\n\
         resolution = \"0.1 mm\"\naccuracy = \"0.1 mm\"\ncompared = 2026-09-14\n",
        case.pack
    );
    let sheet = format!(
        "schema = 1\nsheet = \"s\"\nmodel = \"Corvane Pebble\"\nhandbook = {{ title = \"Handbook\", known = \"invented\" }}\n{}",
        case.sheet
    );
    let machine = "schema = 1\nmachine = \"M-1\"\nsheet = \"s\"\n";
    let files = [("yard.toml", yard.as_str()), ("sheets/s.toml", sheet.as_str()), ("machines/m-1.toml", machine)];
    let (yard, problems) = Yard::load(&files, catalogue);
    assert!(problems.is_empty(), "{problems:#?}");
    let with = match case.check.split('.').next() {
        Some("brake") => "V",
        Some("wheel") => "R",
        _ => "D",
    };
    let read = match case.place.as_str() {
        "" => format!("\"{read}\""),
        place => format!("{{ \"{place}\" = \"{read}\" }}"),
    };
    let form = format!(
        "schema = 1\nmachine = \"M-1\"\ndepth = \"full\"\nby = \"A. Finder\"\nopened = 2026-11-24T07:30:00+00:00\n\
         odometer = \"1000 km\"\nno_hold_tag = true\nkey_on_hook = true\n\
         [[answer]]\ncheck = \"{}\"\nread = {read}\nwith = \"{with}\"\n",
        case.check
    );
    let (form, faults) = Form::load("forms/1.toml", &form, catalogue, &yard);
    assert!(faults.is_empty(), "{faults:#?}");
    let now = Moment::parse(NOW).unwrap_or_else(|error| panic!("{error}"));
    let context = Context::of(catalogue, &yard, "M-1", now).unwrap_or_else(|| panic!("no machine"));
    let judgement = judge(&context, &form.iter().collect::<Vec<_>>());
    let road = judgement.uses.into_iter().find(|of| of.one == Use::Road);
    let outcome = road.and_then(|of| of.outcomes.into_iter().find(|outcome| outcome.check == case.check));
    outcome.unwrap_or_else(|| panic!("{} is not judged on the road", case.check))
}

fn is_past(outcome: &Outcome) -> bool {
    let margin = outcome.figure.as_ref().unwrap_or_else(|| panic!("no figure: {}", outcome.reason)).margin;
    // The worst of the rows that count is told: none is past if it is not.
    assert_eq!(margin < 0.0, outcome.reason.contains("past its limit"), "{}", outcome.reason);
    margin < 0.0
}

#[test]
fn every_reading_is_judged_as_the_clause_has_it() {
    let catalogue = catalogue();
    let mut wrong = Vec::new();
    for case in cases() {
        for (read, past) in
            case.conforms.iter().map(|read| (read, false)).chain(case.past.iter().map(|read| (read, true)))
        {
            let outcome = judged(&catalogue, &case, read, "si");
            let said = case.says.is_empty() || outcome.working.iter().any(|line| line.contains(&case.says));
            if is_past(&outcome) != past || outcome.rests_on_law == case.silent || !said {
                wrong.push(format!("{}, {read} ({}): {outcome:#?}", case.pack, case.source));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_pack_has_a_reading_pinned() {
    let pinned: Vec<String> = cases().into_iter().map(|case| case.pack).collect();
    for pack in catalogue().laws.keys() {
        assert!(pinned.contains(pack), "{pack}");
    }
}

#[test]
fn a_pack_of_the_united_states_speaks_in_inches_to_a_yard_that_does() {
    let catalogue = catalogue();
    let sheet = "equipment = { wear_bars = \"no\" }".to_string();
    for (pack, least) in [("US-VA", 2.0 / 32.0), ("US-MD", 1.0 / 32.0)] {
        let case = Case { pack: pack.into(), sheet: sheet.clone(), check: "tyre.rear.tread".into(), ..Case::default() };
        let outcome = judged(&catalogue, &case, "3/32 in", "us");
        let figure = outcome.figure.unwrap_or_else(|| panic!("no figure"));
        // A bound in thirty-seconds is exact in binary, and stays so.
        assert_eq!((figure.unit, figure.at_least, figure.value), ("in", Some(least), 3.0 / 32.0), "{pack}");
        assert!(outcome.reason.contains("\u{a0}in"), "{}", outcome.reason);
    }
}

#[test]
fn law_binds_off_the_range_only() {
    for law in catalogue().laws.values() {
        let rows = law.limits.iter().map(|row| row.uses).chain(law.classes.iter().map(|row| row.uses));
        assert!(rows.clone().all(|uses| !uses.contains(Use::Range)), "{}", law.pack);
        assert!(rows.count() > 0, "{}", law.pack);
    }
}
