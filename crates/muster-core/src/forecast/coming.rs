//! What is to come of one part from an estimate: carried to today, with what was read since taken in.

use alloc::{format, string::String};

use jiff::civil::Date;

use super::{
    ahead::Ahead,
    effects::Effect,
    estimate::{Estimate, Known, Row, interval},
    lives::LONGEST_DAY_KM,
    practice::Clock,
    riding::Within,
    state::State,
};
use crate::{
    quantity::{Unit, convert, show},
    yard::Units,
};

/// Nobody rides farther in a day, in 1000 km.
const LONGEST_DAY: f64 = LONGEST_DAY_KM / 1000.0;

/// What an estimate knows of one part that is still there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Forecast<'e> {
    /// The estimate.
    pub estimate: &'e Estimate,
    /// The kind of part.
    pub known: &'e Known,
    /// Where it stood.
    pub row: &'e Row,
}

/// A gauge: its step and what is known of its bias, in the kind's unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Gauge {
    /// Its step.
    pub step: f64,
    /// Its bias.
    pub bias: Effect,
}

impl<'e> Forecast<'e> {
    /// Its state at a count, `days` after the row's; no farther than anybody rides.
    #[must_use]
    pub fn state_at(&self, count: f64, days: f64) -> State {
        let mut state = self.row.state;
        self.carry(&mut state, count - self.row.count, days);
        state
    }

    /// Carries a state over a distance or a time, which took so many days; nothing for one that falls.
    pub fn carry(&self, state: &mut State, over: f64, days: f64) {
        let most = match self.known.clock {
            Clock::Distance => LONGEST_DAY * days.max(1.0),
            Clock::Days => f64::INFINITY,
        };
        state.carry(over.min(most), &self.known.parameters().motion_at(state.mean[1], 0.0));
    }

    /// Between what two figures a reading with a gauge is expected with 99 %.
    #[must_use]
    pub fn expected(&self, state: &State, gauge: Gauge) -> [f64; 2] {
        let (parameters, sign) = (self.known.parameters(), self.known.sign());
        let noise = parameters.reading_variance + gauge.step * gauge.step / 12.0;
        let deviation = libm::sqrt(state.cov[0] + noise + gauge.bias.variance);
        interval(self.row.new, sign, (state.mean[0] + sign * gauge.bias.mean, deviation))
    }

    /// Takes a reading into a state: the mean of so many.
    pub fn take(&self, state: &mut State, (value, times): (f64, f64), gauge: Gauge) {
        let z = self.known.sign() * (value - self.row.new - gauge.bias.mean);
        let noise = self.known.parameters().reading_variance / times.max(1.0) + gauge.step * gauge.step / 12.0;
        let told = state.hear(z, noise);
        state.learn(&told);
    }

    /// What is to come of it from a state today, read with a gauge last; none where no wear lies before the limit.
    #[must_use]
    pub fn coming(self, mut state: State, gauge: Gauge, (limit, today): (f64, Date)) -> Option<Coming<'e>> {
        let reach = self.known.sign() * (limit - self.row.new);
        if reach < 1e-6 {
            return None;
        }
        // What all of a life's readings share does not average out.
        state.cov[0] += gauge.bias.variance;
        let ahead = Ahead::of(reach, state, &self.known.parameters());
        Some(Coming { forecast: self, limit, today, state, past: None, ahead })
    }
}

/// What is to come of one part.
#[derive(Clone, Debug, PartialEq)]
pub struct Coming<'e> {
    /// What the estimate knew of it.
    pub forecast: Forecast<'e>,
    /// The limit, in the kind's unit.
    pub limit: f64,
    /// Today.
    pub today: Date,
    /// Level, rate and regime today.
    pub state: State,
    /// Since when its last readings are past the limit: they count, however little they were expected, till another says
    /// otherwise.
    pub past: Option<Date>,
    ahead: Ahead,
}

impl Coming<'_> {
    /// The same where its last readings are past the limit since a day, or are not.
    #[must_use]
    pub fn past_since(self, past: Option<Date>) -> Self {
        Self { past, ..self }
    }

    /// Probability that the limit is met within so many km or days, whichever ends first; with neither, that it is met now.
    #[must_use]
    pub fn meets(&self, within: Within) -> f64 {
        if self.past.is_some() {
            return 1.0;
        }
        let Forecast { estimate, known, row } = self.forecast;
        let riding = estimate.riding(&row.machine);
        estimate.season.met_within(&self.ahead, known.clock, (riding, self.today), within)
    }

    /// Km (days, where days are counted) to the limit at 5, 50, 95 %; none: not in sight.
    #[must_use]
    pub fn left(&self) -> [Option<f64>; 3] {
        if self.past.is_some() {
            return [Some(0.0); 3];
        }
        self.ahead.band().map(|left| left.map(|left| left * self.forecast.known.clock.unit()))
    }

    /// Days by which it is met with 5, 50, 95 %; none: not within ten years.
    #[must_use]
    pub fn days(&self) -> [Option<Date>; 3] {
        if self.past.is_some() {
            return [Some(self.today); 3];
        }
        let Forecast { estimate, known, row } = self.forecast;
        estimate.season.days(&self.ahead, known.clock, (estimate.riding(&row.machine), self.today))
    }

    /// The day by which it is met with 50 %; none behind ten years.
    #[must_use]
    pub fn half_day(&self) -> Option<Date> {
        if self.past.is_some() {
            return Some(self.today);
        }
        let Forecast { estimate, known, row } = self.forecast;
        estimate.season.half_day(&self.ahead, known.clock, (estimate.riding(&row.machine), self.today))
    }

    /// The figure it is expected to show today.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.forecast.row.new + self.forecast.known.sign() * self.state.mean[0]
    }

    /// Distance and day at 5, 50 and 95 %, in words: `limit met in 120 km (40 to 380), 2026-12-03 (2026-11-27 to 2027-01-19)`.
    #[must_use]
    pub fn said(&self, units: Units) -> String {
        let (unit, factor) = match (self.forecast.known.clock, units) {
            (Clock::Days, _) => ("days", 1.0),
            (Clock::Distance, Units::Si) => ("km", 1.0),
            (Clock::Distance, Units::Us) => ("mi", convert(1.0, Unit::Kilometre, Unit::Mile)),
        };
        let [early, middle, late] = self.left().map(|left| far(left.map(|left| left * factor)));
        let day = |day: Option<Date>| day.map_or_else(|| "after ten years".into(), |day| format!("{day}"));
        let [first, usual, last] = self.days().map(day);
        format!("limit met in {middle}\u{a0}{unit} ({early} to {late}), {usual} ({first} to {last})")
    }
}

/// A distance to two digits: no forecast is known to more.
#[must_use]
pub fn far(left: Option<f64>) -> String {
    match left {
        Some(left) if left < 1.0 => "0".into(),
        Some(left) => {
            let power = libm::pow(10.0, libm::floor(libm::log10(left)) - 1.0);
            show::grouped(&format!("{:.0}", libm::round(left / power) * power))
        }
        None => "out of sight".into(),
    }
}
