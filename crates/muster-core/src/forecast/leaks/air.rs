//! From what was answered about a tyre to cold readings in the air as last noted.

use alloc::{format, string::String, vec::Vec};

use super::{
    DAY_S, Tyre,
    stretches::{Happened, Look},
};
use crate::{
    calendar::Moment,
    check::Yields,
    equipment::Holds,
    forecast::{
        lives::{Seen, standing, worst},
        practice::Leaking,
    },
    form::{Answer, Form, Said},
    formula::tyre_gas::{self, Surroundings},
    judge::Context,
    quantity::{AbsolutePressure, GaugePressure, Temperature, Unit},
    state::Heat,
    words::Use,
};

/// How far back readings are looked at, in days: a rate of last year says little of this valve.
const BACK_DAYS: f64 = 120.0;
/// Where nobody noted the air, in °C: the standard reference temperature (ISO 1).
const STANDARD_CELSIUS: f64 = 20.0;
/// One tyre as it was read, every reading taken to the air now; none for what it has not.
pub(super) fn tyre<'p>(
    context: &Context<'_>,
    (leaking, seen): (&'p Leaking, &Seen<'_>),
    (celsius, one): (f64, Use),
    gauges: &mut Vec<Option<String>>,
) -> Option<(Tyre<'p>, Vec<Happened>)> {
    let check = context.check(&leaking.check)?;
    let Yields::Read(measure) = &check.yields else { return None };
    let equipment = &context.machine.traits.equipment;
    if check.applies.holds(equipment) == Holds::No || !check.requires.lacking(equipment).is_empty() {
        return None;
    }
    let counting = context.limits(check, one);
    let least = counting.bounds.iter().filter_map(|row| row.at_least).map(|amount| amount.in_unit(Unit::Kilopascal));
    let limit_kpa = least.reduce(f64::max)?;
    // Air put in counts whether or not the reading beside it does.
    let mut looks: Vec<(Moment, bool, Option<Look>)> = Vec::new();
    for form in &seen.forms {
        for answer in standing(form, &leaking.check).into_iter().filter(|answer| answer.at <= context.now) {
            let gauge = answer.with.as_ref().and_then(|id| context.yard.instruments.get(id));
            let is_trusted = gauge.is_none_or(|gauge| gauge.is_trusted(answer.at.date()));
            let day = answer.at.timestamp().as_second() as f64 / DAY_S;
            let is_new = context.now.timestamp().as_second() as f64 / DAY_S - day <= BACK_DAYS;
            if !is_new {
                continue;
            }
            let is_set = answer.after.is_some();
            let Some(kpa) = cold(form, answer, celsius).filter(|_| is_trusted) else {
                looks.push((answer.at, is_set, None));
                continue;
            };
            let known = gauges.iter().position(|of| *of == answer.with);
            let gauge_at = known.unwrap_or_else(|| {
                gauges.push(answer.with.clone());
                gauges.len() - 1
            });
            let step =
                |amount: crate::quantity::Amount| amount.value() * amount.unit().step() / Unit::Kilopascal.step();
            let step_kpa = gauge.map_or(0.0, |gauge| step(gauge.resolution));
            looks.push((answer.at, is_set, Some(Look { day, kpa, gauge: gauge_at, step_kpa })));
        }
    }
    // A new tyre has its own air.
    let part = leaking.check.trim_end_matches(".pressure");
    for mounted in seen.parts.iter().map(|(part, _)| part).filter(|of| of.place == part) {
        let on = mounted.on.as_deref().and_then(|on| Moment::parse(&format!("{on}T00:00:00+00:00")).ok());
        looks.extend(on.map(|on| (on, true, None)));
    }
    // Stable: the order of one moment's answers is the order they were given in.
    crate::sorted::sort_by(&mut looks, |a, b| a.0.cmp(&b.0));
    let happened = looks.into_iter().map(|(_, is_set, look)| (is_set, look)).collect();
    Some((Tyre { leaking, limit_kpa, shown: context.shown(measure) }, happened))
}

/// The air as it was last noted here, in °C: a limit binds at the air's temperature now, so all readings are taken to it.
pub(super) fn air_c(seen: &Seen<'_>, now: Moment) -> f64 {
    let noted = seen.forms.iter().filter(|form| form.opened <= now);
    let noted = noted.filter_map(|form| Some((form.opened, form.air?)));
    noted.max_by_key(|(at, _)| *at).map_or(STANDARD_CELSIUS, |(_, air)| air.celsius())
}

/// A tyre's air as it would be in the air now; none where nobody noted how warm it was.
fn cold(form: &Form, answer: &Answer, celsius: f64) -> Option<f64> {
    let Said::Read(places) = &answer.said else { return None };
    let read = worst(places, Unit::Kilopascal, -1.0)?;
    let warm = form.found.heat != Heat::Cold;
    let gas = answer.tyre.or(if warm { None } else { answer.air.or(form.air) })?;
    let barometer = AbsolutePressure::from_kpa(101.325).ok()?;
    let now = Temperature::from_celsius(celsius).ok()?;
    let read = GaugePressure::from_kpa(read.value).ok()?;
    tyre_gas::moved(read, Surroundings { gas, barometer }, Surroundings { gas: now, barometer })
        .ok()
        .map(GaugePressure::kpa)
}
