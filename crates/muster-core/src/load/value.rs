//! What a key may hold, read from a TOML value: text, number, truth, lists of them.
//!
//! Read here and not by a general deserializer, which would weigh 5 kB more in a phone's download (measured, brotli).

use alloc::{borrow::ToOwned, format, string::String, vec::Vec};
use core::ops::Range;

use toml::{Spanned, de::DeValue};

use crate::quantity::decimal;

/// A value that is not what its key holds: where it stands, and what is needed.
pub(crate) struct Mismatch {
    pub(crate) span: Range<usize>,
    pub(crate) what: String,
}

/// A type a key may hold.
pub(crate) trait Held: Sized {
    /// Reads the value.
    ///
    /// # Errors
    /// [`Mismatch`] for any other.
    fn held(value: &Spanned<DeValue<'_>>) -> Result<Self, Mismatch>;
}

fn mismatch<T>(value: &Spanned<DeValue<'_>>, needed: &str) -> Result<T, Mismatch> {
    let got = value.get_ref().type_str();
    Err(Mismatch { span: value.span(), what: format!("{needed} is needed, not this {got}") })
}

impl Held for String {
    fn held(value: &Spanned<DeValue<'_>>) -> Result<Self, Mismatch> {
        match value.get_ref() {
            DeValue::String(text) => Ok(text.as_ref().to_owned()),
            DeValue::Integer(_) | DeValue::Float(_) => mismatch(value, "a text").map_err(|Mismatch { span, what }| {
                Mismatch { span, what: what + ": write it in quotes, a figure with its unit" }
            }),
            _ => mismatch(value, "a text"),
        }
    }
}

impl Held for Spanned<String> {
    fn held(value: &Spanned<DeValue<'_>>) -> Result<Self, Mismatch> {
        String::held(value).map(|text| Self::new(value.span(), text))
    }
}

impl Held for bool {
    fn held(value: &Spanned<DeValue<'_>>) -> Result<Self, Mismatch> {
        match value.get_ref() {
            DeValue::Boolean(truth) => Ok(*truth),
            _ => mismatch(value, "true or false"),
        }
    }
}

impl Held for f64 {
    fn held(value: &Spanned<DeValue<'_>>) -> Result<Self, Mismatch> {
        let parsed = match value.get_ref() {
            DeValue::Integer(number) if number.radix() == 10 => decimal(number.as_str()),
            DeValue::Float(number) => decimal(number.as_str()),
            _ => None,
        };
        parsed.map_or_else(|| mismatch(value, "a number"), Ok)
    }
}

fn whole<T: core::str::FromStr>(value: &Spanned<DeValue<'_>>) -> Result<T, Mismatch> {
    match value.get_ref() {
        DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse().ok(),
        _ => None,
    }
    .map_or_else(|| mismatch(value, "a whole number, none below zero,"), Ok)
}

impl Held for u16 {
    fn held(value: &Spanned<DeValue<'_>>) -> Result<Self, Mismatch> {
        whole(value)
    }
}

impl Held for u32 {
    fn held(value: &Spanned<DeValue<'_>>) -> Result<Self, Mismatch> {
        whole(value)
    }
}

impl Held for usize {
    fn held(value: &Spanned<DeValue<'_>>) -> Result<Self, Mismatch> {
        whole(value)
    }
}

impl<T: Held> Held for Vec<T> {
    fn held(value: &Spanned<DeValue<'_>>) -> Result<Self, Mismatch> {
        match value.get_ref() {
            DeValue::Array(values) => values.iter().map(T::held).collect(),
            _ => mismatch(value, "a list"),
        }
    }
}

impl Held for [f64; 2] {
    fn held(value: &Spanned<DeValue<'_>>) -> Result<Self, Mismatch> {
        match Vec::held(value)?.as_slice() {
            [first, second] => Ok([*first, *second]),
            _ => mismatch(value, "a list of two numbers"),
        }
    }
}
