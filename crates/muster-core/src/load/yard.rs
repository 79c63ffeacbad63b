//! Reads a yard: its instruments, house rules, sheets and machines.

use alloc::{collections::BTreeMap, format, string::String, vec::Vec};

use super::{
    Problem, Reader, Row,
    catalogue::File,
    check,
    limit::{Around, limits, named_checks},
    source::Sources,
};
use crate::{
    catalogue::Catalogue,
    equipment::Equipment,
    instrument::{AccuracyOf, Instrument},
    limit::Traits,
    machine::{Machine, Modification, Procedure, Sheet, Sump},
    quantity::{Angle, Kind, Length, Time, text::DecimalSign},
    sorted::sort_by,
    state::Station,
    words::{Known, Layer, Use, Uses},
    yard::{HouseCondition, HowLong, Retention, Units, Yard},
};

impl Yard {
    /// Reads a yard from its files: `yard.toml`, `house.toml`, `sheets/*`, `machines/*`. What has a fault is left out and
    /// said; the rest can be used.
    #[must_use]
    pub fn load(files: &[File<'_>], catalogue: &Catalogue) -> (Self, Vec<Problem>) {
        let mut yard = Self { hash: crate::hash::of(files), ..Self::default() };
        let mut problems = Vec::new();
        let mut files: Vec<&File<'_>> = files.iter().collect();
        // The yard first, for its decimal sign; sheets before the machines that rest on them.
        let rank = |name: &str| match name {
            "yard.toml" => 0,
            "house.toml" => 1,
            _ if name.starts_with("sheets/") => 2,
            _ => 3,
        };
        sort_by(&mut files, |(a, _), (b, _)| (rank(a), *a).cmp(&(rank(b), *b)));
        if !files.iter().any(|(name, _)| *name == "yard.toml") {
            problems.push(Problem { file: "yard.toml".into(), line: 0, what: "the file is missing".into() });
        }
        let mut sources = Sources::new(&catalogue.sources);
        for (name, text) in files {
            let (mut reader, mut file) = Reader::open(name, text, yard.sign);
            let schema: Option<u32> = file.take(&mut reader, "schema");
            if schema != Some(1) {
                reader.say(file.span(), "write `schema = 1` at the head of the file");
            }
            match rank(name) {
                0 => site(&mut reader, file, catalogue, &mut yard),
                1 => house(&mut reader, file, catalogue, &mut sources, &mut yard),
                2 => {
                    if let Some(sheet) = sheet(&mut reader, file, catalogue, &mut sources) {
                        yard.sheets.insert(sheet.id.clone(), sheet);
                    }
                }
                _ if name.starts_with("machines/") => {
                    if let Some(machine) = machine(&mut reader, file, catalogue, &mut sources, &yard) {
                        yard.machines.insert(machine.id.clone(), machine);
                    }
                }
                _ => {}
            }
            problems.extend(reader.into_problems());
        }
        (yard, problems)
    }
}

fn around<'a>(catalogue: &'a Catalogue, layer: Layer, handbook: Option<(&'a str, Known)>) -> Around<'a> {
    Around { checks: &catalogue.checks, equipment: &catalogue.equipment, layer, handbook, uses: Uses::ALL }
}

fn site(reader: &mut Reader<'_>, mut file: Row<'_>, catalogue: &Catalogue, yard: &mut Yard) {
    yard.name = file.need(reader, "name").unwrap_or_default();
    yard.time_zone = file.need(reader, "time_zone").unwrap_or_default();
    match file.text(reader, "units") {
        Some(text) if text.get_ref() == "us" => yard.units = Units::Us,
        Some(text) if text.get_ref() != "si" => reader.say(text.span(), "units must be si or us"),
        _ => {}
    }
    match file.text(reader, "decimal") {
        Some(text) if text.get_ref() == "comma" => yard.sign = DecimalSign::Comma,
        Some(text) if text.get_ref() != "point" => reader.say(text.span(), "decimal must be point or comma"),
        _ => {}
    }
    if let Some(law) = file.text(reader, "law") {
        if !catalogue.laws.contains_key(law.get_ref()) {
            let packs: Vec<&str> = catalogue.laws.keys().map(String::as_str).collect();
            reader.say(law.span(), format!("no law pack `{}`; there are: {}", law.get_ref(), packs.join(", ")));
        }
        yard.law = Some(law.into_inner());
    }
    yard.on = file.moment(reader, "on");
    for row in file.rows(reader, "instrument") {
        if let Some(instrument) = instrument(reader, row) {
            yard.instruments.insert(instrument.id.clone(), instrument);
        }
    }
    file.finish(reader, "schema, name, time_zone, units, decimal, law, on, instrument");
}

fn instrument(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Instrument> {
    let (id, name) = (row.need(reader, "id"), row.need(reader, "name"));
    let kind = row.word(reader, "kind");
    let reads_name = row.need::<super::Text>(reader, "reads")?;
    let Some(reads) = Kind::find(reads_name.get_ref()) else {
        let names: Vec<&str> = Kind::ALL.iter().map(|kind| kind.name()).collect();
        reader.say(reads_name.span(), format!("unknown kind; allowed are: {}", names.join(", ")));
        return None;
    };
    let step = if reads == Kind::Temperature { Kind::TemperatureDifference } else { reads };
    let resolution = row.amount(reader, "resolution", step);
    let half_width = row.amount(reader, "accuracy", step).map(AccuracyOf::HalfWidth);
    let expanded = row.amount(reader, "accuracy_k2", step).map(AccuracyOf::ExpandedK2);
    if half_width.or(expanded).is_none() {
        reader.say(row.span(), "an instrument needs accuracy or accuracy_k2: without it no reading can be trusted");
    }
    let (compared, found_bad) = (row.date(reader, "compared"), row.date(reader, "found_bad"));
    row.finish(reader, "id, name, kind, reads, resolution, accuracy, accuracy_k2, compared, found_bad");
    Some(Instrument {
        id: id?,
        name: name?,
        kind: kind?,
        reads,
        resolution: resolution?,
        accuracy: half_width.or(expanded)?,
        compared,
        found_bad,
        spoilt: Vec::new(),
    })
}

fn house(
    reader: &mut Reader<'_>,
    mut file: Row<'_>,
    catalogue: &Catalogue,
    sources: &mut Sources<'_>,
    yard: &mut Yard,
) {
    let around = around(catalogue, Layer::House, Some(("House rule", Known::Owner)));
    yard.house = limits(reader, &mut file, &around, sources);
    for mut row in file.rows(reader, "condition") {
        let checks = named_checks(reader, &mut row, &catalogue.checks);
        let says: Option<String> = row.need(reader, "says");
        let uses = row.words::<Use>(reader, "uses").map_or(Uses::ALL, Uses::from_iter);
        row.finish(reader, "check, says, uses");
        let Some(says) = says else { continue };
        let condition =
            |check: &&crate::check::Check| HouseCondition { check: check.id.clone(), says: says.clone(), uses };
        yard.conditions.extend(checks.iter().map(condition));
    }
    if let Some(row) = file.table(reader, "retention") {
        yard.retention = retention(reader, row);
    }
    file.finish(reader, "schema, limit, condition, retention");
}

fn retention(reader: &mut Reader<'_>, mut row: Row<'_>) -> Retention {
    let mut how_long = |key| {
        let text = row.text(reader, key)?;
        let lasts = reader.amount(Kind::Time, &text).and_then(|amount| Time::try_from(amount).ok())?;
        // What is destroyed does not come back: a slip of the keys must not empty a record overnight.
        if lasts.days() < SHORTEST_DAYS {
            reader.say(text.span(), format!("{key}: at least {SHORTEST_DAYS} days are needed"));
            return None;
        }
        Some(HowLong { says: text.into_inner(), lasts })
    };
    let (names, photos) = (how_long("names"), how_long("photos"));
    row.finish(reader, "names, photos");
    Retention { names, photos }
}

/// The shortest time names and photos are kept, in days.
const SHORTEST_DAYS: f64 = 30.0;

fn sheet(
    reader: &mut Reader<'_>,
    mut file: Row<'_>,
    catalogue: &Catalogue,
    sources: &mut Sources<'_>,
) -> Option<Sheet> {
    let id = file.need::<String>(reader, "sheet");
    let model = file.need::<String>(reader, "model");
    let mut handbook = file.table(reader, "handbook")?;
    let title = handbook.need::<String>(reader, "title")?;
    let edition: Option<String> = handbook.take(reader, "edition");
    let known = handbook.word::<Known>(reader, "known").unwrap_or(Known::Owner);
    handbook.finish(reader, "title, edition, known");
    let power_kw = file.take(reader, "power_kw");
    let traits = Traits {
        displacement_cc: file.take(reader, "displacement_cc"),
        power_kw,
        category: file.take(reader, "category"),
        first_use: None,
        equipment: equipment(reader, &mut file, catalogue),
    };
    let sump = file.table(reader, "sump").and_then(|row| sump(reader, row));
    let outing = file.table(reader, "outing").and_then(|row| super::outing::stated(reader, row));
    let mut procedures = Vec::new();
    for row in file.rows(reader, "procedure") {
        procedures.extend(procedure(reader, row, catalogue));
    }
    let limits = limits(reader, &mut file, &around(catalogue, Layer::Sheet, Some((&title, known))), sources);
    file.finish(
        reader,
        "schema, sheet, model, handbook, category, displacement_cc, power_kw, equipment, sump, outing, procedure, \
         limit",
    );
    let handbook = edition.map_or_else(|| title.clone(), |edition| format!("{title}, {edition} edition"));
    Some(Sheet { id: id?, model: model?, handbook, traits, power_kw, sump, outing, procedures, limits })
}

fn equipment(reader: &mut Reader<'_>, file: &mut Row<'_>, catalogue: &Catalogue) -> Equipment {
    let mut out = Equipment::default();
    if let Some(mut table) = file.table(reader, "equipment") {
        for (key, values) in check::equipment(reader, &mut table, &catalogue.equipment) {
            out.set(&key, values);
        }
    }
    out
}

fn sump(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Sump> {
    let mut length = |key| row.amount(reader, key, Kind::Length).and_then(|amount| Length::try_from(amount).ok());
    let (dipstick_offset, marks) = (length("dipstick_offset"), length("marks"));
    let (foot_offset, width, depth) = (length("foot_offset"), length("width"), length("depth"));
    let lean = row.amount(reader, "lean", Kind::Angle).and_then(|amount| Angle::try_from(amount).ok());
    if [dipstick_offset, marks, foot_offset, width, depth].contains(&None) || lean.is_none() {
        reader.say(row.span(), "a sump needs dipstick_offset, marks, foot_offset, width, depth and lean");
    }
    row.finish(reader, "dipstick_offset, marks, lean, foot_offset, width, depth");
    Some(Sump {
        dipstick_offset: dipstick_offset?,
        lean: lean?,
        foot_offset: foot_offset?,
        width: width?,
        depth: depth?,
        marks: marks?,
    })
}

fn procedure(reader: &mut Reader<'_>, mut row: Row<'_>, catalogue: &Catalogue) -> Vec<Procedure> {
    let checks = named_checks(reader, &mut row, &catalogue.checks);
    let stations: Vec<Station> = checks.iter().map(|check| check.station).collect();
    let needs = check::needs(reader, &mut row, &stations);
    let method: Vec<String> = row.take(reader, "method").unwrap_or_default();
    let caution: Option<String> = row.take(reader, "caution");
    let page: Option<String> = row.take(reader, "page");
    let span = row.span();
    row.finish(reader, "check, needs, method, caution, page");
    let adds = caution.iter().all(|own| !own.is_empty() && checks.iter().all(|of| of.caution.as_ref() != Some(own)));
    if !adds {
        reader.say(span, "a procedure's caution says what its check does not: this one adds nothing");
    }
    let of = |check: &&crate::check::Check| Procedure {
        check: check.id.clone(),
        needs,
        method: method.clone(),
        caution: caution.clone(),
        page: page.clone(),
    };
    checks.iter().map(of).collect()
}

fn machine(
    reader: &mut Reader<'_>,
    mut file: Row<'_>,
    catalogue: &Catalogue,
    sources: &mut Sources<'_>,
    yard: &Yard,
) -> Option<Machine> {
    let id = file.need::<String>(reader, "machine")?;
    let sheet_name = file.need::<super::Text>(reader, "sheet")?;
    let Some(sheet) = yard.sheets.get(sheet_name.get_ref()) else {
        let names: Vec<&str> = yard.sheets.keys().map(String::as_str).collect();
        let what = format!("no sheet `{}` in sheets/; there are: {}", sheet_name.get_ref(), names.join(", "));
        reader.say(sheet_name.span(), what);
        return None;
    };
    let service = file.word(reader, "service").unwrap_or(crate::words::Service::InService);
    let own = equipment(reader, &mut file, catalogue);
    let traits = Traits {
        displacement_cc: file.take(reader, "displacement_cc").or(sheet.traits.displacement_cc),
        power_kw: sheet.power_kw,
        category: file.take(reader, "category").or_else(|| sheet.traits.category.clone()),
        first_use: file.date(reader, "first_use"),
        equipment: sheet.traits.equipment.overlaid(&own),
    };
    let (vin, plate) = (file.take(reader, "vin"), file.take(reader, "plate"));
    let row = file.take(reader, "row").unwrap_or(0);
    let mut modifications = Vec::new();
    for row in file.rows(reader, "modification") {
        modifications.extend(modification(reader, row));
    }
    let title = format!("{id} itself");
    let limits = limits(reader, &mut file, &around(catalogue, Layer::Machine, Some((&title, Known::Owner))), sources);
    let keys = "schema, machine, sheet, service, vin, plate, category, displacement_cc, first_use, row, equipment, \
                modification, limit";
    file.finish(reader, keys);
    let (sheet, mountings) = (sheet_name.into_inner(), BTreeMap::new());
    Some(Machine { id, sheet, service, vin, plate, traits, row, modifications, limits, mountings })
}

fn modification(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Modification> {
    let what = row.need(reader, "what");
    let ride_height = row.amount(reader, "ride_height", Kind::Length).and_then(|amount| Length::try_from(amount).ok());
    let by = row.take(reader, "by");
    let on = row.date(reader, "on");
    row.finish(reader, "what, ride_height, by, on");
    Some(Modification { what: what?, ride_height, by, on })
}
