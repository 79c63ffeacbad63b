//! From distance to days: how far a machine goes in a week, by the season, and how sure that is.

use alloc::{collections::BTreeMap, string::String, vec::Vec};

use jiff::civil::Date;

use super::{ahead::Ahead, practice::Clock};
use crate::calendar::{days_between, days_later};

/// Weeks that the fleet's mean weighs beside a machine's own.
const FLEET_WEEKS: f64 = 8.0;
/// Weeks looked back.
const BACK_DAYS: i64 = 182;
/// Machine-months of no season that every month begins with.
const PLAIN_MONTHS: f64 = 4.0;
/// Spread of use between years.
const BETWEEN_YEARS: f64 = 0.2;
/// No day is looked for behind this one.
const LONGEST_DAYS: i32 = 3650;
/// Nodes and weights of Gauss–Hermite, order 5, for a standard normal variable (Abramowitz & Stegun, table 25.10).
pub(super) const NODES: [(f64, f64); 5] = [
    (-2.856_970_013_872_806, 0.011_257_411_327_720_7),
    (-1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (0.0, 0.533_333_333_333_333_3),
    (1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (2.856_970_013_872_806, 0.011_257_411_327_720_7),
];

/// A machine's odometer by day, rising.
pub type Trace = Vec<(Date, f64)>;

/// How the whole fleet is ridden.
#[derive(Clone, Debug, PartialEq)]
pub struct Season {
    /// What a month's day is worth against the year's, January first.
    pub months: [f64; 12],
    /// Mean km of a machine's day.
    pub day_km: f64,
}

/// How one machine is ridden.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Riding {
    /// Mean km of a day, the season taken out.
    pub day_km: f64,
    /// Standard deviation of the logarithm of that.
    pub spread: f64,
}

/// How far something is looked ahead: what ends first counts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Within {
    /// Km.
    pub km: Option<f64>,
    /// Days.
    pub days: Option<f64>,
}

/// The odometer on a day: along the line between two figures, and as last known behind the last.
#[must_use]
pub fn odometer(trace: &[(Date, f64)], on: Date) -> Option<f64> {
    let after = trace.iter().position(|(day, _)| *day >= on);
    match after {
        None => trace.last().map(|(_, km)| *km),
        Some(0) => trace.first().map(|(_, km)| *km),
        Some(at) => {
            let ((from, low), (to, high)) = (*trace.get(at - 1)?, *trace.get(at)?);
            let share = days_between(from, on) as f64 / (days_between(from, to).max(1)) as f64;
            Some(low + share * (high - low))
        }
    }
}

impl Season {
    /// From every machine's trace.
    #[must_use]
    pub fn of(traces: &BTreeMap<String, Trace>) -> Self {
        let (mut km, mut days) = ([0.0; 12], [0.0; 12]);
        for pair in traces.values().flat_map(|trace| trace.windows(2)) {
            let [(from, low), (to, high)] = pair else { continue };
            let count = days_between(*from, *to);
            // Over more than two months a straight line says nothing of the season.
            if count <= 0 || count > 62 {
                continue;
            }
            for day in 0..count as i32 {
                let month = month_of(days_later(*from, day));
                km[month] += (high - low) / count as f64;
                days[month] += 1.0;
            }
        }
        let all: f64 = days.iter().sum();
        let mean = if all > 0.0 { km.iter().sum::<f64>() / all } else { 0.0 };
        let months = core::array::from_fn(|month| {
            let weight = days[month] / 30.0;
            let own = if days[month] > 0.0 && mean > 0.0 { km[month] / days[month] / mean } else { 1.0 };
            (own * weight + PLAIN_MONTHS) / (weight + PLAIN_MONTHS)
        });
        Self { months, day_km: mean }
    }

    /// What the days from one date to another are worth, in days of the year's mean.
    fn worth(&self, from: Date, days: i32) -> f64 {
        let (mut left, mut sum) = (days, 0.0);
        for (of_month, each) in self.months_from(from) {
            if left <= of_month {
                sum += f64::from(left.max(0)) * each;
                break;
            }
            sum += f64::from(of_month) * each;
            left -= of_month;
        }
        sum
    }

