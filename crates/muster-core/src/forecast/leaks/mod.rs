//! Slow leaks: how fast a tyre loses air between pumpings, and the day its low limit is met.
//!
//! Cold readings of one machine are taken to the air as last noted. Between two pumpings a tyre loses at its own rate; each
//! gauge has a lasting error that all tyres of the machine show alike. Rates and errors are found together, the level of
//! each stretch between pumpings being anybody's: p = level − rate · days + error of the gauge + scatter.

mod air;
#[cfg(test)]
mod coverage;
mod rates;
mod stretches;

use alloc::{format, string::String, vec::Vec};

use jiff::civil::Date;

use super::{
    lives::Seen,
    practice::{Leaking, Practices},
    riding::first_day,
};
use crate::{calendar::days_later, check::Shown, judge::Context, quantity::Unit, words::Use};
use air::{air_c, tyre};
use rates::{Fitted, Losing, Standing, found};
use stretches::Happened;

/// A lasting error of a gauge nobody named, kPa: ± 3 psi of a stick gauge (`data/gauges.toml`).
const UNKNOWN_GAUGE_KPA: f64 = 12.0;
/// Fewer readings, or over fewer days, tell no rate.
const LEAST: (usize, f64) = (3, 6.0);
const DAY_S: f64 = 86_400.0;

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

/// One tyre.
struct Tyre<'p> {
    leaking: &'p Leaking,
    limit_kpa: f64,
    shown: Shown,
}

/// The leaks of a machine's tyres, by its limits for a use.
#[must_use]
pub fn leaks(context: &Context<'_>, practices: &Practices, seen: &Seen<'_>, one: Use) -> Vec<Leak> {
    let celsius = air_c(seen, context.now);
    let mut gauges: Vec<Option<String>> = Vec::new();
    let tyres = practices.leaks.iter().filter_map(|of| tyre(context, (of, seen), (celsius, one), &mut gauges));
    let (tyres, happened): (Vec<Tyre<'_>>, Vec<Vec<Happened>>) = tyres.unzip();
    if tyres.is_empty() {
        return Vec::new();
    }
    let deviation = |id: &Option<String>| {
        let gauge = id.as_ref().and_then(|id| context.yard.instruments.get(id));
        gauge.map_or(UNKNOWN_GAUGE_KPA, |gauge| gauge.deviation(Unit::Kilopascal)).max(0.1)
    };
    let deviations: Vec<f64> = gauges.iter().map(deviation).collect();
    let losing = tyres.iter().zip(happened).map(|(tyre, of)| Losing::new(tyre.leaking.day_kpa, of, &deviations));
    let mut losing: Vec<Losing> = losing.collect();
    let Some(fitted) = found(&mut losing, &deviations) else { return Vec::new() };
    let told = tyres
        .iter()
        .zip(&losing)
        .enumerate()
        .filter_map(|(index, tyre)| leak(context, tyre, (index, &fitted), (celsius, one)));
    told.map(|leak| Leak { machine: seen.machine.into(), ..leak }).collect()
}

fn leak(
    context: &Context<'_>,
    (tyre, losing): (&Tyre<'_>, &Losing),
    (of, fit): (usize, &Fitted),
    (celsius, one): (f64, Use),
) -> Option<Leak> {
    let all = || losing.stretches.iter().filter(|stretch| stretch.len() > 1).flatten();
    let over: f64 =
        losing.stretches.iter().map(|of| of.last().zip(of.first()).map_or(0.0, |(b, a)| b.day - a.day)).sum();
    if all().count() < LEAST.0 || over < LEAST.1 {
        return None;
    }
    let last = losing.stretches.last()?;
    let today = context.now.timestamp().as_second() as f64 / DAY_S;
    let stands = Standing::of(fit, of, losing, today)?;
    let is_low = last.last()?.kpa < tyre.limit_kpa;
    let by = |days: i32| stands.met_by(tyre.limit_kpa, f64::from(days));
    let on = |p: f64| first_day(|days| by(days) >= p).map(|days| days_later(context.now.date(), days));
    let days = if is_low { [Some(context.now.date()); 3] } else { [0.05, 0.5, 0.95].map(on) };
    let Standing { now_kpa, is_faster, .. } = stands;
    let week_kpa = stands.week_kpa();
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
