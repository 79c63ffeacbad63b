//! Lists, tables and the calendar as they are asked for on the command line, of a record's folder.

use std::fs;

use super::{
    program::{Folder, fed},
    record::{begun, run, says},
};

const READINGS: &str = "machine,check,value_kpa,at\n\
    M-01,tyre.front.pressure,210,2020-04-01 09:30\n\
    M-01,tyre.front.pressure,much,2020-04-01 09:31\n";

#[test]
fn a_table_is_shown_taken_in_and_listed() {
    let folder = Folder::new();
    let (record, _) = begun(&folder);
    let file = folder.write("gauge.csv", READINGS).display().to_string();
    let import = ["import", "readings", "--record", &record, &file];
    let dry = run(&[&import[..], &["--dry-run"]].concat());
    let refused = "line    3  refused           M-01, tyre.front.pressure, much, 2020-04-01 09:31: ";
    says(&dry, 2, &["line    2  would be written  M-01", refused, "nothing was changed"]);
    says(
        &run(&["list", "readings", "--record", &record]),
        0,
        &["machine,check,name,at,by,odometer_km,place,value,unit"],
    );
    assert_eq!(folder.names(), ["gauge.csv", "record"], "a dry run writes nothing");
    says(&run(&import), 2, &["line    2  written", "1 row written, 0 here already, 1 refused", "decimal point"]);
    // What was refused lies beside it as it stands, to be mended.
    let refused = fs::read_to_string(folder.path("gauge.refused.csv")).expect("it was written");
    assert!(refused.contains("\",M-01,tyre.front.pressure,much,2020-04-01 09:31\n"), "{refused}");
    let mended = folder.write("mended.csv", refused.replace("much", "190")).display().to_string();
    says(
        &run(&["import", "readings", "--record", &record, &mended, "--dry-run"]),
        0,
        &["1 row would be written, 0 here"],
    );
    says(&run(&import), 2, &["line    2  here"]);
    let from_input = fed(&["import", "readings", "--record", &record, "-"], None, READINGS.as_bytes());
    says(&from_input, 2, &["line    2  here"]);
    // The yard's own time: Berlin, summer time since 29 March 2020 (IANA time zone database).
    let listed = run(&["list", "readings", "--machine", "M-01", "--record", &record]);
    says(
        &listed,
        0,
        &["M-01,tyre.front.pressure,Front tyre pressure,2020-04-01T09:30:00+02:00,p-owner,,,210,kPa,\r\n"],
    );
    says(&run(&["list", "jobs", "--json", "--record", &record]), 0, &["[]\n"]);
    says(&run(&["list", "jobs", "--machine", "X 9", "--record", &record]), 2, &["no machine `X 9` here"]);
    says(&run(&["list", "secrets", "--record", &record]), 2, &["yard, readings, findings"]);
    let machines = folder.write("fleet.csv", "machine;sheet;plate\nM-02;pebble;QZ21 HBS\n").display().to_string();
    says(
        &run(&["import", "machines", "--record", &record, &machines]),
        0,
        &["line    2  written           M-02, pebble"],
    );
    says(&run(&["list", "yard", "--record", &record]), 0, &["\r\nM-02,Corvane Pebble,2,in service,range,unseen"]);
    let latin = folder.write("latin.csv", b"machine\xe9").display().to_string();
    says(&run(&["import", "machines", "--record", &record, &latin]), 2, &["save it as CSV UTF-8"]);
}

#[test]
fn the_calendar_is_printed_and_its_addresses_come_and_go() {
    let folder = Folder::new();
    let (record, _) = begun(&folder);
    let paper = "machine,check,value,at\nM-01,papers.insurance,2031-06-30,2020-04-01 09:30\n";
    let file = folder.write("papers.csv", paper).display().to_string();
    says(&run(&["import", "readings", "--record", &record, &file]), 0, &["line    2  written"]);
    let calendar = run(&["calendar", "--record", &record]);
    says(&calendar, 0, &["BEGIN:VCALENDAR\r\n", "DTSTART;VALUE=DATE:20310630\r\n", "END:VCALENDAR\r\n"]);
    let draw = ["calendar", "--record", &record, "draw", "--label", "wall", "--at", "https://yard.local:7070/"];
    let drawn = run(&draw);
    says(&drawn, 0, &["https://yard.local:7070/calendar/", ".ics\n", "takes it back"]);
    let listed = run(&["calendar", "--record", &record, "list"]);
    says(&listed, 0, &["p-owner  wall\n"]);
    let id = listed.out.split_whitespace().next().expect("an address is listed");
    let path = drawn.out.trim().strip_prefix("https://yard.local:7070").expect("the address asked for");
    says(&run(&["api", "--record", &record, "GET", path]), 0, &["BEGIN:VCALENDAR"]);
    says(&run(&["calendar", "--record", &record, "revoke", id]), 0, &["leads nowhere now"]);
    says(&run(&["api", "--record", &record, "GET", path]), 2, &["404"]);
    says(&run(&["calendar", "--record", &record, "revoke", id]), 2, &["no calendar address"]);
}

const TREADS: &str = "machine;part;date;odometer (km);value;unit;read by;gauge\n\
    M-01;Rear tyre;2019-03-04;1.200;6,4;mm;W. Spannerby;old stick\n\
    M-01;Rear tyre;2019-06-04;2.400;5,6;mm;W. Spannerby;old stick\n\
    M-01;Rear tyre;2019-09-04;3.600;4,7;mm;W. Spannerby;old stick\n";

#[test]
fn a_forecast_rests_on_what_was_taken_in_and_is_written_down_when_asked() {
    let folder = Folder::new();
    let (record, _) = begun(&folder);
    let file = folder.write("old.csv", TREADS).display().to_string();
    says(
        &run(&["import", "readings", "--record", &record, &file]),
        0,
        &["3 rows written", "no instrument `old stick`"],
    );
    let forecast = ["forecast", "--record", &record];
    says(&run(&[&forecast[..], &["M-01"]].concat()), 0, &["M-01  Rear tyre", "read 4.7\u{a0}mm on 2019-09-04"]);
    let estimated = run(&[&forecast[..], &["--estimate"]].concat());
    says(&estimated, 0, &["1 parts of 1 kinds, SHA-256 "]);
    let event = estimated.out.split_whitespace().next().expect("the event is named");
    says(&run(&["api", "--record", &record, "GET", &format!("/api/v1/record/{event}")]), 0, &["forecast-estimated"]);
    let asked = run(&["api", "--record", &record, "POST", "/api/v1/forecast"]);
    says(&asked, 0, &["\"written\":false"]);
    says(&run(&[&forecast[..], &["--estimate", "--as", "p-rider"]].concat()), 2, &["forecast-estimated"]);
}