    /// Days that are left of a date's month and of each month after it, and what each of them is worth: without end, for behind
    /// the calendar's end the last month goes on.
    fn months_from(&self, from: Date) -> impl Iterator<Item = (i32, f64)> + '_ {
        let next = |month: &Date| {
            let (year, next) = (month.year() + i16::from(month.month() == 12), month.month() % 12 + 1);
            Some(Date::new(year, next, 1).unwrap_or(*month))
        };
        let days = |from: Date| (i32::from(from.days_in_month() - from.day() + 1), self.months[month_of(from)]);
        core::iter::once(from).chain(core::iter::successors(next(&from), next)).map(days)
    }

    /// How a machine is ridden, as seen on a day.
    #[must_use]
    pub fn riding(&self, trace: &[(Date, f64)], today: Date) -> Riding {
        let from = trace.first().map_or(today, |(first, _)| (*first).max(days_later(today, -(BACK_DAYS as i32))));
        let days = days_between(from, today).clamp(0, BACK_DAYS) as i32;
        let km = odometer(trace, today).zip(odometer(trace, from)).map_or(0.0, |(now, then)| (now - then).max(0.0));
        let worth = self.worth(from, days);
        let fleet = 7.0 * FLEET_WEEKS;
        let day_km = (fleet * self.day_km + km) / (fleet + worth);
        // A week's use usually spreads by about its own size.
        let weeks = FLEET_WEEKS + f64::from(days) / 7.0;
        Riding { day_km, spread: libm::sqrt(1.0 / weeks + BETWEEN_YEARS * BETWEEN_YEARS) }
    }

    /// Km a machine is expected to ride in some days from a date.
    #[must_use]
    pub fn ahead_km(&self, riding: Riding, from: Date, days: i32) -> f64 {
        riding.day_km * self.worth(from, days)
    }

    /// Probability that the limit is met within some days, distance being the clock.
    #[must_use]
    pub fn met_by(&self, ahead: &Ahead, riding: Riding, (from, days): (Date, i32)) -> f64 {
        met_once(ahead, riding, self.ahead_km(riding, from, days) / Clock::Distance.unit())
    }

    /// Probability that the limit is met within so many km or days, whichever ends first; with neither, that it is met now.
    #[must_use]
    pub fn met_within(&self, ahead: &Ahead, clock: Clock, (riding, today): (Riding, Date), within: Within) -> f64 {
        match (clock, within.km, within.days) {
            (_, None, None) => ahead.met_now(),
            (Clock::Days, _, Some(days)) => ahead.met_by(days / Clock::Days.unit()),
            // A count of days does not run by km, and an outing lasts a day at the longest.
            (Clock::Days, Some(_), None) => ahead.met_by(1.0 / Clock::Days.unit()),
            (Clock::Distance, km, days) => {
                let by_km = km.map(|km| ahead.met_by(km / Clock::Distance.unit()));
                let whole = |days: f64| libm::ceil(days).clamp(0.0, f64::from(LONGEST_DAYS)) as i32;
                let by_days = days.map(|days| self.met_by(ahead, riding, (today, whole(days))));
                by_km.into_iter().chain(by_days).fold(1.0, f64::min)
            }
        }
    }

    /// Days by which the limit is met with 5, 50, 95 %; none behind ten years.
    #[must_use]
    pub fn days(&self, ahead: &Ahead, clock: Clock, of: (Riding, Date)) -> [Option<Date>; 3] {
        self.days_at(ahead, clock, of, [0.05, 0.5, 0.95])
    }

    /// The day by which the limit is met with 50 %; none behind ten years.
    #[must_use]
    pub fn half_day(&self, ahead: &Ahead, clock: Clock, of: (Riding, Date)) -> Option<Date> {
        let [half] = self.days_at(ahead, clock, of, [0.5]);
        half
    }

    fn days_at<const N: usize>(
        &self,
        ahead: &Ahead,
        clock: Clock,
        (riding, today): (Riding, Date),
        asked: [f64; N],
    ) -> [Option<Date>; N] {
        match clock {
            Clock::Days => {
                let end = f64::from(LONGEST_DAYS) / Clock::Days.unit();
                let days = ahead.distances_by(&|d| ahead.met_by(d), end, asked);
                days.map(|left| left.map(|left| days_later(today, (left * Clock::Days.unit()) as i32)))
            }
            // Days count through the km that are expected to be ridden in them alone: none has to be tried.
            Clock::Distance => {
                let end = self.ahead_km(riding, today, LONGEST_DAYS) / Clock::Distance.unit();
                let by = |d: f64| met_once(ahead, riding, d);
                let far = ahead.distances_by(&by, end, asked);
                far.map(|d| self.day_of(riding, today, d? * Clock::Distance.unit()))
            }
        }
    }

    /// The first day on which so many km are expected to be ridden; none behind ten years.
    #[must_use]
    pub fn day_of(&self, riding: Riding, from: Date, km: f64) -> Option<Date> {
        let (mut days, mut left) = (0, km);
        for (of_month, each) in self.months_from(from) {
            let a_day = riding.day_km * each;
            if left <= a_day * f64::from(of_month) {
                days += libm::ceil((left / a_day).max(0.0)) as i32;
                break;
            }
            (days, left) = (days + of_month, left - a_day * f64::from(of_month));
            if days > LONGEST_DAYS {
                break;
            }
        }
        (days <= LONGEST_DAYS).then(|| days_later(from, days))
    }
}

