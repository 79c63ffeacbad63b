//! What is told of an outing: figures as they are typed, in the units of the yard; the rider's are remembered here.

use leptos::prelude::*;
use muster_core::{
    calendar::Moment,
    outing::{Asked, Outing, input::Road},
    quantity::{Unit, convert, text::DecimalSign},
    yard::Units,
};
use muster_draw::number::{figure_text, with_unit};
use serde::{Deserialize, Serialize};

use super::super::walk::moment_at;
use crate::{clock, yard::Yard};

/// Where the rider's figures are kept on this device.
const KEPT_AS: &str = "muster-rider";
/// How long it is out unless it is told otherwise, in seconds.
const OUT_S: i64 = 4 * 3600;

/// Symbols of the units the yard counts in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Symbols {
    pub(crate) mass: &'static str,
    pub(crate) length: &'static str,
    pub(crate) way: &'static str,
    pub(crate) speed: &'static str,
    pub(crate) heat: &'static str,
    pub(crate) height: &'static str,
}

impl Symbols {
    /// Those of a side.
    pub(crate) const fn of(units: Units) -> Self {
        match units {
            Units::Si => Self { mass: "kg", length: "mm", way: "km", speed: "km/h", heat: "°C", height: "m" },
            Units::Us => Self { mass: "lb", length: "in", way: "mi", speed: "mph", heat: "°F", height: "ft" },
        }
    }
}

/// What is told.
#[derive(Clone, Copy)]
pub(super) struct Told {
    /// The units it is typed in.
    pub(super) units: Units,
    pub(super) rider: RwSignal<String>,
    pub(super) inseam: RwSignal<String>,
    pub(super) licence: RwSignal<String>,
    pub(super) level: RwSignal<String>,
    pub(super) passenger: RwSignal<String>,
    /// Places that are mounted, each with what is in it.
    pub(super) luggage: StoredValue<Vec<(String, RwSignal<String>)>>,
    pub(super) distance: RwSignal<String>,
    pub(super) speed: RwSignal<String>,
    pub(super) road: RwSignal<String>,
    pub(super) air: RwSignal<String>,
    pub(super) air_there: RwSignal<String>,
    pub(super) here: RwSignal<String>,
    pub(super) highest: RwSignal<String>,
    pub(super) rain: RwSignal<bool>,
    pub(super) dark: RwSignal<bool>,
    /// Hours and minutes.
    pub(super) back: RwSignal<String>,
    pub(super) aboard: RwSignal<String>,
    pub(super) tyres: RwSignal<String>,
    pub(super) clicks: (RwSignal<String>, RwSignal<String>),
}

/// The rider's figures, as typed, with the units they were typed in.
#[derive(Default, Deserialize, Serialize)]
struct Kept {
    us: bool,
    rider: String,
    inseam: String,
    licence: String,
    level: String,
}

impl Told {
    /// With the rider this device knows, on a machine that carries luggage at these places.
    pub(super) fn of(units: Units, places: Vec<String>, planned_back: Option<Moment>) -> Self {
        let kept = kept(units);
        let now = clock::now();
        let back = planned_back.filter(|back| *back > now).unwrap_or_else(|| now.later_by(OUT_S));
        let empty = || RwSignal::new(String::new());
        Self {
            units,
            rider: RwSignal::new(kept.rider),
            inseam: RwSignal::new(kept.inseam),
            licence: RwSignal::new(kept.licence),
            level: RwSignal::new(kept.level),
            passenger: empty(),
            luggage: StoredValue::new(places.into_iter().map(|place| (place, empty())).collect()),
            distance: empty(),
            speed: empty(),
            road: RwSignal::new(Road::Country.to_string()),
            air: empty(),
            air_there: empty(),
            here: empty(),
            highest: empty(),
            rain: RwSignal::new(false),
            dark: RwSignal::new(false),
            back: RwSignal::new(back.clock()),
            aboard: empty(),
            tyres: empty(),
            clicks: (empty(), empty()),
        }
    }

    /// The symbols it is typed with.
    pub(super) const fn symbols(self) -> Symbols {
        Symbols::of(self.units)
    }

    /// As it is asked of the core.
    pub(super) fn asked(self) -> Asked {
        let symbols = self.symbols();
        let luggage = self.luggage.with_value(|places| {
            let told = places.iter().filter_map(|(place, mass)| Some((place, figure(&mass.get(), symbols.mass)?)));
            told.map(|(place, mass)| format!("{place}={mass}")).collect()
        });
        let figure = |typed: RwSignal<String>, unit: &str| figure(&typed.get(), unit);
        let word = |chosen: RwSignal<String>| Some(chosen.get()).filter(|word| !word.is_empty());
        let click = |typed: RwSignal<String>| typed.get().trim().parse().ok();
        Asked {
            name: None,
            rider: figure(self.rider, symbols.mass),
            inseam: figure(self.inseam, symbols.length),
            licence: word(self.licence),
            level: word(self.level),
            passenger: figure(self.passenger, symbols.mass),
            luggage,
            distance: figure(self.distance, symbols.way),
            speed: figure(self.speed, symbols.speed),
            road: word(self.road),
            air: figure(self.air, symbols.heat),
            air_there: figure(self.air_there, symbols.heat),
            altitude: figure(self.here, symbols.height),
            highest: figure(self.highest, symbols.height),
            rain: self.rain.get(),
            dark: self.dark.get(),
            back: moment_at(&self.back.get()).map(|back| back.to_string()),
            aboard: figure(self.aboard, "%"),
            tyres: figure(self.tyres, symbols.heat),
            front_click: click(self.clicks.0),
            rear_click: click(self.clicks.1),
        }
    }

    /// As the core works it out, leaving now.
    pub(super) fn outing(self) -> Outing {
        self.asked().read(clock::now(), DecimalSign::Point)
    }

    /// Remembers the rider's figures on this device.
    pub(super) fn keep(self) {
        let kept = Kept {
            us: self.units == Units::Us,
            rider: self.rider.get(),
            inseam: self.inseam.get(),
            licence: self.licence.get(),
            level: self.level.get(),
        };
        crate::kept::write(KEPT_AS, &kept);
    }
}

/// What is remembered, unless the yard counts otherwise now.
fn kept(units: Units) -> Kept {
    crate::kept::read::<Kept>(KEPT_AS).filter(|kept| kept.us == (units == Units::Us)).unwrap_or_default()
}

/// A pressure in the units of a side.
pub(crate) fn pressure(kpa: f64, units: Units) -> String {
    let (unit, decimals) = match units {
        Units::Si => (Unit::Kilopascal, 0),
        Units::Us => (Unit::Psi, 1),
    };
    with_unit(&figure_text(convert(kpa, Unit::Kilopascal, unit), decimals), unit.symbol())
}

/// A figure with its unit, which may be typed too; none where nothing is.
pub(crate) fn figure(typed: &str, unit: &str) -> Option<String> {
    let typed = typed.trim().replace(',', ".").replace('\u{2212}', "-");
    let is_bare = typed.chars().last()?.is_ascii_digit();
    Some(if is_bare { format!("{typed} {unit}") } else { typed })
}

/// A machine as it stands in its yard, and an outing worked out for it.
pub(super) fn with_yard<T>(
    yard: &Yard,
    id: &str,
    read: impl FnOnce(&muster_core::yard::Yard, &muster_core::machine::Machine) -> T,
) -> Option<T> {
    let books = yard.with(|held| held.known().yard.clone())?;
    let machine = books.machines.get(id)?;
    Some(read(&books, machine))
}
