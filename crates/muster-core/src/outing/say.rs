//! Figures of an outing in the units of the yard.

use alloc::{format, string::String};

use crate::formula::axle_load::G;
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

    /// Sag and its range: whole millimetres, hundredths of an inch.
    pub(super) fn sag(self, mm: f64) -> String {
        self.of(mm, (Unit::Millimetre, 0), (Unit::Inch, 2))
    }

    /// A force; in the other units what as many pounds weigh.
    pub(super) fn newton(self, n: f64) -> String {
        match self.0 {
            Units::Si => show::rounded(n, 0, Unit::Newton),
            Units::Us => format!("{}\u{a0}lbf", number(convert(n / G, Unit::Kilogram, Unit::Pound), 0)),
        }
    }

    /// The gravity a mass is multiplied by; a pound weighs one pound of force by it.
    pub(super) const fn gravity(self) -> &'static str {
        match self.0 {
            Units::Si => "9.80665\u{a0}m/s²",
            Units::Us => "g",
        }
    }

    /// The step people count in.
    pub(super) const fn step_of_people(self) -> &'static str {
        match self.0 {
            Units::Si => "5\u{a0}kg",
            Units::Us => "5\u{a0}kg (11\u{a0}lb)",
        }
    }

    /// A spring's rate, N/mm or lbf/in.
    pub(super) fn rate(self, n_per_mm: f64) -> String {
        match self.0 {
            Units::Si => format!("{}\u{a0}N/mm", number(n_per_mm, 1)),
            Units::Us => {
                let per_inch = convert(1.0, Unit::Inch, Unit::Millimetre) * n_per_mm / G;
                format!("{}\u{a0}lbf/in", number(convert(per_inch, Unit::Kilogram, Unit::Pound), 0))
            }
        }
    }

    /// A deceleration, m/s² or ft/s².
    pub(super) fn rate_of_speed(self, m_per_s2: f64, decimals: usize) -> String {
        match self.0 {
            Units::Si => format!("{}\u{a0}m/s²", number(m_per_s2, decimals)),
            Units::Us => format!("{}\u{a0}ft/s²", number(convert(m_per_s2, Unit::Metre, Unit::Foot), 1)),
        }
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

    /// The way that use is told for.
    pub(super) const fn km_of_use(self) -> &'static str {
        match self.0 {
            Units::Si => "100\u{a0}km",
            Units::Us => "100\u{a0}mi",
        }
    }

    pub(super) fn km_per_h(self, speed: f64) -> String {
        self.of(speed, (Unit::KilometrePerHour, 0), (Unit::MilePerHour, 0))
    }

    /// A mass to take off, in whole steps of 5 kg or 10 lb, never less than asked. What is asked of people is kept in records,
    /// and a finer figure would tell what a person weighs; the same goes for the steps below.
    pub(super) fn kg_to_take_off(self, kg: f64) -> String {
        self.stepped(kg, (Unit::Kilogram, 5.0), (Unit::Pound, 10.0), libm::ceil)
    }

    /// A way more to leave, in whole steps of 5 m or 20 ft, never less than worked out.
    pub(super) fn metres_to_leave(self, m: f64) -> String {
        self.stepped(m, (Unit::Metre, 5.0), (Unit::Foot, 20.0), libm::ceil)
    }

    /// A way to go, in whole steps of 10 km or 10 mi, never more than worked out.
    pub(super) fn km_to_go(self, km: f64) -> String {
        self.stepped(km, (Unit::Kilometre, 10.0), (Unit::Mile, 10.0), libm::floor)
    }

    /// The mass that [`Self::kg_to_take_off`] says, kg.
    pub(super) fn steps_of_kg(self, kg: f64) -> f64 {
        let pound = convert(1.0, Unit::Pound, Unit::Kilogram);
        match self.0 {
            Units::Si => in_steps(kg, 5.0, libm::ceil),
            Units::Us => in_steps(kg / pound, 10.0, libm::ceil) * pound,
        }
    }

    fn stepped(self, value: f64, (si, step): (Unit, f64), (us, us_step): (Unit, f64), to: fn(f64) -> f64) -> String {
        match self.0 {
            Units::Si => show::rounded(in_steps(value, step, to), 0, si),
            Units::Us => show::rounded(in_steps(convert(value, si, us), us_step, to), 0, us),
        }
    }

    pub(super) fn celsius(self, celsius: f64) -> String {
        self.of(celsius, (Unit::Celsius, 0), (Unit::Fahrenheit, 0))
    }
}

/// Whole steps up or down; what is a whole step but for a rounding stays one.
fn in_steps(value: f64, step: f64, to: fn(f64) -> f64) -> f64 {
    let steps = value / step;
    step * if libm::fabs(steps - libm::round(steps)) < 1e-9 { libm::round(steps) } else { to(steps) }
}

/// Drop over distance in per cent.
pub(super) fn percent(value: f64) -> String {
    show::rounded(value, 2, Unit::PercentSlope)
}

/// A plain number with a fixed number of decimals.
pub(super) fn number(value: f64, decimals: usize) -> String {
    show::rounded(value, decimals, Unit::One)
}
