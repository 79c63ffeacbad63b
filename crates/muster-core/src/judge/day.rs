//! Judges a date: a paper at the planned return, a part by its age.

use alloc::{
    format,
    string::{String, ToString},
};

use jiff::civil::Date;

use super::{
    Context, Outcome, Question, Verdict,
    living::{Given, Living},
};
use crate::{
    calendar::days_between,
    check::{Check, DateOf},
    form::Said,
    formula::age::Age,
    limit::Limit,
    quantity::{Unit, show},
    words::{Layer, Use},
};

/// The verdict of a date for a use.
pub(super) fn judge(asked: &Question<'_>, of: DateOf, living: &Living<'_>) -> Outcome {
    let &Question { context, check, one, .. } = asked;
    let (class, row) = context.class(check, one);
    let new = |verdict, reason: String| asked.outcome(verdict, reason).classed(class);
    let last = living.groups.last().and_then(|group| group.last());
    let Some((given, day, within)) = last.and_then(said) else {
        return new(Verdict::Unseen, "not answered".to_string());
    };
    let on = asked.past.back.map_or(context.now.date(), crate::calendar::Moment::date);
    let ahead = check.life.of(one).days.map_or(0, i64::from);
    let later = context.now.later_by(ahead * 86_400).date().max(on);
    let mut outcome = match of {
        DateOf::Expires => {
            let outcome = expires(&new, day, on);
            let rests_on_law = outcome.verdict == Verdict::Hold && row.is_some();
            Outcome { rests_on_law, source: row.map(|row| row.provenance.to_string()), ..outcome }
        }
        DateOf::Made { .. } => made(context, check, (day, within), (on, later), one),
    };
    outcome.by = Some(given.answer.by.clone());
    outcome.at = Some(given.answer.at.to_string());
    outcome
}

fn said<'f>(given: &Given<'f>) -> Option<(Given<'f>, Date, u16)> {
    match given.answer.said {
        Said::Day(day, within) => Some((*given, day, within)),
        _ => None,
    }
}

/// A paper is good through its last day, judged at the planned return where the machine is.
fn expires(new: &impl Fn(Verdict, String) -> Outcome, day: Date, on: Date) -> Outcome {
    if day < on {
        return new(Verdict::Hold, format!("ran out on {day}, back on {on}"))
            .todo("Renew it before the machine goes out");
    }
    new(Verdict::Fit, format!("good until {day}"))
}

fn made(
    context: &Context<'_>,
    check: &Check,
    (day, within): (Date, u16),
    (on, later): (Date, Date),
    one: Use,
) -> Outcome {
    let new = |verdict, reason: String| Outcome::new(&check.id, &check.name, one, verdict, reason).classed(check.class);
    let counting = context.limits(check, one);
    let Some((row, most)) = strictest(&counting.bounds) else {
        return new(Verdict::Unseen, "age limit not known".to_string()).todo("Read the handbook for the age it allows");
    };
    // A tyre's week is a span of days: the oldest it can be counts for the miss, so the limit is met by all of it.
    let (Ok(oldest), Ok(then)) = (Age::between(day, on), Age::between(day, later)) else {
        return new(Verdict::Unseen, format!("made {day}, after the day it is judged on")).todo("Read the code again");
    };
    let mut outcome = if oldest.decimal_years() > most {
        new(Verdict::Hold, format!("{} old, at most {}", years(oldest.decimal_years()), years(most)))
            .todo("Have it replaced")
    } else if then.decimal_years() > most {
        new(
            Verdict::Watch,
            format!(
                "{} old, reaches {} within {} days",
                years(oldest.decimal_years()),
                years(most),
                days_between(on, later)
            ),
        )
        .todo("Have it replaced before then")
    } else {
        new(Verdict::Fit, format!("{} old, at most {}", years(oldest.decimal_years()), years(most)))
    };
    outcome.share = Some((most - oldest.decimal_years()) / most);
    outcome.source = Some(row.provenance.to_string());
    let past = |row: &&Limit| row.at_most.is_some_and(|most| oldest.decimal_years() > most.in_unit(Unit::Year));
    outcome.rests_on_law = counting.bounds.iter().any(|row| row.layer == Layer::Law && past(row));
    outcome.class = context.class_of(check, row.class, one);
    if within > 0 {
        outcome.working.push(format!("made in the {within} days from {day}; the first of them counts"));
    }
    outcome
}

pub(super) fn strictest<'l>(bounds: &[&'l Limit]) -> Option<(&'l Limit, f64)> {
    let ages = bounds.iter().filter_map(|row| row.at_most.map(|most| (*row, most.in_unit(Unit::Year))));
    ages.min_by(|a, b| a.1.total_cmp(&b.1))
}

fn years(value: f64) -> String {
    format!("{} years", show::figure(libm::floor(value * 10.0) / 10.0))
}
