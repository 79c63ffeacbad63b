//! From the record to chains: each reading in the life of the part it was taken on, and what belongs to none set aside.

use alloc::{
    collections::BTreeMap,
    format,
    string::{String, ToString},
    vec::Vec,
};

use jiff::civil::Date;

use super::{
    fleet::{Fleet, Kind},
    parameters::Prior,
    path::{Chain, Read, Step, Stop, What},
    practice::{Clock, Practice, Practices, bounds, days_count},
    riding::{Season, Trace, odometer},
};
use crate::{
    calendar::{Moment, date, days_between},
    catalogue::Catalogue,
    check::{Shown, Yields},
    form::{Answer, Form, Said},
    judge::Context,
    quantity::{Amount, Distance, Kind as Quantity, Unit, text, text::DecimalSign},
    record::{machine_state::MachineState, payload::PartMounted},
    sorted::sort_by,
    words::Use,
    yard::Yard,
};

/// Nobody rides farther in a day, in km: an odometer that says so was typed wrong.
pub(super) const LONGEST_DAY_KM: f64 = 1500.0;

/// How true a gauge is of which nothing is known, as a share of what there is to wear: standard deviation. About that of
/// the coarsest that is sold, ±1/64 in of 4.4 mm of tread (`data/gauges.toml`).
const UNKNOWN_GAUGE: f64 = 0.06;

/// A figure that went into no life, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Aside {
    /// The machine.
    pub machine: String,
    /// The check; none for an odometer.
    pub check: Option<String>,
    /// The day.
    pub on: Date,
    /// What it was and what may be behind it.
    pub why: String,
}

/// One reading as it stands in a chain, in the order of the chain's readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// The day.
    pub on: Date,
    /// When the last of them was taken.
    pub at: Moment,
    /// The mean of the day's readings at the worst place, in the kind's unit.
    pub value: f64,
    /// The instrument.
    pub with: Option<String>,
    /// Its step.
    pub step: f64,
}

/// One kind of part on one machine.
#[derive(Clone, Debug, PartialEq)]
pub struct PartHistory {
    /// The machine.
    pub machine: String,
    /// Its model.
    pub model: String,
    /// What a new one shows.
    pub new: f64,
    /// The limit that counts.
    pub limit: f64,
    /// No layer states a limit: practice's stands in.
    pub limit_is_practice: bool,
    /// How the check's figures are shown here.
    pub shown: Shown,
    /// Readings.
    pub points: Vec<Point>,
    /// The count at the last step of the chain.
    pub count: f64,
    /// The count now, since the last step of the chain.
    pub since: f64,
    /// Mountings at its place in the record.
    pub lives: u32,
    /// Readings of the part that is there now.
    pub own: u32,
}

/// All that a record says of wear.
#[derive(Clone, Debug)]
pub struct Gathered {
    /// Chains.
    pub fleet: Fleet,
    /// What stands behind each chain, by kind and in the order of its chains.
    pub parts: Vec<Vec<PartHistory>>,
    /// Odometers.
    pub traces: BTreeMap<String, Trace>,
    /// How the fleet is ridden.
    pub season: Season,
    /// What was set aside.
    pub aside: Vec<Aside>,
}

/// What a gathering looks at.
#[derive(Clone, Copy, Debug)]
pub struct From<'f> {
    /// The catalogue.
    pub catalogue: &'f Catalogue,
    /// The yard.
    pub yard: &'f Yard,
    /// Stated practice.
    pub practices: &'f Practices,
    /// The use whose limits count.
    pub one: Use,
    /// Today.
    pub now: Moment,
}

/// What is written of one machine.
#[derive(Clone, Debug)]
pub struct Seen<'s> {
    /// Its fleet number.
    pub machine: &'s str,
    /// Its walk-rounds.
    pub forms: Vec<&'s Form>,
    /// Parts mounted, and whether each is still there.
    pub parts: Vec<(&'s PartMounted, bool)>,
}

impl<'s> Seen<'s> {
    /// From a machine's folded events.
    #[must_use]
    pub fn of(state: &'s MachineState) -> Self {
        let parts = state.parts.values().map(|part| (&part.mounted, part.removed.is_none()));
        Self { machine: &state.machine, forms: state.forms(), parts: parts.collect() }
    }
}

