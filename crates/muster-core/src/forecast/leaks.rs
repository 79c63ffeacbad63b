//! Slow leaks: how fast a tyre loses air between pumpings, and the day its low limit is met.
//!
//! Cold readings of one machine are taken to the air as last noted. Between two pumpings a tyre loses at its own rate; each
//! gauge has a lasting error that all tyres of the machine show alike. Rates and errors are found together, the level of
//! each stretch between pumpings being anybody's: p = level − rate · days + error of the gauge + scatter.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    format,
    string::String,
    vec,
    vec::Vec,
};

use jiff::civil::Date;

use super::{
    lives::{Seen, standing, worst},
    matrix,
    practice::{Leaking, Practices},
    riding::first_day,
};
use crate::{
    calendar::{Moment, days_later},
    check::{Shown, Yields},
    equipment::Holds,
    form::{Answer, Form, Said},
    formula::tyre_gas::{self, Surroundings},
    judge::Context,
    quantity::{AbsolutePressure, GaugePressure, Temperature, Unit},
    state::Heat,
    statistics::normal,
    words::Use,
};

/// How far back readings are looked at, in days: a rate of last year says little of this valve.
const BACK_DAYS: f64 = 120.0;
/// A cold reading's scatter in kPa before readings say more: sun on a tyre, a valve, a thermometer on a wall. Practice.
const SCATTER_KPA: f64 = 3.0;
/// How many readings' worth that is.
const SCATTER_WORTH: f64 = 8.0;
/// A lasting error of a gauge nobody named, kPa: ± 3 psi of a stick gauge (`data/gauges.toml`).
const UNKNOWN_GAUGE_KPA: f64 = 12.0;
/// More than this gained between two readings with one gauge is air put in and not noted, kPa; with two gauges, which
/// differ, the other; more than four times this lost within two days is a new hole.
const PUMPED_KPA: [f64; 2] = [6.0, 10.0];
/// A tyre that lost nothing over so many days was pumped, and nobody noted it.
const LONG_DAYS: f64 = 14.0;
/// Fewer readings, or over fewer days, tell no rate.
const LEAST: (usize, f64) = (3, 6.0);
/// How far a usual rate spreads, as a share of it.
const USUAL_SPREAD: f64 = 0.8;
const DAY_S: f64 = 86_400.0;
/// Where nobody noted the air, in °C: the standard reference temperature (ISO 1).
const STANDARD_CELSIUS: f64 = 20.0;
/// Nodes and weights of Gauss–Hermite, order 5, for a standard normal variable (Abramowitz & Stegun, table 25.10).
const NODES: [(f64, f64); 5] = super::riding::NODES;

/// How a tyre loses air.
#[derive(Clone, Debug, PartialEq)]
pub struct Leak {
    /// The machine.
    pub machine: String,
    /// The check its pressure is read at.
    pub check: String,
    /// What people call it.
    pub name: String,
    /// Loss in kPa a week with 5, 50, 95 %.
    pub week_kpa: [f64; 3],
    /// What it would show today, cold.
    pub now_kpa: f64,
    /// The low limit.
    pub limit_kpa: f64,
    /// The use it binds.
    pub one: Use,
    /// The air all this is told for, in °C.
    pub celsius: f64,
    /// Days by which the low limit is met with 5, 50, 95 %; none: not within ten years.
    pub days: [Option<Date>; 3],
    /// The last reading is below the low limit.
    pub is_low: bool,
    /// It loses more since it was last pumped than it did before.
    pub is_faster: bool,
    /// Readings it rests on.
    pub readings: usize,
    shown: Shown,
}

