//! The settings of a history, as `data/demo/history.toml` has them.

use std::collections::BTreeMap;

use jiff::{civil::Date, tz::Offset};
use muster_core::{
    calendar::Moment,
    record::{
        id::PersonId,
        payload::{Right, Role},
    },
    words::{Class, Ending, Seen},
};
use toml_edit::DocumentMut;

use super::table::{Fault, Row};

/// Everything a history is made from, beside the yard's own files.
#[derive(Clone, Debug)]
pub struct Settings {
    /// All draws follow from it.
    pub seed: u64,
    /// The first day.
    pub from: Date,
    /// The last day.
    pub to: Date,
    pub(super) releases_from: Date,
    pub(super) closed_weekdays: Vec<i8>,
    pub(super) closed_days: Vec<Date>,
    pub(super) clocks: Vec<(Date, i32)>,
    pub(super) weather: Weather,
    pub(super) riding: Riding,
    pub(super) habits: Habits,
    pub(super) wear: Vec<Wear>,
    pub(super) mounted: Vec<Mounted>,
    pub(super) faults: Vec<FaultKind>,
    pub(super) machines: BTreeMap<String, Bike>,
    pub(super) covers: Vec<Cover>,
    pub(super) compared: Vec<Compared>,
    pub(super) changed: Vec<(String, Date)>,
    pub(super) left_out: Vec<LeftOut>,
    pub(super) devices: Vec<DeviceRow>,
    pub(super) people: Vec<PersonRow>,
}

