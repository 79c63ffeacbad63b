//! Units: their symbols, the spellings people use, and one factor each with its source.

use super::Kind;

/// A unit a figure may be written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Unit {
    /// Kilopascal.
    Kilopascal,
    /// Bar.
    Bar,
    /// Pound-force per square inch.
    Psi,
    /// Degree Celsius.
    Celsius,
    /// Degree Fahrenheit.
    Fahrenheit,
    /// Kelvin.
    Kelvin,
    /// Millimetre.
    Millimetre,
    /// Centimetre.
    Centimetre,
    /// Metre.
    Metre,
    /// Inch.
    Inch,
    /// Foot.
    Foot,
    /// Kilometre.
    Kilometre,
    /// Mile.
    Mile,
    /// Gram.
    Gram,
    /// Kilogram.
    Kilogram,
    /// Pound.
    Pound,
    /// Newton.
    Newton,
    /// Kilogram-force.
    KilogramForce,
    /// Pound-force.
    PoundForce,
    /// Millivolt.
    Millivolt,
    /// Volt.
    Volt,
    /// Milliampere.
    Milliampere,
    /// Ampere.
    Ampere,
    /// Degree of arc.
    Degree,
    /// Inclination in per cent: drop over distance, times a hundred.
    PercentSlope,
    /// Second.
    Second,
    /// Minute.
    Minute,
    /// Hour.
    Hour,
    /// Day.
    Day,
    /// Year of 365.25 days.
    Year,
    /// Kilometre an hour.
    KilometrePerHour,
    /// Mile an hour.
    MilePerHour,
    /// Gram a metre.
    GramPerMetre,
    /// Kilogram a metre.
    KilogramPerMetre,
    /// Hertz.
    Hertz,
    /// Times a minute.
    PerMinute,
    /// A plain number.
    One,
    /// Hundredths.
    Percent,
}

/// Everything the program knows of a unit: one row, one place.
struct Row {
    unit: Unit,
    symbol: &'static str,
    spellings: &'static [&'static str],
    factor: f64,
    offset: f64,
    metric: bool,
}

