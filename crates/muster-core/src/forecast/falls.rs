//! What falls due by age or by distance alone, whichever comes first: fluids, oil, hoses, rubber.

use alloc::{string::String, vec::Vec};

use jiff::civil::Date;

use super::{
    practice::{Interval, Practices},
    riding::{Riding, Season, Trace, odometer},
};
use crate::{
    calendar::{date, days_between, days_later},
    equipment::Holds,
    form::{Form, Said},
    judge::{Context, last_answer, too_old},
    quantity::{Distance, Kind, text, text::DecimalSign},
    record::payload::PartMounted,
    sorted::sort_by,
    statistics::normal,
    words::Use,
};

/// A fixed figure of a normal variable: its 95 % point.
const NINETY_FIVE: f64 = 1.645;

/// Something due by distance or age alone.
#[derive(Clone, Debug, PartialEq)]
pub struct Falls {
    /// The machine.
    pub machine: String,
    /// The check it belongs to.
    pub check: String,
    /// Where it is mounted, as in part events.
    pub part: String,
    /// What people call it.
    pub name: String,
    /// What to order.
    pub order: Option<String>,
    /// The day it was made, filled or mounted.
    pub since: Date,
    /// The last day it is good by age.
    pub by_age: Option<Date>,
    /// No layer states that age: it is practice's.
    pub age_is_practice: bool,
    /// Days at which its distance is ridden with 5, 50, 95 %.
    pub by_distance: [Option<Date>; 3],
    /// The first of both, at 50 %.
    pub first: Option<Date>,
    left_km: Option<f64>,
}

/// How a machine is ridden.
#[derive(Clone, Copy, Debug)]
pub struct Ridden<'r> {
    /// By the fleet's season.
    pub season: &'r Season,
    /// By itself.
    pub riding: Riding,
    /// Its odometer by day, as far as it is known here.
    pub trace: &'r Trace,
}

/// What is written of a machine that ages are counted from.
#[derive(Clone, Debug)]
pub struct Aging<'a> {
    /// Its walk-rounds.
    pub forms: Vec<&'a Form>,
    /// Parts that are mounted now.
    pub parts: Vec<&'a PartMounted>,
}

impl Falls {
    /// Probability that it is due within so many days.
    #[must_use]
    pub fn within(&self, ridden: Ridden<'_>, (today, days): (Date, i32)) -> f64 {
        if self.by_age.is_some_and(|on| days_between(today, on) <= i64::from(days)) {
            return 1.0;
        }
        let Some(left) = self.left_km else { return 0.0 };
        let ahead = ridden.season.ahead_km(ridden.riding, today, days);
        match (left <= 0.0, ahead > 0.0) {
            (true, _) => 1.0,
            (false, false) => 0.0,
            _ => normal::cdf(libm::log(ahead / left) / ridden.riding.spread),
        }
    }
}

/// What of a machine is due by distance or age, what comes first standing first. Ages run from the day that was last read
/// on a label or a tyre, or from the mounting in the record, by the limit for a use; without one by stated practice.
#[must_use]
pub fn falls(
    context: &Context<'_>,
    practices: &Practices,
    (aging, ridden): (&Aging<'_>, Ridden<'_>),
    one: Use,
) -> Vec<Falls> {
    let all = practices.intervals.iter();
    let mut out: Vec<Falls> = all.filter_map(|interval| due_of(context, interval, (aging, ridden), one)).collect();
    sort_by(&mut out, |a, b| (a.first, &a.name, &a.check).cmp(&(b.first, &b.name, &b.check)));
    out
}

fn due_of(
    context: &Context<'_>,
    interval: &Interval,
    (aging, ridden): (&Aging<'_>, Ridden<'_>),
    one: Use,
) -> Option<Falls> {
    let check = context.check(&interval.check)?;
    let equipment = &context.machine.traits.equipment;
    if check.applies.holds(equipment) == Holds::No || !check.requires.lacking(equipment).is_empty() {
        return None;
    }
    let today = context.now.date();
    let mounted = aging.parts.iter().filter(|part| part.place == interval.part);
    let mounted = mounted.filter_map(|part| Some((date(part.on.as_deref()?)?, *part))).max_by_key(|(on, _)| *on);
    // What was read before the mounting was of the part before.
    let made = last_answer(context, check, &aging.forms, one).map(|(answer, _)| answer);
    let made = made.filter(|answer| mounted.is_none_or(|(on, _)| answer.at.date() >= on));
    let made = made.and_then(|answer| if let Said::Day(on, _) = answer.said { Some(on) } else { None });
    let since = made.or(mounted.map(|(on, _)| on))?;
    let stated = too_old(context, check, one, since);
    let by_age = stated.or(interval.days.map(|days| days_later(since, days as i32)));
    let left_km = interval.km.zip(mounted).and_then(|(km, (on, part))| {
        let typed =
            part.odometer.as_deref().and_then(|typed| text::read(Kind::Distance, typed, DecimalSign::Point).ok());
        let then = typed.and_then(|amount| Distance::try_from(amount).ok()).map(Distance::km);
        // A trace that begins later does not know what it showed then.
        let known =
            || odometer(ridden.trace, on).filter(|_| ridden.trace.first().is_some_and(|(first, _)| *first <= on));
        Some((km - (odometer(ridden.trace, today)? - then.or_else(known)?)).max(0.0))
    });
    let by_distance = [1.0, 0.0, -1.0].map(|side| {
        let left = left_km?;
        let factor = libm::exp(side * NINETY_FIVE * ridden.riding.spread);
        ridden.season.day_of(ridden.riding, today, left / factor)
    });
    Some(Falls {
        machine: context.machine.id.clone(),
        check: check.id.clone(),
        part: interval.part.clone(),
        name: interval.name.clone(),
        order: interval.order.clone(),
        since,
        by_age,
        age_is_practice: stated.is_none(),
        by_distance,
        first: by_age.into_iter().chain(by_distance[1]).min(),
        left_km,
    })
}