/// Gathers every chain of every machine.
#[must_use]
pub fn gather(from: From<'_>, seen: &[Seen<'_>]) -> Gathered {
    let mut aside = Vec::new();
    let mut traces = BTreeMap::new();
    for one in seen {
        traces.insert(one.machine.to_string(), trace(one, from.now.date(), &mut aside));
    }
    let season = Season::of(&traces);
    let mut fleet = Fleet::default();
    let mut parts = Vec::new();
    for practice in &from.practices.kinds {
        let (mut chains, mut histories) = (Vec::new(), Vec::new());
        for seen in seen {
            let trace = traces.get(seen.machine).map_or(&[][..], Vec::as_slice);
            let one = Gathering { from, practice, trace, seen };
            if let Some((chain, history)) = one.chain(&mut fleet, &mut aside) {
                chains.push(chain);
                histories.push(history);
            }
        }
        let (check, prior) = (practice.check.clone(), Prior::of(practice));
        fleet.kinds.push(Kind { check, unit: practice.unit, prior, chains });
        parts.push(histories);
    }
    Gathered { fleet, parts, traces, season, aside }
}

/// A machine's odometer by day. A figure that falls, or leaps farther than a day's ride, is set aside.
fn trace(seen: &Seen<'_>, today: Date, aside: &mut Vec<Aside>) -> Trace {
    let mut all: Vec<(Date, f64)> = Vec::new();
    for form in &seen.forms {
        let own = form.odometer.map(|km| (form.opened.date(), km.km()));
        let answers = form.answers.iter().filter_map(|answer| Some((answer.at.date(), answer.odometer?.km())));
        all.extend(own.into_iter().chain(answers).filter(|(day, _)| *day <= today && day.year() > 1900));
    }
    let mounted = seen.parts.iter().map(|(part, _)| part);
    all.extend(mounted.filter_map(|of| Some((date(of.on.as_deref()?)?, km(of.odometer.as_deref()?)?))));
    sort_by(&mut all, |a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    all.dedup();
    let mut kept: Trace = Vec::new();
    for (index, (day, figure)) in all.iter().copied().enumerate() {
        let mut say = |day: Date, figure: f64, why: &str| {
            let why = format!("odometer {} km {why}", libm::round(figure));
            aside.push(Aside { machine: seen.machine.to_string(), check: None, on: day, why });
        };
        while let Some((last_day, last)) = kept.last().copied() {
            let days = days_between(last_day, day).max(1) as f64;
            if figure >= last - 0.5 && figure - last <= LONGEST_DAY_KM * days {
                break;
            }
            // Whoever stands alone is wrong: of what follows, does more agree with the new figure or with the last?
            let after = all.iter().skip(index + 1).take(3);
            let with_new = after.clone().filter(|(_, km)| *km >= figure - 0.5 && *km < last.max(figure)).count();
            let with_last = after.filter(|(_, km)| *km >= last - 0.5).count();
            if figure < last && with_new > with_last {
                say(last_day, last, "is more than every later one: a slip of the keys?");
                kept.pop();
                continue;
            }
            let why = if figure < last {
                "is less than before: a slip of the keys, or the instrument was changed? Note the odometer again."
            } else {
                "is farther than anybody rides: a slip of the keys? Note the odometer again."
            };
            say(day, figure, why);
            break;
        }
        let fits = kept.last().is_none_or(|(last_day, last)| {
            figure >= last - 0.5 && figure - last <= LONGEST_DAY_KM * days_between(*last_day, day).max(1) as f64
        });
        if fits {
            kept.push((day, figure));
        }
    }
    kept
}

fn km(typed: &str) -> Option<f64> {
    let amount = text::read(Quantity::Distance, typed, DecimalSign::Point).ok()?;
    Distance::try_from(amount).ok().map(Distance::km)
}

struct Gathering<'g> {
    from: From<'g>,
    practice: &'g Practice,
    trace: &'g [(Date, f64)],
    seen: &'g Seen<'g>,
}

/// Something on the way of a chain.
struct Item {
    on: Date,
    count: f64,
    what: Happened,
}

enum Happened {
    Mounted,
    Read { at: Moment, value: f64, times: f64, with: Option<String>, step: f64, accuracy: f64 },
}

/// A reading of one place.
pub(crate) struct Worst {
    /// The mean of its figures.
    pub(crate) value: f64,
    /// How many they are.
    pub(crate) times: f64,
}

