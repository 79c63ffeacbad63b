//! What falls due on a day that is known: papers that run out, parts that grow too old, answers that lapse.

use alloc::{string::String, vec::Vec};

use jiff::civil::Date;

use super::{Context, Unanswered, day, living};
use crate::{
    calendar::{days_between, days_later},
    check::{Check, DateOf, Yields},
    equipment::Holds,
    form::{Answer, Form, Said},
    formula::age::Age,
    named::named,
    sorted::sort_by,
    words::{Service, Use, Uses},
};

named! {
    /// How something falls due.
    Falls, "way to fall due", "runs-out, too-old, lapses":
    /// A paper is good through this day.
    RunsOut = "runs-out",
    /// A part is within its age through this day.
    TooOld = "too-old",
    /// The last answer to the check counts through this day.
    Lapses = "lapses",
}

/// Something of a machine that is good through a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    /// The check.
    pub check: String,
    /// Its name.
    pub name: String,
    /// How it falls due.
    pub falls: Falls,
    /// The last day it is good; of several uses the first of their days.
    pub on: Date,
    /// The uses that day binds.
    pub uses: Uses,
}

/// Shorter lives are answered by the walk-rounds of the week: in a list of days they would bury all else.
const SHORTEST_LIFE_DAYS: u16 = 7;

/// The longest a part's age is looked ahead, in days: a century.
const LONGEST_AGE_DAYS: i32 = 36_525;

/// What falls due of a machine in service, first day first; what is overdue stays on its day. What lapses by kilometres,
/// by an event or with the outing has no day and is not here.
#[must_use]
pub fn due(context: &Context<'_>, forms: &[&Form]) -> Vec<Due> {
    if context.machine.service != Service::InService {
        return Vec::new();
    }
    let equipment = &context.machine.traits.equipment;
    let applies =
        |check: &&Check| check.applies.holds(equipment) != Holds::No && check.requires.lacking(equipment).is_empty();
    let mut all = Vec::new();
    for check in context.checks().filter(applies) {
        let mut of_check: Vec<Due> = Vec::new();
        for one in Use::ALL.iter().copied().filter(|one| check.uses.contains(*one)) {
            let Some((answer, lives)) = last(context, check, forms, one) else { continue };
            for (falls, on) in days(context, check, one, answer, lives) {
                note(&mut of_check, check, falls, (on, one));
            }
        }
        all.append(&mut of_check);
    }
    sort_by(&mut all, |a, b| (a.on, &a.check, a.falls).cmp(&(b.on, &b.check, b.falls)));
    all
}

/// The last answer to a check, and whether it still counts; none if there is none, or an event has ended it.
pub(crate) fn last<'f>(
    context: &Context<'_>,
    check: &Check,
    forms: &[&'f Form],
    one: Use,
) -> Option<(&'f Answer, bool)> {
    match living(check, forms, one, context.now) {
        Ok(living) => Some((living.groups.last()?.last()?.answer, true)),
        Err(Unanswered::Lapsed(_)) => {
            let answers = forms.iter().flat_map(|form| &form.answers);
            let answers = answers.filter(|answer| answer.check == check.id && answer.at <= context.now);
            Some((answers.max_by_key(|answer| answer.at)?, false))
        }
        Err(_) => None,
    }
}

fn days(
    context: &Context<'_>,
    check: &Check,
    one: Use,
    answer: &Answer,
    lives: bool,
) -> impl Iterator<Item = (Falls, Date)> {
    let said = match (&check.yields, &answer.said) {
        (Yields::Date(DateOf::Expires), Said::Day(day, _)) => Some((Falls::RunsOut, *day)),
        (Yields::Date(DateOf::Made { .. }), Said::Day(made, _)) => {
            too_old(context, check, one, *made).map(|on| (Falls::TooOld, on))
        }
        _ => None,
    };
    let days = check.life.of(one).days.filter(|days| *days >= SHORTEST_LIFE_DAYS);
    let until = days.map(|days| days_later(answer.at.date(), i32::from(days)));
    // What was ended earlier, by kilometres or by an event, was not ended by the day it would have lapsed on.
    let until = until.filter(|until| lives || *until < context.now.date());
    said.into_iter().chain(until.map(|on| (Falls::Lapses, on)))
}

/// The last day a part is within the strictest age that counts.
pub(crate) fn too_old(context: &Context<'_>, check: &Check, one: Use, made: Date) -> Option<Date> {
    let counting = context.limits(check, one);
    let (_, most) = day::strictest(&counting.bounds)?;
    let within = |days: i32| Age::between(made, days_later(made, days)).is_ok_and(|age| age.decimal_years() <= most);
    let (mut good, mut past) = (0, LONGEST_AGE_DAYS);
    if !within(good) || within(past) {
        return None;
    }
    while past - good > 1 {
        let middle = good + (past - good) / 2;
        if within(middle) { good = middle } else { past = middle }
    }
    Some(days_later(made, good))
}

/// Notes a use's day: an earlier one counts alone, the same one binds both uses.
fn note(of_check: &mut Vec<Due>, check: &Check, falls: Falls, (on, one): (Date, Use)) {
    let uses = Uses::NONE.with(one);
    let Some(known) = of_check.iter_mut().find(|due| due.falls == falls) else {
        let (id, name) = (check.id.clone(), check.name.clone());
        return of_check.push(Due { check: id, name, falls, on, uses });
    };
    match days_between(known.on, on) {
        0 => known.uses = known.uses.with(one),
        later if later > 0 => {}
        _ => (known.on, known.uses) = (on, uses),
    }
}
