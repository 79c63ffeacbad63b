//! An estimate as the record keeps it: what the fleet taught, and where each part stood after its last reading.
//!
//! It is all that a phone carries of the readings of years, and all that a verdict rests on: a phone and a server that
//! hold one estimate come to the same. Hypotheses and sets of numbers are one state each, by their mean and covariance.

use alloc::{collections::BTreeMap, string::String, vec::Vec};

use super::{
    ahead::Model,
    effects::Effect,
    fit::{Fit, KindFit, rounded},
    lives::{Gathered, PartHistory},
    parameters::{Parameters, Theta},
    path::Chain,
    practice::{Clock, Practice, Practices},
    riding::{Riding, Season},
    state::State,
};
use crate::{calendar::Moment, quantity::Unit};

/// How many deviations the 99 % interval reaches: the normal quantile at 0.995.
pub const NINETY_NINE: f64 = 2.575_829_303_548_900_4;

/// An estimate.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// SHA-256 of its bytes.
    pub hash: String,
    /// When it was made.
    pub at: Moment,
    /// How the fleet is ridden.
    pub season: Season,
    /// How each machine is ridden.
    pub ridings: BTreeMap<String, Riding>,
    /// What is known of each gauge's bias, in a unit.
    pub gauges: Vec<(String, Unit, Effect)>,
    /// Kinds of part that anybody has read.
    pub kinds: Vec<Known>,
}

/// One kind of part.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// The check it is read at.
    pub check: String,
    /// Where it is mounted.
    pub part: String,
    /// What people call it.
    pub name: String,
    /// What to order near its end.
    pub order: Option<String>,
    /// What its count runs in.
    pub clock: Clock,
    /// Unit of its figures.
    pub unit: Unit,
    /// What a new one shows, and its limit, where no layer states them.
    pub usual: (f64, f64),
    /// The numbers the fleet taught.
    pub theta: Theta,
    /// Standard deviation of a fresh part's level, as a share of what there is to wear.
    pub fresh: f64,
    /// Machines with at least one reading.
    pub machines: u32,
    /// Readings.
    pub readings: u32,
    /// Where each machine's part stands, by fleet number.
    pub rows: Vec<Row>,
}

/// Where one part stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The machine.
    pub machine: String,
    /// Mountings at its place when it was estimated: with another since, this part is gone.
    pub lives: u32,
    /// Readings of this very part. With none it rests on its fellows and on earlier parts alone.
    pub readings: u32,
    /// The second of the last reading taken in: what was read later is not in it yet.
    pub read_until: i64,
    /// The count at its last reading or its mounting, in 1000 km or 30 days.
    pub count: f64,
    /// The gauge of the last reading.
    pub with: Option<String>,
    /// What a new one shows: wear is counted from here.
    pub new: f64,
    /// Between what two figures the last day's reading was expected with 99 %; none where it was the first.
    pub expected: Option<[f64; 2]>,
    /// Level, rate and regime there.
    pub state: State,
}

impl Estimate {
    /// What a fit comes to for every part that was read or mounted. It has no hash yet: [`Self::written`] gives it one.
    #[must_use]
    pub fn of(gathered: &Gathered, practices: &Practices, fit: &Fit, at: Moment) -> Self {
        let today = at.date();
        let riding = |trace: &super::riding::Trace| {
            let Riding { day_km, spread } = gathered.season.riding(trace, today);
            Riding { day_km: rounded(day_km), spread: rounded(spread) }
        };
        let ridings = gathered.traces.iter().map(|(id, trace)| (id.clone(), riding(trace)));
        let season = Season { months: gathered.season.months.map(rounded), day_km: rounded(gathered.season.day_km) };
        let mut kinds = Vec::new();
        for ((practice, kind), histories) in practices.kinds.iter().zip(&gathered.fleet.kinds).zip(&gathered.parts) {
            let taught = fit.kinds.get(&kind.check).filter(|taught| !taught.is_usual_alone());
            let Some(taught) = taught else { continue };
            let model = Model::of(taught, fit, &gathered.fleet);
            let lives = kind.chains.iter().zip(histories);
            let rows = lives.filter_map(|(chain, history)| row(&model, chain, history, at)).collect();
            kinds.push(Known::of(practice, taught, rows));
        }
        let gauges = fit.gauges.iter().map(|((id, unit), effect)| (id.clone(), *unit, *effect)).collect();
        Self { hash: String::new(), at, season, ridings: crate::sorted::map(ridings), gauges, kinds }
    }

