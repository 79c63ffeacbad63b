//! An outing as types that cannot be wrong: who rides, with whom and what, how far, in what weather, till when.

use alloc::{string::String, vec::Vec};

use super::range::{Air, Altitude, Inseam, LuggageMass, PersonMass, RideDistance, RideSpeed, Share};
use crate::calendar::Moment;
use crate::named::named;
use crate::quantity::Temperature;
use crate::words::{Use, Uses};

/// An outing. A part that was not told or could not be is absent, and what rests on it is unseen.
#[derive(Clone, Debug, PartialEq)]
pub struct Outing {
    /// Who rides.
    pub rider: Rider,
    /// Who rides along, if anybody does.
    pub passenger: Option<Passenger>,
    /// What is carried, and where.
    pub luggage: Vec<Luggage>,
    /// How far.
    pub distance: Option<RideDistance>,
    /// The highest speed ridden for long.
    pub speed: Option<RideSpeed>,
    /// On what.
    pub road: Road,
    /// The air and what falls from it.
    pub weather: Weather,
    /// In the dark, or back in the dark.
    pub dark: bool,
    /// When it leaves.
    pub from: Moment,
    /// When it is to be back; always after it leaves.
    pub back: Option<Moment>,
    /// How full the tank or the battery is at the start.
    pub aboard: Option<Share>,
    /// The tyres' own temperature, where they are warm.
    pub tyres: Option<Temperature>,
    /// Clicks of preload it stands at, front and rear; none: as delivered.
    pub clicks: (Option<u8>, Option<u8>),
    /// What was told and cannot be.
    pub faults: Vec<String>,
}

/// Who rides.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rider {
    /// By name, where one is told.
    pub name: Option<String>,
    /// In kit.
    pub mass: Option<PersonMass>,
    /// From the crotch to the floor, without boots.
    pub inseam: Option<Inseam>,
    /// What the licence says.
    pub licence: Option<Licence>,
    /// What the school says.
    pub level: Option<Level>,
}

/// Who rides along.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Passenger {
    /// In kit.
    pub mass: Option<PersonMass>,
}

/// Luggage at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Luggage {
    /// The place, by the sheet's name.
    pub place: String,
    /// What is in it; none: told and cannot be.
    pub mass: Option<LuggageMass>,
}

/// Air, height and rain.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Weather {
    /// The air now.
    pub air: Option<Air>,
    /// The coldest or hottest air on the way.
    pub on_the_way: Option<Air>,
    /// Height of the yard above the sea.
    pub here: Option<Altitude>,
    /// The highest place on the way.
    pub highest: Option<Altitude>,
    /// Wet roads.
    pub rain: bool,
}

named! {
    /// On what an outing goes.
    Road, "road", "range, town, country, motorway":
    /// The school's own ground.
    Range = "range",
    /// Streets.
    Town = "town",
    /// Roads between towns.
    Country = "country",
    /// Roads without crossings.
    Motorway = "motorway",
}

named! {
    /// Classes of a licence for motorcycles, rising.
    Licence, "licence", "AM, A1, A2, A":
    /// Mopeds.
    Am = "AM",
    /// Light.
    A1 = "A1",
    /// Middle.
    A2 = "A2",
    /// Any.
    A = "A",
}

named! {
    /// How far a rider is, as the school sees it; rising.
    Level, "level", "learner, novice, practised, instructor":
    /// Before the test.
    Learner = "learner",
    /// Newly passed.
    Novice = "novice",
    /// Rides on one's own.
    Practised = "practised",
    /// Teaches.
    Instructor = "instructor",
}

impl Outing {
    /// The uses it is judged for.
    #[must_use]
    pub fn uses(&self) -> Uses {
        let road = if self.road == Road::Range { Use::Range } else { Use::Road };
        let with = [(self.passenger.is_some(), Use::Passenger), (self.dark, Use::Dark)];
        with.into_iter().filter(|(is, _)| *is).fold(Uses::NONE.with(road), |uses, (_, one)| uses.with(one))
    }

    /// How a machine is judged for it: the use that asks for most, back when told. None before that is told.
    #[must_use]
    pub fn planned(&self) -> Option<crate::form::Outing> {
        let uses = self.uses();
        let planned = if uses.contains(Use::Passenger) { Some(Use::Passenger) } else { uses.iter().next() }?;
        let distance = self.distance.map(RideDistance::get);
        Some(crate::form::Outing { planned, back: self.back?, distance })
    }

    /// The same outing with nobody and nothing but its rider.
    #[must_use]
    pub fn alone(&self) -> Self {
        Self { passenger: None, luggage: Vec::new(), ..self.clone() }
    }
}