impl Leak {
    /// In words: `loses 2.1 kPa a week (1.0 to 3.2); low limit 200 kPa for road met on 2026-12-20 (2026-12-02 to 2027-03-01)`.
    #[must_use]
    pub fn said(&self) -> String {
        let unit = self.shown.unit;
        // A week's loss is small beside what a gauge shows: one digit more.
        let decimals = self.shown.decimals + 1;
        let figure = |kpa: f64| format!("{:.decimals$}", kpa * Unit::Kilopascal.step() / unit.step());
        let [least, middle, most] = self.week_kpa.map(figure);
        let faster =
            if self.is_faster { ", more than before it was last pumped: look for a nail, a leaking valve" } else { "" };
        let limit = format!("{} for {}", self.shown.text(self.limit_kpa, Unit::Kilopascal), self.one);
        let day = |day: Option<Date>| day.map_or_else(|| "after ten years".into(), |day| format!("{day}"));
        let [first, usual, last] = self.days.map(day);
        let met = if self.is_low {
            format!("below its low limit {limit} now")
        } else {
            format!("low limit {limit} met on {usual} ({first} to {last})")
        };
        let unit = unit.symbol();
        format!(
            "loses {middle}\u{a0}{unit} a week ({least} to {most}){faster}; {met}, in air of {:.0}\u{a0}°C",
            self.celsius
        )
    }
}

/// One cold reading.
struct Look {
    /// Days after the first moment there is.
    day: f64,
    kpa: f64,
    gauge: usize,
    step_kpa: f64,
}

/// Readings between two pumpings.
type Stretch = Vec<Look>;

/// One tyre.
struct Tyre<'p> {
    leaking: &'p Leaking,
    limit_kpa: f64,
    shown: Shown,
    stretches: Vec<Stretch>,
}

/// The leaks of a machine's tyres, by its limits for a use.
#[must_use]
pub fn leaks(context: &Context<'_>, practices: &Practices, seen: &Seen<'_>, one: Use) -> Vec<Leak> {
    let celsius = air_c(seen, context.now);
    let mut gauges: Vec<Option<String>> = Vec::new();
    let tyres = practices.leaks.iter().filter_map(|of| tyre(context, (of, seen), (celsius, one), &mut gauges));
    let tyres: Vec<Tyre<'_>> = tyres.collect();
    if tyres.is_empty() {
        return Vec::new();
    }
    let deviation = |id: &Option<String>| {
        let gauge = id.as_ref().and_then(|id| context.yard.instruments.get(id));
        gauge.map_or(UNKNOWN_GAUGE_KPA, |gauge| gauge.deviation(Unit::Kilopascal)).max(0.1)
    };
    let deviations: Vec<f64> = gauges.iter().map(deviation).collect();
    let Some(fitted) = Fitted::of(&tyres, &deviations) else { return Vec::new() };
    let told =
        tyres.iter().enumerate().filter_map(|(index, tyre)| leak(context, tyre, (index, &fitted), (celsius, one)));
    told.map(|leak| Leak { machine: seen.machine.into(), ..leak }).collect()
}

fn tyre<'p>(
    context: &Context<'_>,
    (leaking, seen): (&'p Leaking, &Seen<'_>),
    (celsius, one): (f64, Use),
    gauges: &mut Vec<Option<String>>,
) -> Option<Tyre<'p>> {
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
    let (mut stretches, mut was_set) = (Vec::<Stretch>::new(), false);
    for (_, is_set, look) in looks {
        was_set |= is_set;
        let Some(look) = look else { continue };
        match stretches.last_mut() {
            Some(stretch) if !was_set && goes_on(stretch, &look) => stretch.push(look),
            _ => stretches.push(vec![look]),
        }
        was_set = false;
    }
    if was_set {
        stretches.push(Vec::new());
    }
    Some(Tyre { leaking, limit_kpa, shown: context.shown(measure), stretches })
}

/// Whether a reading is of the air that was there: not pumped since and not noted, no new hole.
fn goes_on(stretch: &[Look], look: &Look) -> bool {
    stretch.last().is_none_or(|last| {
        let (gained, days) = (look.kpa - last.kpa, look.day - last.day);
        // A coarse gauge shows its steps.
        let most = PUMPED_KPA[usize::from(last.gauge != look.gauge)] + look.step_kpa.max(last.step_kpa) / 2.0;
        gained <= most && (gained < 0.0 || days < LONG_DAYS) && (gained >= -4.0 * most || days > 2.0)
    })
}

