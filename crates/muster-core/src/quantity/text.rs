//! Reads figures as people write them at the kerb: `32 psi`, `5/32 in`, `12 400 km`, `7,700 mi`, `4,1 mm`.

use alloc::{format, string::String, vec::Vec};

use super::{Amount, Bounds, Kind, OutOfRange, Unit, decimal};

/// Which sign stands before the decimals where the figure was written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DecimalSign {
    /// `4.1`; a comma groups thousands.
    #[default]
    Point,
    /// `4,1`; a point groups thousands, but a lone point that cannot be grouping is a decimal point.
    Comma,
}

/// Reads one figure with its unit.
///
/// # Errors
/// [`NotRead`] with what was given, what is allowed and the likely mix-up.
pub fn read(kind: Kind, text: &str, sign: DecimalSign) -> Result<Amount, NotRead> {
    let (value, unit) = split(kind, text, sign)?;
    Ok(Amount::new(kind, value, unit)?)
}

/// Reads one figure that must lie within a check's own range.
///
/// # Errors
/// [`NotRead`] as for [`read`].
pub fn read_within(kind: Kind, text: &str, sign: DecimalSign, bounds: Bounds) -> Result<Amount, NotRead> {
    let (value, unit) = split(kind, text, sign)?;
    Ok(Amount::within(kind, value, unit, bounds)?)
}

/// A text that is no figure of the kind asked for.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotRead {
    /// Nothing was written.
    #[error("no figure given: write it with its unit, such as {example}")]
    Empty {
        /// A figure of this kind.
        example: String,
    },
    /// The part before the unit is no number.
    #[error("`{text}` is not a number{hint}")]
    NotANumber {
        /// What was written.
        text: String,
        /// The likely slip, or empty.
        hint: String,
    },
    /// A figure without its unit.
    #[error("`{text}` has no unit: write {units}")]
    NoUnit {
        /// What was written.
        text: String,
        /// The units allowed.
        units: String,
    },
    /// A unit nobody knows.
    #[error("unit `{unit}` is not known for a {kind}: write {units}")]
    UnknownUnit {
        /// The kind asked for.
        kind: Kind,
        /// What was written.
        unit: String,
        /// The units allowed.
        units: String,
    },
    /// A unit of another kind.
    #[error("`{unit}` does not measure a {kind}: write {units}")]
    WrongUnit {
        /// The kind asked for.
        kind: Kind,
        /// What was written.
        unit: String,
        /// The units allowed.
        units: String,
    },
    /// A figure past what can be.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

fn split(kind: Kind, text: &str, sign: DecimalSign) -> Result<(f64, Unit), NotRead> {
    let text = text.trim();
    if text.is_empty() {
        return Err(NotRead::Empty { example: format!("2.2 {}", kind.range_unit().symbol()) });
    }
    let end = text
        .char_indices()
        .find(|(_, c)| {
            !(c.is_ascii_digit() || c.is_whitespace() || matches!(c, '.' | ',' | '/' | '+' | '-' | '\u{2212}'))
        })
        .map_or(text.len(), |(index, _)| index);
    // `/min` begins with the sign of a fraction.
    let end = text[..end].strip_suffix('/').map_or(end, str::len);
    let (figure, unit) = text.split_at(end);
    let (figure, unit) = (figure.trim(), unit.trim());
    let value = number(figure, sign)?;
    if unit.is_empty() {
        if kind == Kind::Ratio {
            return Ok((value, Unit::One));
        }
        return Err(NotRead::NoUnit { text: text.into(), units: units(kind) });
    }
    let unit = Unit::find(kind, unit).ok_or_else(|| {
        let (unit, units) = (String::from(unit), units(kind));
        match Unit::find_any(&unit) {
            Some(_) => NotRead::WrongUnit { kind, unit, units },
            None => NotRead::UnknownUnit { kind, unit, units },
        }
    })?;
    Ok((value, unit))
}

fn units(kind: Kind) -> String {
    let mut out = String::new();
    for (index, unit) in kind.units().iter().filter(|unit| !unit.symbol().is_empty()).enumerate() {
        out.push_str(if index > 0 { " or " } else { "" });
        out.push_str(unit.symbol());
    }
    out
}

fn number(text: &str, sign: DecimalSign) -> Result<f64, NotRead> {
    let refuse = |hint: String| NotRead::NotANumber { text: text.into(), hint };
    if let Some((before, below)) = text.split_once('/') {
        // `5/32` or `1 5/32`: whole and fraction, of digits alone.
        let mut words: Vec<&str> = before.split_whitespace().collect();
        let above = words.pop().unwrap_or_default();
        let whole = match words.as_slice() {
            [] => 0.0,
            [whole] => digits(whole).ok_or_else(|| refuse(String::new()))?,
            _ => return Err(refuse(String::new())),
        };
        let (above, below) = digits(above).zip(digits(below.trim())).ok_or_else(|| refuse(String::new()))?;
        if below == 0.0 {
            return Err(refuse(String::from(": a fraction needs a number below the line")));
        }
        return Ok(whole + above / below);
    }
    let mut negative = false;
    let mut rest = text;
    if let Some(after) = rest.strip_prefix(['-', '\u{2212}']) {
        (negative, rest) = (true, after);
    } else if let Some(after) = rest.strip_prefix('+') {
        rest = after;
    }
    let plain = ungroup(rest.trim_start(), sign).map_err(refuse)?;
    let value = decimal(&plain).ok_or_else(|| refuse(String::from(": too many digits")))?;
    Ok(if negative { -value } else { value })
}