    /// Every row of a machine, with its kind. `lives` tells how many mountings the record has at a place; none where no
    /// part is there any more.
    pub fn of_machine<'e>(
        &'e self,
        machine: &'e str,
        lives: impl Fn(&str) -> Option<u32>,
    ) -> impl Iterator<Item = (&'e Known, &'e Row)> {
        self.kinds.iter().filter_map(move |known| {
            let row = known.rows.iter().find(|row| row.machine == machine)?;
            (lives(&known.part) == Some(row.lives)).then_some((known, row))
        })
    }

    /// What is known of a gauge's bias; none for one that nothing was learnt of.
    #[must_use]
    pub fn gauge(&self, id: &str, unit: Unit) -> Option<Effect> {
        self.gauges.iter().find(|(own, of, _)| own == id && *of == unit).map(|(.., effect)| *effect)
    }

    /// How a machine is ridden.
    #[must_use]
    pub fn riding(&self, machine: &str) -> Riding {
        let plain = Riding { day_km: self.season.day_km, spread: 0.5 };
        self.ridings.get(machine).copied().unwrap_or(plain)
    }
}

impl Known {
    fn of(practice: &Practice, taught: &KindFit, rows: Vec<Row>) -> Self {
        Self {
            check: practice.check.clone(),
            part: practice.part.clone(),
            name: practice.name.clone(),
            order: practice.order.clone(),
            clock: practice.clock,
            unit: practice.unit,
            usual: (practice.new, practice.limit),
            theta: taught.theta,
            fresh: taught.fresh,
            machines: taught.chains,
            readings: taught.readings,
            rows,
        }
    }

    /// The numbers as the model takes them.
    #[must_use]
    pub fn parameters(&self) -> Parameters {
        Parameters::of(&self.theta, self.fresh)
    }

    /// +1 for what grows towards its limit, −1 for what shrinks.
    #[must_use]
    pub fn sign(&self) -> f64 {
        if self.usual.1 > self.usual.0 { 1.0 } else { -1.0 }
    }
}

/// Where a chain's part stands; none where nothing at all is known of it.
fn row(model: &Model, chain: &Chain, history: &PartHistory, at: Moment) -> Option<Row> {
    if chain.steps.is_empty() && !chain.fresh {
        return None;
    }
    let State { mean, cov } = model.stands(chain, &history.model);
    let last = history.points.last().filter(|_| history.own > 0);
    Some(Row {
        machine: history.machine.clone(),
        lives: history.lives,
        readings: history.own,
        // A reading from before the mounting that comes late is not of this part.
        read_until: last.map_or(at, |point| point.at).timestamp().as_second(),
        count: rounded_count(history.count),
        with: last.and_then(|point| point.with.clone()),
        new: rounded(history.new),
        expected: expected(model, chain, history).map(|ends| ends.map(rounded)),
        state: State { mean: mean.map(rounded), cov: cov.map(rounded) },
    })
}

/// Between what two figures the first reading of the last day was expected.
fn expected(model: &Model, chain: &Chain, history: &PartHistory) -> Option<[f64; 2]> {
    let day = history.points.last()?.on;
    let of_day = history.points.iter().rev().take_while(|point| point.on == day).count();
    // The first of its life is expected of its fellows alone: a sheet's figure of a new one is not every maker's.
    if (history.own as usize) <= of_day {
        return None;
    }
    let note = *model.notes(chain, &history.model).get(history.points.len() - of_day)?;
    let deviation = libm::sqrt(note.deviation * note.deviation + model.bias_variance(chain));
    Some(interval(history.new, chain.sign, (note.expected, deviation)))
}

/// The 99 % interval of a reading, the lower figure first, from the wear expected and its deviation.
#[must_use]
pub fn interval(new: f64, sign: f64, (wear, deviation): (f64, f64)) -> [f64; 2] {
    let middle = new + sign * wear;
    [middle - NINETY_NINE * deviation, middle + NINETY_NINE * deviation]
}

/// A count to a metre or some minutes.
fn rounded_count(count: f64) -> f64 {
    libm::round(count * 1e6) / 1e6
}
