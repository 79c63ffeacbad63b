//! What a forecast does to a verdict: it only worsens, and never from what is usual alone; and a reading it did not expect.

use alloc::{format, string::ToString, vec::Vec};

use super::{
    Context, Outcome, Question, Verdict, case,
    living::{Given, Known, Living, Past, given, last_groups},
    reading::Judging,
};
use crate::{
    calendar::{Moment, days_between},
    check::{Check, Life, Yields},
    forecast::{
        coming::{Coming, Forecast, Gauge},
        effects::Effect,
        lives::worst,
        outlook::causes,
        practice::{Clock, bounds, days_count},
        riding::Within,
    },
    form::{Form, Said},
    limit::Counting,
    quantity::Distance,
    words::Use,
};

/// What was read of a part on its last day, and what that makes of its forecast.
struct Since<'e> {
    /// Readings of this very part, those since the estimate included.
    readings: usize,
    coming: Option<Coming<'e>>,
    surprise: Option<Surprise>,
}

/// A last reading outside its 99 % interval.
struct Surprise {
    /// What was expected, in the kind's unit.
    expected: [f64; 2],
    /// What was read.
    value: f64,
    /// Less wear than expected.
    is_safe: bool,
    /// It was read a second time, and is outside on the same side.
    is_again: bool,
    /// By two gauges that agree, or by the reason somebody gave.
    is_explained: bool,
}

/// One answer as the forecast takes it.
struct Look<'f> {
    given: Given<'f>,
    value: f64,
    times: f64,
}

impl<'c> Context<'c> {
    /// What the yard's newest estimate knows of the part that a check reads; none for one mounted since.
    #[must_use]
    pub fn forecast(&self, check: &Check) -> Option<Forecast<'c>> {
        let estimate = self.yard.forecast.as_deref()?;
        let known = estimate.kinds.iter().find(|known| known.check == check.id)?;
        let row = known.rows.iter().find(|row| row.machine == self.machine.id)?;
        let lives = self.machine.mountings.get(&known.part).copied().unwrap_or(0);
        (lives == row.lives).then_some(Forecast { estimate, known, row })
    }
}

/// What is to come of every part of a machine that the yard's newest estimate knows, by its limit for a use: with what was
/// read since taken in.
#[must_use]
pub fn coming<'c>(context: &Context<'c>, forms: &[&Form], one: Use) -> Vec<Coming<'c>> {
    let known: Vec<&Form> = forms.iter().copied().filter(|form| form.opened <= context.now).collect();
    let past = Past::of(&known, context.now);
    let kinds = context.yard.forecast.iter().flat_map(|estimate| &estimate.kinds);
    let checks = kinds.filter_map(|known| context.check(&known.check));
    checks.filter_map(|check| one_coming(context, check, (&known, &past), one)).collect()
}

fn one_coming<'c>(
    context: &Context<'c>,
    check: &'c Check,
    (forms, past): (&[&Form], &Past<'_>),
    one: Use,
) -> Option<Coming<'c>> {
    let forecast = context.forecast(check)?;
    let Yields::Read(measure) = &check.yields else { return None };
    let given = given(check, forms, context.now);
    let counting = context.limits(check, one);
    let judging = Judging { context, check, measure, one, counting };
    let groups = last_groups(check, Known { past, given: &given }, |given| judging.refusal(given).is_none());
    let last = groups.into_iter().last().unwrap_or_default();
    since(context, forecast, (&last, past), &judging.counting).coming
}

/// The outcome of a reading with what its forecast says, and whether that had a say: then how long an answer counts has one.
pub(super) fn applied(
    asked: &Question<'_>,
    judging: &Judging<'_>,
    living: &Living<'_>,
    outcome: Outcome,
) -> (Outcome, bool) {
    let context = asked.context;
    let found = context.forecast(asked.check).zip(living.groups.last());
    let Some((forecast, group)) = found.filter(|_| outcome.verdict != Verdict::Unseen) else {
        return (outcome, false);
    };
    let since = since(context, forecast, (group, asked.past), &judging.counting);
    let outcome = match since.surprise {
        Some(surprise) => surprised(judging, forecast, &surprise, outcome),
        None => outcome,
    };
    // From what is usual alone never: the part needs a reading of its own.
    let may = outcome.verdict == Verdict::Fit && since.readings > 0;
    let Some(coming) = since.coming.filter(|_| may) else { return (outcome, true) };
    let p = before_it_is_looked_at(asked, group, &coming);
    let is_soon = p > context.catalogue.rule.verdict.forecast.get();
    (if is_soon { worsened(context, &coming, p, outcome) } else { outcome }, true)
}

