//! An estimate as bytes: what the event *forecast estimated* carries, and its hash.

use alloc::{
    borrow::Cow,
    collections::BTreeMap,
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::{
    effects::Effect,
    estimate::{Estimate, Known, Row},
    practice::Clock,
    riding::{Riding, Season},
    state::State,
};
use crate::{
    calendar::Moment,
    hash,
    quantity::{Kind, Unit},
    record::json::{Json, Shape},
};

/// The version of what is written. Version 1 held a fit alone, and was in no record.
const SCHEMA: f64 = 2.0;

/// Why parameters cannot be read as an estimate.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAnEstimate {
    /// Another version.
    #[error("the forecast is of another version than 2, which this program reads: update it, or estimate it again")]
    Version,
    /// Something is missing or means nothing.
    #[error("the forecast holds no sound {0}: estimate it again")]
    Lacks(&'static str),
}

impl Estimate {
    /// Its parameters as JSON: the payload of *forecast estimated*. Lists stand where names would say nothing more: a row is
    /// [machine, mountings, readings, read until, count, gauge, new, expected from, to, L, R, U, LL, LR, LU, RR, RU, UU].
    #[must_use]
    pub fn written(&self) -> String {
        let months = figures(&self.season.months);
        let ridings = self
            .ridings
            .iter()
            .map(|(id, riding)| format!("{}:[{},{}]", text(id), figure(riding.day_km), figure(riding.spread)));
        let gauges = self.gauges.iter().map(|(id, unit, effect)| {
            let (mean, variance) = (figure(effect.mean), figure(effect.variance));
            format!("[{},{},{mean},{variance}]", text(id), text(spelt(*unit)))
        });
        format!(
            "{{\"schema\":{SCHEMA},\"at\":{},\"day_km\":{},\"months\":[{months}],\"ridings\":{{{}}},\"gauges\":[{}],\"kinds\":[{}]}}",
            text(&self.at.to_string()),
            figure(self.season.day_km),
            joined(ridings),
            joined(gauges),
            joined(self.kinds.iter().map(kind)),
        )
    }

    /// As it is after being written: with the hash of its bytes.
    #[must_use]
    pub fn hashed(mut self) -> (Self, String) {
        let text = self.written();
        self.hash = hash::of_text(&text);
        (self, text)
    }

    /// Reads parameters; `hash` is what the event says of them.
    ///
    /// # Errors
    /// [`NotAnEstimate`]: another version, a figure that is none.
    pub fn read(parameters: &str, hash: &str) -> Result<Self, NotAnEstimate> {
        let mut whole = Object::of(Json::of(parameters))?;
        if whole.figure("schema").ok().is_none_or(|schema| schema.total_cmp(&SCHEMA).is_ne()) {
            return Err(NotAnEstimate::Version);
        }
        let at = Moment::parse(&whole.text("at")?).map_err(|_| NotAnEstimate::Lacks("moment"))?;
        let months = numbers(whole.take("months")?)?;
        let season = Season { months, day_km: whole.figure("day_km")? };
        let mut ridings = BTreeMap::new();
        for (id, riding) in whole.take("ridings")?.fields() {
            let [day_km, spread] = numbers(riding)?;
            ridings.insert(id.to_string(), Riding { day_km, spread });
        }
        let gauges = whole.take("gauges")?.items().map(gauge_of).collect::<Result<_, _>>()?;
        let kinds = whole.take("kinds")?.items().map(kind_of).collect::<Result<_, _>>()?;
        Ok(Self { hash: hash.into(), at, season, ridings, gauges, kinds })
    }
}

fn kind(of: &Known) -> String {
    let (new, limit) = of.usual;
    format!(
        "{{\"check\":{},\"part\":{},\"name\":{},\"order\":{},\"in\":\"{}\",\"unit\":{},\"usual\":[{},{}],\"theta\":[{}],\"fresh\":{},\"machines\":{},\"readings\":{},\"rows\":[{}]}}",
        text(&of.check),
        text(&of.part),
        text(&of.name),
        of.order.as_deref().map_or("null".to_string(), text),
        if of.clock == Clock::Days { "days" } else { "km" },
        text(spelt(of.unit)),
        figure(new),
        figure(limit),
        figures(&of.theta),
        figure(of.fresh),
        of.machines,
        of.readings,
        joined(of.rows.iter().map(row)),
    )
}

fn row(of: &Row) -> String {
    let [from, to] = of.expected.map_or(["null".to_string(), "null".to_string()], |ends| ends.map(figure));
    format!(
        "[{},{},{},{},{},{},{},{from},{to},{},{}]",
        text(&of.machine),
        of.lives,
        of.readings,
        of.read_until,
        figure(of.count),
        of.with.as_deref().map_or("null".to_string(), text),
        figure(of.new),
        figures(&of.state.mean),
        figures(&of.state.cov),
    )
}

fn kind_of(json: Json<'_>) -> Result<Known, NotAnEstimate> {
    let mut of = Object::of(json)?;
    let clock = match &*of.text("in")? {
        "km" => Clock::Distance,
        "days" => Clock::Days,
        _ => return Err(NotAnEstimate::Lacks("count")),
    };
    let [new, limit] = numbers(of.take("usual")?)?;
    Ok(Known {
        check: of.text("check")?,
        part: of.text("part")?,
        name: of.text("name")?,
        order: Some(of.take("order")?).filter(|order| order.shape() != Shape::Null).map(text_of).transpose()?,
        clock,
        unit: unit_of(&of.text("unit")?)?,
        usual: (new, limit),
        theta: numbers(of.take("theta")?)?,
        fresh: of.figure("fresh")?,
        machines: of.figure("machines")? as u32,
        readings: of.figure("readings")? as u32,
        rows: of.take("rows")?.items().map(row_of).collect::<Result<_, _>>()?,
    })
}

fn row_of(json: Json<'_>) -> Result<Row, NotAnEstimate> {
    let mut cells = json.items();
    let mut next = || cells.next().ok_or(NotAnEstimate::Lacks("row"));
    let machine = text_of(next()?)?;
    let (lives, readings) = (number(next()?)? as u32, number(next()?)? as u32);
    let (read_until, count) = (number(next()?)? as i64, number(next()?)?);
    let with = Some(next()?).filter(|with| with.shape() != Shape::Null).map(text_of).transpose()?;
    let new = number(next()?)?;
    let ends = [next()?, next()?];
    let expected = if ends[0].shape() == Shape::Null { None } else { Some([number(ends[0])?, number(ends[1])?]) };
    let mut nine = [0.0; 9];
    for cell in &mut nine {
        *cell = number(next()?)?;
    }
    let [l, r, u, ll, lr, lu, rr, ru, uu] = nine;
    let state = State { mean: [l, r, u], cov: [ll, lr, lu, rr, ru, uu] };
    if ll < 0.0 || rr < 0.0 || uu < 0.0 {
        return Err(NotAnEstimate::Lacks("variance"));
    }
    Ok(Row { machine, lives, readings, read_until, count, with, new, expected, state })
}

fn gauge_of(json: Json<'_>) -> Result<(String, Unit, Effect), NotAnEstimate> {
    let mut cells = json.items();
    let mut next = || cells.next().ok_or(NotAnEstimate::Lacks("gauge"));
    let (id, unit) = (text_of(next()?)?, unit_of(&text_of(next()?)?)?);
    Ok((id, unit, Effect { mean: number(next()?)?, variance: number(next()?)? }))
}

/// The fields of an object, taken out by their names.
struct Object<'a>(Vec<(Cow<'a, str>, Json<'a>)>);

impl<'a> Object<'a> {
    fn of(json: Json<'a>) -> Result<Self, NotAnEstimate> {
        let fields = || Self(json.fields().collect());
        if json.shape() == Shape::Object { Ok(fields()) } else { Err(NotAnEstimate::Version) }
    }

    fn take(&mut self, name: &'static str) -> Result<Json<'a>, NotAnEstimate> {
        let found = self.0.iter().find(|(own, _)| own == name);
        found.map(|(_, json)| *json).ok_or(NotAnEstimate::Lacks(name))
    }

    fn text(&mut self, name: &'static str) -> Result<String, NotAnEstimate> {
        self.take(name).and_then(text_of)
    }

    fn figure(&mut self, name: &'static str) -> Result<f64, NotAnEstimate> {
        self.take(name).and_then(number)
    }
}

fn text_of(json: Json<'_>) -> Result<String, NotAnEstimate> {
    json.text().map(Cow::into_owned).ok_or(NotAnEstimate::Lacks("text"))
}

fn number(json: Json<'_>) -> Result<f64, NotAnEstimate> {
    json.figure().ok_or(NotAnEstimate::Lacks("figure"))
}

fn numbers<const N: usize>(json: Json<'_>) -> Result<[f64; N], NotAnEstimate> {
    let mut out = [0.0; N];
    let mut items = json.items();
    for cell in &mut out {
        *cell = items.next().ok_or(NotAnEstimate::Lacks("figure")).and_then(number)?;
    }
    if items.next().is_some() { Err(NotAnEstimate::Lacks("list")) } else { Ok(out) }
}

fn text(of: &str) -> String {
    serde_json::Value::from(of).to_string()
}

/// The shorter of two spellings of the same figure.
fn figure(value: f64) -> String {
    let (plain, power) = (value.to_string(), format!("{value:e}"));
    if power.len() < plain.len() { power } else { plain }
}

fn figures(of: &[f64]) -> String {
    joined(of.iter().map(|value| figure(*value)))
}

fn joined(of: impl Iterator<Item = String>) -> String {
    of.collect::<Vec<_>>().join(",")
}

/// A unit's own spelling: a slope's per cent is another than a share's.
fn spelt(unit: Unit) -> &'static str {
    if unit == Unit::PercentSlope { "% slope" } else { unit.symbol() }
}

fn unit_of(text: &str) -> Result<Unit, NotAnEstimate> {
    if text == "% slope" {
        return Ok(Unit::PercentSlope);
    }
    let mut all = Kind::ALL.iter().flat_map(|kind| kind.units()).copied();
    let found = all.find(|unit| *unit != Unit::PercentSlope && unit.symbol() == text);
    found.ok_or(NotAnEstimate::Lacks("unit"))
}
