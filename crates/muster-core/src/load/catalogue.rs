//! Reads the catalogue from its files.

use alloc::{collections::BTreeMap, format, string::ToString, vec::Vec};

use super::{
    Problem, Reader, Row, check,
    limit::{Around, classes, limits, outside_range},
    source::{Sources, bibliography},
};
use crate::{
    at_once::at_once,
    catalogue::{Catalogue, Law},
    check::Check,
    equipment::EquipmentKey,
    hash,
    limit::Limit,
    quantity::{Kind, TemperatureDifference, text::DecimalSign},
    rule::{Rule, Thresholds, TyreRule, WalkCosts},
    sorted::sort,
    state::Station,
    statistics::uncertainty::Probability,
    words::{Layer, Uses},
};

/// A file by its name, as the shell read it or the build embedded it.
pub type File<'f> = (&'f str, &'f str);

impl Catalogue {
    /// Reads a catalogue from its files: `sources.toml`, `equipment.toml`, `rule.toml`, `model-classes.toml`, `checks/*`
    /// and `law/*`, in any order.
    ///
    /// # Errors
    /// Everything that is wrong in any of them. A catalogue with a fault is not used.
    pub fn load(files: &[File<'_>]) -> Result<Self, Vec<Problem>> {
        at_once(Self::load_in_pieces(files, async || ()))
    }

    /// As [`Self::load`], resting between its rows: the whole at once would keep a slow phone from painting.
    ///
    /// # Errors
    /// As [`Self::load`].
    pub async fn load_in_pieces(files: &[File<'_>], rest: impl AsyncFn()) -> Result<Self, Vec<Problem>> {
        let mut problems = Vec::new();
        let catalogue = load(files, &mut problems, &rest).await;
        match catalogue {
            Some(catalogue) if problems.is_empty() => Ok(catalogue),
            _ => Err(problems),
        }
    }
}

async fn load(files: &[File<'_>], problems: &mut Vec<Problem>, rest: &impl AsyncFn()) -> Option<Catalogue> {
    let sources = single(files, "sources.toml", problems, bibliography)?;
    let equipment = single(files, "equipment.toml", problems, equipment_keys)?;
    rest().await;
    let mut resolved = Sources::new(&sources);
    let rule = single(files, "rule.toml", problems, |reader, file| rule(reader, file, &mut resolved))??;
    let checks = checks(files, &equipment, &mut resolved, problems, rest).await;
    let mut around =
        Around { checks: &checks, equipment: &equipment, layer: Layer::Practice, handbook: None, uses: Uses::ALL };
    let practice = practice(files, &around, &mut resolved, problems, rest).await;
    let model_classes = single(files, "model-classes.toml", problems, |reader, mut file| {
        let rows = classes(reader, &mut file, &around, &mut resolved);
        let _schema: Option<u32> = file.take(reader, "schema");
        file.finish(reader, "schema, class");
        rows
    })?;
    rest().await;
    around.layer = Layer::Law;
    around.uses = Uses::ON_THE_ROAD;
    let mut laws = BTreeMap::new();
    for (name, text) in in_folder(files, "law/") {
        let (mut reader, file) = Reader::open(name, text, DecimalSign::Point);
        if let Some(law) = law(&mut reader, file, &around, &mut resolved) {
            laws.insert(law.pack.clone(), law);
        }
        problems.extend(reader.into_problems());
        rest().await;
    }
    for key in resolved.unused() {
        let what = format!("source `{key}` is named by no row");
        problems.push(Problem { file: "sources.toml".into(), line: 0, what });
    }
    let hash = hash::of_in_pieces(files, rest).await;
    Some(Catalogue {
        sources: sources.clone(),
        equipment: equipment.clone(),
        rule,
        practice,
        laws,
        model_classes,
        hash,
        checks,
    })
}

fn in_folder<'f>(files: &'f [File<'f>], folder: &str) -> Vec<&'f File<'f>> {
    let mut found: Vec<&File<'_>> = files.iter().filter(|(name, _)| name.starts_with(folder)).collect();
    sort(&mut found);
    found
}

async fn checks(
    files: &[File<'_>],
    equipment: &[EquipmentKey],
    sources: &mut Sources<'_>,
    problems: &mut Vec<Problem>,
    rest: &impl AsyncFn(),
) -> Vec<Check> {
    let mut checks: Vec<Check> = Vec::new();
    for (name, text) in in_folder(files, "checks/") {
        let (mut reader, mut file) = Reader::open(name, text, DecimalSign::Point);
        for row in file.rows(&mut reader, "check") {
            rest().await;
            let span = row.span();
            let Some(check) = check::check(&mut reader, row, equipment, sources) else { continue };
            if checks.iter().any(|other| other.id == check.id) {
                reader.say(span, format!("check {} stands twice", check.id));
            } else if checks.last().is_some_and(|last| last.station > check.station) {
                reader.say(span, format!("check {} is out of order: checks stand by station", check.id));
            } else {
                checks.push(check);
            }
        }
        problems.extend(reader.into_problems());
    }
    checks
}

/// General practice stands beside its checks; read again once every check is known, since a row may name any.
async fn practice(
    files: &[File<'_>],
    around: &Around<'_>,
    sources: &mut Sources<'_>,
    problems: &mut Vec<Problem>,
    rest: &impl AsyncFn(),
) -> Vec<Limit> {
    let mut practice = Vec::new();
    for (name, text) in in_folder(files, "checks/") {
        let (mut reader, mut file) = Reader::open(name, text, DecimalSign::Point);
        practice.extend(limits(&mut reader, &mut file, around, sources));
        let _read_before = file.rows(&mut reader, "check");
        file.finish(&mut reader, "check, limit");
        problems.extend(reader.into_problems());
        rest().await;
    }
    for limit in &practice {
        let check = around.checks.iter().find(|check| check.id == limit.check);
        if let Some(what) = check.and_then(|check| outside_range(limit, check)) {
            problems.push(Problem { file: "checks".into(), line: 0, what });
        }
    }
    practice
}

fn single<T>(
    files: &[File<'_>],
    name: &str,
    problems: &mut Vec<Problem>,
    read: impl FnOnce(&mut Reader<'_>, Row<'_>) -> T,
) -> Option<T> {
    let Some((name, text)) = files.iter().find(|(file, _)| *file == name) else {
        problems.push(Problem { file: name.to_string(), line: 0, what: "the file is missing".into() });
        return None;
    };
    let (mut reader, file) = Reader::open(name, text, DecimalSign::Point);
    let out = read(&mut reader, file);
    problems.extend(reader.into_problems());
    Some(out)
}

fn equipment_keys(reader: &mut Reader<'_>, mut file: Row<'_>) -> Vec<EquipmentKey> {
    let mut out = Vec::new();
    for mut row in file.rows(reader, "equipment") {
        let (key, name) = (row.need(reader, "key"), row.need(reader, "name"));
        let values = row.need(reader, "values");
        let several = row.take(reader, "several").unwrap_or(false);
        row.finish(reader, "key, name, values, several");
        if let (Some(key), Some(name), Some(values)) = (key, name, values) {
            out.push(EquipmentKey { key, name, values, several });
        }
    }
    let _schema: Option<u32> = file.take(reader, "schema");
    file.finish(reader, "schema, equipment");
    out
}

fn law(reader: &mut Reader<'_>, mut file: Row<'_>, around: &Around<'_>, sources: &mut Sources<'_>) -> Option<Law> {
    let _schema: Option<u32> = file.take(reader, "schema");
    let pack = file.need(reader, "pack");
    let title = file.need(reader, "title");
    let as_of = file.need(reader, "as_of");
    let limits = limits(reader, &mut file, around, sources);
    let classes = classes(reader, &mut file, around, sources);
    file.finish(reader, "schema, pack, title, as_of, limit, class");
    Some(Law { pack: pack?, title: title?, as_of: as_of?, limits, classes })
}

fn rule(reader: &mut Reader<'_>, mut file: Row<'_>, sources: &mut Sources<'_>) -> Option<Rule> {
    let _schema: Option<u32> = file.take(reader, "schema");
    let verdict = whole(reader, &mut file, "verdict", |reader, row| thresholds(reader, row, sources));
    let tyre = whole(reader, &mut file, "tyre", |reader, row| tyre(reader, row, sources));
    let walk = whole(reader, &mut file, "walk", |reader, row| walk(reader, row, sources));
    file.finish(reader, "schema, verdict, tyre, walk");
    Some(Rule { verdict: verdict?, tyre: tyre?, walk: walk? })
}

/// Reads a table without which there is no rule: if nothing else was wrong in it, it is absent or lacks a key.
fn whole<T>(
    reader: &mut Reader<'_>,
    file: &mut Row<'_>,
    name: &'static str,
    read: impl FnOnce(&mut Reader<'_>, Row<'_>) -> Option<T>,
) -> Option<T> {
    let (before, span) = (reader.count(), file.span());
    let out = file.table(reader, name).and_then(|row| read(reader, row));
    if out.is_none() && reader.count() == before {
        reader.say(span, format!("[{name}] is missing or lacks a key"));
    }
    out
}

fn known(reader: &mut Reader<'_>, row: &mut Row<'_>, sources: &mut Sources<'_>) {
    if row.has("source") || row.has("known") {
        let _cited = sources.provenance(reader, row, None);
    }
}

fn thresholds(reader: &mut Reader<'_>, mut row: Row<'_>, sources: &mut Sources<'_>) -> Option<Thresholds> {
    let mut share = |key| {
        let value = row.need::<f64>(reader, key)?;
        Probability::new(value).map_err(|e| reader.say(row.span(), format!("{key}: {e}"))).ok()
    };
    let (fit, dangerous, major, forecast) = (share("fit"), share("dangerous"), share("major"), share("forecast"));
    known(reader, &mut row, sources);
    row.finish(reader, "fit, dangerous, major, forecast, source, clause, known");
    Some(Thresholds { fit: fit?, dangerous: dangerous?, major: major?, forecast: forecast? })
}

fn tyre(reader: &mut Reader<'_>, mut row: Row<'_>, sources: &mut Sources<'_>) -> Option<TyreRule> {
    let mut kelvin = |key| {
        let amount = row.amount(reader, key, Kind::TemperatureDifference)?;
        TemperatureDifference::try_from(amount).ok()
    };
    let (cold_within, gas_u, air_u) = (kelvin("cold_within"), kelvin("gas_u"), kelvin("air_u"));
    let rested = row.amount(reader, "rested", Kind::Time).and_then(|amount| amount.try_into().ok());
    let barometer = row.amount(reader, "barometer", Kind::AbsolutePressure).and_then(|amount| amount.try_into().ok());
    let barometer_u = row.amount(reader, "barometer_u", Kind::GaugePressure).map(crate::quantity::Amount::canonical);
    known(reader, &mut row, sources);
    row.finish(reader, "cold_within, rested, gas_u, air_u, barometer, barometer_u, source, clause, known");
    Some(TyreRule {
        cold_within: cold_within?,
        rested: rested?,
        gas_u: gas_u?,
        air_u: air_u?,
        barometer: barometer?,
        barometer_u_kpa: barometer_u?,
    })
}

fn walk(reader: &mut Reader<'_>, mut row: Row<'_>, sources: &mut Sources<'_>) -> Option<WalkCosts> {
    let pace = row.need::<f64>(reader, "pace_m_per_s").filter(|pace| *pace > 0.0);
    let start = row.need::<[f64; 2]>(reader, "start");
    let mut places = row.table(reader, "stations")?;
    let mut stations = [[0.0; 2]; 6];
    for (place, station) in stations.iter_mut().zip(Station::ALL) {
        *place = places.need(reader, station.as_str())?;
    }
    places.finish(reader, "front-wheel, cockpit, left-side, rear-wheel, right-side, under");
    let power = seconds(reader, &mut row, "power", ["off", "on", "running"]);
    let stance =
        seconds(reader, &mut row, "stance", ["side-stand", "upright", "seated", "front-raised", "rear-raised"]);
    let warm_up = row.need::<f64>(reader, "warm_up").map(milliseconds);
    known(reader, &mut row, sources);
    row.finish(reader, "pace_m_per_s, stations, start, power, stance, warm_up, source, clause, known");
    let pace = pace?;
    let way = |a: [f64; 2], b: [f64; 2]| milliseconds(libm::hypot(a[0] - b[0], a[1] - b[1]) / pace);
    let start = start?;
    Some(WalkCosts {
        between: stations.map(|from| stations.map(|to| way(from, to))),
        from_start: stations.map(|to| way(start, to)),
        power: power?,
        stance: stance?,
        warm_up: warm_up?,
    })
}

fn seconds<const N: usize>(
    reader: &mut Reader<'_>,
    row: &mut Row<'_>,
    key: &'static str,
    names: [&str; N],
) -> Option<[u32; N]> {
    let mut table = row.table(reader, key)?;
    let mut out = [0; N];
    for (cell, name) in out.iter_mut().zip(names) {
        *cell = milliseconds(table.need(reader, name)?);
    }
    table.finish(reader, &names.join(", "));
    Some(out)
}

fn milliseconds(seconds: f64) -> u32 {
    // A cast of a float saturates, and a negative cost becomes none.
    libm::round(seconds * 1000.0) as u32
}
