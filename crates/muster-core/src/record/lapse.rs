//! When the last answer to each check lapses: by days, by distance, or with the outing.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use jiff::civil::Date;

use super::machine_state::MachineState;
use crate::{
    calendar::{Moment, days_between, days_later},
    check::{Check, DateOf, Yields},
    equipment::Holds,
    form::{Answer, Form, Said},
    judge::{Context, Unanswered, living},
    quantity::Distance,
    words::Use,
};

/// What is known of a check's last answer.
#[derive(Debug)]
pub struct Lapse<'c> {
    /// The check.
    pub check: &'c Check,
    /// Its last answer and when it lapses; why none counts, where none does.
    pub last: Result<Last, Unanswered>,
}

/// The last answer that counts.
#[derive(Clone, Debug)]
pub struct Last {
    /// Who.
    pub by: String,
    /// When.
    pub on: Moment,
    /// How long it counts, in words.
    pub counts: String,
    /// The last day it counts, where days end it.
    pub until: Option<Date>,
    /// How far it still counts, km, where distance ends it.
    pub left_km: Option<f64>,
    /// The day a paper runs out.
    pub expires: Option<Date>,
}

impl Last {
    /// Days till it lapses, a distance taken as days at `per_day` km; none where this outing or this day ends it.
    #[must_use]
    pub fn days_left(&self, today: Date, per_day: f64) -> Option<f64> {
        let days = self.until.filter(|until| *until > today).map(|until| days_between(today, until) as f64);
        let paper = self.expires.map(|day| days_between(today, day) as f64);
        let far = self.left_km.map(|km| (km / per_day).max(0.0));
        [days, paper, far].into_iter().flatten().reduce(f64::min)
    }
}

/// Every check that binds a use of a machine, with its last answer.
#[must_use]
pub fn lapses<'c>(context: &Context<'c>, state: &MachineState, one: Use) -> Vec<Lapse<'c>> {
    let forms = state.forms();
    let now_km = state.odometer().map(Distance::km);
    let equipment = &context.machine.traits.equipment;
    let asked = |check: &&Check| {
        check.uses.contains(one)
            && check.applies.holds(equipment) != Holds::No
            && check.requires.lacking(equipment).is_empty()
    };
    let checks = context.checks().filter(asked);
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
    let then = given.answer.odometer.or(given.form.odometer).map(Distance::km);
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
