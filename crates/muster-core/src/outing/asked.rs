//! An outing as people tell it, read into types. What cannot be is said, and the rest is kept.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};
use core::{fmt::Display, str::FromStr};

use serde::{Deserialize, Serialize};

use super::input::{Luggage, Outing, Passenger, Rider, Road, Weather};
use super::range::{Air, Altitude, Inseam, LuggageMass, NotPossible, PersonMass, RideDistance, RideSpeed, Share};
use crate::calendar::Moment;
use crate::quantity::text::{DecimalSign, NotRead, read};
use crate::quantity::{Amount, Kind, OutOfRange, Temperature};

/// What is told of an outing, as it is typed: figures with their unit, or bare in kg, km, km/h, °C, mm, m, %.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq, Serialize)]
#[serde(deny_unknown_fields, default)]
pub struct Asked {
    /// Who rides, by name.
    pub name: Option<String>,
    /// The rider's mass in kit: `82 kg`.
    pub rider: Option<String>,
    /// The rider's inseam: `810 mm`.
    pub inseam: Option<String>,
    /// Class of the licence: `A2`.
    pub licence: Option<String>,
    /// The school's level: `novice`.
    pub level: Option<String>,
    /// The passenger's mass in kit.
    pub passenger: Option<String>,
    /// Place and mass: `cases=12 kg`.
    pub luggage: Vec<String>,
    /// How far: `180 km`.
    pub distance: Option<String>,
    /// Speed held for long: `110 km/h`.
    pub speed: Option<String>,
    /// range, town, country, motorway; without it: country.
    pub road: Option<String>,
    /// Air now: `8 °C`.
    pub air: Option<String>,
    /// The coldest or hottest air on the way.
    pub air_there: Option<String>,
    /// Height of the yard above the sea: `90 m`.
    pub altitude: Option<String>,
    /// The highest place on the way.
    pub highest: Option<String>,
    /// Wet roads.
    pub rain: bool,
    /// In the dark.
    pub dark: bool,
    /// When it is to be back: `17:30`, or with date and offset.
    pub back: Option<String>,
    /// How full tank or battery is: `80 %`.
    pub aboard: Option<String>,
    /// The tyres' own temperature, where they are warm: `34 °C`.
    pub tyres: Option<String>,
    /// Click of preload the front stands at.
    pub front_click: Option<u8>,
    /// Click of preload the rear stands at.
    pub rear_click: Option<u8>,
}

impl Asked {
    /// Reads it for an outing that leaves at `from`. A figure that cannot be is left out and said.
    #[must_use]
    pub fn read(&self, from: Moment, sign: DecimalSign) -> Outing {
        let mut told = Told { sign, faults: Vec::new() };
        let rider = Rider {
            name: self.name.clone(),
            mass: told.figure("rider", &self.rider, (Kind::Mass, "kg"), PersonMass::new),
            inseam: told.figure("inseam", &self.inseam, (Kind::Length, "mm"), Inseam::new),
            licence: told.word("licence", &self.licence),
            level: told.word("level", &self.level),
        };
        let passenger = self.passenger.is_some().then(|| Passenger {
            mass: told.figure("passenger", &self.passenger, (Kind::Mass, "kg"), PersonMass::new),
        });
        let luggage = self.luggage.iter().filter_map(|text| told.luggage(text)).collect();
        let weather = Weather {
            air: told.figure("air", &self.air, (Kind::Temperature, "°C"), Air::new),
            on_the_way: told.figure("air on the way", &self.air_there, (Kind::Temperature, "°C"), Air::new),
            here: told.figure("altitude", &self.altitude, (Kind::Distance, "m"), Altitude::new),
            highest: told.figure("highest place", &self.highest, (Kind::Distance, "m"), Altitude::new),
            rain: self.rain,
        };
        Outing {
            rider,
            passenger,
            luggage,
            distance: told.figure("distance", &self.distance, (Kind::Distance, "km"), RideDistance::new),
            speed: told.figure("speed", &self.speed, (Kind::Speed, "km/h"), RideSpeed::new),
            road: told.word("road", &self.road).unwrap_or(Road::Country),
            weather,
            dark: self.dark,
            from,
            back: told.back(&self.back, from),
            aboard: told.figure("tank or battery", &self.aboard, (Kind::Ratio, "%"), Share::new),
            tyres: told.figure("tyres", &self.tyres, (Kind::Temperature, "°C"), Ok::<Temperature, NotPossible>),
            clicks: (self.front_click, self.rear_click),
            faults: told.faults,
        }
    }
}

