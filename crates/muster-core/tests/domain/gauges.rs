//! Writes docs/instruments.md: what each common gauge can decide at each check that is read, and how near to a limit.

use std::{collections::BTreeMap, fmt::Write, fs, path::PathBuf};

use muster_core::{
    catalogue::Catalogue,
    check::{Correction, Measure, Shown, Yields},
    instrument::Instrument,
    judge::Context,
    limit::Limit,
    statistics::{conformance::guard_band, uncertainty::StandardUncertainty},
    walk_round::{can_decide, uncertainty_with},
    words::Use,
    yard::Yard,
};

use super::demo::yard_of;

const HEAD: &str = "# What a gauge can decide

Before anything is measured, a walk-round says of the yard's own instruments which cannot decide a check: no reading with
them could be fit. This page says it of gauges as they are sold (`data/gauges.toml`, resolution and accuracy from memory)
at the tightest limit that the eight demonstration models set. A yard's own gauge counts with its own figures.

- **u**: standard uncertainty of one reading: scatter of the hand, resolution, accuracy (JCGM 100:2008, 5.1.2).
- **window** (two bounds): the best chance that anything can conform, reading in the middle. Below 95 % the gauge cannot
  decide (JCGM 106:2012, 7.4); *u at most* names what can.
- **one bound**: a gauge decides far enough from it, if the check can be read so far. *Fit from* is the reading from which it is fit, one bound and 1.645 u
  inside it (JCGM 106:2012, 8.3.2); nearer than that, more readings or a finer gauge.

Written by `cargo xtask instruments`; a test fails where it is stale.
";

#[test]
fn the_page_in_the_documents_is_fresh() {
    let file = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/instruments.md"));
    let page = page();
    if std::env::var_os("MUSTER_BLESS").is_some() {
        fs::write(&file, &page).unwrap_or_else(|error| panic!("{error}"));
    }
    let written = fs::read_to_string(&file).unwrap_or_default();
    assert!(written == page, "docs/instruments.md is stale: run `cargo xtask instruments` and read what changed");
}

#[test]
fn a_coarse_gauge_is_told_from_a_fine_one() {
    let page = page();
    let row = |check: &str, gauge: &str| {
        let section = page.split("\n## ").find(|section| section.starts_with(check)).unwrap_or_default();
        section.lines().find(|line| line.starts_with(&format!("| {gauge} "))).unwrap_or_default().to_owned()
    };
    assert!(row("Front tyre pressure", "Stick gauge, pressure").contains("**cannot decide**"));
    assert!(row("Front tyre pressure", "Digital gauge, pressure").contains("decides"));
    assert!(row("Draw with the key off", "Multimeter, on milliamperes").contains("fit to"));
    // Five milliamperes on a socket that shows tens of them: not even nought would be fit.
    assert!(row("Draw with the key off", "Multimeter, on the 10 A socket").contains("**cannot decide**"));
}

fn page() -> String {
    let (catalogue, harrow) = yard_of("harrow-lane");
    let (_, barn) = yard_of("north-barn");
    let text = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/gauges.toml"));
    let text = text.unwrap_or_else(|error| panic!("{error}"));
    let (gauges, problems) = Yard::load(&[("yard.toml", &text)], &catalogue);
    assert!(problems.is_empty(), "{problems:#?}");
    let tightest = tightest(&catalogue, &[&harrow, &barn]);
    let read = catalogue.checks.iter().filter(|check| matches!(check.yields, Yields::Read(_)));
    let (read, all): (Vec<_>, _) = (read.map(|check| &check.id).collect(), catalogue.checks.len());
    assert!(read.iter().all(|id| tightest.contains_key(*id)), "a check is read that no limit bounds on any kind");
    let mut page = format!(
        "{HEAD}\nOf the catalogue's {all} checks {} are read; the others are looked at, or are a date.\n",
        read.len()
    );
    for check in &catalogue.checks {
        let (Yields::Read(measure), Some((machine, limit))) = (&check.yields, tightest.get(&check.id)) else {
            continue;
        };
        let reads = |gauge: &&Instrument| gauge.reads == measure.kind && measure.instruments.contains(&gauge.kind);
        let rows: Vec<&Instrument> = gauges.instruments.values().filter(reads).collect();
        assert!(!rows.is_empty(), "no common gauge reads {}", check.id);
        write!(page, "\n## {}\n{}\n\n", check.name, told(measure, limit, machine)).unwrap_or_default();
        page.push_str("| gauge | u | decides |\n| --- | --- | --- |\n");
        for gauge in rows {
            page.push_str(&line(&catalogue, measure, limit, gauge, false));
            if measure.correction == Some(Correction::TyreGas) {
                page.push_str(&line(&catalogue, measure, limit, gauge, true));
            }
        }
    }
    page
}