/// Probability that the limit is met once a distance was expected to be ridden, in the kind's unit: how far it went is
/// lognormal about that.
fn met_once(ahead: &Ahead, riding: Riding, d: f64) -> f64 {
    let spread = riding.spread;
    let at = |xi: f64| d * libm::exp(spread * xi - spread * spread / 2.0);
    NODES.iter().map(|(xi, weight)| weight * ahead.met_by(at(*xi))).sum::<f64>().clamp(0.0, 1.0)
}

/// The first day at which something holds that holds ever after; none behind ten years.
#[must_use]
pub fn first_day(holds: impl Fn(i32) -> bool) -> Option<i32> {
    if holds(0) {
        return Some(0);
    }
    let (mut low, mut high) = (0, 64);
    while !holds(high) {
        if high >= LONGEST_DAYS {
            return None;
        }
        (low, high) = (high, (2 * high).min(LONGEST_DAYS));
    }
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if holds(middle) { high = middle } else { low = middle }
    }
    Some(high)
}

fn month_of(day: Date) -> usize {
    usize::try_from(day.month() - 1).unwrap_or(0).min(11)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        calendar::date,
        forecast::{parameters::Parameters, state::State},
    };

    #[test]
    fn an_odometer_lies_between_its_figures() {
        let day = |text| date(text).unwrap();
        let trace = [(day("2026-01-01"), 100.0), (day("2026-01-11"), 200.0)];
        assert!((odometer(&trace, day("2026-01-06")).unwrap() - 150.0).abs() < 1e-9);
        assert!((odometer(&trace, day("2026-02-06")).unwrap() - 200.0).abs() < 1e-9);
        assert_eq!(odometer(&[], day("2026-02-06")), None);
    }

    #[test]
    fn days_are_worth_what_each_of_them_is() {
        let months = [0.1, 0.2, 0.9, 1.0, 1.4, 1.7, 1.9, 1.6, 1.3, 1.0, 0.6, 0.3];
        let season = Season { months, day_km: 20.0 };
        for (from, days) in
            [("2026-01-31", 1), ("2027-11-15", 3650), ("2028-02-28", 3), ("2026-12-31", 2), ("2026-06-01", 0)]
        {
            let from = date(from).unwrap();
            let each = (0..days).map(|day| season.months[month_of(days_later(from, day))]);
            let worth = season.worth(from, days);
            assert!((worth - each.sum::<f64>()).abs() < 1e-9, "{from}, {days}");
            let riding = Riding { day_km: 17.0, spread: 0.3 };
            let day = |km| season.day_of(riding, from, km).map(|day| days_between(from, day));
            assert_eq!(day(17.0 * worth - 1e-3), Some(i64::from(days)), "{from}, {days}");
            assert_eq!(day(17.0 * worth + 1e-3).is_some(), days < LONGEST_DAYS, "{from}, {days}");
        }
    }

    #[test]
    fn the_day_of_a_probability_is_the_first_that_has_it() {
        let months = [0.1, 0.2, 0.9, 1.0, 1.4, 1.7, 1.9, 1.6, 1.3, 1.0, 0.6, 0.3];
        let season = Season { months, day_km: 20.0 };
        let (today, riding) = (date("2026-11-24").unwrap(), Riding { day_km: 17.0, spread: 0.4 });
        let parameters = Parameters::of(&[0.5, 0.3, 0.4, 3.0, 0.1, 0.1, 1.0, 1.0, 0.5].map(libm::log), 0.01);
        for level in [0.0, 2.0, 2.9, 3.05, 4.0] {
            let state = State { mean: [level, 0.5, 0.0], cov: [0.01, 0.002, 0.0, 0.02, 0.0, 0.01] };
            let ahead = Ahead::of(3.0, state, &parameters);
            for (p, day) in [0.05, 0.5, 0.95].into_iter().zip(season.days(&ahead, Clock::Distance, (riding, today))) {
                let by = |days| season.met_by(&ahead, riding, (today, days));
                let day = day.map(|day| days_between(today, day) as i32);
                let least = day.unwrap_or(LONGEST_DAYS);
                assert!(day.is_none() || by(least) >= p - 1e-4, "{level}, {p}: {day:?}");
                assert!(least == 0 || by(least - 1) < p + 1e-4, "{level}, {p}: {day:?}");
            }
        }
    }

    #[test]
    fn a_machine_nobody_rode_is_ridden_as_the_fleet_is() {
        let season = Season { months: [1.0; 12], day_km: 20.0 };
        let riding = season.riding(&[], date("2026-06-01").unwrap());
        assert!((riding.day_km - 20.0).abs() < 1e-9 && riding.spread > 0.3);
        assert_eq!(first_day(|_| false), None);
        assert_eq!(first_day(|days| days >= 77), Some(77));
    }
}
