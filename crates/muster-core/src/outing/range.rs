//! Figures of an outing, each within what can be.

use alloc::string::String;

use crate::quantity::{Distance, Length, Mass, Ratio, Speed, Temperature, Unit, show};

/// A figure of an outing that cannot be.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{what} must be {allowed}, got {got}")]
pub struct NotPossible {
    what: &'static str,
    allowed: &'static str,
    got: String,
}

macro_rules! bounded {
    ($($(#[$doc:meta])* $name:ident of $inner:ident.$get:ident in $unit:ident: $min:literal to $max:literal, $what:literal, $allowed:literal;)+) => { $(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name($inner);

        impl $name {
            #[doc = concat!("Takes a figure of ", $allowed, ".\n\n# Errors\n[`NotPossible`] outside it.")]
            pub fn new(of: $inner) -> Result<Self, NotPossible> {
                if ($min..=$max).contains(&of.$get()) {
                    return Ok(Self(of));
                }
                Err(NotPossible { what: $what, allowed: $allowed, got: show::plain(of.$get(), Unit::$unit) })
            }

            /// The figure.
            #[must_use]
            pub fn get(self) -> $inner {
                self.0
            }
        }
    )+ };
}

bounded! {
    /// Somebody in kit: helmet, boots, jacket and all.
    PersonMass of Mass.kg in Kilogram: 20.0 to 250.0, "a person's mass in kit", "20 to 250 kg";
    /// From the crotch to the floor, without boots.
    Inseam of Length.mm in Millimetre: 500.0 to 1100.0, "inseam", "500 to 1100 mm";
    /// What is in one place for luggage.
    LuggageMass of Mass.kg in Kilogram: 0.0 to 100.0, "luggage at one place", "0 to 100 kg";
    /// How far an outing goes.
    RideDistance of Distance.km in Kilometre: 0.1 to 3000.0, "distance of an outing", "0.1 to 3000 km";
    /// A speed held for long.
    RideSpeed of Speed.km_per_h in KilometrePerHour: 5.0 to 250.0, "speed", "5 to 250 km/h";
    /// Air one rides in.
    Air of Temperature.celsius in Celsius: -40.0 to 55.0, "air", "−40 to 55 °C";
    /// Height above the sea.
    Altitude of Distance.km in Kilometre: 0.0 to 7.0, "altitude", "0 to 7 km";
    /// How full a tank or a battery is.
    Share of Ratio.percent in Percent: 0.0 to 100.0, "what is in the tank or battery", "0 to 100 %";
}
