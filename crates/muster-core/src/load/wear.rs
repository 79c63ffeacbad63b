//! Reads stated practice of wear: `data/wear.toml`.

use alloc::string::String;
use alloc::vec::Vec;

use super::{
    Problem, Reader,
    limit::{kind_of, unknown_check},
    reader::Row,
    source::Sources,
};
use crate::{
    catalogue::Catalogue,
    check::Check,
    forecast::practice::{Clock, Interval, Leaking, Practice, Practices, Shape},
    quantity::{Kind, Unit, text::DecimalSign},
};

const DAY_SECONDS: f64 = 86_400.0;

impl Practices {
    /// Reads `wear.toml`.
    ///
    /// # Errors
    /// Everything that is wrong in it. Rows with a fault are not used.
    pub fn load(name: &str, text: &str, catalogue: &Catalogue) -> Result<Self, Vec<Problem>> {
        let (mut reader, mut file) = Reader::open(name, text, DecimalSign::Point);
        let schema: Option<u32> = file.take(&mut reader, "schema");
        if schema != Some(1) {
            reader.say(file.span(), "write `schema = 1` at the head of the file");
        }
        let mut sources = Sources::new(&catalogue.sources);
        let mut out = Self::default();
        for mut row in file.rows(&mut reader, "wear") {
            let read = kind(&mut reader, &mut row, catalogue, &mut sources);
            row.finish(
                &mut reader,
                "check, part, name, order, new, limit, life, life_deviation, lives, regimes, reading, fresh, source, clause, known",
            );
            out.kinds.extend(read);
        }
        for mut row in file.rows(&mut reader, "interval") {
            let read = interval(&mut reader, &mut row, catalogue, &mut sources);
            row.finish(&mut reader, "check, part, name, order, km, days, source, clause, known");
            out.intervals.extend(read);
        }
        for mut row in file.rows(&mut reader, "leak") {
            let read = leak(&mut reader, &mut row, catalogue, &mut sources);
            row.finish(&mut reader, "check, name, a_month, source, clause, known");
            out.leaks.extend(read);
        }
        file.finish(&mut reader, "schema, wear, interval, leak");
        let problems = reader.into_problems();
        if problems.is_empty() { Ok(out) } else { Err(problems) }
    }
}

fn kind(
    reader: &mut Reader<'_>,
    row: &mut Row<'_>,
    catalogue: &Catalogue,
    sources: &mut Sources<'_>,
) -> Option<Practice> {
    let check = known_check(reader, row, catalogue)?;
    let Some(quantity) = kind_of(check) else {
        reader.say(row.span(), "this check reads no figure: nothing can wear there");
        return None;
    };
    let (part, name) = (row.need::<String>(reader, "part"), row.need::<String>(reader, "name"));
    let order = row.take(reader, "order");
    let (new, limit) = (row.amount(reader, "new", quantity), row.amount(reader, "limit", quantity));
    let (life, clock) = life(reader, row)?;
    let usual = Shape::default();
    let mut share = |key: &'static str, otherwise: f64| {
        let value = row.take::<f64>(reader, key).unwrap_or(otherwise);
        if !(0.001..=2.0).contains(&value) {
            reader.say(row.span(), alloc::format!("{key} must be 0.001 to 2, got {value}"));
        }
        value
    };
    let shape = Shape {
        life_deviation: share("life_deviation", usual.life_deviation),
        lives: share("lives", usual.lives),
        regimes: share("regimes", usual.regimes),
        reading: share("reading", usual.reading),
        fresh: share("fresh", usual.fresh),
        ..usual
    };
    let provenance = sources.provenance(reader, row, None)?;
    let (new, limit) = (new?, limit?);
    let unit = limit.unit();
    let (new, limit) = (new.in_unit(unit), limit.in_unit(unit));
    if libm::fabs(new - limit) < 1e-9 {
        reader.say(row.span(), "nothing lies between new and limit");
        return None;
    }
    let (check, part, name) = (check.id.clone(), part?, name?);
    Some(Practice { check, part, name, order, clock, unit, new, limit, life, shape, provenance })
}

/// A life as people write it: a distance, or a time.
fn life(reader: &mut Reader<'_>, row: &mut Row<'_>) -> Option<(f64, Clock)> {
    let text = row.text(reader, "life")?;
    let by_days = text.get_ref().trim_end().ends_with('d');
    let amount = reader.amount(if by_days { Kind::Time } else { Kind::Distance }, &text)?;
    let (count, clock) = if by_days {
        (amount.in_unit(Unit::Second) / DAY_SECONDS, Clock::Days)
    } else {
        (amount.in_unit(Unit::Kilometre), Clock::Distance)
    };
    if count <= 0.0 {
        reader.say(text.span(), "a life must be longer than nothing");
        return None;
    }
    Some((count / clock.unit(), clock))
}

fn interval(
    reader: &mut Reader<'_>,
    row: &mut Row<'_>,
    catalogue: &Catalogue,
    sources: &mut Sources<'_>,
) -> Option<Interval> {
    let check = known_check(reader, row, catalogue)?;
    let (part, name) = (row.need::<String>(reader, "part"), row.need::<String>(reader, "name"));
    let order = row.take(reader, "order");
    let km = row.amount(reader, "km", Kind::Distance).map(|km| km.in_unit(Unit::Kilometre));
    let days = row.amount(reader, "days", Kind::Time).map(|days| days.in_unit(Unit::Second) / DAY_SECONDS);
    if km.or(days).is_none() {
        reader.say(row.span(), "an interval needs km or days");
        return None;
    }
    let provenance = sources.provenance(reader, row, None)?;
    Some(Interval { check: check.id.clone(), part: part?, name: name?, order, km, days, provenance })
}

fn leak(
    reader: &mut Reader<'_>,
    row: &mut Row<'_>,
    catalogue: &Catalogue,
    sources: &mut Sources<'_>,
) -> Option<Leaking> {
    let check = known_check(reader, row, catalogue)?;
    if kind_of(check) != Some(Kind::GaugePressure) {
        reader.say(row.span(), "this check reads no tyre's pressure: no air is lost there");
        return None;
    }
    let name = row.need::<String>(reader, "name");
    let a_month = row.amount(reader, "a_month", Kind::GaugePressure).map(|loss| loss.in_unit(Unit::Kilopascal));
    let provenance = sources.provenance(reader, row, None)?;
    Some(Leaking { check: check.id.clone(), name: name?, day_kpa: a_month? / 30.0, provenance })
}

fn known_check<'c>(reader: &mut Reader<'_>, row: &mut Row<'_>, catalogue: &'c Catalogue) -> Option<&'c Check> {
    let id = row.need::<super::Text>(reader, "check")?;
    let found = catalogue.check(id.get_ref());
    if found.is_none() {
        reader.say(id.span(), unknown_check(id.get_ref(), &catalogue.checks));
    }
    found
}
