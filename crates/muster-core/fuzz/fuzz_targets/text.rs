//! A figure as typed, of every kind: read or refused, and what is read lies in its kind's range and reads back.
#![no_main]

use libfuzzer_sys::fuzz_target;
use muster_core::quantity::{
    Kind,
    text::{DecimalSign, read},
};

fuzz_target!(|text: &str| {
    for kind in Kind::ALL {
        for sign in [DecimalSign::Point, DecimalSign::Comma] {
            match read(kind, text, sign) {
                Ok(amount) => {
                    let (least, most) = kind.range();
                    let value = amount.in_unit(kind.range_unit());
                    assert!(value.is_finite(), "{kind:?} {text}");
                    let slack = 1e-9 * (most - least);
                    assert!((least - slack..=most + slack).contains(&value), "{kind:?} {text}: {value}");
                    assert!(!amount.to_string().is_empty());
                }
                Err(refusal) => assert!(!refusal.to_string().is_empty()),
            }
        }
    }
});