fn digits(text: &str) -> Option<f64> {
    let plain = !text.is_empty() && text.len() <= 9 && text.bytes().all(|byte| byte.is_ascii_digit());
    plain.then(|| decimal(text)).flatten()
}

/// Takes the thousands' groups out and puts a point before the decimals; says why it cannot.
fn ungroup(text: &str, sign: DecimalSign) -> Result<String, String> {
    let (decimal, group) = match sign {
        DecimalSign::Point => ('.', ','),
        DecimalSign::Comma => (',', '.'),
    };
    let mut parts = text.splitn(2, decimal);
    let whole = parts.next().unwrap_or_default();
    let fraction = parts.next();
    if let Some(fraction) = fraction
        && !fraction.bytes().all(|byte| byte.is_ascii_digit())
    {
        return Err(String::new());
    }
    let grouped: Vec<&str> = whole.split(|c: char| c == group || c.is_whitespace()).collect();
    let all_digits = grouped.iter().all(|part| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit()));
    let well_grouped =
        grouped.iter().skip(1).all(|part| part.len() == 3) && grouped.first().is_some_and(|part| part.len() <= 3);
    if all_digits && (grouped.len() == 1 || well_grouped) {
        let mut plain: String = grouped.concat();
        if let Some(fraction) = fraction.filter(|fraction| !fraction.is_empty()) {
            plain.push('.');
            plain.push_str(fraction);
        }
        return Ok(plain);
    }
    match (sign, grouped.as_slice()) {
        // With a decimal comma, `4.1` cannot be a group of thousands: it is a decimal point.
        (DecimalSign::Comma, [whole, decimals]) if all_digits && fraction.is_none() && text.contains('.') => {
            Ok(format!("{whole}.{decimals}"))
        }
        (DecimalSign::Point, [whole, decimals]) if all_digits && fraction.is_none() && text.contains(',') => {
            Err(format!(": a comma groups thousands here; did you mean {whole}.{decimals}?"))
        }
        _ if all_digits => Err(String::from(": thousands stand in groups of three")),
        _ => Err(String::new()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(kind: Kind, text: &str, expect: Option<(f64, Unit)>) {
        let read = read(kind, text, DecimalSign::Point).ok().map(|amount| (amount.value(), amount.unit()));
        assert_eq!(read, expect, "{text}");
    }

    #[test]
    fn figures_as_people_write_them() {
        check(Kind::GaugePressure, "32 psi", Some((32.0, Unit::Psi)));
        check(Kind::GaugePressure, "2.2 bar", Some((2.2, Unit::Bar)));
        check(Kind::GaugePressure, "220kPa", Some((220.0, Unit::Kilopascal)));
        check(Kind::GaugePressure, " 32 PSI ", Some((32.0, Unit::Psi)));
        check(Kind::Length, "5/32 in", Some((5.0 / 32.0, Unit::Inch)));
        check(Kind::Length, "1 5/32 in", Some((1.0 + 5.0 / 32.0, Unit::Inch)));
        check(Kind::Length, "4.1 mm", Some((4.1, Unit::Millimetre)));
        check(Kind::Temperature, "106 F", Some((106.0, Unit::Fahrenheit)));
        check(Kind::Temperature, "−3 °C", Some((-3.0, Unit::Celsius)));
        check(Kind::Distance, "12 400 km", Some((12_400.0, Unit::Kilometre)));
        check(Kind::Distance, "12\u{202f}400\u{a0}km", Some((12_400.0, Unit::Kilometre)));
        check(Kind::Distance, "7,700 mi", Some((7_700.0, Unit::Mile)));
        check(Kind::Frequency, "90 /min", Some((90.0, Unit::PerMinute)));
        check(Kind::Frequency, "90 per minute", Some((90.0, Unit::PerMinute)));
        check(Kind::Ratio, "80 %", Some((80.0, Unit::Percent)));
        for wrong in [
            "",
            "psi",
            "32",
            "3 2 psi",
            "32 mm",
            "32 furlong",
            "1/0 bar",
            "NaN psi",
            "1e2 psi",
            "4,1 bar",
            "--3 bar",
            "/ bar",
        ] {
            check(Kind::GaugePressure, wrong, None);
        }
    }

    #[test]
    fn a_decimal_comma_where_the_locale_says_so() {
        let read = |text| read(Kind::Distance, text, DecimalSign::Comma).map(Amount::value);
        assert_eq!(read("4,1 km"), Ok(4.1));
        assert_eq!(read("4.1 km"), Ok(4.1));
        assert_eq!(read("12.400 km"), Ok(12_400.0));
        assert_eq!(read("12.400,5 km"), Ok(12_400.5));
    }

    #[test]
    fn a_refusal_names_the_likely_mix_up() {
        let say = |kind, text| read(kind, text, DecimalSign::Point).unwrap_err();
        assert_eq!(
            format!("{}", say(Kind::GaugePressure, "3200 kPa")),
            "gauge pressure must be 0 to 600\u{a0}kPa, got 3200\u{a0}kPa: did you mean 320\u{a0}kPa?"
        );
        assert_eq!(
            format!("{}", say(Kind::GaugePressure, "32 mm")),
            "`mm` does not measure a gauge pressure: write kPa or psi or bar"
        );
        assert_eq!(
            format!("{}", say(Kind::Length, "4,1 mm")),
            "`4,1` is not a number: a comma groups thousands here; did you mean 4.1?"
        );
        assert_eq!(
            format!("{}", say(Kind::Length, "0.1000000000000000000000 mm")),
            "`0.1000000000000000000000` is not a number: too many digits"
        );
    }
}