/// The air as it was last noted here, in °C: a limit binds at the air's temperature now, so all readings are taken to it.
fn air_c(seen: &Seen<'_>, now: Moment) -> f64 {
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

/// The covariance of what was found, never less than stretches between pumpings differ by: what nobody noted, a valve
/// tightened, air put in, is in whole stretches (Liang & Zeger 1986).
fn robust(inverse: &[Vec<f64>], scores: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let used = scores.iter().filter(|score| score.iter().any(|of| *of != 0.0)).count();
    let mut out = inverse.to_vec();
    if used < 2 {
        return out;
    }
    let few = used as f64 / (used as f64 - 1.0);
    for (index, row) in inverse.iter().enumerate() {
        let own = |score: &Vec<f64>| row.iter().zip(score).map(|(a, g)| a * g).sum::<f64>();
        let between = few * scores.iter().map(own).map(|of| of * of).sum::<f64>();
        let model = row.get(index).copied().unwrap_or(0.0);
        let wider = libm::sqrt((between / model.max(1e-300)).max(1.0));
        for (at, line) in out.iter_mut().enumerate() {
            for (other, cell) in line.iter_mut().enumerate() {
                // Its own variance by both.
                *cell *= if at == index { wider } else { 1.0 } * if other == index { wider } else { 1.0 };
            }
        }
    }
    out
}

/// Rates of all tyres and errors of all gauges together.
struct Fitted {
    /// Rates in kPa a day, then errors in kPa.
    mean: Vec<f64>,
    cov: Vec<Vec<f64>>,
    /// A reading's own variance, kPa².
    scatter: f64,
    tyres: usize,
}

impl Fitted {
    /// Least squares with what is usual beside it, each reading far off weighing less (Huber 1964); the scatter by what is
    /// left over.
    fn of(tyres: &[Tyre<'_>], deviations: &[f64]) -> Option<Self> {
        let n = tyres.len() + deviations.len();
        let usual = |index: usize| match tyres.get(index) {
            Some(tyre) => (tyre.leaking.day_kpa, tyre.leaking.day_kpa * USUAL_SPREAD),
            None => (0.0, deviations.get(index - tyres.len()).copied().unwrap_or(UNKNOWN_GAUGE_KPA)),
        };
        let mean = (0..n).map(|index| usual(index).0).collect();
        let mut fit = Self { mean, cov: Vec::new(), scatter: SCATTER_KPA * SCATTER_KPA, tyres: tyres.len() };
        for _ in 0..8 {
            let (mut system, mut right) = (vec![vec![0.0; n]; n], vec![0.0; n]);
            for index in 0..n {
                let (mean, deviation) = usual(index);
                system[index][index] += 1.0 / (deviation * deviation);
                right[index] += mean / (deviation * deviation);
            }
            let (mut squares, mut count) = (SCATTER_WORTH * SCATTER_KPA * SCATTER_KPA, SCATTER_WORTH);
            for (of, stretch) in
                tyres.iter().enumerate().flat_map(|(of, tyre)| tyre.stretches.iter().map(move |s| (of, s)))
            {
                let (s, c) = fit.gather(of, stretch, &mut system, &mut right);
                (squares, count) = (squares + s, count + c);
            }
            let inverse = matrix::inverse(&system)?;
            let stretches =
                || tyres.iter().enumerate().flat_map(|(of, tyre)| tyre.stretches.iter().map(move |s| (of, s)));
            let scores: Vec<_> = stretches().map(|(of, stretch)| fit.score(of, stretch, n)).collect();
            fit.cov = robust(&inverse, &scores);
            fit.mean = inverse.iter().map(|row| row.iter().zip(&right).map(|(a, b)| a * b).sum()).collect();
            fit.scatter = squares / count;
        }
        Some(fit)
    }

    fn rate(&self, of: usize) -> (f64, f64) {
        let variance = self.cov.get(of).and_then(|row| row.get(of)).copied().unwrap_or(0.0);
        (self.mean.get(of).copied().unwrap_or(0.0), variance.max(1e-12))
    }

    /// The error of a gauge, and its variance.
    fn error(&self, gauge: usize) -> (f64, f64) {
        self.rate(self.tyres + gauge)
    }

    /// The weight of each reading of a stretch, and where their middle lies: day and level there.
    fn weighed(&self, of: usize, stretch: &[Look]) -> (Vec<f64>, f64, f64) {
        let (rate, _) = self.rate(of);
        let left = |look: &Look| look.kpa + rate * look.day - self.error(look.gauge).0;
        let mut offs: Vec<f64> = stretch.iter().map(left).collect();
        crate::sorted::sort_by(&mut offs, f64::total_cmp);
        let middle = offs.get(offs.len() / 2).copied().unwrap_or(0.0);
        let weight = |look: &Look| {
            let variance = self.scatter + look.step_kpa * look.step_kpa / 12.0;
            let off = libm::fabs(left(look) - middle) / libm::sqrt(variance);
            (2.0 / off.max(2.0)) / variance
        };
        let weights: Vec<f64> = stretch.iter().map(weight).collect();
        let all: f64 = weights.iter().sum();
        let mean = |read: &dyn Fn(&Look) -> f64| {
            stretch.iter().zip(&weights).map(|(look, w)| w * read(look)).sum::<f64>() / all.max(1e-12)
        };
        let day = mean(&|look| look.day);
        let level = mean(&|look| look.kpa - self.error(look.gauge).0);
        (weights, day, level)
    }

    /// What a stretch pulls at each rate and error, once they are found.
    fn score(&self, of: usize, stretch: &[Look], n: usize) -> Vec<f64> {
        let (mut system, mut right) = (vec![vec![0.0; n]; n], vec![0.0; n]);
        self.gather(of, stretch, &mut system, &mut right);
        let pulled =
            |(right, row): (&f64, &Vec<f64>)| right - row.iter().zip(&self.mean).map(|(a, b)| a * b).sum::<f64>();
        right.iter().zip(&system).map(pulled).collect()
    }

    /// Adds what a stretch says, whatever its level; returns squares left over and how many readings they are of.
    fn gather(&self, of: usize, stretch: &[Look], system: &mut [Vec<f64>], right: &mut [f64]) -> (f64, f64) {
        let (weights, ..) = self.weighed(of, stretch);
        let all: f64 = weights.iter().sum();
        let gauges: BTreeSet<usize> = stretch.iter().map(|look| look.gauge).collect();
        let columns: Vec<usize> = [of].into_iter().chain(gauges.iter().map(|gauge| self.tyres + gauge)).collect();
        let cell = |look: &Look, column: usize| match column {
            column if column == of => -look.day,
            column => f64::from(u8::from(self.tyres + look.gauge == column)),
        };
        let mean = |read: &dyn Fn(&Look) -> f64| {
            stretch.iter().zip(&weights).map(|(look, w)| w * read(look)).sum::<f64>() / all.max(1e-12)
        };
        let centres: BTreeMap<usize, f64> =
            columns.iter().map(|column| (*column, mean(&|look| cell(look, *column)))).collect();
        let level = mean(&|look| look.kpa);
        let (mut squares, mut worth) = (0.0, 0.0);
        for (look, w) in stretch.iter().zip(&weights) {
            let y = look.kpa - level;
            let x = |column: usize| cell(look, column) - centres.get(&column).copied().unwrap_or(0.0);
            let mut left = y;
            for a in &columns {
                right[*a] += w * x(*a) * y;
                left -= x(*a) * self.mean.get(*a).copied().unwrap_or(0.0);
                for b in &columns {
                    system[*a][*b] += w * x(*a) * x(*b);
                }
            }
            // Of a weight of its own scatter each is one reading.
            let own = w * (self.scatter + look.step_kpa * look.step_kpa / 12.0);
            (squares, worth) = (squares + own * left * left, worth + own);
        }
        // The level was found from them too.
        (squares, (worth - 1.0).max(0.0))
    }
}

fn leak(
    context: &Context<'_>,
    tyre: &Tyre<'_>,
    (of, fit): (usize, &Fitted),
    (celsius, one): (f64, Use),
) -> Option<Leak> {
    let all = || tyre.stretches.iter().filter(|stretch| stretch.len() > 1).flatten();
    let over: f64 = tyre.stretches.iter().map(|of| of.last().zip(of.first()).map_or(0.0, |(b, a)| b.day - a.day)).sum();
    if all().count() < LEAST.0 || over < LEAST.1 {
        return None;
    }
    let last = tyre.stretches.last()?;
    let (weights, day, level) = fit.weighed(of, last);
    let (rate, variance, is_faster) = newest(fit, (of, last), (&weights, day));
    let today = context.now.timestamp().as_second() as f64 / DAY_S;
    let worth: f64 = weights.iter().sum();
    let gauge = last.iter().map(|look| fit.error(look.gauge).1).fold(0.0, f64::max);
    let since = today - day;
    let (now_kpa, level_variance) = (level - rate * since, 1.0 / worth.max(1e-12) + gauge);
    let room = now_kpa - tyre.limit_kpa;
    let newest = last.last()?;
    let is_low = newest.kpa < tyre.limit_kpa;
    let by = |days: f64| met_by(days, room, (rate, variance), (since, level_variance));
    let on = |p: f64| first_day(|days| by(f64::from(days)) >= p).map(|days| days_later(context.now.date(), days));
    let days = if is_low { [Some(context.now.date()); 3] } else { [0.05, 0.5, 0.95].map(on) };
    let spread = 1.645 * libm::sqrt(variance);
    let week_kpa = [rate - spread, rate, rate + spread].map(|rate| 7.0 * rate.max(0.0));
    let (check, name) = (tyre.leaking.check.clone(), tyre.leaking.name.clone());
    let (limit_kpa, readings, shown) = (tyre.limit_kpa, all().count(), tyre.shown);
    let machine = String::new();
    Some(Leak {
        machine,
        check,
        name,
        week_kpa,
        now_kpa,
        limit_kpa,
        one,
        celsius,
        days,
        is_low,
        is_faster,
        readings,
        shown,
    })
}

/// The rate since it was last pumped, where it is clearly more than that of all stretches; else theirs.
fn newest(fit: &Fitted, (of, last): (usize, &[Look]), (weights, day): (&[f64], f64)) -> (f64, f64, bool) {
    let (rate, variance) = fit.rate(of);
    let (mut xx, mut xy) = (0.0, 0.0);
    for (look, w) in last.iter().zip(weights) {
        let x = look.day - day;
        xx += w * x * x;
        xy -= w * x * (look.kpa - fit.error(look.gauge).0);
    }
    if last.len() < LEAST.0 || xx <= 0.0 {
        return (rate, variance, false);
    }
    let (own, own_variance) = (xy / xx, 1.0 / xx);
    let is_faster = own - rate > 2.6 * libm::sqrt(own_variance + variance);
    if is_faster { (own, own_variance, true) } else { (rate, variance, false) }
}

/// Probability that `room` kPa are lost by so many days: the rate positive, its lognormal of equal mean and variance; the
/// level told `since` days ago, so that a faster tyre has less left already.
fn met_by(days: f64, room: f64, (rate, variance): (f64, f64), (since, level_variance): (f64, f64)) -> f64 {
    let mean = rate.max(0.05 * libm::sqrt(variance)).max(1e-6);
    let log_variance = libm::log(1.0 + variance / (mean * mean));
    let one = |(xi, weight): &(f64, f64)| {
        let own = mean * libm::exp(libm::sqrt(log_variance) * xi - log_variance / 2.0);
        let left = room - (own - rate) * since - own * days;
        weight * normal::cdf(-left / libm::sqrt(level_variance))
    };
    NODES.iter().map(one).sum::<f64>().clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{quantity::Unit, source::Provenance, words::Known};

    fn leaking() -> Leaking {
        let provenance = Provenance { title: "invented".into(), place: None, known: Known::Invented };
        Leaking { check: "tyre.front.pressure".into(), name: "Air".into(), day_kpa: 0.3, provenance }
    }

    /// A tyre that loses so much a day, read each third day with two gauges in turn, the second 3 kPa too high; pumped
    /// each month.
    fn tyre(leaking: &Leaking, a_day: f64) -> Tyre<'_> {
        let look = |month: usize, at: usize| {
            let day = (3 * at) as f64;
            let kpa = 230.0 - a_day * day + if at % 2 == 1 { 3.0 } else { 0.0 };
            Look { day: 30.0 * month as f64 + day, kpa, gauge: at % 2, step_kpa: 0.0 }
        };
        let stretches = (0..4).map(|month| (0..10).map(|at| look(month, at)).collect()).collect();
        let shown = Shown { unit: Unit::Kilopascal, decimals: 0 };
        Tyre { leaking, limit_kpa: 200.0, shown, stretches }
    }

    #[test]
    fn a_rate_is_found_beside_the_gauges_errors() {
        let of = leaking();
        for a_day in [0.05, 0.3, 1.5] {
            let fit = Fitted::of(&[tyre(&of, a_day)], &[5.0, 5.0]).unwrap();
            let ((rate, variance), (a, _), (b, _)) = (fit.rate(0), fit.error(0), fit.error(1));
            // What is usual weighs a little beside forty readings.
            assert!((rate - a_day).abs() < 0.02 && variance < 0.01, "{rate} of {a_day}");
            // What all gauges share nobody can tell from a level.
            assert!((b - a - 3.0).abs() < 0.1, "{a} {b}");
        }
    }

    #[test]
    fn the_day_follows_from_what_is_left_and_the_rate() {
        // Without any doubt: 15 kPa at 0.5 a day are lost in 30 days.
        let by = |days| met_by(days, 15.0, (0.5, 1e-12), (0.0, 1e-12));
        assert!(by(29.9) < 0.01 && by(30.1) > 0.99);
        // The level alone in doubt: the normal law, Φ(1) at one deviation past it (NIST/SEMATECH e-Handbook, 1.3.6.7.1).
        let p = met_by(34.0, 15.0, (0.5, 1e-12), (0.0, 4.0));
        assert!((p - 0.841_344_746).abs() < 1e-6, "{p}");
        // More days never make it less likely, and a tyre that is low is low now.
        let doubtful = |days| met_by(days, 15.0, (0.2, 0.04), (5.0, 4.0));
        assert!((0..400).all(|days| doubtful(f64::from(days)) <= doubtful(f64::from(days) + 1.0) + 1e-12));
        assert!(met_by(0.0, -10.0, (0.2, 0.04), (0.0, 4.0)) > 0.99);
    }

    #[test]
    fn air_put_in_and_not_noted_begins_a_stretch() {
        let look = |day, kpa, gauge| Look { day, kpa, gauge, step_kpa: 0.0 };
        let last = [look(0.0, 200.0, 0)];
        for (next, is_on) in [
            (look(1.0, 203.0, 0), true),
            (look(1.0, 207.0, 0), false),
            (look(1.0, 207.0, 1), true),
            (look(20.0, 201.0, 0), false),
            (look(20.0, 190.0, 0), true),
            (look(1.0, 150.0, 0), false),
            (look(9.0, 150.0, 0), true),
        ] {
            assert_eq!(goes_on(&last, &next), is_on, "{} {}", next.day, next.kpa);
        }
    }
}
