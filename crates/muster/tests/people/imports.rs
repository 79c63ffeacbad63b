//! Tables taken in: shown first, written row by row as the record decides, and the same again does no harm.

use std::{fs, path::Path};

use muster::import::to_mend;
use muster_core::{calendar::Moment, record::payload::Role};
use muster_wire::import::ImportReport;
use serde_json::Value;

use super::kit::{Yard, now, person};

const MACHINES: &str = "machine,sheet,plate,first_use,displacement,colour\n\
    N-01,corvane-pebble,QZ70 ABC,2021-04-12,125 cc,red\n\
    N-02,no-such-sheet,,,,\n\
    H-07,corvane-pebble,QZ11 AAA,,,\n\
    N-01,corvane-pebble,QZ70 ABC,2021-04-12,125 cc,red\n\
    ,corvane-pebble,,,,\n\
    N-03,corvane-pebble,,12.4.2021,,\n\
    N-04,corvane-pebble,a,b,c,d,e\n\
    N-05,corvane-pebble,,,,\n";

const READINGS: &str = "machine;check;value;unit;at;odometer (km);instrument\r\n\
    H-07;tyre.front.pressure;2,25;bar;2026-11-23 09:30;12 400;G-2\r\n\
    H-07;tyre.rear.pressure;32,5 psi;;2026-11-23 09:30;12 400;G-2\r\n\
    H-07;tyre.front.tread;much;mm;2026-11-23 09:30;;\r\n\
    H-07;no.such;1;mm;2026-11-23 09:30;;\r\n\
    X-99;tyre.front.pressure;2,2;bar;2026-11-23 09:30;;\r\n\
    H-07;tyre.front.pressure;2,2;;2026-11-23 10:30;;\r\n\
    H-07;tyre.front.pressure;2,2;bar;2030-01-01 10:30;;\r\n\
    H-07;tyre.front.pressure;2.125;bar;2026-11-23 11:30;;\r\n\
    H-08;tyre.front.pressure;2,2;bar;2026-11-24;;\r\n\
    H-08;tyre.front.pressure;-2,2;bar;2026-11-22T08:00:00+01:00;;\r\n\
    H-08;tyre.front.pressure;2,2;bar;2026-11-22T08:00:00+01:00;;G-99\r\n\
    H-07;tyre.front.pressure;2,3;bar;2026-11-22 09:30;11 900;G-2\r\n";

fn taken(yard: &Yard, role: Role, path: &str, table: &str) -> Value {
    let answer = yard.takes(&person(role), path, table);
    assert_eq!(answer.status, 200, "{}", answer.text);
    answer.body
}

/// Each row as its line and its outcome, with a piece of why.
fn check(report: &Value, expect: &[(u64, &str, &str)]) {
    let rows = report["rows"].as_array().unwrap();
    assert_eq!(rows.len(), expect.len(), "{report:#}");
    for (row, (line, outcome, why)) in rows.iter().zip(expect) {
        let told = row["why"].as_str().unwrap_or_default();
        assert!(row["line"] == *line && row["outcome"] == *outcome && told.contains(why), "{row:#} {line} {outcome}");
    }
}

#[test]
fn machines_are_shown_then_written_then_here() {
    let yard = Yard::new();
    let events = || yard.keeper().store().count().unwrap();
    let rows = |good: &'static str| {
        [
            (2, good, ""),
            (3, "refused", "no sheet `no-such-sheet`"),
            (4, "refused", "machine `H-07` is here already"),
            (5, "here", ""),
            (6, "refused", "`machine` is empty"),
            (7, "refused", "12.4.2021"),
            (8, "refused", "7 cells under 6 columns"),
            (9, good, ""),
        ]
    };
    let before = events();
    let dry = taken(&yard, Role::Workshop, "/api/v1/import/machines?dry-run=true", MACHINES);
    check(&dry, &rows("would-be-written"));
    assert_eq!((events(), &dry["not_taken"]), (before, &serde_json::json!(["colour"])));
    let done = taken(&yard, Role::Workshop, "/api/v1/import/machines", MACHINES);
    check(&done, &rows("written"));
    assert_eq!(events(), before + 2);
    let known = yard.keeper().known().yard;
    let machine = &known.machines["N-01"];
    assert_eq!((machine.plate.as_deref(), machine.traits.displacement_cc), (Some("QZ70 ABC"), Some(125.0)));
    assert!(known.machines["N-05"].row > machine.row);
    let again = taken(&yard, Role::Workshop, "/api/v1/import/machines", MACHINES);
    check(&again, &rows("here"));
    assert_eq!(events(), before + 2);
    assert_eq!(yard.takes(&person(Role::Instructor), "/api/v1/import/machines", MACHINES).status, 403);
}