/// Turns a fit into a watch where the limit is likely to be met before anyone looks again.
fn worsened(context: &Context<'_>, coming: &Coming<'_>, p: f64, outcome: Outcome) -> Outcome {
    let estimate = coming.forecast.estimate;
    let mut outcome = Outcome {
        verdict: Verdict::Watch,
        reason: format!(
            "{}; forecast: {}, {} before it is looked at again",
            outcome.reason,
            coming.said(context.units),
            case::percent(p)
        ),
        ..outcome
    };
    outcome.working.push(format!(
        "forecast: 5, 50 and 95 % by the estimate of {} from {} of this part's own readings and {} of {} machines; SHA-256 {}",
        estimate.at.date(),
        coming.forecast.row.readings,
        coming.forecast.known.readings,
        coming.forecast.known.machines,
        estimate.hash
    ));
    outcome.todo("Plan the work; read it again sooner")
}

/// Asks for a second reading where the last was not expected. On the safe side it is not seen until it is explained; on the
/// bad side it counts.
fn surprised(judging: &Judging<'_>, forecast: Forecast<'_>, surprise: &Surprise, outcome: Outcome) -> Outcome {
    let shown = judging.context.shown(judging.measure);
    let figure = |value: f64| shown.text(value, forecast.known.unit);
    let [from, to] = surprise.expected;
    let read = format!("{} where {} to {} was expected", figure(surprise.value), figure(from), figure(to));
    let mut outcome = outcome;
    outcome.working.push(format!("not expected: {read} with 99 %, by the estimate of {}", forecast.estimate.at.date()));
    match (surprise.is_safe, surprise.is_again) {
        (true, _) if surprise.is_explained || outcome.verdict == Verdict::Hold => outcome,
        (true, again) => {
            let todo = if again {
                "Note the part mounted, read it with another instrument, or say why beside the reading"
            } else {
                "Read it a second time on the spot"
            };
            let reason = format!("{read}: less wear than can be");
            Outcome { verdict: Verdict::Unseen, reason, ..outcome }.todo(todo)
        }
        (false, true) => outcome,
        (false, false) => {
            let then = outcome
                .todo
                .take()
                .map_or_else(|| causes(&forecast.known.check, true).to_string(), |todo| format!("Then: {todo}"));
            let reason = format!("{}; {read}", outcome.reason);
            Outcome { reason, ..outcome }.todo(format!("Read it a second time on the spot. {then}"))
        }
    }
}

/// Probability that the limit is met before the answer's life is over, or within the outing at hand.
fn before_it_is_looked_at(asked: &Question<'_>, group: &[Given<'_>], coming: &Coming<'_>) -> f64 {
    let (now, past) = (asked.context.now, asked.past);
    let Some(last) = group.last() else { return 0.0 };
    let life = asked.check.life.of(asked.one);
    let ridden =
        past.odometer.zip(last.answer.odometer.or(last.form.odometer)).map_or(0.0, |(now, then)| now.km() - then.km());
    let passed = days_between(last.answer.at.date(), now.date()) as f64;
    let left = Within {
        km: life.km.map(|km| (km - ridden).max(0.0)),
        days: life.days.map(|days| (f64::from(days) - passed).max(0.0)),
    };
    let by_life = if life == (Life { days: None, km: None }) { 0.0 } else { coming.meets(left) };
    // What lives for an outing is looked at again after it; one without a distance is a day's riding.
    let outing = past.outing.filter(|outing| outing.back >= now);
    let days = outing.map_or(0, |outing| days_between(now.date(), outing.back.date())).max(0) as f64;
    let km = outing.and_then(|outing| outing.distance).map(Distance::km);
    by_life.max(coming.meets(Within { km, days: Some(days + 1.0) }))
}

