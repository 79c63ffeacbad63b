//! A tyre's date code as read off its wall.
#![no_main]

use libfuzzer_sys::fuzz_target;
use muster_core::{calendar, formula::tyre_date::TyreDate};

fuzz_target!(|text: &str| {
    match TyreDate::parse(text) {
        Ok(made) => {
            assert_eq!(calendar::days_between(made.first_day(), made.last_day()), 6);
            let on = calendar::date("2026-11-24").expect("a date");
            match made.age_at(on) {
                Ok(age) => assert!(age.decimal_years() >= 0.0),
                Err(refusal) => assert!(!refusal.to_string().is_empty()),
            }
        }
        Err(refusal) => assert!(!refusal.to_string().is_empty()),
    }
});
