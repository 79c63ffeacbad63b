//! Figures as people read them: thin groups, true minus, a no-break space before the unit.

use alloc::{format, string::String};

use super::Unit;

/// Between thousands, so that a figure never breaks over a line.
pub const GROUP: char = '\u{202f}';
/// Between a figure and its unit.
pub const UNIT_SPACE: char = '\u{a0}';

/// A figure and its unit, with as many digits as it needs and no more than six.
#[must_use]
pub fn plain(value: f64, unit: Unit) -> String {
    with_unit(&thirty_seconds(value, 3, unit).unwrap_or_else(|| figure(value)), unit)
}

/// A figure with a fixed number of decimals, and its unit.
#[must_use]
pub fn rounded(value: f64, decimals: usize, unit: Unit) -> String {
    with_unit(&fixed(value, decimals, unit), unit)
}

/// A figure with a fixed number of decimals in a unit that is told elsewhere.
#[must_use]
pub fn fixed(value: f64, decimals: usize, unit: Unit) -> String {
    thirty_seconds(value, decimals, unit).unwrap_or_else(|| grouped(&format!("{value:.decimals$}")))
}

/// Inches as a tread gauge and the laws of its lands have them, `2/32`, where the decimals would lose some of it: 0.062
/// would read as less than the 1/16 in it stands for.
fn thirty_seconds(value: f64, decimals: usize, unit: Unit) -> Option<String> {
    let whole_at = |step: f64| libm::fabs(value * step - libm::round(value * step)) < 1e-9;
    if unit != Unit::Inch || !whole_at(32.0) || whole_at(libm::pow(10.0, decimals as f64)) {
        return None;
    }
    let (inches, parts) = (libm::trunc(libm::fabs(value)), libm::round(libm::fabs(value) * 32.0));
    let sign = if value < 0.0 { "\u{2212}" } else { "" };
    let whole = if inches == 0.0 { String::new() } else { format!("{inches:.0} ") };
    Some(format!("{sign}{whole}{:.0}/32", parts - inches * 32.0))
}

/// A figure alone, shortest form up to six significant digits.
#[must_use]
pub fn figure(value: f64) -> String {
    if !value.is_finite() {
        return String::from("not a number");
    }
    let whole = libm::fabs(value);
    let mut digits: usize = 5;
    let mut step = 10.0;
    while step <= whole && digits > 0 {
        digits -= 1;
        step *= 10.0;
    }
    let text = format!("{value:.digits$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    grouped(text)
}

/// Puts thin groups and a true minus into a plain decimal text.
#[must_use]
pub fn grouped(text: &str) -> String {
    let (negative, text) = text.strip_prefix('-').map_or((false, text), |rest| (true, rest));
    let (whole, fraction) = text.split_once('.').map_or((text, None), |(whole, fraction)| (whole, Some(fraction)));
    let mut out = String::with_capacity(text.len() + 6);
    let zero = text.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    if negative && !zero {
        out.push('\u{2212}');
    }
    if whole.len() > 4 {
        for (index, digit) in whole.chars().enumerate() {
            if index > 0 && (whole.len() - index).is_multiple_of(3) {
                out.push(GROUP);
            }
            out.push(digit);
        }
    } else {
        // Four digits stand without a gap (ISO 80000-1, 7.3.1 leaves it open; the eye does not).
        out.push_str(whole);
    }
    if let Some(fraction) = fraction {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

fn with_unit(figure: &str, unit: Unit) -> String {
    match unit.symbol() {
        "" => String::from(figure),
        "°" => format!("{figure}°"),
        symbol => format!("{figure}{UNIT_SPACE}{symbol}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_read_as_people_write_them() {
        assert_eq!(plain(12_480.0, Unit::Kilometre), "12\u{202f}480\u{a0}km");
        assert_eq!(plain(-0.5, Unit::Millimetre), "\u{2212}0.5\u{a0}mm");
        assert_eq!(plain(4.1, Unit::Millimetre), "4.1\u{a0}mm");
        assert_eq!(rounded(-0.04, 1, Unit::Millimetre), "0.0\u{a0}mm");
        assert_eq!(plain(1480.0, Unit::Kilometre), "1480\u{a0}km");
        assert_eq!(figure(0.15625), "0.15625");
        assert_eq!(plain(0.0625, Unit::Inch), "2/32\u{a0}in");
        assert_eq!(plain(1.15625, Unit::Inch), "1 5/32\u{a0}in");
        assert_eq!(plain(0.25, Unit::Inch), "0.25\u{a0}in");
        assert_eq!(rounded(0.0625, 3, Unit::Inch), "2/32\u{a0}in");
        assert_eq!(rounded(-0.03125, 3, Unit::Inch), "\u{2212}1/32\u{a0}in");
        assert_eq!(rounded(0.063, 3, Unit::Inch), "0.063\u{a0}in");
        assert_eq!(fixed(0.0625, 3, Unit::Millimetre), "0.062");
    }
}
