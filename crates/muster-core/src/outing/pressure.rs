//! First: the tyre pressures to set for what is carried, cold or warm, and what the gauge shows on the way.

use alloc::{format, string::String, vec::Vec};

use super::Case;
use super::aboard::Aboard;
use super::input::Outing;
use super::item::{Item, Part};
use super::say::Say;
use super::stated::Stated;
use super::work::{End, Work};
use crate::formula::tyre_gas::{Surroundings, at_altitude, predicted_barometer, pump_to_now, standard_pressure};
use crate::judge::Verdict;
use crate::quantity::{AbsolutePressure, Distance, GaugePressure, Unit};

/// The pressures to set, cold, and where each comes from.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Set {
    front: Option<(GaugePressure, String)>,
    rear: Option<(GaugePressure, String)>,
}

impl Set {
    /// The sheet's row for what is carried; without rows the target of the gravest use.
    pub(super) fn of(case: &Case<'_>, stated: &Stated, outing: &Outing, aboard: &Aboard) -> Self {
        let say = Say(case.context.units);
        let carried = aboard.carried_kg();
        let row = stated.pressures.iter().find(|row| carried <= row.up_to.kg()).or(stated.pressures.last());
        if let Some(row) = row {
            let why = match stated.page.as_ref() {
                _ if carried > row.up_to.kg() => {
                    format!("its table ends at {}, {} carried", say.kg(row.up_to.kg()), say.kg(carried))
                }
                Some(page) => format!("{}, {page}: to {} carried", case.context.sheet.handbook, say.kg(row.up_to.kg())),
                None => format!("{}: to {} carried", case.context.sheet.handbook, say.kg(row.up_to.kg())),
            };
            return Self { front: Some((row.front, why.clone())), rear: Some((row.rear, why)) };
        }
        Self { front: target(case, outing, End::Front), rear: target(case, outing, End::Rear) }
    }

    pub(super) fn of_end(&self, end: End) -> Option<GaugePressure> {
        self.row(end).as_ref().map(|(pressure, _)| *pressure)
    }

    fn row(&self, end: End) -> &Option<(GaugePressure, String)> {
        match end {
            End::Front => &self.front,
            End::Rear => &self.rear,
        }
    }
}

/// The check of a tyre's pressure.
pub(super) fn check(end: End) -> &'static str {
    match end {
        End::Front => "tyre.front.pressure",
        End::Rear => "tyre.rear.pressure",
    }
}

/// The highest target of the uses asked for: with a passenger the passenger's.
fn target(case: &Case<'_>, outing: &Outing, end: End) -> Option<(GaugePressure, String)> {
    let check = case.context.check(check(end))?;
    let mut found: Option<(GaugePressure, String)> = None;
    for one in outing.uses().iter() {
        let Some(row) = case.context.limits(check, one).target else { continue };
        let Some(pressure) = row.target.and_then(|target| GaugePressure::try_from(target).ok()) else { continue };
        if found.as_ref().is_none_or(|(most, _)| pressure > *most) {
            found = Some((pressure, format!("{}", row.provenance)));
        }
    }
    found
}

/// Both tyres.
pub(super) fn items(work: &Work<'_>) -> Vec<Item> {
    End::BOTH.into_iter().map(|end| item(work, end)).collect()
}

fn item(work: &Work<'_>, end: End) -> Item {
    let (id, name) = (format!("pressure.{end}"), format!("{} pressure", end.title()));
    let Some((set, source)) = work.set.row(end) else {
        let missing = "no pressure for this load: read the label on the swing arm or the handbook";
        return Item::unseen(Part::Loads, &id, &name, missing);
    };
    let say = work.say;
    let found = found(work, end);
    let now = match &found {
        Some(found) => format!("; last read {found}"),
        None => String::new(),
    };
    let item = Item::new(Part::Loads, id, name, format!("{} cold{now}", say.kpa(set.kpa()))).from(Some(source.clone()));
    let item = if work.aboard.carried_kg() > work.stated.pressures.last().map_or(f64::INFINITY, |row| row.up_to.kg()) {
        item.verdict(Verdict::Unseen).before("Ask the maker for the pressure at this load, or carry less")
    } else {
        within(work, end, *set, item)
    };
    let item = warm(work, end, *set, item);
    on_the_way(work, *set, item)
}

