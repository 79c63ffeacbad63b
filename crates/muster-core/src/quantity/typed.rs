//! One type a kind: what formulas take and return.

use super::{Amount, Kind, OutOfRange, Unit};

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident: $kind:ident { $($from:ident, $to:ident: $unit:ident;)+ })+) => { $(
        $(#[$doc])*
        ///
        /// Invariant: finite and within the range of its [`Kind`].
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            $(
                #[doc = concat!("Takes a figure in the unit named.\n\n# Errors\n[`OutOfRange`] outside the kind's range.")]
                pub fn $from(value: f64) -> Result<Self, OutOfRange> {
                    Amount::new(Kind::$kind, value, Unit::$unit).map(|amount| Self(amount.canonical()))
                }

                #[doc = concat!("The figure in the unit named.")]
                #[must_use]
                pub fn $to(self) -> f64 {
                    Unit::$unit.from_canonical(self.0)
                }
            )+

            /// The same quantity as an amount in a unit of its kind.
            ///
            /// # Errors
            /// [`OutOfRange`] if the unit belongs to another kind.
            pub fn amount(self, unit: Unit) -> Result<Amount, OutOfRange> {
                Amount::new(Kind::$kind, unit.from_canonical(self.0), unit)
            }
        }

        impl TryFrom<Amount> for $name {
            type Error = OutOfRange;

            fn try_from(amount: Amount) -> Result<Self, OutOfRange> {
                Amount::new(Kind::$kind, amount.value(), amount.unit()).map(|amount| Self(amount.canonical()))
            }
        }
    )+ };
}

quantities! {
    /// Pressure above the surrounding air, as a tyre gauge shows it.
    GaugePressure: GaugePressure { from_kpa, kpa: Kilopascal; from_psi, psi: Psi; from_bar, bar: Bar; }
    /// Pressure above vacuum.
    AbsolutePressure: AbsolutePressure { from_kpa, kpa: Kilopascal; }
    /// A temperature.
    Temperature: Temperature { from_celsius, celsius: Celsius; from_fahrenheit, fahrenheit: Fahrenheit; from_kelvin, kelvin: Kelvin; }
    /// A difference of two temperatures.
    TemperatureDifference: TemperatureDifference { from_kelvin, kelvin: Kelvin; }
    /// A length on the machine.
    Length: Length { from_mm, mm: Millimetre; from_inch, inch: Inch; from_m, m: Metre; }
    /// A way ridden.
    Distance: Distance { from_km, km: Kilometre; from_miles, miles: Mile; }
    /// A mass.
    Mass: Mass { from_kg, kg: Kilogram; from_pounds, pounds: Pound; }
    /// A force.
    Force: Force { from_newton, newton: Newton; }
    /// A voltage.
    Voltage: Voltage { from_volt, volt: Volt; }
    /// An electric current; drawn positive, charging negative.
    Current: Current { from_ampere, ampere: Ampere; from_milliampere, milliampere: Milliampere; }
    /// An angle.
    Angle: Angle { from_degrees, degrees: Degree; }
    /// Drop over distance, per cent; downwards positive.
    Inclination: Inclination { from_percent, percent: PercentSlope; }
    /// A span of time.
    Time: Time { from_seconds, seconds: Second; from_hours, hours: Hour; from_days, days: Day; from_years, years: Year; }
    /// A speed.
    Speed: Speed { from_km_per_h, km_per_h: KilometrePerHour; }
    /// Mass a length.
    LinearDensity: LinearDensity { from_kg_per_m, kg_per_m: KilogramPerMetre; }
    /// How often a second.
    Frequency: Frequency { from_hertz, hertz: Hertz; from_per_minute, per_minute: PerMinute; }
    /// A share or a plain number.
    Ratio: Ratio { from_one, one: One; from_percent, percent: Percent; }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nonsense_cannot_be_built() {
        for kpa in [-0.1, 600.1, f64::NAN, f64::INFINITY] {
            assert!(GaugePressure::from_kpa(kpa).is_err(), "{kpa}");
        }
        assert!(GaugePressure::from_kpa(600.0).is_ok());
        assert!(Temperature::from_kelvin(0.0).is_err());
    }

    #[test]
    fn a_gauge_reading_is_no_barometer_reading() {
        let air = Amount::new(Kind::AbsolutePressure, 101.3, Unit::Kilopascal).unwrap();
        assert_eq!(air.kind(), Kind::AbsolutePressure);
        assert!(Length::try_from(air).is_err());
    }

    #[test]
    fn a_current_is_one_in_either_unit() {
        let drawn = Current::from_milliampere(42.5).unwrap();
        assert!((drawn.ampere() - 0.0425).abs() < 1e-15 && (drawn.milliampere() - 42.5).abs() < 1e-12);
        assert_eq!(Unit::find(Kind::Current, "amps"), Some(Unit::Ampere));
        assert_eq!(Unit::find(Kind::Current, "mA"), Some(Unit::Milliampere));
        assert!(Current::from_ampere(500.1).is_err() && Current::from_ampere(-2.0).is_ok());
    }
}
