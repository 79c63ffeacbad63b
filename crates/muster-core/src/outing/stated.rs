//! What a model's sheet states for outings: masses, places, springs, tyres, tank.

use alloc::{string::String, vec::Vec};

use crate::formula::{spring::Springs, tyre_load::LoadTable, tyre_marking::TyreMarking};
use crate::quantity::{GaugePressure, Length, Mass, Ratio, Speed};

/// What an outing is worked out from.
#[derive(Clone, Debug, PartialEq)]
pub struct Stated {
    /// The handbook's page.
    pub page: Option<String>,
    /// Between the axles.
    pub wheelbase: Length,
    /// Mass in running order: all fluids, the tank nine tenths full, nobody on it.
    pub mass: Mass,
    /// The share of it on the front wheel.
    pub front_share: Ratio,
    /// Its centre of gravity above the road.
    pub centre_height: Length,
    /// The most it may weigh with all that is on it.
    pub gross: Option<Mass>,
    /// The most the front axle may carry.
    pub front_axle: Option<Mass>,
    /// The most the rear axle may carry.
    pub rear_axle: Option<Mass>,
    /// Where a rider's centre of gravity is.
    pub rider: Place,
    /// Where a passenger's is; none: no seat for one.
    pub passenger: Option<Place>,
    /// Where luggage goes.
    pub luggage: Vec<LuggagePlace>,
    /// The front wheel.
    pub front: Wheel,
    /// The rear wheel.
    pub rear: Wheel,
    /// Pressures by what is carried, least load first.
    pub pressures: Vec<Pressures>,
    /// The seat.
    pub seat: Option<Seat>,
    /// The head lamp.
    pub lamp: Option<Lamp>,
    /// What it goes on.
    pub energy: Option<Energy>,
    /// How fast pads wear on the road.
    pub pads_mm_per_1000km: Option<f64>,
}

/// A place on the machine, of a centre of gravity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Ahead of the rear axle; negative behind it.
    pub ahead: Length,
    /// Above the road.
    pub height: Length,
}

/// A place for luggage.
#[derive(Clone, Debug, PartialEq)]
pub struct LuggagePlace {
    /// Its name: `cases`, one of the equipment's `luggage`, or `tank`, for a bag that needs no mount.
    pub name: String,
    /// Where its middle is.
    pub place: Place,
    /// The most it holds.
    pub at_most: Option<Mass>,
    /// What it weighs itself, empty, where the mass in running order leaves it out.
    pub empty: Option<Mass>,
    /// Whether the equipment must have it mounted.
    pub mounted: bool,
}

/// One wheel: its springs and its tyre.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wheel {
    /// Its springs.
    pub suspension: Option<Suspension>,
    /// Its tyre.
    pub tyre: Option<Tyre>,
}

/// Springs of a wheel and how they are set.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspension {
    /// Rates, motion, air, travel.
    pub springs: Springs,
    /// Preload of the springs at click 0.
    pub preload: Length,
    /// What one click adds; none: it cannot be set.
    pub per_click: Option<Length>,
    /// The last click.
    pub clicks: u8,
    /// The click it is delivered at.
    pub standard: u8,
    /// The range of the sag with all that is carried, at the wheel.
    pub sag: (Length, Length),
    /// The range of the sag with nothing carried: which spring it needs shows here.
    pub free: Option<(Length, Length)>,
}

/// A tyre the sheet asks for.
#[derive(Clone, Debug, PartialEq)]
pub struct Tyre {
    /// As marked.
    pub marking: TyreMarking,
    /// As written.
    pub text: String,
    /// What it carries by pressure, from its maker's table.
    pub loads: Option<LoadTable>,
}

/// Pressures up to a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pressures {
    /// Rider, passenger and luggage together, at most.
    pub up_to: Mass,
    /// Front, cold.
    pub front: GaugePressure,
    /// Rear, cold.
    pub rear: GaugePressure,
}

/// The seat, for who has to reach the ground from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seat {
    /// Above the road, the machine upright with nobody on it.
    pub height: Length,
    /// Across, where the legs come down.
    pub width: Length,
}

/// The head lamp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lamp {
    /// Above the road with a rider alone.
    pub height: Length,
    /// Ahead of the rear axle.
    pub ahead: Length,
    /// What one turn of its screw lowers the beam by, as drop over distance in per cent.
    pub per_turn_percent: f64,
    /// The rider it is aimed with, in kit.
    pub aimed_with: Mass,
}

/// What it goes on: litres of fuel or kilowatt hours.
#[derive(Clone, Debug, PartialEq)]
pub struct Energy {
    /// Which.
    pub of: Of,
    /// All it holds, L or kWh that can be used.
    pub holds: f64,
    /// What is kept back, in the same.
    pub reserve: f64,
    /// Speed, and what a rider alone uses at it for 100 km; rising.
    pub used: Vec<(Speed, f64)>,
}

crate::named::named! {
    /// What a machine goes on.
    Of, "energy", "fuel, charge":
    /// Fuel, in litres.
    Fuel = "fuel",
    /// Charge, in kilowatt hours.
    Charge = "charge",
}

impl Of {
    /// Symbol of its unit.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Fuel => "L",
            Self::Charge => "kWh",
        }
    }
}

impl Stated {
    /// A place for luggage by its name.
    #[must_use]
    pub fn luggage_place(&self, name: &str) -> Option<&LuggagePlace> {
        self.luggage.iter().find(|place| place.name == name)
    }
}