impl Gathering<'_> {
    fn chain(&self, fleet: &mut Fleet, aside: &mut Vec<Aside>) -> Option<(Chain, PartHistory)> {
        let From { catalogue, yard, one, now, .. } = self.from;
        let check = catalogue.check(&self.practice.check)?;
        let Yields::Read(measure) = &check.yields else { return None };
        let context = Context::of(catalogue, yard, self.seen.machine, now)?;
        let lacking = !check.requires.lacking(&context.machine.traits.equipment).is_empty();
        if lacking || check.applies.holds(&context.machine.traits.equipment) == crate::equipment::Holds::No {
            return None;
        }
        let practice = self.practice;
        let usual = (practice.new, practice.limit);
        let (new, limit, limit_is_practice) = bounds(&context.limits(check, one), practice.unit, usual);
        let reach = libm::fabs(limit - new);
        let sign = if self.practice.limit > self.practice.new { 1.0 } else { -1.0 };
        if reach < 1e-6 || (limit - new) * sign <= 0.0 {
            let why = "no wear lies between what a new one shows and the limit: look at the sheet".to_string();
            aside.push(self.aside(now.date(), why));
            return None;
        }
        let mut items = self.readings(sign, aside);
        let fresh = self.mountings(&mut items);
        sort_by(&mut items, |a, b| a.on.cmp(&b.on).then(a.count.total_cmp(&b.count)));
        self.settle_days(&mut items, (new, reach, sign));
        let model = context.sheet.model.clone();
        let history = PartHistory {
            machine: self.seen.machine.to_string(),
            model: model.clone(),
            new,
            limit,
            limit_is_practice,
            shown: context.shown(measure),
            points: Vec::new(),
            count: 0.0,
            since: 0.0,
            lives: self.lives(),
            own: 0,
        };
        let fresh = fresh && matches!(items.first(), Some(Item { what: Happened::Mounted, .. }));
        let chain = Chain { reach, sign, group: fleet.group(&model), fresh, steps: Vec::new() };
        Some(self.walked(fleet, items, (chain, history)))
    }

    /// The chain and its history, with what happened on the way.
    fn walked(
        &self,
        fleet: &mut Fleet,
        items: Vec<Item>,
        (mut chain, mut history): (Chain, PartHistory),
    ) -> (Chain, PartHistory) {
        let (fresh, sign, new, now) = (chain.fresh, chain.sign, history.new, self.from.now);
        let mut last = items.first().map_or_else(|| self.count(now.date()).unwrap_or(0.0), |item| item.count);
        for (index, item) in items.into_iter().enumerate() {
            let over = (item.count - last).max(0.0);
            last = last.max(item.count);
            match item.what {
                Happened::Mounted if index == 0 && fresh => {}
                Happened::Mounted => {
                    history.own = 0;
                    chain.steps.push(Step { over, what: What::Mounted });
                }
                Happened::Read { value, at, times, with, step, accuracy } => {
                    let accuracy = if accuracy > 0.0 { accuracy } else { UNKNOWN_GAUGE * self.practice.reach() };
                    let gauge = fleet.gauge(with.as_deref().unwrap_or(""), self.practice.unit, accuracy);
                    let ends = value <= 0.0 && self.practice.unit != Unit::Celsius;
                    let stop = match (ends, sign > 0.0) {
                        (true, true) => Stop::Below,
                        (true, false) => Stop::Above,
                        _ => Stop::Free,
                    };
                    let read = Read { z: sign * (value - new), gauge, times, step, stop };
                    chain.steps.push(Step { over, what: What::Read(read) });
                    history.own += 1;
                    history.points.push(Point { on: item.on, at, value, with, step });
                }
            }
        }
        history.count = last;
        history.since = (self.count(now.date()).unwrap_or(last) - last).max(0.0);
        (chain, history)
    }

    fn aside(&self, on: Date, why: String) -> Aside {
        Aside { machine: self.seen.machine.to_string(), check: Some(self.practice.check.clone()), on, why }
    }

    /// The count on a day, in the model's units.
    fn count(&self, on: Date) -> Option<f64> {
        match self.practice.clock {
            Clock::Distance => odometer(self.trace, on).map(|km| km / 1000.0),
            Clock::Days => Some(days_count(on)),
        }
    }

    /// Mountings at the place, known or not.
    fn lives(&self) -> u32 {
        let its = self.seen.parts.iter().filter(|(part, _)| part.place == self.practice.part);
        u32::try_from(its.count()).unwrap_or(u32::MAX)
    }

    /// Mountings that are known; returns whether the first of them began with a day or an odometer.
    fn mountings(&self, items: &mut Vec<Item>) -> bool {
        let mut first = None;
        for (part, _) in self.seen.parts.iter().filter(|(part, _)| part.place == self.practice.part) {
            let Some((on, count)) = self.mounted(part) else {
                first = first.or(Some((Date::MIN, false)));
                continue;
            };
            if first.is_none_or(|(day, _)| on < day) {
                first = Some((on, true));
            }
            items.push(Item { on, count, what: Happened::Mounted });
        }
        first.is_some_and(|(_, known)| known)
    }

    fn mounted(&self, of: &PartMounted) -> Option<(Date, f64)> {
        let on = of.on.as_deref().and_then(date);
        let km = of.odometer.as_deref().and_then(km);
        // By an odometer alone: the first day it was there.
        let on = on.or_else(|| {
            self.trace.iter().find(|(_, known)| Some(*known) >= km).map(|(day, _)| *day).filter(|_| km.is_some())
        })?;
        match self.practice.clock {
            Clock::Distance => Some((on, km.map(|km| km / 1000.0).or_else(|| self.count(on))?)),
            Clock::Days => Some((on, self.count(on)?)),
        }
    }

    /// The readings, a day's repeats with one gauge as one.
    fn readings(&self, sign: f64, aside: &mut Vec<Aside>) -> Vec<Item> {
        let mut items: Vec<Item> = Vec::new();
        for form in &self.seen.forms {
            for answer in standing(form, &self.practice.check) {
                let Said::Read(places) = &answer.said else { continue };
                let on = answer.at.date();
                // The cleaned trace, not the figure beside the reading: that may be the slip.
                let Some(count) = self.count(on) else {
                    aside.push(
                        self.aside(on, "no odometer was ever noted: note it, so that wear has a distance".into()),
                    );
                    continue;
                };
                let Some(worst) = worst(places, self.practice.unit, sign) else { continue };
                let gauge = answer.with.as_ref().and_then(|id| self.from.yard.instruments.get(id));
                if gauge.is_some_and(|gauge| !gauge.is_trusted(on)) {
                    let why = "its gauge was found bad since its last good comparison: read it again".into();
                    aside.push(self.aside(on, why));
                    continue;
                }
                let scale = |amount: Amount| amount.value() * amount.unit().step() / self.practice.unit.step();
                let step = gauge.map_or(0.0, |gauge| scale(gauge.resolution));
                let accuracy = gauge.map_or(0.0, |gauge| gauge.deviation(self.practice.unit));
                let (at, with, value, times) = (answer.at, answer.with.clone(), worst.value, worst.times);
                push(&mut items, (on, count), Happened::Read { at, value, times, with, step, accuracy });
            }
        }
        items
    }

    /// On the day of a mounting, readings that show the old part's wear stand before it and all others behind.
    fn settle_days(&self, items: &mut Vec<Item>, (new, reach, sign): (f64, f64, f64)) {
        let mounted: Vec<(Date, f64)> = items
            .iter()
            .filter(|item| matches!(item.what, Happened::Mounted))
            .map(|item| (item.on, item.count))
            .collect();
        for item in items.iter_mut() {
            let Happened::Read { value, .. } = &item.what else { continue };
            let used = sign * (value - new) / reach;
            if let Some((_, count)) = mounted.iter().find(|(on, _)| *on == item.on) {
                item.count = if used < 0.35 { item.count.max(*count) + 1e-9 } else { item.count.min(*count) - 1e-9 };
            }
        }
        sort_by(items, |a, b| a.on.cmp(&b.on).then(a.count.total_cmp(&b.count)));
    }
}

