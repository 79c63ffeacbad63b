//! Which machine is ridden on which day, for what and how far: drawn ahead, so that it ends at the forms' odometers.

use std::collections::BTreeMap;

use jiff::civil::Date;
use muster_core::{
    calendar::{days_between, days_later},
    words::{Depth, Use},
};

use super::{forms::Sheet, random::Random, settings::Settings};

/// One day's riding of a machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ride {
    pub(super) one: Use,
    pub(super) km: f64,
}

/// Everything a machine is to ride.
#[derive(Clone, Debug)]
pub(super) struct Course {
    pub(super) rides: BTreeMap<Date, Ride>,
    /// The odometer on the first day, in km.
    pub(super) start_km: f64,
}

/// A machine as its course is drawn.
pub(super) struct Asked<'a> {
    pub(super) machine: &'a str,
    pub(super) model: &'a str,
    pub(super) first_use: Date,
    /// Its forms, oldest first.
    pub(super) forms: &'a [&'a Sheet],
    /// Days it rides whatever is drawn.
    pub(super) forced: &'a [Date],
}

impl Course {
    /// Draws a course.
    pub(super) fn draw(settings: &Settings, asked: &Asked<'_>) -> Self {
        let mut random = Random::of(settings.seed, &format!("course/{}", asked.machine));
        let mut rides = BTreeMap::new();
        let Some(first) = asked.forms.first() else { return Self { rides, start_km: 0.0 } };
        before(settings, asked, first.day(), &mut random, &mut rides);
        let ridden: f64 = rides.values().map(|ride| ride.km).sum();
        for pair in asked.forms.windows(2) {
            if let [from, to] = pair {
                between(settings, asked, (from, to), &mut random, &mut rides);
            }
        }
        Self { rides, start_km: (first.odometer_km - ridden).max(0.0) }
    }
}

/// Days a machine can be ridden: open, in the yard, not laid up.
fn days(settings: &Settings, machine: &str, from: Date, to: Date) -> Vec<Date> {
    let bike = settings.bike(machine);
    let from = bike.from.map_or(from, |first| first.max(from));
    let there = |day: &Date| bike.laid_up.is_none_or(|(out, back)| *day < out || *day > back);
    let count = days_between(from, to).clamp(0, 1000) as i32;
    (0..count).map(|n| days_later(from, n)).filter(|day| settings.is_open(*day)).filter(there).collect()
}

fn before(settings: &Settings, asked: &Asked<'_>, to: Date, random: &mut Random, rides: &mut BTreeMap<Date, Ride>) {
    let open = days(settings, asked.machine, days_later(settings.from, 3), to);
    let age = days_between(asked.first_use, to).max(200) as f64;
    let odometer = asked.forms.first().map_or(0.0, |form| form.odometer_km);
    let whole = days_between(settings.from, to).max(0) as f64;
    let total = odometer / age * whole * settings.riding.share * random.about(1.0, 0.12);
    let bike = settings.bike(asked.machine);
    let far = |of: &BTreeMap<String, f64>| of.get(asked.model).copied().unwrap_or(30.0);
    let (range_km, road_km) = (far(&settings.riding.range_km), far(&settings.riding.road_km));
    let mean = bike.road * road_km + (1.0 - bike.road) * range_km;
    let busy = |day: &Date| settings.weather.busy.get(day.month() as usize - 1).copied().unwrap_or(1.0);
    let sum: f64 = open.iter().map(busy).sum();
    for day in &open {
        let probability = (total / mean * busy(day) / sum).min(0.85);
        if random.chance(probability) || asked.forced.contains(day) {
            let one = if asked.forced.contains(day) { Use::Range } else { use_of(&bike, random) };
            let km = if one == Use::Range { range_km } else { road_km };
            rides.insert(*day, Ride { one, km: whole_km(random.about(km, settings.riding.spread)) });
        }
    }
}

fn use_of(bike: &super::settings::Bike, random: &mut Random) -> Use {
    if !random.chance(bike.road) {
        return Use::Range;
    }
    match random.share() {
        share if share < bike.passenger => Use::Passenger,
        share if share < bike.passenger + bike.dark => Use::Dark,
        _ => Use::Road,
    }
}

/// Splits what lies between two forms over the days between them; the last of them is ridden in any case.
fn between(
    settings: &Settings,
    asked: &Asked<'_>,
    (from, to): (&Sheet, &Sheet),
    random: &mut Random,
    rides: &mut BTreeMap<Date, Ride>,
) {
    let total = to.odometer_km - from.odometer_km;
    // A machine that falls is ridden on the day of its form.
    let until = if to.depth == Depth::AfterAFall { days_later(to.day(), 1) } else { to.day() };
    let mut open = days(settings, asked.machine, days_later(from.day(), 1), until);
    if total < 1.0 || open.is_empty() {
        return;
    }
    let bike = settings.bike(asked.machine);
    let far = if bike.road > 0.6 { &settings.riding.road_km } else { &settings.riding.range_km };
    let wanted = (total / far.get(asked.model).copied().unwrap_or(30.0)) as usize + 1;
    while open.len() > wanted.max(1) {
        // Never the last one.
        let index = random.index(open.len() - 1);
        open.remove(index);
    }
    let shares: Vec<f64> = open.iter().map(|_| random.between(0.7, 1.3)).collect();
    let sum: f64 = shares.iter().sum();
    let mut left = total;
    for (index, (day, share)) in open.iter().zip(&shares).enumerate() {
        let km = if index + 1 == open.len() { left } else { whole_km(total * share / sum).min(left) };
        left -= km;
        let one = if bike.road > 0.6 { Use::Road } else { Use::Range };
        rides.insert(*day, Ride { one, km });
    }
}

fn whole_km(km: f64) -> f64 {
    libm::round(km).max(2.0)
}