/// The tightest limit for each check, with the model that sets it: the narrowest window, else the first bound.
fn tightest<'y>(catalogue: &'y Catalogue, yards: &[&'y Yard]) -> BTreeMap<String, (String, &'y Limit)> {
    let mut out: BTreeMap<String, (String, &'y Limit)> = BTreeMap::new();
    for yard in yards {
        for (id, machine) in &yard.machines {
            let Some(context) = yard.on.and_then(|on| Context::of(catalogue, yard, id, on)) else { continue };
            for check in &catalogue.checks {
                if check.applies.holds(&machine.traits.equipment) == muster_core::equipment::Holds::No {
                    continue;
                }
                let rows = context.limits(check, Use::Road).bounds;
                for row in rows.into_iter().filter(|row| row.places.is_empty()) {
                    let model = yard.sheets.get(&machine.sheet).map_or(&machine.sheet, |sheet| &sheet.model);
                    let held = out.get(&check.id).map_or(f64::INFINITY, |(_, held)| width(held));
                    if width(row) < held || !out.contains_key(&check.id) {
                        out.insert(check.id.clone(), (model.clone(), row));
                    }
                }
            }
        }
    }
    out
}

fn width(row: &Limit) -> f64 {
    match (row.at_least, row.at_most) {
        (Some(least), Some(most)) => most.canonical() - least.canonical(),
        _ => f64::INFINITY,
    }
}

fn told(measure: &Measure, limit: &Limit, model: &str) -> String {
    let text = |amount: muster_core::quantity::Amount| measure.si.text(amount.value(), amount.unit());
    let bound = match (limit.at_least, limit.at_most) {
        (Some(least), Some(most)) => format!("{} to {}", text(least), text(most)),
        (Some(least), None) => format!("At least {}", text(least)),
        (None, Some(most)) => format!("At most {}", text(most)),
        (None, None) => String::new(),
    };
    format!("{bound} ({}: {})", limit.layer, if limit.layer.as_str() == "sheet" { model } else { "any machine" })
}

fn line(catalogue: &Catalogue, measure: &Measure, limit: &Limit, gauge: &Instrument, warm: bool) -> String {
    let unit = limit.unit().unwrap_or(measure.si.unit);
    let name = if warm { format!("{}, on a warm tyre", gauge.name) } else { gauge.name.clone() };
    let u = uncertainty_with(&catalogue.rule, measure, gauge, (limit, warm)).unwrap_or(StandardUncertainty::ZERO);
    let asked = catalogue.rule.verdict.fit;
    let figures = finer(measure);
    let most = || limit.window(unit).and_then(|window| window.largest_uncertainty(asked));
    let decides = match (limit.at_least, limit.at_most) {
        _ if can_decide(&catalogue.rule, measure, gauge, (limit, warm)) != Some(true) => {
            let most =
                most().map_or(String::new(), |most| format!(": u at most {}", figures.difference(most.get(), unit)));
            format!("**cannot decide**{most}")
        }
        (Some(_), Some(_)) => "decides".to_owned(),
        (Some(least), _) => format!("fit from {}", figures.text(least.in_unit(unit) + guard_band(asked, u), unit)),
        (_, Some(most)) => format!("fit to {}", figures.text(most.in_unit(unit) - guard_band(asked, u), unit)),
        (None, None) => String::new(),
    };
    format!("| {name} | {} | {decides} |\n", figures.difference(u.get(), unit))
}

/// The figures of a check with one decimal more than they are shown in.
fn finer(measure: &Measure) -> Shown {
    Shown { decimals: measure.si.decimals + 1, ..measure.si }
}