/// Answers to a check but for those their author corrected as a slip of the keys.
pub(super) fn standing<'f>(form: &'f Form, check: &str) -> Vec<&'f Answer> {
    let mut out: Vec<&Answer> = Vec::new();
    for answer in form.answers.iter().filter(|answer| answer.check == check) {
        if answer.slip
            && let Some(at) = out.iter().rposition(|own| own.by == answer.by)
        {
            out.remove(at);
        }
        out.push(answer);
    }
    out
}

/// The mean at the worst place.
pub(crate) fn worst(places: &[(Option<String>, Amount)], unit: Unit, sign: f64) -> Option<Worst> {
    let mut means: Vec<(Option<&str>, f64, f64)> = Vec::new();
    for (place, amount) in places {
        let (place, value) = (place.as_deref(), amount.in_unit(unit));
        match means.iter_mut().find(|(known, ..)| *known == place) {
            Some((_, sum, times)) => (*sum, *times) = (*sum + value, *times + 1.0),
            None => means.push((place, value, 1.0)),
        }
    }
    let means = means.into_iter().map(|(_, sum, times)| Worst { value: sum / times, times });
    means.max_by(|a, b| (sign * a.value).total_cmp(&(sign * b.value)))
}

/// Adds a reading, or takes it into the day's with the same gauge if nothing lies between.
fn push(items: &mut Vec<Item>, (on, count): (Date, f64), read: Happened) {
    if let Happened::Read { at, value, times, with, .. } = &read
        && let Some(Item { on: day, what, .. }) = items.last_mut()
        && let Happened::Read { at: last, value: mean, times: all, with: own, .. } = what
        && *day == on
        && own == with
    {
        *mean = (*mean * *all + value * times) / (*all + times);
        *all += times;
        *last = (*last).max(*at);
        return;
    }
    items.push(Item { on, count, what: read });
}