/// Carries a row to now by the readings of the last day that are not in it yet.
fn since<'e>(
    context: &Context<'_>,
    forecast: Forecast<'e>,
    (group, past): (&[Given<'_>], &Past<'_>),
    counting: &Counting<'_>,
) -> Since<'e> {
    let Forecast { known, row, .. } = forecast;
    let looks: Vec<Look<'_>> = group.iter().filter_map(|given| look(forecast, given)).collect();
    let is_in = |look: &Look<'_>| second(look.given.answer.at) <= row.read_until;
    let gauge = |with: Option<&str>| gauge(context, forecast, with);
    let (mut state, mut count, mut at) = (row.state, row.count, row.read_until);
    let mut last = gauge(row.with.as_deref());
    let mut expected = row.expected.filter(|_| looks.iter().any(|look| second(look.given.answer.at) == row.read_until));
    let later: Vec<&Look<'_>> = looks.iter().filter(|look| !is_in(look)).collect();
    if let Some(first) = later.first() {
        let with = gauge(first.given.answer.with.as_deref());
        if let Some(read) = counted(known.clock, first.given.answer.at, odometer(&first.given).or(past.odometer)) {
            state = forecast.state_at(read, days(at, first.given.answer.at));
            (count, at) = (read.max(count), second(first.given.answer.at));
        }
        if expected.is_none() && row.readings > 0 {
            expected = Some(forecast.expected(&state, with));
        }
    }
    let surprise = expected.and_then(|expected| surprise(known.sign(), &looks, expected));
    let is_believed = surprise.as_ref().is_none_or(|surprise| !surprise.is_safe || surprise.is_explained);
    for look in later.iter().filter(|_| is_believed) {
        last = gauge(look.given.answer.with.as_deref());
        forecast.take(&mut state, (look.value, look.times), last);
    }
    if let Some(now) = counted(known.clock, context.now, past.odometer) {
        forecast.carry(&mut state, now - count, days(at, context.now));
    }
    let (_, limit, _) = bounds(counting, known.unit, known.usual);
    let past = looks.iter().rev().take_while(|look| known.sign() * (look.value - limit) > 0.0).last();
    let past = past.map(|look| look.given.answer.at.date());
    let coming = forecast.coming(state, last, (limit, context.now.date())).map(|coming| coming.past_since(past));
    let readings = row.readings as usize + later.len();
    Since { readings, coming, surprise }
}

/// The worst place of an answer.
fn look<'f>(forecast: Forecast<'_>, given: &Given<'f>) -> Option<Look<'f>> {
    let Said::Read(places) = &given.answer.said else { return None };
    let worst = worst(places, forecast.known.unit, forecast.known.sign())?;
    Some(Look { given: *given, value: worst.value, times: worst.times })
}

/// Whether the last look lies outside what was expected, and what others on its side say.
fn surprise(sign: f64, looks: &[Look<'_>], expected: [f64; 2]) -> Option<Surprise> {
    let [from, to] = expected;
    // None within; else whether it shows less wear than expected.
    let side = |look: &Look<'_>| match look.value {
        value if value < from => Some(sign > 0.0),
        value if value > to => Some(sign < 0.0),
        _ => None,
    };
    let last = looks.last()?;
    let is_safe = side(last)?;
    let same = || looks.iter().filter(|look| side(look) == Some(is_safe));
    let with = |look: &Look<'_>| look.given.answer.with.clone();
    let is_by_two = same().any(|look| with(look) != with(last));
    Some(Surprise {
        expected,
        value: last.value,
        is_safe,
        is_again: same().map(|look| look.times).sum::<f64>() >= 2.0,
        is_explained: is_by_two || same().any(|look| look.given.answer.why.is_some()),
    })
}

/// A gauge as the yard and the estimate know it.
fn gauge(context: &Context<'_>, forecast: Forecast<'_>, with: Option<&str>) -> Gauge {
    let unit = forecast.known.unit;
    let Some(id) = with else { return Gauge::default() };
    let own = context.yard.instruments.get(id);
    let stated = own.map_or(0.0, |own| own.deviation(unit));
    let plain = Effect { mean: 0.0, variance: stated * stated };
    let step = own.map_or(0.0, |own| own.resolution.value() * own.resolution.unit().step() / unit.step());
    Gauge { step, bias: forecast.estimate.gauge(id, unit).unwrap_or(plain) }
}

fn odometer(given: &Given<'_>) -> Option<Distance> {
    given.answer.odometer.or(given.form.odometer)
}

/// The count at a moment: of days, or of the odometer.
fn counted(clock: Clock, at: Moment, odometer: Option<Distance>) -> Option<f64> {
    match clock {
        Clock::Distance => odometer.map(|read| read.km() / 1000.0),
        Clock::Days => Some(days_count(at.date())),
    }
}

fn second(at: Moment) -> i64 {
    at.timestamp().as_second()
}

fn days(from: i64, to: Moment) -> f64 {
    (second(to) - from) as f64 / 86_400.0
}