const fn row(unit: Unit, symbol: &'static str, spellings: &'static [&'static str], factor: f64) -> Row {
    Row { unit, symbol, spellings, factor, offset: 0.0, metric: true }
}

const fn us(row: &Row) -> Row {
    Row {
        unit: row.unit,
        symbol: row.symbol,
        spellings: row.spellings,
        factor: row.factor,
        offset: row.offset,
        metric: false,
    }
}

// canonical = value * factor + offset. Canonical units: kPa, K, mm, kg, N, V, A, degree, per cent
// slope, s, km/h, kg/m, Hz, 1.
// Factors are exact by definition: NIST SP 811 (2008) Annex B.8 and BIPM SI Brochure 9 for the
// metric ones; the international inch is 25.4 mm, the mile 1609.344 m, the pound 0.45359237 kg
// (US Federal Register 24 FR 5348, 1959); standard gravity 9.80665 m/s² (3rd CGPM, 1901); so
// 1 psi = 0.45359237 × 9.80665 / 0.0254² Pa.
const POUND_KG: f64 = 0.453_592_37;
const GRAVITY_M_S2: f64 = 9.806_65;
const INCH_MM: f64 = 25.4;
const MILE_MM: f64 = 1_609_344.0;
const KELVIN_AT_ZERO_CELSIUS: f64 = 273.15;

static ROWS: [Row; 38] = [
    row(Unit::Kilopascal, "kPa", &["kpa"], 1.0),
    row(Unit::Bar, "bar", &[], 100.0),
    us(&row(Unit::Psi, "psi", &["lbf/in2", "lb/in2", "psig"], POUND_KG * GRAVITY_M_S2 * 1e3 / (INCH_MM * INCH_MM))),
    Row { offset: KELVIN_AT_ZERO_CELSIUS, ..row(Unit::Celsius, "°C", &["C", "degC", "deg C", "° C"], 1.0) },
    Row {
        offset: KELVIN_AT_ZERO_CELSIUS - 32.0 * 5.0 / 9.0,
        ..us(&row(Unit::Fahrenheit, "°F", &["F", "degF", "deg F", "° F"], 5.0 / 9.0))
    },
    row(Unit::Kelvin, "K", &[], 1.0),
    row(Unit::Millimetre, "mm", &[], 1.0),
    row(Unit::Centimetre, "cm", &[], 10.0),
    row(Unit::Metre, "m", &[], 1e3),
    us(&row(Unit::Inch, "in", &["inch", "inches", "\"", "″"], INCH_MM)),
    us(&row(Unit::Foot, "ft", &["foot", "feet"], 12.0 * INCH_MM)),
    row(Unit::Kilometre, "km", &[], 1e6),
    us(&row(Unit::Mile, "mi", &["mile", "miles"], MILE_MM)),
    row(Unit::Gram, "g", &[], 1e-3),
    row(Unit::Kilogram, "kg", &[], 1.0),
    us(&row(Unit::Pound, "lb", &["lbs"], POUND_KG)),
    row(Unit::Newton, "N", &[], 1.0),
    row(Unit::KilogramForce, "kgf", &["kp"], GRAVITY_M_S2),
    us(&row(Unit::PoundForce, "lbf", &[], POUND_KG * GRAVITY_M_S2)),
    row(Unit::Millivolt, "mV", &[], 1e-3),
    row(Unit::Volt, "V", &["volt", "volts"], 1.0),
    row(Unit::Milliampere, "mA", &[], 1e-3),
    row(Unit::Ampere, "A", &["amp", "amps", "ampere", "amperes"], 1.0),
    row(Unit::Degree, "°", &["deg", "degree", "degrees"], 1.0),
    row(Unit::PercentSlope, "%", &["percent", "per cent"], 1.0),
    row(Unit::Second, "s", &["sec"], 1.0),
    row(Unit::Minute, "min", &[], 60.0),
    row(Unit::Hour, "h", &["hour", "hours", "hr"], 3600.0),
    row(Unit::Day, "d", &["day", "days"], 86_400.0),
    row(Unit::Year, "a", &["year", "years"], 31_557_600.0),
    row(Unit::KilometrePerHour, "km/h", &["kph", "kmh"], 1.0),
    us(&row(Unit::MilePerHour, "mph", &["mi/h"], MILE_MM * 1e-6)),
    row(Unit::GramPerMetre, "g/m", &[], 1e-3),
    row(Unit::KilogramPerMetre, "kg/m", &[], 1.0),
    row(Unit::Hertz, "Hz", &["hz"], 1.0),
    row(Unit::PerMinute, "/min", &["per min", "per minute", "1/min"], 1.0 / 60.0),
    row(Unit::One, "", &["1"], 1.0),
    row(Unit::Percent, "%", &["percent", "per cent"], 0.01),
];

impl Unit {
    fn row(self) -> &'static Row {
        ROWS.iter().find(|row| row.unit == self).unwrap_or(&ROWS[0])
    }

    /// The symbol shown behind a figure; empty for a plain number.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        self.row().symbol
    }

    /// Whether the unit belongs to the SI side of the one choice a site makes.
    #[must_use]
    pub fn is_metric(self) -> bool {
        self.row().metric
    }

    /// Finds the unit of a kind by a symbol or spelling, so that `%` of a slope and `%` of a share
    /// are two units; letters count exactly first (mV is not MV), then without case.
    #[must_use]
    pub fn find(kind: Kind, text: &str) -> Option<Self> {
        let of_kind = || kind.units().iter().map(|unit| unit.row());
        let spelt = |row: &&Row, same: fn(&str, &str) -> bool| {
            same(row.symbol, text) || row.spellings.iter().any(|spelling| same(spelling, text))
        };
        of_kind()
            .find(|row| spelt(row, |a, b| a == b))
            .or_else(|| of_kind().find(|row| spelt(row, str::eq_ignore_ascii_case)))
            .map(|row| row.unit)
    }

    /// Finds a unit of any kind by its spelling: to name the mix-up, never to read a value.
    #[must_use]
    pub fn find_any(text: &str) -> Option<Self> {
        Kind::ALL.iter().find_map(|kind| Self::find(*kind, text))
    }

    /// Takes a figure in this unit to the kind's canonical unit.
    #[must_use]
    pub fn to_canonical(self, value: f64) -> f64 {
        let row = self.row();
        value * row.factor + row.offset
    }

    /// Takes a figure in the kind's canonical unit to this one.
    #[must_use]
    pub fn from_canonical(self, canonical: f64) -> f64 {
        let row = self.row();
        (canonical - row.offset) / row.factor
    }

    /// How many canonical units a step of one makes: for uncertainties and differences.
    #[must_use]
    pub fn step(self) -> f64 {
        self.row().factor
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unit_has_its_row() {
        for kind in Kind::ALL {
            for unit in kind.units() {
                assert_eq!(unit.row().unit, *unit);
            }
        }
    }

    #[test]
    fn psi_is_the_exact_product() {
        // NIST SP 811 (2008) B.8: 1 psi = 6.894757 E+03 Pa
        assert!((Unit::Psi.to_canonical(1.0) - 6.894_757_293_168_361).abs() < 1e-14);
    }

    #[test]
    fn percent_depends_on_the_kind() {
        assert_eq!(Unit::find(Kind::Inclination, "%"), Some(Unit::PercentSlope));
        assert_eq!(Unit::find(Kind::Ratio, "%"), Some(Unit::Percent));
    }
}