/// Reads figures and collects what is wrong with them.
struct Told {
    sign: DecimalSign,
    faults: Vec<String>,
}

impl Told {
    /// Reads a figure; a bare number is in the usual unit.
    fn figure<Q: TryFrom<Amount, Error = OutOfRange>, T>(
        &mut self,
        what: &str,
        text: &Option<String>,
        (kind, unit): (Kind, &str),
        checked: impl Fn(Q) -> Result<T, NotPossible>,
    ) -> Option<T> {
        let text = text.as_deref()?;
        // A bare number counts in the usual unit: a share's too, which else would be a plain number.
        let bare = text.trim().chars().last().is_some_and(|last| last.is_ascii_digit());
        let whole = if bare { format!("{} {unit}", text.trim()) } else { text.to_string() };
        let quantity = read(kind, &whole, self.sign).map_err(|fault: NotRead| fault.to_string());
        let quantity = quantity.and_then(|amount| Q::try_from(amount).map_err(|fault| fault.to_string()));
        match quantity.and_then(|quantity| checked(quantity).map_err(|fault| fault.to_string())) {
            Ok(figure) => Some(figure),
            Err(fault) => {
                self.faults.push(format!("{what}: {fault}"));
                None
            }
        }
    }

    fn word<T: FromStr<Err: Display>>(&mut self, what: &str, text: &Option<String>) -> Option<T> {
        let text = text.as_deref()?.trim();
        let read = text.parse().or_else(|_| text.to_ascii_uppercase().parse());
        read.map_err(|_: T::Err| ())
            .or_else(|()| text.to_ascii_lowercase().parse::<T>())
            .map_err(|fault| self.faults.push(format!("{what} `{}`: {fault}", crate::load::clip(text))))
            .ok()
    }

    fn luggage(&mut self, text: &str) -> Option<Luggage> {
        let Some((place, mass)) = text.split_once('=').filter(|(place, _)| !place.trim().is_empty()) else {
            let text = crate::load::clip(text);
            self.faults.push(format!("luggage `{text}`: write place and mass, as in cases=12 kg"));
            return None;
        };
        let place = place.trim().to_ascii_lowercase();
        let what = format!("luggage in {place}");
        let mass = self.figure(&what, &Some(mass.to_string()), (Kind::Mass, "kg"), LuggageMass::new);
        Some(Luggage { place, mass })
    }

    /// A return: a clock of the day it leaves, or a whole moment; always after it leaves.
    fn back(&mut self, text: &Option<String>, from: Moment) -> Option<Moment> {
        let text = text.as_deref()?.trim();
        let padded = if text.find(':') == Some(1) { format!("0{text}") } else { text.to_string() };
        let whole = if padded.len() <= 8 && !padded.contains('-') {
            // The day and the offset of the moment it leaves, with another clock.
            let leaves = from.to_string();
            let (day, offset) = (leaves.get(..11).unwrap_or_default(), leaves.get(19..).unwrap_or_default());
            format!("{day}{padded}{offset}")
        } else {
            padded
        };
        match Moment::parse(&whole) {
            Ok(back) if back > from => Some(back),
            Ok(back) => {
                let leaves = format!("{} {}", from.date(), from.clock());
                let told = format!("{} {}", back.date(), back.clock());
                self.faults.push(format!(
                    "back: it must be back after it leaves at {leaves}, got {told}: for another day write date and offset"
                ));
                None
            }
            Err(_) => {
                let text = crate::load::clip(text);
                self.faults.push(format!("back `{text}`: write a clock like 17:30, or 2026-11-24T17:30:00+00:00"));
                None
            }
        }
    }
}
