//! Figures of an outing in the units of the yard.

use alloc::string::String;

use crate::quantity::{Unit, convert, show};
use crate::yard::Units;

/// Says figures in one side's units.
#[derive(Clone, Copy, Debug)]
pub(super) struct Say(pub(super) Units);

impl Say {
    fn of(self, value: f64, (si, decimals): (Unit, usize), (us, us_decimals): (Unit, usize)) -> String {
        match self.0 {
            Units::Si => show::rounded(value, decimals, si),
            Units::Us => show::rounded(convert(value, si, us), us_decimals, us),
        }
    }

    pub(super) fn kg(self, kg: f64) -> String {
        self.of(kg, (Unit::Kilogram, 0), (Unit::Pound, 0))
    }

    pub(super) fn kg_finely(self, kg: f64) -> String {
        self.of(kg, (Unit::Kilogram, 1), (Unit::Pound, 1))
    }

    pub(super) fn kpa(self, kpa: f64) -> String {
        self.of(kpa, (Unit::Kilopascal, 0), (Unit::Psi, 1))
    }

    pub(super) fn mm(self, mm: f64) -> String {
        self.of(mm, (Unit::Millimetre, 0), (Unit::Inch, 1))
    }

    pub(super) fn mm_finely(self, mm: f64) -> String {
        self.of(mm, (Unit::Millimetre, 1), (Unit::Inch, 2))
    }

    pub(super) fn metres(self, m: f64) -> String {
        self.of(m, (Unit::Metre, 0), (Unit::Foot, 0))
    }

    pub(super) fn km(self, km: f64) -> String {
        self.of(km, (Unit::Kilometre, 0), (Unit::Mile, 0))
    }

    pub(super) fn km_per_h(self, speed: f64) -> String {
        self.of(speed, (Unit::KilometrePerHour, 0), (Unit::MilePerHour, 0))
    }

    pub(super) fn celsius(self, celsius: f64) -> String {
        self.of(celsius, (Unit::Celsius, 0), (Unit::Fahrenheit, 0))
    }
}

/// Drop over distance in per cent.
pub(super) fn percent(value: f64) -> String {
    show::rounded(value, 2, Unit::PercentSlope)
}

/// A plain number with a fixed number of decimals.
pub(super) fn number(value: f64, decimals: usize) -> String {
    show::rounded(value, decimals, Unit::One)
}
