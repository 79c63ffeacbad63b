//! Figures in the units asked for: worked out in SI, told in SI or US customary units. What stands in braces in a text, `{5
//! mm}`, is a figure that is told so too.

use anyhow::{Context as _, Result};
use muster_core::{
    quantity::{Unit, convert, show},
    yard::Units,
};

/// A foot in metres; a US quart in litres, 57.75 cubic inches (NIST SP 811 (2008), B.8).
const FOOT_M: f64 = 0.3048;
const QUART_L: f64 = 0.946_352_946;

/// What a figure in SI is told in on the US side.
#[derive(Clone, Copy)]
enum Told {
    /// In another unit the core knows.
    Unit(Unit, Unit),
    /// As so many of a unit that only figures here have.
    Times(f64, &'static str),
}

/// Units of SI, their other side, and how many decimals more it takes to tell as much; what is not here is the same on both.
const SIDES: [(&str, Told, usize); 10] = [
    ("mm", Told::Unit(Unit::Millimetre, Unit::Inch), 2),
    ("m", Told::Unit(Unit::Metre, Unit::Foot), 0),
    ("kPa", Told::Unit(Unit::Kilopascal, Unit::Psi), 1),
    ("°C", Told::Unit(Unit::Celsius, Unit::Fahrenheit), 0),
    ("K", Told::Times(1.8, "°F"), 1),
    ("kg", Told::Unit(Unit::Kilogram, Unit::Pound), 0),
    ("km/h", Told::Unit(Unit::KilometrePerHour, Unit::MilePerHour), 0),
    ("N", Told::Unit(Unit::Newton, Unit::PoundForce), 1),
    ("m/s²", Told::Times(1.0 / FOOT_M, "ft/s²"), 0),
    ("L", Told::Times(1.0 / QUART_L, "qt"), 0),
];

/// A figure with its decimals and its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Figure {
    pub(super) value: f64,
    pub(super) decimals: usize,
    pub(super) unit: &'static str,
}

impl Figure {
    /// In the units asked for.
    pub(super) fn told(self, units: Units) -> Self {
        self.changed(units, convert)
    }

    /// A difference or an uncertainty, in the units asked for: of temperatures, no zero is shifted.
    pub(super) fn difference(self, units: Units) -> Self {
        self.changed(units, |value, from, to| value * from.step() / to.step())
    }

    fn changed(self, units: Units, into: impl Fn(f64, Unit, Unit) -> f64) -> Self {
        let side = SIDES.iter().find(|(unit, ..)| *unit == self.unit).filter(|_| units == Units::Us);
        let Some((_, told, more)) = side else { return self };
        let (value, unit) = match *told {
            Told::Unit(from, to) => (into(self.value, from, to), to.symbol()),
            Told::Times(factor, unit) => (self.value * factor, unit),
        };
        Self { value, decimals: self.decimals + more, unit }
    }

    /// With its unit.
    pub(super) fn text(self) -> String {
        let figure = show::grouped(&format!("{:.*}", self.decimals, self.value));
        match self.unit {
            "" | "°" => format!("{figure}{}", self.unit),
            unit => format!("{figure}{}{unit}", show::UNIT_SPACE),
        }
    }
}

/// A text with the figures in its braces told in the units asked for.
pub(super) fn expanded(text: &str, units: Units) -> String {
    let mut out = String::with_capacity(text.len());
    for (number, piece) in text.split(['{', '}']).enumerate() {
        match number % 2 {
            0 => out.push_str(piece),
            _ => out.push_str(&figure(piece, units).unwrap_or_else(|| piece.to_owned())),
        }
    }
    out
}

fn figure(piece: &str, units: Units) -> Option<String> {
    let (value, unit) = piece.split_once([' ', show::UNIT_SPACE])?;
    let (unit, ..) = SIDES.iter().find(|(own, ..)| *own == unit).filter(|_| units == Units::Us)?;
    let decimals = value.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let value = value.replace('\u{2212}', "-").parse().ok()?;
    Some(Figure { value, decimals, unit }.told(units).text())
}

/// Litres, as typed: a plain number is litres, `2.1 qt` US quarts.
pub(super) fn litres(typed: &str) -> Result<f64> {
    with(typed, &[("L", 1.0), ("l", 1.0), ("qt", QUART_L)])
        .with_context(|| format!("`{typed}`: write litres or US quarts, 2.0 L or 2.1 qt"))
}

/// Metres per second squared, as typed: a plain number is m/s².
pub(super) fn slowing(typed: &str) -> Result<f64> {
    with(typed, &[("m/s²", 1.0), ("m/s2", 1.0), ("ft/s²", FOOT_M), ("ft/s2", FOOT_M)])
        .with_context(|| format!("`{typed}`: write how hard it brakes as 7 m/s2 or 23 ft/s2"))
}

fn with(typed: &str, units: &[(&str, f64)]) -> Option<f64> {
    let typed = typed.trim();
    let of = |(unit, factor): &(&str, f64)| Some((typed.strip_suffix(unit)?.trim(), *factor));
    let (figure, factor) = units.iter().find_map(of).unwrap_or((typed, 1.0));
    figure.parse::<f64>().ok().filter(|figure| figure.is_finite()).map(|figure| figure * factor)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_is_told_in_the_units_asked_for() {
        // Factors: NIST SP 811 (2008), B.8: 1 in = 25.4 mm, 1 psi = 6.894757 kPa, 1 lbf = 4.448222 N, 1 mi = 1.609344 km.
        let us = |value, decimals, unit| Figure { value, decimals, unit }.told(Units::Us).text().replace('\u{a0}', " ");
        assert_eq!(us(25.4, 0, "mm"), "1.00 in");
        assert_eq!(us(250.0, 0, "kPa"), "36.3 psi");
        assert_eq!(us(-25.0, 0, "°C"), "\u{2212}13 °F");
        assert_eq!(us(100.0, 0, "N"), "22.5 lbf");
        assert_eq!(us(60.0, 1, "km/h"), "37.3 mph");
        assert_eq!(us(7.0, 2, "m/s²"), "22.97 ft/s²");
        assert_eq!(us(2.0, 2, "L"), "2.11 qt");
        assert_eq!(us(1.2, 1, "%"), "1.2 %");
        let u = Figure { value: 2.0, decimals: 0, unit: "°C" }.difference(Units::Us);
        assert_eq!(u.text().replace('\u{a0}', " "), "4 °F", "a difference has no zero to shift");
        assert!((u.value - 3.6).abs() < 1e-9, "{}", u.value);
    }

    #[test]
    fn what_stands_in_braces_is_told_so_too() {
        let text = "u: heights {5 mm}, {2 K}; {12.5 V} as it is";
        assert_eq!(expanded(text, Units::Si), "u: heights 5 mm, 2 K; 12.5 V as it is");
        let us = expanded(text, Units::Us).replace('\u{a0}', " ");
        assert_eq!(us, "u: heights 0.20 in, 3.6 °F; 12.5 V as it is");
    }

    #[test]
    fn litres_and_slowing_are_taken_in_both() {
        assert_eq!(litres("2.0").ok(), Some(2.0));
        assert_eq!(litres("2 qt").ok(), Some(2.0 * 0.946_352_946));
        assert_eq!(slowing("7").ok(), Some(7.0));
        assert_eq!(slowing("10 ft/s2").ok(), Some(3.048));
        assert!(slowing("fast").is_err_and(|error| error.to_string().contains("23 ft/s2")));
    }
}