/// What the walk-round read last, in its own unit.
fn found(work: &Work<'_>, end: End) -> Option<String> {
    let of = work.case.judgement.uses.iter().find(|of| work.outing.uses().contains(of.one))?;
    let outcome = of.outcomes.iter().find(|outcome| outcome.check == check(end))?;
    let figure = outcome.figure.as_ref()?;
    let day = outcome.at.as_deref().and_then(|at| at.get(..10)).map(|day| format!(" on {day}")).unwrap_or_default();
    Some(format!("{:.*}\u{a0}{}{day}", figure.decimals, figure.value, figure.unit))
}

/// The pressure set must lie in the window that the walk-round is judged by.
fn within(work: &Work<'_>, end: End, set: GaugePressure, item: Item) -> Item {
    let context = work.case.context;
    let Some(check) = context.check(check(end)) else { return item };
    for one in work.outing.uses().iter() {
        for row in context.limits(check, one).bounds {
            let below = row.at_least.is_some_and(|least| set.kpa() < least.in_unit(Unit::Kilopascal) - ROUNDING);
            let above = row.at_most.is_some_and(|most| set.kpa() > most.in_unit(Unit::Kilopascal) + ROUNDING);
            if below || above {
                let says = format!("{}; the limit for {one} says otherwise ({})", item.says, row.provenance);
                return Item { says, ..item }
                    .verdict(Verdict::Unseen)
                    .before("Read the label, then put the sheet right");
            }
        }
    }
    item.before(format!("{} tyre to {} cold, then read it again", end.title(), work.say.kpa(set.kpa())))
}

/// A tyre that is warm shows more: how much, and that none is let out.
fn warm(work: &Work<'_>, end: End, set: GaugePressure, item: Item) -> Item {
    let (Some(tyre), Some(air)) = (work.outing.tyres, work.outing.weather.air) else { return item };
    let Some(barometer) = barometer(work) else { return item };
    match pump_to_now(set, tyre, air.get(), barometer) {
        Ok(now) => {
            let (say, celsius) = (work.say, tyre.celsius());
            item.before(format!(
                "{} tyre warm, {}: pump till the gauge shows {}; let none out",
                end.title(),
                say.celsius(celsius),
                say.kpa(now.kpa())
            ))
            .work(format!(
                "p = (p_cold + pₐ) T_tyre/T_air − pₐ, pₐ = {}: {}",
                say.kpa(barometer.kpa()),
                say.kpa(now.kpa())
            ))
        }
        Err(refusal) => item.work(format!("{refusal}")),
    }
}

/// What the gauge would show standing in the air and at the height of the way: a prediction, never a correction.
fn on_the_way(work: &Work<'_>, set: GaugePressure, item: Item) -> Item {
    let weather = work.outing.weather;
    let Some(air) = weather.air else { return item };
    let there = weather.on_the_way.unwrap_or(air);
    let Some(here) = here(work) else { return item };
    let high = weather.highest.map_or(here, super::range::Altitude::get);
    if weather.on_the_way.is_none() && weather.highest.is_none() {
        return item;
    }
    let Ok(barometer) = standard_pressure(here) else { return item };
    let from = Surroundings { gas: air.get(), barometer };
    match at_altitude(set, (from, here), (there.get(), high)) {
        Ok(shown) => {
            let say = work.say;
            let line = format!(
                "on the way, cold at {} and {}: the gauge will show {}",
                say.celsius(there.get().celsius()),
                say.metres(high.km() * 1000.0),
                say.kpa(shown.kpa())
            );
            let item = item.work(line);
            if shown.kpa() < set.kpa() - 10.0 {
                return item.next("The tyres will show less there and have lost nothing; set them again only after a night in that air");
            }
            item
        }
        Err(refusal) => item.work(format!("on the way: {refusal}")),
    }
}

fn here(work: &Work<'_>) -> Option<Distance> {
    work.outing.weather.here.map(super::range::Altitude::get).or_else(|| Distance::from_km(0.0).ok())
}

fn barometer(work: &Work<'_>) -> Option<AbsolutePressure> {
    let sea = Distance::from_km(0.0).ok()?;
    let level = standard_pressure(sea).ok()?;
    predicted_barometer((sea, level), here(work)?).ok()
}

/// kPa: a bound written in another unit may be missed by a rounding.
const ROUNDING: f64 = 1e-6;