#[derive(Clone, Debug)]
pub(super) struct Weather {
    pub(super) mean_c: Vec<f64>,
    pub(super) spread_k: Vec<f64>,
    pub(super) busy: Vec<f64>,
    pub(super) keeps: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Riding {
    pub(super) range_km: BTreeMap<String, f64>,
    pub(super) road_km: BTreeMap<String, f64>,
    pub(super) spread: f64,
    pub(super) share: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Habits {
    pub(super) falls: f64,
    pub(super) damage: f64,
    pub(super) slip: f64,
    pub(super) forgets: f64,
    pub(super) handed_over: f64,
    pub(super) offline: f64,
    pub(super) warm: f64,
    pub(super) puncture: f64,
    pub(super) leak_kpa_per_month: f64,
    pub(super) leak_spread: f64,
    pub(super) oil_percent_per_1000_km: f64,
    pub(super) slack_mm_per_1000_km: f64,
    pub(super) full_every_days: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Wear {
    pub(super) check: String,
    pub(super) place: String,
    pub(super) rate: f64,
    pub(super) road: f64,
    pub(super) spread: f64,
    pub(super) off: (f64, f64),
    pub(super) job: String,
    pub(super) ends: Vec<Ending>,
}

#[derive(Clone, Debug)]
pub(super) struct Mounted {
    pub(super) machine: String,
    pub(super) check: String,
    pub(super) odometer_km: Option<f64>,
    pub(super) on: Option<Date>,
    pub(super) new: Option<f64>,
    pub(super) rate: Option<f64>,
}

#[derive(Clone, Debug)]
pub(super) struct FaultKind {
    pub(super) check: String,
    pub(super) seen: Seen,
    pub(super) what: String,
    pub(super) class: Class,
    pub(super) job: String,
    pub(super) per_1000: f64,
    pub(super) fall: f64,
    pub(super) days: (f64, f64),
}

#[derive(Clone, Debug, Default)]
pub(super) struct Bike {
    pub(super) road: f64,
    pub(super) passenger: f64,
    pub(super) dark: f64,
    pub(super) rear_kpa: Option<f64>,
    pub(super) from: Option<Date>,
    pub(super) laid_up: Option<(Date, Date)>,
}

#[derive(Clone, Debug)]
pub(super) struct Cover {
    pub(super) machines: Vec<String>,
    pub(super) from: Date,
    pub(super) until: Date,
}

#[derive(Clone, Debug)]
pub(super) struct Compared {
    pub(super) instrument: String,
    pub(super) on: Vec<Date>,
    pub(super) bias: f64,
    pub(super) bad: Option<(Date, String)>,
    pub(super) dropped: Option<(Date, f64)>,
}

/// A check that one machine's full walk-rounds leave out from a day on.
#[derive(Clone, Debug)]
pub(super) struct LeftOut {
    pub(super) machine: String,
    pub(super) check: String,
    pub(super) from: Date,
}

#[derive(Clone, Debug)]
pub(super) struct DeviceRow {
    pub(super) id: String,
    pub(super) label: String,
    pub(super) from: Option<Date>,
}

#[derive(Clone, Debug)]
pub(super) struct PersonRow {
    pub(super) id: PersonId,
    pub(super) name: String,
    pub(super) role: Role,
    pub(super) rights: Vec<Right>,
    pub(super) from: Option<Date>,
    pub(super) erased: Option<Date>,
}

impl Settings {
    /// Those of the demonstration.
    ///
    /// # Errors
    /// None for the file this build carries; a test reads it.
    pub fn demo() -> Result<Self, Fault> {
        Self::read(include_str!("../../../../data/demo/history.toml"))
    }

    /// Reads a settings file.
    ///
    /// # Errors
    /// [`Fault`] with the key that is wrong.
    pub fn read(text: &str) -> Result<Self, Fault> {
        let document: DocumentMut = text.parse().map_err(|error| Fault(format!("not TOML: {error}")))?;
        let file = Row::of(document.as_table());
        if file.whole("schema")? != 1 {
            return Err(file.fault("schema", "1"));
        }
        let whole = |row: Row<'_>, key: &str| {
            row.whole(key).and_then(|n| n.try_into().map_err(|_| row.fault(key, "a smaller number")))
        };
        let weekdays = file.numbers("closed_weekdays")?;
        Ok(Self {
            seed: file.whole("seed")?.unsigned_abs(),
            from: file.date("from")?,
            to: file.date("to")?,
            releases_from: file.date("releases_from")?,
            closed_weekdays: weekdays.into_iter().map(|day| day as i8).collect(),
            closed_days: file.dates("closed_days")?,
            clocks: file.each("clock", |row| Ok((row.date("from")?, whole(row, "minutes")?)))?,
            weather: weather(file.table("weather")?)?,
            riding: riding(file.table("riding")?)?,
            habits: habits(file.table("habits")?)?,
            wear: file.each("wear", wear)?,
            mounted: file.each("mounted", mounted)?,
            faults: file.each("fault", fault_kind)?,
            machines: file.each("machine", bike)?.into_iter().collect(),
            covers: file.each("cover", |row| {
                Ok(Cover { machines: row.texts("machines")?, from: row.date("from")?, until: row.date("until")? })
            })?,
            compared: file.each("compared", compared)?,
            changed: file.each("changed", |row| Ok((row.text("machine")?, row.date("on")?)))?,
            left_out: file.each("left_out", |row| {
                Ok(LeftOut { machine: row.text("machine")?, check: row.text("check")?, from: row.date("from")? })
            })?,
            devices: file.each("device", |row| {
                Ok(DeviceRow { id: row.text("id")?, label: row.text("label")?, from: row.date_if("from")? })
            })?,
            people: file.each("person", person)?,
        })
    }

    /// A moment of a day, by the clock of the yard.
    pub(super) fn at(&self, day: Date, hour: i64, minute: i64) -> Moment {
        let minutes = self.clocks.iter().rev().find(|(from, _)| *from <= day).map_or(0, |(_, minutes)| *minutes);
        let offset = Offset::from_seconds(minutes * 60).unwrap_or(Offset::UTC);
        let midnight = offset.to_timestamp(day.to_datetime(jiff::civil::Time::midnight())).unwrap_or_default();
        Moment::new(midnight, offset).later_by(hour * 3600 + minute * 60)
    }

    /// Whether people come that day.
    pub(super) fn is_open(&self, day: Date) -> bool {
        !self.closed_weekdays.contains(&day.weekday().to_monday_one_offset()) && !self.closed_days.contains(&day)
    }

    /// What a machine's row says; of one without a row, what goes for all.
    pub(super) fn bike(&self, machine: &str) -> Bike {
        self.machines.get(machine).cloned().unwrap_or_default()
    }

    /// The last day of a machine's cover, as it is known on a day.
    pub(super) fn cover(&self, machine: &str, day: Date) -> Option<Date> {
        let named = self.covers.iter().any(|cover| cover.machines.iter().any(|id| id == machine));
        let its =
            |cover: &&Cover| cover.machines.iter().any(|id| id == machine) || (!named && cover.machines.is_empty());
        self.covers.iter().filter(its).filter(|cover| cover.from <= day).map(|cover| cover.until).next_back()
    }
}

fn weather(row: Row<'_>) -> Result<Weather, Fault> {
    let months = |key: &str| {
        let of = row.numbers(key)?;
        if of.len() == 12 { Ok(of) } else { Err(row.fault(key, "twelve numbers, January first")) }
    };
    let keeps = row.number("keeps")?;
    Ok(Weather { mean_c: months("mean_c")?, spread_k: months("spread_k")?, busy: months("busy")?, keeps })
}

fn riding(row: Row<'_>) -> Result<Riding, Fault> {
    let models = ["corvane-pebble", "corvane-lantern", "tamarack-drover", "velloway-finch", "ostrel-heron"];
    let by_model = |key| {
        let table = row.table(key)?;
        models.iter().map(|model| Ok((model.to_string(), table.number(model)?))).collect::<Result<_, Fault>>()
    };
    Ok(Riding {
        range_km: by_model("range_km")?,
        road_km: by_model("road_km")?,
        spread: row.number("spread")?,
        share: row.number("share")?,
    })
}

fn habits(row: Row<'_>) -> Result<Habits, Fault> {
    Ok(Habits {
        falls: row.number("falls_per_range_ride")?,
        damage: row.number("damage_per_fall")?,
        slip: row.number("slip")?,
        forgets: row.number("forgets")?,
        handed_over: row.number("handed_over")?,
        offline: row.number("offline")?,
        warm: row.number("warm")?,
        puncture: row.number("puncture_per_ride")?,
        leak_kpa_per_month: row.number("leak_kpa_per_month")?,
        leak_spread: row.number("leak_spread")?,
        oil_percent_per_1000_km: row.number("oil_percent_per_1000_km")?,
        slack_mm_per_1000_km: row.number("slack_mm_per_1000_km")?,
        full_every_days: row.whole("full_every_days")?,
    })
}

fn wear(row: Row<'_>) -> Result<Wear, Fault> {
    let ending = |text: &String| text.parse::<Ending>().map_err(|error| row.fault("ends", &error.to_string()));
    Ok(Wear {
        check: row.text("check")?,
        place: row.text("place")?,
        rate: row.number("rate")?,
        road: row.number("road")?,
        spread: row.number("spread")?,
        off: row.span("off")?,
        job: row.text("job")?,
        ends: row.texts("ends")?.iter().map(ending).collect::<Result<_, _>>()?,
    })
}

fn mounted(row: Row<'_>) -> Result<Mounted, Fault> {
    Ok(Mounted {
        machine: row.text("machine")?,
        check: row.text("check")?,
        odometer_km: row.has("odometer_km").then(|| row.number("odometer_km")).transpose()?,
        on: row.date_if("on")?,
        new: row.has("new").then(|| row.number("new")).transpose()?,
        rate: row.has("rate").then(|| row.number("rate")).transpose()?,
    })
}

fn fault_kind(row: Row<'_>) -> Result<FaultKind, Fault> {
    Ok(FaultKind {
        check: row.text("check")?,
        seen: row.word("seen")?,
        what: row.text("what")?,
        class: row.word("class")?,
        job: row.text("job")?,
        per_1000: row.number("per_1000")?,
        fall: row.number("fall")?,
        days: row.span("days")?,
    })
}

fn bike(row: Row<'_>) -> Result<(String, Bike), Fault> {
    let laid_up = match row.has("laid_up").then(|| row.dates("laid_up")).transpose()?.as_deref() {
        None => None,
        Some([from, to]) => Some((*from, *to)),
        Some(_) => return Err(row.fault("laid_up", "two dates")),
    };
    let bike = Bike {
        road: row.number_or("road", 0.0)?,
        passenger: row.number_or("passenger", 0.0)?,
        dark: row.number_or("dark", 0.0)?,
        rear_kpa: row.has("rear_kpa").then(|| row.number("rear_kpa")).transpose()?,
        from: row.date_if("from")?,
        laid_up,
    };
    Ok((row.text("id")?, bike))
}

fn compared(row: Row<'_>) -> Result<Compared, Fault> {
    let bad = row.date_if("bad_on")?.map(|on| Ok((on, row.text("note")?))).transpose()?;
    let dropped = row.date_if("dropped")?.map(|on| Ok((on, row.number("dropped_bias")?))).transpose()?;
    Ok(Compared { instrument: row.text("instrument")?, on: row.dates("on")?, bias: row.number("bias")?, bad, dropped })
}

fn person(row: Row<'_>) -> Result<PersonRow, Fault> {
    let right = |text: &String| text.parse::<Right>().map_err(|error| row.fault("rights", &error.to_string()));
    Ok(PersonRow {
        id: row.word("id")?,
        name: row.text("name")?,
        role: row.word("role")?,
        rights: row.texts("rights")?.iter().map(right).collect::<Result<_, _>>()?,
        from: row.date_if("from")?,
        erased: row.date_if("erased")?,
    })
}
