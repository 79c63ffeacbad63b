//! What is to come of every part of a yard, in the figures and words people read.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use jiff::civil::Date;

use super::{
    ahead::{Ahead, Model},
    fit::{Fit, KindFit},
    lives::{Gathered, PartHistory, Point},
    path::Note,
    practice::{Clock, Practice, Practices},
    riding::{Riding, Season, Within},
};
use crate::{check::Shown, quantity::Unit, sorted::sort_by};

/// What is to come of one part.
#[derive(Clone, Debug)]
pub struct Outlook {
    /// The machine.
    pub machine: String,
    /// The check.
    pub check: String,
    /// Where it is mounted, as in part events.
    pub part: String,
    /// What people call the part.
    pub name: String,
    /// What to order near its end.
    pub order: Option<String>,
    /// What its count runs in.
    pub clock: Clock,
    /// Unit of the figures.
    pub unit: Unit,
    /// What a new one shows.
    pub new: f64,
    /// The limit.
    pub limit: f64,
    /// No layer states that limit: it is practice's.
    pub limit_is_practice: bool,
    /// How the check's figures are shown here.
    pub shown: Shown,
    /// Readings of this machine's own.
    pub readings: usize,
    /// The last of them.
    pub last: Option<Point>,
    /// What a reading today is expected to show: the ends of its 99 % interval, and the middle.
    pub today: [f64; 3],
    /// Km (days, where days are counted) to the limit at 5, 50, 95 %; none: not in sight.
    pub left: [Option<f64>; 3],
    /// Days by which it is met with 5, 50, 95 %; none: not within ten years.
    pub days: [Option<Date>; 3],
    /// Since when its last readings are past the limit: they count, however little they were expected, till another says
    /// otherwise.
    pub past: Option<Date>,
    /// Probability that it is met already.
    pub met_now: f64,
    /// The fleet has no reading of the kind: stated practice alone.
    pub practice_alone: bool,
    /// What does not fit, and what may be behind it.
    pub said: Vec<String>,
    ahead: Ahead,
    riding: Riding,
}

impl Outlook {
    /// Probability that the limit is met within so many km or days, whichever ends first; with neither, that it is met now.
    #[must_use]
    pub fn meets(&self, season: &Season, today: Date, within: Within) -> f64 {
        if self.past.is_some() {
            return 1.0;
        }
        season.met_within(&self.ahead, self.clock, (self.riding, today), within)
    }
}

/// Looks ahead for every part, what runs out first standing first.
#[must_use]
pub fn outlooks(gathered: &Gathered, practices: &Practices, fit: &Fit, today: Date) -> Vec<Outlook> {
    let mut out = Vec::new();
    for ((practice, kind), histories) in practices.kinds.iter().zip(&gathered.fleet.kinds).zip(&gathered.parts) {
        let usual = KindFit::usual(&kind.check, kind.unit, &kind.prior);
        let known = fit.kinds.get(&kind.check).unwrap_or(&usual);
        let model = Model::of(known, fit, &gathered.fleet);
        for (chain, history) in kind.chains.iter().zip(histories) {
            let ahead = model.ahead(chain, &history.model, history.since);
            let notes = model.notes(chain, &history.model);
            let trace = gathered.traces.get(&history.machine).map_or(&[][..], Vec::as_slice);
            let riding = gathered.season.riding(trace, today);
            let said = said(practice, history, &notes, chain.sign);
            out.push(outlook((practice, known), history, (ahead, riding, said), (&gathered.season, today)));
        }
    }
    let middle = |one: &Outlook| one.days[1].map_or(i64::MAX, |day| crate::calendar::days_between(today, day));
    sort_by(&mut out, |a, b| {
        let by_chance = b.met_now.total_cmp(&a.met_now);
        middle(a).cmp(&middle(b)).then(by_chance).then_with(|| (&a.machine, &a.check).cmp(&(&b.machine, &b.check)))
    });
    out
}

