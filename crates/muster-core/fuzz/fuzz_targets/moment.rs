//! A moment as typed: what is read is written and read again as the same.
#![no_main]

use libfuzzer_sys::fuzz_target;
use muster_core::calendar::{Moment, date, days_between, days_later};

fuzz_target!(|text: &str| {
    if let Ok(moment) = Moment::parse(text) {
        let again = Moment::parse(&moment.to_string()).expect("what is written can be read");
        // A fraction of a second is read and not written.
        assert_eq!(again.to_string(), moment.to_string());
        assert_eq!((again.date(), again.clock()), (moment.date(), moment.clock()));
        assert!(moment.later_by(i64::MAX) >= moment);
        let _ = (moment.later_by(i64::MIN), moment.seconds_since(again));
    }
    if let Some(day) = date(text) {
        assert_eq!(day.to_string(), text);
        assert!(days_between(day, days_later(day, 30)) <= 30);
    }
});
