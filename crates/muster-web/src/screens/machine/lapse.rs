//! When the last answer to each check lapses: by days, by distance, or with the outing.

use jiff::civil::Date;
use muster_core::{
    calendar::{days_between, days_later},
    check::{Check, DateOf, Yields},
    equipment::Holds,
    form::{Answer, Form, Said},
    judge::{Context, Unanswered, living},
    record::machine_state::MachineState,
    words::Use,
};

/// What is known of a check's last answer.
pub(crate) struct Lapse<'c> {
    /// The check.
    pub(crate) check: &'c Check,
    /// Its last answer and when it lapses; why none counts, where none does.
    pub(crate) last: Result<Last, Unanswered>,
}

/// The last answer that counts.
#[derive(Clone, Debug)]
pub(crate) struct Last {
    /// Who.
    pub(crate) by: String,
    /// When.
    pub(crate) on: muster_core::calendar::Moment,
    /// How long it counts, in words.
    pub(crate) counts: String,
    /// The last day it counts, where days end it.
    pub(crate) until: Option<Date>,
    /// How far it still counts, km, where distance ends it.
    pub(crate) left_km: Option<f64>,
    /// The day a paper runs out.
    pub(crate) expires: Option<Date>,
}

impl Last {
    /// Days till it lapses, a distance taken as days at `per_day` km; none where this outing or this day ends it.
    pub(crate) fn days_left(&self, today: Date, per_day: f64) -> Option<f64> {
        let days = self.until.filter(|until| *until > today).map(|until| days_between(today, until) as f64);
        let paper = self.expires.map(|day| days_between(today, day) as f64);
        let far = self.left_km.map(|km| (km / per_day).max(0.0));
        [days, paper, far].into_iter().flatten().reduce(f64::min)
    }
}

/// Every check that binds a use of a machine, with its last answer.
pub(crate) fn lapses<'c>(context: &Context<'c>, state: &MachineState, one: Use) -> Vec<Lapse<'c>> {
    let forms = state.forms();
    let now_km = state.odometer().map(muster_core::quantity::Distance::km);
    let equipment = &context.machine.traits.equipment;
    let asked = |check: &&Check| {
        check.uses.contains(one)
            && check.applies.holds(equipment) != Holds::No
            && check.requires.lacking(equipment).is_empty()
    };
    let checks = context.catalogue.checks.iter().filter(asked);
    checks.map(|check| Lapse { check, last: last(context, check, &forms, one, now_km) }).collect()
}

fn last(
    context: &Context<'_>,
    check: &Check,
    forms: &[&Form],
    one: Use,
    now_km: Option<f64>,
) -> Result<Last, Unanswered> {
    let living = living(check, forms, one, context.now)?;
    let given = living.groups.last().and_then(|group| group.last()).copied().ok_or(Unanswered::Never)?;
    let life = check.life.of(one);
    let then = given.answer.odometer.or(given.form.odometer).map(muster_core::quantity::Distance::km);
    let ridden = then.zip(now_km).map(|(then, now)| now - then);
    Ok(Last {
        by: given.answer.by.clone(),
        on: given.answer.at,
        counts: living.until.to_string(),
        until: life.days.map(|days| days_later(given.answer.at.date(), i32::from(days))),
        left_km: life.km.zip(ridden).map(|(km, ridden)| km - ridden),
        expires: expires(check, given.answer),
    })
}

fn expires(check: &Check, answer: &Answer) -> Option<Date> {
    match (&check.yields, &answer.said) {
        (Yields::Date(DateOf::Expires), Said::Day(day, _)) => Some(*day),
        _ => None,
    }
}