fn outlook(
    (practice, known): (&Practice, &KindFit),
    history: &PartHistory,
    (ahead, riding, said): (Ahead, Riding, Vec<String>),
    (season, today): (&Season, Date),
) -> Outlook {
    let sign = if history.limit > history.new { 1.0 } else { -1.0 };
    let step = history.points.last().map_or(0.0, |point| point.step);
    let [low, middle, high] = ahead.reading(step).map(|z| history.new + sign * z);
    let unit = practice.clock.unit();
    let its = &history.points[history.points.len().saturating_sub(history.own as usize)..];
    let past = its.iter().rev().take_while(|point| sign * (point.value - history.limit) > 0.0).last();
    let past = past.map(|point| point.on);
    let left = ahead.band().map(|d| if past.is_some() { Some(0.0) } else { d.map(|d| d * unit) });
    let days = match practice.clock {
        _ if past.is_some() => [Some(today); 3],
        clock => season.days(&ahead, clock, (riding, today)),
    };
    Outlook {
        machine: history.machine.clone(),
        check: practice.check.clone(),
        part: practice.part.clone(),
        name: practice.name.clone(),
        order: practice.order.clone(),
        clock: practice.clock,
        unit: practice.unit,
        new: history.new,
        limit: history.limit,
        limit_is_practice: history.limit_is_practice,
        shown: history.shown,
        readings: history.points.len(),
        last: history.points.last().cloned(),
        today: if sign > 0.0 { [low, middle, high] } else { [high, middle, low] },
        left,
        days,
        past,
        met_now: if past.is_some() { 1.0 } else { ahead.met_now() },
        practice_alone: known.is_usual_alone(),
        said,
        ahead,
        riding,
    }
}

/// What does not fit a life, with what may be behind it.
fn said(practice: &Practice, history: &PartHistory, notes: &[Note], sign: f64) -> Vec<String> {
    let mut out = Vec::new();
    let mut before: Option<&Point> = None;
    let last = history.points.len().saturating_sub(1);
    for (index, (point, note)) in history.points.iter().zip(notes).enumerate() {
        let figure = |value: f64| history.shown.text(value, practice.unit);
        let name = &practice.name;
        let wear = sign * (point.value - history.new);
        let is_worse = wear > note.expected;
        if note.slip > 0.5 && is_worse && index == last {
            let (shown, expected) = (figure(point.value), figure(history.new + sign * note.expected));
            let causes = causes(&practice.check, true);
            out.push(format!("{}: {shown} where about {expected} was expected. {causes}", point.on));
        } else if note.slip > 0.5 {
            let shown = figure(point.value);
            out.push(format!(
                "{}: {shown} set aside: it does not belong to this life. Slip of the keys, wrong place or wrong gauge? Read it again.",
                point.on
            ));
            continue;
        } else if note.changed > 0.5 {
            let since = before
                .map_or_else(|| "before it".to_string(), |before| format!("between {} and {}", before.on, point.on));
            let off = libm::fabs(point.value - before.map_or(point.value, |before| before.value));
            let off = history.shown.difference(off, practice.unit);
            out.push(format!(
                "{name} better by {off} {since}: part changed and not noted? Note the mounting to start its life there."
            ));
        } else if note.slip + note.changed > 0.05 && index + 3 > last {
            let may = [("a part changed and not noted", note.changed), ("a slip", note.slip)];
            let may = may.iter().filter(|(_, p)| *p >= 0.01);
            let may = may.map(|(what, p)| format!("{what} ({} %)", libm::round(100.0 * p))).collect::<Vec<_>>();
            let shown = figure(point.value);
            out.push(format!("{}: {shown} may be {}: the forecast covers it.", point.on, may.join(" or ")));
        } else if index == last && libm::fabs(wear - note.expected) > 2.576 * note.deviation {
            let expected = figure(history.new + sign * note.expected);
            out.push(format!(
                "{}: {} where about {expected} was expected. {}",
                point.on,
                figure(point.value),
                causes(&practice.check, is_worse)
            ));
        }
        before = Some(point);
    }
    out
}

/// Likely causes of a reading beyond its 99 % interval. Common practice.
pub(crate) fn causes(check: &str, more: bool) -> &'static str {
    let ends = |end: &str| check.ends_with(end);
    match (more, check) {
        (false, _) => {
            "Less wear than can be: another place, another gauge, or a part changed and not noted? Read it again."
        }
        _ if ends(".pads") => {
            "More wear than usual: look for a dragging brake, a seized slider, a stone; then wrong gauge or a slip."
        }
        _ if ends(".tread") => {
            "More wear than usual: look at alignment, pressure, a bent rim; then wrong gauge or a slip."
        }
        _ if ends(".disc") => {
            "More wear than usual: look for a dragging brake and worn-out pads; then wrong gauge or a slip."
        }
        _ if check.starts_with("chain.") => {
            "More wear than usual: look at lubrication, alignment, tight links; then wrong gauge or a slip."
        }
        _ if check.starts_with("battery.") => {
            "Lower than usual: charge it, rest it, read it again; look at charging and hidden draw."
        }
        _ => "More wear than usual: read it again with another gauge, then look for the cause.",
    }
}