#[test]
fn readings_become_walk_rounds_and_none_is_there_in_part() {
    let yard = Yard::new();
    let events = || yard.keeper().store().count().unwrap();
    let rows = |good: &'static str| {
        [
            (2, good, ""),
            (3, good, ""),
            (4, "refused", "is not a number"),
            (5, "refused", "no.such"),
            (6, "refused", "no machine `X-99`"),
            (7, "refused", "has no unit"),
            (8, "refused", "has not come yet"),
            (9, "refused", "can be read two ways"),
            (10, "refused", "is today: write its time"),
            (11, "refused", "gauge pressure must be"),
            (12, good, ""),
            (13, good, ""),
        ]
    };
    let before = events();
    let path = "/api/v1/import/readings";
    let dry = taken(&yard, Role::Instructor, &format!("{path}?dry-run=true"), READINGS);
    check(&dry, &rows("would-be-written"));
    assert_eq!((events(), &dry["decimal"], &dry["delimiter"]), (before, &"comma".into(), &";".into()));
    let done = taken(&yard, Role::Instructor, path, READINGS);
    check(&done, &rows("written"));
    // Three walk-rounds opened and closed, four readings; of what was refused nothing.
    assert_eq!(events(), before + 3 * 2 + 4);
    assert!(done["rows"][10]["but"].as_str().unwrap().contains("no instrument `G-99` here"), "{done:#}");
    let state = yard.keeper().machine("H-07").unwrap().unwrap();
    let opened: Vec<String> = state.walk_rounds.values().map(|of| of.form.opened.to_string()).collect();
    assert!(opened.contains(&"2026-11-22T09:30:00+00:00".to_string()), "{opened:?}");
    assert!(state.walk_rounds.values().all(|of| of.form.closed == Some(of.form.opened)));
    let view = yard.asks(&person(Role::Owner), "GET", "/api/v1/machines/H-07/readings", &Value::Null, 200);
    let front = view["checks"].as_array().unwrap().iter().find(|of| of["check"] == "tyre.front.pressure").unwrap();
    let kpa: Vec<f64> = front["readings"].as_array().unwrap().iter().map(|of| of["value"].as_f64().unwrap()).collect();
    // 1 bar is 100 kPa: SI brochure, table 8.
    assert!(kpa.iter().zip([230.0, 225.0]).all(|(got, want)| (got - want).abs() < 1e-9), "{front}");
    let again = taken(&yard, Role::Instructor, path, READINGS);
    check(&again, &rows("here"));
    assert_eq!(events(), before + 3 * 2 + 4);
    let point = taken(&yard, Role::Instructor, &format!("{path}?dry-run=true&decimal=point"), READINGS);
    assert_eq!(point["rows"][7]["outcome"], "would-be-written");
    assert_eq!(yard.takes(&person(Role::Rider), path, READINGS).status, 403);
    assert_eq!(yard.takes(&person(Role::Owner), path, "machine,value\n").status, 400);
}

#[test]
fn places_of_one_check_are_one_answer() {
    let yard = Yard::new();
    let table = "machine,check,place,value_mm,at\n\
        H-07,brake.front.pads,inner,3.1,2026-11-23 09:30\n\
        H-07,brake.front.pads,outer,2.9,2026-11-23 09:30\n\
        H-07,brake.front.pads,elsewhere,2.9,2026-11-23 09:40\n";
    let before = yard.keeper().store().count().unwrap();
    let report = taken(&yard, Role::Workshop, "/api/v1/import/readings", table);
    check(&report, &[(2, "written", ""), (3, "written", ""), (4, "refused", "no place `elsewhere`")]);
    assert_eq!(yard.keeper().store().count().unwrap(), before + 3);
}

/// Each row as it is told, and the file of those to be mended.
fn told(report: &Value, table: &str) -> String {
    let report: ImportReport = serde_json::from_value(report.clone()).unwrap();
    let mut text = String::new();
    for row in &report.rows {
        let why = row.why.as_ref().or(row.but.as_ref()).map(|why| format!("\n    {why}")).unwrap_or_default();
        text.push_str(&format!("{:>2} {}: {}{why}\n", row.line, row.outcome, row.what));
    }
    text.push_str(&format!("not taken: {}\n\n", report.not_taken.join(", ")));
    text + &to_mend(table, &report).unwrap_or_default()
}

