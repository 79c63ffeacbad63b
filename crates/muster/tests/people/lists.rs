//! Lists at the doors: the same rows as JSON and as CSV, each for those who see what is in it.

use muster::list::List;
use muster_core::record::payload::Role;
use serde_json::{Value, json};

use super::kit::{Answer, Ask, Yard, person};

fn asks(yard: &Yard, role: Role, path: &str, headers: &[(&str, &str)]) -> Answer {
    let token = yard.token(&person(role));
    yard.ask(Ask { token: Some(&token), headers, ..Ask::default() }, "GET", path, None)
}

/// A table read by its names: the header, and each row's cells.
fn table(text: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let cells = |row: &csv::StringRecord| row.iter().map(ToString::to_string).collect();
    (cells(reader.headers().unwrap()), reader.records().map(|row| cells(&row.unwrap())).collect())
}

#[test]
fn every_list_says_the_same_as_csv_and_as_json() {
    let yard = Yard::new();
    let raised = json!({ "do": "write", "kind": "finding-raised", "payload": { "machine": "H-07",
        "what": "=HYPERLINK(\"x\"), \"loose\"", "class": "minor", "uses": ["range"], "feedback": false } });
    let owner = person(Role::Owner);
    let token = yard.token(&owner);
    let asked = yard.ask(Ask { token: Some(&token), ..Ask::default() }, "POST", "/api/v1/commands", Some(&raised));
    assert_eq!(asked.status, 201, "{}", asked.text);
    for list in List::ALL {
        let json = asks(&yard, Role::Owner, &format!("/api/v1/lists/{list}"), &[]).body;
        let csv = asks(&yard, Role::Owner, &format!("/api/v1/lists/{list}?format=csv"), &[]);
        assert_eq!(csv.headers["content-type"], "text/csv; charset=utf-8; header=present");
        assert_eq!(csv.headers["content-disposition"], format!("attachment; filename=\"{list}.csv\""));
        let (names, rows) = table(&csv.text);
        assert_eq!(json.as_array().unwrap().len(), rows.len(), "{list}");
        for (object, row) in json.as_array().unwrap().iter().zip(&rows) {
            for (name, cell) in names.iter().zip(row) {
                let value = match &object[name] {
                    Value::Null => String::new(),
                    Value::String(text) => text.clone(),
                    Value::Number(number) => {
                        let (cell, number): (f64, f64) = (cell.parse().unwrap(), number.as_f64().unwrap());
                        assert!(cell.total_cmp(&number).is_eq(), "{list} {name}: {cell}, {number}");
                        continue;
                    }
                    other => other.to_string(),
                };
                assert_eq!(cell.strip_prefix('\'').unwrap_or(cell), value, "{list} {name}");
            }
        }
    }
    // OWASP, CSV Injection: an apostrophe before what a spreadsheet takes for a formula.
    let findings = asks(&yard, Role::Owner, "/api/v1/lists/findings?format=csv&machine=H-07", &[]).text;
    assert!(findings.contains("\"'=HYPERLINK(\"\"x\"\"), \"\"loose\"\"\""), "{findings}");
}

#[test]
fn the_doors_that_lists_have_already_answer_csv_too() {
    let yard = Yard::new();
    let csv = [("accept", "text/csv")];
    for (path, first) in [
        ("/api/v1/yard", "machine,model,row,service,use,verdict,"),
        ("/api/v1/machines/H-07/readings", "machine,check,name,at,by,odometer_km,place,value,unit,after\r\n"),
        ("/api/v1/people", "person,name,role,rights,active,erased\r\n"),
        ("/api/v1/record", "number,event,kind,machine,author,at,device,sha256\r\n"),
        ("/api/v1/lists/jobs", "machine,job,kind,name,why,state,planned_for,findings,tags\r\n"),
    ] {
        let by_header = asks(&yard, Role::Owner, path, &csv);
        let by_name = asks(&yard, Role::Owner, &format!("{path}?format=csv"), &[("accept", "application/json")]);
        assert!(by_header.status == 200 && by_header.text.starts_with(first), "{path}: {}", by_header.text);
        assert_eq!(by_header.text, by_name.text, "{path}");
        let browser = [("accept", "text/html, application/json, text/csv")];
        assert!(!asks(&yard, Role::Owner, path, &browser).body.is_null(), "{path}");
        assert_eq!(asks(&yard, Role::Owner, &format!("{path}?format=xls"), &[]).status, 400, "{path}");
        let etag = by_header.headers["etag"].clone();
        let again = asks(&yard, Role::Owner, path, &[csv[0], ("if-none-match", &etag)]);
        assert_eq!(again.status, 304, "{path}");
    }
    assert_eq!(asks(&yard, Role::Instructor, "/api/v1/lists/record", &[]).status, 403);
    assert_eq!(asks(&yard, Role::Owner, "/api/v1/lists/secrets", &[]).status, 404);
    assert_eq!(asks(&yard, Role::Owner, "/api/v1/lists/jobs?machine=X-99", &[]).status, 404);
    let (_, machines) = table(&asks(&yard, Role::Instructor, "/api/v1/lists/yard?format=csv", &[]).text);
    assert_eq!(machines.len(), 24);
}
