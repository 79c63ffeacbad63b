//! What is truly so of a machine while the story is told: its parts, its air and oil, its faults. The record never sees it.

use std::collections::BTreeMap;

use jiff::civil::Date;
use muster_core::{
    calendar::{Moment, days_between, days_later},
    record::id::EventId,
    words::Use,
    yard::Yard,
};

use super::{
    course::Course,
    forms::Sheet,
    random::Random,
    settings::{Bike, Settings, Wear},
    wear::{Anchor, Life, lives},
};

/// The air's own pressure, kPa: the standard atmosphere (ISO 2533).
const AIR_KPA: f64 = 101.325;
/// Days before a machine's first form from which on nothing is drawn that would outlive it; longer than any job waits.
const QUIET_DAYS: i32 = 21;
/// Zero Celsius in kelvin.
const ZERO_K: f64 = 273.15;

/// A machine as it is.
#[derive(Clone, Debug)]
pub(super) struct Real {
    pub(super) id: String,
    pub(super) bike: Bike,
    /// It has a plate, so it has papers.
    pub(super) plate: bool,
    pub(super) main_use: Use,
    pub(super) course: Course,
    pub(super) random: Random,
    pub(super) km: f64,
    pub(super) range_km: f64,
    pub(super) road_km: f64,
    /// Kilometres it was to ride and could not.
    pub(super) carried_km: f64,
    pub(super) lives: Vec<Life>,
    /// Lives by the day they are to begin.
    pub(super) changes: BTreeMap<Date, Vec<usize>>,
    /// Air in both tyres, as absolute kPa at 20 °C; what a tyre loses a day.
    air_kpa: [f64; 2],
    pub(super) leak_kpa: [f64; 2],
    leaked: Date,
    pub(super) oil_percent: f64,
    oil_per_km: f64,
    pub(super) slack_mm: f64,
    slack_per_km: f64,
    pub(super) quirks: Quirks,
    /// Kinds of fault it has now, and of those the ones somebody has raised.
    pub(super) faults: Vec<usize>,
    pub(super) raised: Vec<usize>,
    /// In the workshop through that day.
    pub(super) busy: Option<Date>,
    pub(super) full_on: Date,
    pub(super) ridden: Option<Moment>,
    pub(super) out: Option<EventId>,
    /// When it is back today, and for what it is out.
    pub(super) riding: Option<Use>,
    pub(super) inspection: Option<Date>,
    /// Codes on the tyres now: front, rear.
    pub(super) tyres: [String; 2],
    pub(super) form_days: Vec<Date>,
    pub(super) laid_up: bool,
    began: Date,
    today: Date,
}

/// Small lasting differences between machines.
#[derive(Clone, Debug)]
pub(super) struct Quirks {
    pub(super) belt_mm: f64,
    pub(super) aim_percent: f64,
    pub(super) flash_per_min: f64,
    pub(super) freezing_c: f64,
    /// How far shoulders stand above the middle of a tyre, left and right.
    pub(super) shoulder_mm: [f64; 2],
    /// How much thicker the outer pad is.
    pub(super) outer_mm: f64,
}

impl Real {
    /// A machine on the first day.
    pub(super) fn new(settings: &Settings, yard: &Yard, id: &str, forms: &[&Sheet], forced: &[Date]) -> Option<Self> {
        let machine = yard.machines.get(id)?;
        let first_use = machine.traits.first_use.unwrap_or(days_later(settings.from, -2000));
        let asked = super::course::Asked { machine: id, model: &machine.sheet, first_use, forms, forced };
        let course = Course::draw(settings, &asked);
        let mut random = Random::of(settings.seed, &format!("machine/{id}"));
        let bike = settings.bike(id);
        let first = *forms.first()?;
        let habits = &settings.habits;
        let leak = |random: &mut Random| random.about(habits.leak_kpa_per_month / 30.0, habits.leak_spread);
        let quirks = quirks(first, &mut random);
        let mut real = Self {
            id: id.into(),
            plate: machine.plate.is_some(),
            main_use: if bike.road > 0.0 { Use::Road } else { Use::Range },
            km: course.start_km,
            range_km: 0.0,
            road_km: 0.0,
            carried_km: 0.0,
            lives: Vec::new(),
            changes: BTreeMap::new(),
            air_kpa: [300.0; 2],
            leak_kpa: [leak(&mut random), leak(&mut random)],
            leaked: settings.from,
            oil_percent: random.between(55.0, 80.0),
            oil_per_km: random.about(habits.oil_percent_per_1000_km / 1000.0, 0.4),
            slack_mm: random.between(25.0, 30.0),
            slack_per_km: random.about(habits.slack_mm_per_1000_km / 1000.0, 0.3),
            quirks,
            faults: Vec::new(),
            raised: Vec::new(),
            busy: None,
            full_on: days_later(settings.from, -(random.index(28) as i32)),
            ridden: None,
            out: None,
            riding: None,
            inspection: first.text("papers.inspection").and_then(muster_core::calendar::date),
            tyres: ["tyre.front.age", "tyre.rear.age"].map(|check| first.text(check).unwrap_or("0122").to_string()),
            form_days: forms.iter().map(|form| form.day()).collect(),
            laid_up: false,
            began: settings.from,
            today: settings.from,
            course,
            bike,
            random,
        };
        for row in &settings.wear {
            real.wears(settings, yard, row, first);
        }
        Some(real)
    }