#[test]
fn a_spreadsheet_of_years_is_taken_in_row_by_row_and_the_rest_can_be_mended() {
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden");
    let table = fs::read_to_string(golden.join("old-sheet.csv")).unwrap();
    let yard = Yard::new();
    let path = "/api/v1/import/readings";
    let text = told(&taken(&yard, Role::Workshop, path, &table), &table);
    if std::env::var_os("MUSTER_BLESS").is_some() {
        fs::write(golden.join("old-sheet.txt"), &text).unwrap();
    }
    let kept = fs::read_to_string(golden.join("old-sheet.txt")).unwrap();
    assert!(kept == text, "{text}\nif that is meant, MUSTER_BLESS=1 writes it anew");
    // Told which stands first, and mended in one cell, two rows more stand; the rest is refused as before.
    let (_, refused) = text.split_once("\n\n").unwrap();
    let mended = refused.replace("41.300", "3.900").replace("H-7;", "H-07;");
    let again = taken(&yard, Role::Workshop, &format!("{path}?dates=day-first"), &mended);
    let written = again["rows"].as_array().unwrap().iter().filter(|row| row["outcome"] == "written").count();
    assert_eq!((written, &again["not_taken"]), (2, &serde_json::json!(["Remarks", "Colour of bike"])), "{again:#}");
}

#[test]
fn what_was_taken_in_counts_as_a_look_of_its_day_and_forecasts_rest_on_it() {
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/old-sheet.csv");
    let yard = Yard::new();
    let judged = || {
        let view = yard.asks(&person(Role::Owner), "GET", "/api/v1/machines/H-07", &Value::Null, 200);
        view["judgement"]["verdicts"].clone()
    };
    let before = judged();
    let none = yard.keeper().estimate(now()).unwrap().0;
    let _report = taken(&yard, Role::Workshop, "/api/v1/import/readings", &fs::read_to_string(golden).unwrap());
    assert_eq!(judged(), before, "nothing of it is a look of today");
    let estimate = yard.keeper().estimate(now()).unwrap().0;
    let rows = |of: &muster_core::forecast::estimate::Estimate| {
        let kinds = of.kinds.iter().filter(|kind| kind.check == "tyre.rear.tread");
        kinds.flat_map(|kind| &kind.rows).filter(|row| row.machine == "H-07").cloned().collect::<Vec<_>>()
    };
    assert_eq!(rows(&none).len(), 0);
    let row = rows(&estimate).pop().expect("a row of the tyre");
    let noon = Moment::parse("2021-03-15T12:00:00+00:00").unwrap().timestamp().as_second();
    assert_eq!((row.readings, row.read_until), (5, noon), "{row:?}");
    // Whoever may asks for it to be written down: once, since the same record gives the same.
    let asked = |role| yard.asks(&person(role), "POST", "/api/v1/forecast", &Value::Null, 200);
    let (first, second) = (asked(Role::Workshop), asked(Role::Owner));
    assert_eq!((&first["written"], &second["written"]), (&true.into(), &false.into()));
    assert_eq!((&first["hash"], first["parts"].as_u64()), (&second["hash"], Some(2)));
    assert_eq!(
        yard.keeper().known().yard.forecast.as_ref().map(|of| of.hash.clone()).as_deref(),
        first["hash"].as_str()
    );
}

#[test]
fn miles_pounds_and_thirty_seconds_of_an_inch_are_read_as_such() {
    let yard = Yard::new();
    let table = "part,machine,date,odometer (mi),value,unit,gauge\n\
        Rear tyre,H-07,03/25/2019,800,5,32nds,T-1\n\
        Rear tyre,H-07,04/25/2019,\"1,012,400\",5,32nds,T-1\n\
        Rear tyre,H-07,04/26/2019,900,5/32,in,T-1\n\
        Rear tyre,H-07,05/26/2019,\"1,000\",4.5,32nds,T-1\n\
        Front tyre pressure,H-07,05/26/2019,1000 km,29,psi,G-2\n\
        Front tyre pressure,H-07,05/26/2019,1.000,29,psi,G-2\n\
        Front tyre pressure,H-07,06/26/2019,\"1,100\",29,psi,G-2\n";
    let report = taken(&yard, Role::Workshop, "/api/v1/import/readings", table);
    let rows = [
        (2, "written", ""),
        (3, "refused", "is more than the 1448 km of 2019-04-26"),
        (4, "written", ""),
        (5, "refused", "no whole number of 32nds"),
        (6, "refused", "is less than the 1448 km of 2019-04-26"),
        (7, "refused", "can be read two ways"),
        (8, "written", ""),
    ];
    check(&report, &rows);
}
