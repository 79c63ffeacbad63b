//! A vehicle identification number as typed.
#![no_main]

use libfuzzer_sys::fuzz_target;
use muster_core::formula::vin::Vin;

fuzz_target!(|text: &str| {
    match Vin::parse(text) {
        Ok(vin) => {
            assert_eq!(Vin::parse(&vin.text()).expect("what is read can be read again").text(), vin.text());
            let _ = (vin.check_digit(), vin.expected_check_digit(), vin.region(), vin.model_years(), vin.character(17));
        }
        Err(refusal) => assert!(!refusal.to_string().is_empty()),
    }
});
