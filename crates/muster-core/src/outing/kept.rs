//! What a record keeps of an outing: verdicts, what to set and what to do. Nobody's mass can be read off it.
//!
//! A load less the sheet's masses is the rider. So every figure that moves with a person's mass stays out: loads, margins,
//! sag, beam, stops, range, and the working. What was set on the machine stays, in its clicks and pressures. No hash of what
//! was told is kept either: so few masses are possible that all of them would be tried in no time.

use alloc::{string::String, vec::Vec};

use serde::{Deserialize, Serialize};

use super::assess::Assessment;
use super::bound::Asks;
use super::input::{Outing, Passenger, Rider, Road, Weather};
use super::item::{Item, Part, Todo};
use super::range::RideDistance;
use super::session::{heaviest, lightest};
use super::{Case, machine};
use crate::calendar::Moment;
use crate::judge::Verdict;
use crate::quantity::Distance;
use crate::words::{Class, Use};

/// An outing of one rider or of several, as a record keeps it.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// Version of this shape. The first kept loads, and is not read any more.
    pub schema: u32,
    /// Fleet number.
    pub machine: String,
    /// Its model.
    pub model: String,
    /// The uses it was judged for.
    pub uses: Vec<Use>,
    /// When it leaves.
    pub from: Moment,
    /// When it is to be back.
    pub back: Option<Moment>,
    /// The way.
    pub way: Way,
    /// What it came to, the gravest of its riders'.
    pub verdict: Verdict,
    /// Each rider's, by the id told.
    pub riders: Vec<(Option<String>, Verdict)>,
    /// What rests on who rides and what is carried: nobody works it out again without the masses.
    pub asks: Asks,
    /// The outing, or the heaviest's and the lightest's.
    pub outings: Vec<KeptOuting>,
    /// SHA-256 of the catalogue it rests on.
    pub catalogue: String,
    /// SHA-256 of the yard's files it rests on.
    pub yard: String,
}

/// What of the way the machine's own checks weigh more for.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Way {
    /// How far, km.
    pub distance_km: Option<f64>,
    /// On what.
    pub road: Road,
    /// Wet roads.
    pub rain: bool,
    /// In the dark.
    pub dark: bool,
}

/// One rider's outing.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct KeptOuting {
    /// What it came to.
    pub verdict: Verdict,
    /// What to set, front then rear.
    pub settings: Vec<KeptSetting>,
    /// Everything looked at.
    pub items: Vec<KeptItem>,
}

/// What to set at one wheel.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct KeptSetting {
    /// `front` or `rear`.
    pub wheel: String,
    /// Cold pressure, kPa.
    pub pressure_kpa: Option<f64>,
    /// The click of preload to set.
    pub click: Option<u8>,
    /// The click it stood at.
    pub from_click: Option<u8>,
}

/// One thing an outing came to.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct KeptItem {
    /// Its name in files and for screens.
    pub id: String,
    /// Its part.
    pub part: Part,
    /// Its name for people.
    pub name: String,
    /// Its verdict.
    pub verdict: Verdict,
    /// How grave it is.
    pub class: Class,
    /// Why, where that tells of the machine alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
    /// What to do, and when.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub todo: Vec<Todo>,
}

/// A text that is no outing this build reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("it was kept by another version and cannot be released: work the outing out again")]
pub struct NotKept;

impl Kept {
    const SCHEMA: u32 = 2;

    /// What is kept of outings worked out for one machine; none without one.
    #[must_use]
    pub fn of(assessed: &[Assessment], told: &Outing) -> Option<Self> {
        let first = assessed.first()?;
        let outings = match assessed {
            [_, _, ..] => heaviest(assessed).into_iter().chain(lightest(assessed)).map(KeptOuting::of).collect(),
            _ => assessed.iter().map(KeptOuting::of).collect(),
        };
        Some(Self {
            schema: Self::SCHEMA,
            machine: first.machine.clone(),
            model: first.model.clone(),
            uses: first.uses.clone(),
            from: told.from,
            back: told.back,
            way: Way {
                distance_km: told.distance.map(|distance| distance.get().km()),
                road: told.road,
                rain: told.weather.rain,
                dark: told.dark,
            },
            verdict: assessed.iter().map(|of| of.verdict).max()?,
            riders: assessed.iter().map(|of| (of.rider.clone(), of.verdict)).collect(),
            asks: Asks::of(assessed, Item::rests_on_people).without_reasons(),
            outings,
            catalogue: first.catalogue.clone(),
            yard: first.yard.clone(),
        })
    }

    /// Reads it from a record.
    ///
    /// # Errors
    /// [`NotKept`] for anything but what [`Self::to_json`] of this version wrote.
    pub fn read(json: &str) -> Result<Self, NotKept> {
        serde_json::from_str(json).ok().filter(|of: &Self| of.schema == Self::SCHEMA).ok_or(NotKept)
    }

    /// The one byte form.
    ///
    /// # Errors
    /// None can occur: every value is a text, a number or a list of them.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string(self)
    }

    /// What it asks now: what rests on people as it was kept, what rests on the machine as it is found.
    #[must_use]
    pub fn asks_now(&self, case: &Case<'_>) -> Asks {
        self.asks.clone().with(&machine::items(case, &self.outing()))
    }

    /// The outing without its masses: for what rests on the machine alone.
    pub(crate) fn outing(&self) -> Outing {
        let km = self.way.distance_km.and_then(|km| Distance::from_km(km).ok());
        Outing {
            rider: Rider::default(),
            passenger: self.uses.contains(&Use::Passenger).then(Passenger::default),
            luggage: Vec::new(),
            distance: km.and_then(|km| RideDistance::new(km).ok()),
            speed: None,
            road: self.way.road,
            weather: Weather { rain: self.way.rain, ..Weather::default() },
            dark: self.way.dark,
            from: self.from,
            back: self.back,
            aboard: None,
            tyres: None,
            clicks: (None, None),
            faults: Vec::new(),
        }
    }
}

impl KeptOuting {
    fn of(of: &Assessment) -> Self {
        let setting = |of: &super::Setting| KeptSetting {
            wheel: of.wheel.into(),
            pressure_kpa: of.pressure_kpa,
            click: of.click,
            from_click: of.from_click,
        };
        Self {
            verdict: of.verdict,
            settings: of.figures.settings.iter().map(setting).collect(),
            items: of.items.iter().map(KeptItem::of).collect(),
        }
    }
}

impl KeptItem {
    fn of(of: &Item) -> Self {
        Self {
            id: of.id.clone(),
            part: of.part,
            name: of.name.clone(),
            verdict: of.verdict,
            class: of.class,
            says: Some(of.says.clone()).filter(|_| !of.rests_on_people()),
            todo: of.todo.clone(),
        }
    }
}