    /// A new day: air is lost, and a sunk tyre stays sunk.
    pub(super) fn wakes(&mut self, day: Date) {
        let days = days_between(self.leaked, day).max(0) as f64;
        for (air, leak) in self.air_kpa.iter_mut().zip(self.leak_kpa) {
            *air = (*air - leak * days).max(AIR_KPA);
        }
        (self.leaked, self.today) = (day, day);
    }

    /// It was ridden.
    pub(super) fn rides(&mut self, one: Use, km: f64) {
        self.km += km;
        if one == Use::Range {
            self.range_km += km;
        } else {
            self.road_km += km;
        }
        self.oil_percent -= km * self.oil_per_km;
        self.slack_mm += km * self.slack_per_km;
    }

    /// The odometer as people write it.
    pub(super) fn odometer(&self) -> String {
        grouped_km(self.km)
    }

    /// What a life shows today.
    pub(super) fn value(&self, life: &Life) -> f64 {
        life.value(self.turned(life))
    }

    /// The count of a life today.
    pub(super) fn turned(&self, life: &Life) -> f64 {
        life.turned(self.range_km, self.road_km, days_between(self.began, self.today) as f64)
    }

    /// The life that is mounted now and read at a check.
    pub(super) fn mounted(&self, check: &str) -> Option<&Life> {
        let its = self.lives.iter().filter(|life| life.check == check && life.removed.is_none());
        its.filter(|life| life.mounted.is_some() || life.start <= 0.0).max_by(|a, b| a.start.total_cmp(&b.start))
    }

    /// Gauge pressure in kPa at a temperature: front 0, rear 1. Gas law, fixed volume.
    pub(super) fn pressure_kpa(&self, wheel: usize, celsius: f64) -> f64 {
        let air = self.air_kpa.get(wheel).copied().unwrap_or(AIR_KPA);
        air * (ZERO_K + celsius) / (ZERO_K + 20.0) - AIR_KPA
    }

    /// Pumps, so that a true gauge would show so many kPa at this temperature.
    pub(super) fn pump(&mut self, wheel: usize, kpa: f64, celsius: f64) {
        if let Some(air) = self.air_kpa.get_mut(wheel) {
            *air = (kpa + AIR_KPA) * (ZERO_K + 20.0) / (ZERO_K + celsius);
        }
    }

    /// Whether it can go out that day at all.
    pub(super) fn is_there(&self, day: Date) -> bool {
        !self.laid_up && self.bike.from.is_none_or(|from| day >= from) && self.busy.is_none_or(|till| till < day)
    }

    /// Whether chance keeps away from it: what the forms tell of its last weeks is told by them alone.
    pub(super) fn is_quiet(&self, day: Date) -> bool {
        self.form_days.first().is_some_and(|first| day >= days_later(*first, -QUIET_DAYS))
    }

