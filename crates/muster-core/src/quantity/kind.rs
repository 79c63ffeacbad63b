//! What sort of quantity a figure is: its units, its physical range, its digits.

use super::Unit;

/// The kinds of quantity Muster reads. Two kinds never mix, though their units may look alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Pressure above the surrounding air, as a tyre gauge shows it; canonical kPa.
    GaugePressure,
    /// Pressure above vacuum, as a barometer shows it; canonical kPa.
    AbsolutePressure,
    /// A temperature; canonical K.
    Temperature,
    /// A difference of two temperatures; canonical K.
    TemperatureDifference,
    /// A length on the machine: depth, thickness, play; canonical mm.
    Length,
    /// A way ridden; canonical mm, shown in km or mi.
    Distance,
    /// A mass; canonical kg.
    Mass,
    /// A force; canonical N.
    Force,
    /// A voltage; canonical V.
    Voltage,
    /// An electric current, drawn positive; canonical A.
    Current,
    /// An angle; canonical degree.
    Angle,
    /// Drop over distance, per cent.
    Inclination,
    /// A span of time; canonical s.
    Time,
    /// A speed; canonical km/h.
    Speed,
    /// Mass a length, of a belt or chain; canonical kg/m.
    LinearDensity,
    /// How often a second; canonical Hz.
    Frequency,
    /// A share or a plain number; canonical 1.
    Ratio,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 17] = [
        Self::GaugePressure,
        Self::AbsolutePressure,
        Self::Temperature,
        Self::TemperatureDifference,
        Self::Length,
        Self::Distance,
        Self::Mass,
        Self::Force,
        Self::Voltage,
        Self::Current,
        Self::Angle,
        Self::Inclination,
        Self::Time,
        Self::Speed,
        Self::LinearDensity,
        Self::Frequency,
        Self::Ratio,
    ];

    /// The name used in data files: `gauge-pressure`.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.facts().0
    }

    /// Finds a kind by its data-file name.
    #[must_use]
    pub fn find(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// The units a figure of this kind may be written in, the usual SI one first.
    #[must_use]
    pub fn units(self) -> &'static [Unit] {
        self.facts().1
    }

    /// What physics and the trade allow, in [`Self::range_unit`]. Outside it is a slip or a mix-up.
    #[must_use]
    pub fn range(self) -> (f64, f64) {
        self.facts().2
    }

    /// The unit [`Self::range`] is given in: the first of [`Self::units`].
    #[must_use]
    pub fn range_unit(self) -> Unit {
        self.units().first().copied().unwrap_or(Unit::One)
    }

    fn facts(self) -> (&'static str, &'static [Unit], (f64, f64)) {
        use Unit as U;
        match self {
            // 600 kPa is above any road tyre; below zero the gauge is broken, not the tyre.
            Self::GaugePressure => ("gauge-pressure", &[U::Kilopascal, U::Psi, U::Bar], (0.0, 600.0)),
            // From the highest road pass to the deepest low ever charted, and closed vessels.
            Self::AbsolutePressure => ("absolute-pressure", &[U::Kilopascal, U::Psi, U::Bar], (40.0, 1000.0)),
            Self::Temperature => ("temperature", &[U::Celsius, U::Fahrenheit, U::Kelvin], (-60.0, 800.0)),
            Self::TemperatureDifference => ("temperature-difference", &[U::Kelvin], (-800.0, 800.0)),
            Self::Length => {
                ("length", &[U::Millimetre, U::Inch, U::Centimetre, U::Metre, U::Foot], (-1000.0, 50_000.0))
            }
            Self::Distance => ("distance", &[U::Kilometre, U::Mile, U::Metre], (0.0, 2_000_000.0)),
            Self::Mass => ("mass", &[U::Kilogram, U::Pound, U::Gram], (0.0, 1500.0)),
            Self::Force => ("force", &[U::Newton, U::PoundForce, U::KilogramForce], (0.0, 20_000.0)),
            Self::Voltage => ("voltage", &[U::Volt, U::Millivolt], (0.0, 1000.0)),
            // A starter draws some 200 A; charging counts below zero.
            Self::Current => ("current", &[U::Ampere, U::Milliampere], (-500.0, 500.0)),
            Self::Angle => ("angle", &[U::Degree], (-90.0, 90.0)),
            Self::Inclination => ("inclination", &[U::PercentSlope], (-20.0, 20.0)),
            Self::Time => ("time", &[U::Second, U::Minute, U::Hour, U::Day, U::Year], (0.0, 3.2e9)),
            Self::Speed => ("speed", &[U::KilometrePerHour, U::MilePerHour], (0.0, 400.0)),
            Self::LinearDensity => ("linear-density", &[U::KilogramPerMetre, U::GramPerMetre], (0.0, 10.0)),
            Self::Frequency => ("frequency", &[U::Hertz, U::PerMinute], (0.0, 2000.0)),
            Self::Ratio => ("ratio", &[U::Percent, U::One], (-1000.0, 1000.0)),
        }
    }
}

impl core::fmt::Display for Kind {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        for (index, word) in self.name().split('-').enumerate() {
            if index > 0 {
                f.write_str(" ")?;
            }
            f.write_str(word)?;
        }
        Ok(())
    }
}