    /// Draws the lives of what wears, and puts those that begin within the story on their days.
    fn wears(&mut self, settings: &Settings, yard: &Yard, row: &Wear, first: &Sheet) {
        let Some(value) = first.worst(&row.check, row.rate > 0.0) else { return };
        let Some(machine) = yard.machines.get(&self.id) else { return };
        let sheet = yard.sheets.get(&machine.sheet);
        let rows = || sheet.into_iter().flat_map(|sheet| &sheet.limits).filter(|limit| limit.check == row.check);
        let figure = |amount: muster_core::quantity::Amount| amount.in_unit(amount.unit());
        let new = rows().find_map(|limit| limit.new).map_or(value, figure);
        let least = rows().find_map(|limit| limit.at_least).map(figure);
        let counts = self.counts(row, first.day());
        let turned = counts.last().map_or(0.0, |(_, count)| *count);
        let told = settings.mounted.iter().find(|of| of.machine == self.id && of.check == row.check);
        let start = told.and_then(|of| {
            let by_day = of.on.and_then(|on| counts.iter().find(|(day, _)| *day >= on).map(|(_, count)| *count));
            let by_km = of.odometer_km.map(|km| turned - (first.odometer_km - km));
            Some((by_day.or(by_km)?, new))
        });
        let new_now = told.and_then(|of| of.new).unwrap_or(new);
        let anchor = Anchor { turned, value, new: new_now, least, start };
        let own = told.and_then(|of| of.rate).map(|rate| Wear { rate, spread: 0.0, ..row.clone() });
        let drawn = lives(&self.id, own.as_ref().unwrap_or(row), &anchor, &mut self.random);
        // Of a machine that came later the parts it came with are all there were.
        let bought = self.bike.from.is_some();
        for life in drawn.into_iter().take(if bought { 1 } else { usize::MAX }) {
            let day = counts.iter().find(|(_, count)| *count >= life.start).map_or(settings.from, |(day, _)| *day);
            let day = told.and_then(|of| of.on).filter(|_| life.new > new).unwrap_or(day);
            let index = self.lives.len();
            if life.start > 0.0 && !bought {
                self.changes.entry(self.open_day(settings, day, first.day())).or_default().push(index);
            }
            let unknown = bought || (life.start <= 0.0 && self.random.chance(0.5));
            self.lives.push(Life { unknown, start: if bought { life.start.min(0.0) } else { life.start }, ..life });
        }
    }

    /// The count of a part at the end of each day, up to the first form.
    fn counts(&self, row: &Wear, to: Date) -> Vec<(Date, f64)> {
        let mut sum = 0.0;
        let days = 0..=days_between(self.began, to).clamp(0, 1000) as i32;
        let day = |n: i32| {
            let day = days_later(self.began, n);
            if row.check == "battery.rest" {
                return (day, f64::from(n));
            }
            if let Some(ride) = self.course.rides.get(&day) {
                sum += if ride.one == Use::Range { ride.km } else { ride.km * row.road };
            }
            (day, sum)
        };
        days.map(day).collect()
    }

    /// The next day the workshop is there, the machine in the yard and no form in the way.
    fn open_day(&self, settings: &Settings, from: Date, form: Date) -> Date {
        let free = |day: &Date| {
            let stored =
                self.bike.laid_up.is_some_and(|(out, back)| *day >= days_later(out, -1) && *day <= days_later(back, 2));
            settings.is_open(*day) && !stored && *day > days_later(settings.from, 4)
        };
        let latest = days_later(form, -5);
        (1..200).map(|n| days_later(from, n)).find(free).unwrap_or(latest).min(latest)
    }
}

fn quirks(first: &Sheet, random: &mut Random) -> Quirks {
    let read = |check: &str, otherwise: f64| first.worst(check, false).unwrap_or(otherwise);
    Quirks {
        belt_mm: read("belt.deflection", 11.0),
        aim_percent: read("lamp.aim", 1.2),
        flash_per_min: read("lamp.indicator-rate", 86.0),
        freezing_c: read("coolant.freezing", -34.0),
        shoulder_mm: [random.between(0.15, 0.35), random.between(0.25, 0.4)],
        outer_mm: if random.chance(0.3) { 0.4 } else { 0.1 },
    }
}

/// An odometer's figure with its groups, as people write it: `12 422 km`.
pub(super) fn grouped_km(km: f64) -> String {
    let whole = libm::floor(km.max(0.0)) as u64;
    match (whole / 1000, whole % 1000) {
        (0, rest) => format!("{rest} km"),
        (thousands, rest) => format!("{thousands} {rest:03} km"),
    }
}
