//! Where every mark of a margin ruler lies: x in per cent of its width, worked out from a figure and its limits alone.

use muster_core::{
    judge::{Figure, Verdict},
    sorted,
    statistics::{conformance::Window, uncertainty::StandardUncertainty},
};

use crate::{
    fan::Ahead,
    number::{figure_text, with_unit},
};

/// Share of the width at which a lone limit stands, unless the reading needs more room behind it.
const LIMIT_AT: f64 = 0.80;
/// The same where what is to come is written beyond it.
const LIMIT_AT_AHEAD: f64 = 0.74;
/// The least share a lone limit is pushed back to.
const LIMIT_AT_LEAST: f64 = 0.72;
/// What lies outside a window on each side, as a share of the window: the window takes 57 % of the width.
const BESIDE: f64 = 0.375;
/// Room kept free at the edge a reading comes near.
const EDGE: f64 = 0.03;
/// One-sided, P = 0.95 lies 1.645 u from the limit: the 95th centile of the normal distribution.
const GUARD_U: f64 = 1.644_853_626_951_472_2;
/// The probability at which the guard band ends.
const GUARD_P: f64 = 0.95;
/// Narrowest ruler drawn, px: collisions are judged there, as type keeps its size and only gaps grow.
const NARROW_PX: f64 = 288.0;
/// Advance of one bold label character at 12.5 px, px.
const LABEL_PX: f64 = 7.0;
/// Advance of one character of the reading at 14.5 px, px.
const VALUE_PX: f64 = 8.1;

/// What a ruler says by its colour and its hatch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// A verdict.
    Judged(Verdict),
    /// To be set and read again: ink only.
    Set,
}

impl Tone {
    /// Its class in the style sheet.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Judged(verdict) => verdict.as_str(),
            Self::Set => "set",
        }
    }
}

/// A stretch of the ruler, from left to right, in per cent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Left end.
    pub from: f64,
    /// Right end.
    pub to: f64,
}

impl Span {
    fn between(a: f64, b: f64) -> Self {
        Self { from: a.min(b).clamp(0.0, 100.0), to: a.max(b).clamp(0.0, 100.0) }
    }

    /// How long it is.
    #[must_use]
    pub fn width(self) -> f64 {
        self.to - self.from
    }
}

/// Which end of a text stands at its x.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// A text over or under the body.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// Where it is anchored.
    pub x: f64,
    /// Shift in px.
    pub dx: f64,
    /// Which end stands there.
    pub anchor: Anchor,
    /// Its text.
    pub text: String,
}

impl Label {
    /// Ends before a line that is drawn through its row, if it would cross it.
    fn ends_before(&mut self, line: f64) {
        let long = px(self.text.chars().count(), VALUE_PX);
        let end = match self.anchor {
            Anchor::Start => self.x + long,
            Anchor::Middle => self.x + long / 2.0,
            Anchor::End => self.x,
        };
        if end > line - 1.0 && long < line {
            (self.x, self.dx, self.anchor) = (line, -7.0, Anchor::End);
        }
    }
}

/// A graduation.
#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    /// Where.
    pub x: f64,
    /// Long, with a figure unless it would touch something.
    pub is_major: bool,
    /// The figure under it.
    pub figure: Option<String>,
}

/// A reading with its whisker.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Where the pointer stands.
    pub x: f64,
    /// From − U to + U.
    pub whisker: Span,
    /// The margin: from the pointer to the nearest limit, or from the limit passed out to the pointer.
    pub margin: Span,
    /// Value, uncertainty, unit.
    pub label: Label,
}

/// Every mark of a ruler.
#[derive(Clone, Debug, PartialEq)]
pub struct Ruler {
    /// Colour and hatch.
    pub tone: Tone,
    /// Limits.
    pub notches: Vec<f64>,
    /// What lies past a limit.
    pub past: Vec<Span>,
    /// Inside, but P < 0.95.
    pub guard: Vec<Span>,
    /// Graduations, left to right.
    pub ticks: Vec<Tick>,
    /// Names of the limits.
    pub limits: Vec<Label>,
    /// Name of the value to set.
    pub set: Option<Label>,
    /// Name of the value of a new part.
    pub new: Option<Label>,
    /// The value to set.
    pub target: Option<f64>,
    /// What the gauge showed before it was corrected.
    pub gauge: Option<f64>,
    /// The corrected reading.
    pub reading: Option<Reading>,
    /// Past readings, oldest first: pencil marks over the edge.
    pub pencil: Vec<f64>,
    /// What is to come, where one limit lies ahead.
    pub ahead: Option<Ahead>,
}

/// Most past readings marked: more would be a chart.
const PENCIL: usize = 5;

impl Ruler {
    /// Lays a figure out; none where it has no limit to lay it against. `source` names the limit's authority in a word.
    #[must_use]
    pub fn of(figure: &Figure, tone: Tone, source: &str) -> Option<Self> {
        Self::with_past(figure, &[], tone, source)
    }

    /// The same with marks at what was read before, oldest first, in the figure's unit; the last five within the scale.
    #[must_use]
    pub fn with_past(figure: &Figure, read: &[f64], tone: Tone, source: &str) -> Option<Self> {
        Self::with_ahead(figure, read, (tone, None), source)
    }

    /// The same with what is to come, where it can be drawn: one limit, and the reading well before it.
    #[must_use]
    pub fn with_ahead(
        figure: &Figure,
        read: &[f64],
        (tone, ahead): (Tone, Option<&Ahead>),
        source: &str,
    ) -> Option<Self> {
        let bounds = Bounds::of(figure)?;
        let ahead = ahead.filter(|ahead| ahead.is_drawable() && bounds.lies_ahead_of(figure.value));
        let limit_at = if ahead.is_some() { LIMIT_AT_AHEAD } else { LIMIT_AT };
        let scale = bounds.scale(figure, limit_at).drawable()?;
        let notches: Vec<f64> = bounds.all().map(|bound| scale.x(bound)).collect();
        let target = figure.target.filter(|value| value.is_finite()).map(|value| scale.x(value)).filter(inside);
        let gauge = figure.gauge.filter(|value| value.is_finite()).map(|value| scale.x(value)).filter(inside);
        let mut reading = reading(figure, bounds, scale);
        if let (Some(reading), Some(limit)) = (&mut reading, notches.first().filter(|_| ahead.is_some())) {
            reading.label.ends_before(*limit);
        }
        let mut row = Row::default();
        let limits = row.limits(figure, bounds, scale, source);
        let set = target.and_then(|x| row.named(x, format!("set {}", text(figure, figure.target?))));
        let new = figure.new.filter(|value| value.is_finite());
        let new = new.and_then(|value| row.named(scale.x(value), format!("new {}", text(figure, value))));
        let mut taken = notches.clone();
        taken.extend(reading.as_ref().map(|reading| reading.x));
        taken.extend(gauge);
        let ticks = ticks(scale, &taken, bounds.all().chain([figure.value]).any(|value| value < 0.0));
        let (past, guard) = (bounds.past(scale), bounds.guard(scale, figure.expanded_u / 2.0));
        let finite = read.iter().filter(|value| value.is_finite());
        let mut pencil: Vec<f64> = finite.map(|value| scale.x(*value)).filter(inside).collect();
        pencil.drain(..pencil.len().saturating_sub(PENCIL));
        Some(Self {
            tone,
            notches,
            past,
            guard,
            ticks,
            limits,
            set,
            new,
            target,
            gauge,
            reading,
            pencil,
            ahead: ahead.cloned(),
        })
    }
}

/// A figure's limits: one, or a low and a high one.
#[derive(Clone, Copy, Debug)]
enum Bounds {
    AtLeast(f64),
    AtMost(f64),
    Within(f64, f64),
}

impl Bounds {
    fn of(figure: &Figure) -> Option<Self> {
        let finite = |bound: Option<f64>| bound.filter(|value| value.is_finite());
        match (finite(figure.at_least), finite(figure.at_most)) {
            (Some(low), Some(high)) => Some(Self::Within(low.min(high), low.max(high))),
            (Some(low), None) => Some(Self::AtLeast(low)),
            (None, Some(high)) => Some(Self::AtMost(high)),
            (None, None) => None,
        }
    }

    fn all(self) -> impl Iterator<Item = f64> {
        let (one, two) = match self {
            Self::AtLeast(bound) | Self::AtMost(bound) => (bound, None),
            Self::Within(low, high) => (low, Some(high)),
        };
        core::iter::once(one).chain(two)
    }

    /// Whether it is one limit, and not met yet.
    fn lies_ahead_of(self, value: f64) -> bool {
        match self {
            Self::AtLeast(limit) => value > limit,
            Self::AtMost(limit) => value < limit,
            Self::Within(..) => false,
        }
    }

    /// The scale with a lone limit at this share of the width.
    fn scale(self, figure: &Figure, limit_at: f64) -> Scale {
        match self {
            Self::AtLeast(limit) => one_sided(figure, (limit, limit_at), -1.0),
            Self::AtMost(limit) => one_sided(figure, (limit, limit_at), 1.0),
            Self::Within(low, high) => two_sided(figure, low, high),
        }
    }

    fn past(self, scale: Scale) -> Vec<Span> {
        match self {
            Self::AtLeast(limit) | Self::AtMost(limit) => vec![Span::between(scale.x(limit), 100.0)],
            Self::Within(low, high) => {
                vec![Span::between(0.0, scale.x(low)), Span::between(scale.x(high), 100.0)]
            }
        }
    }

    /// The stretch inside each limit where a reading with this standard uncertainty has P < 0.95.
    fn guard(self, scale: Scale, u: f64) -> Vec<Span> {
        if !u.is_finite() || u <= 0.0 {
            return Vec::new();
        }
        let span = |limit: f64, end: f64| Span::between(scale.x(limit), scale.x(end));
        match self {
            Self::AtLeast(limit) => vec![span(limit, limit + GUARD_U * u)],
            Self::AtMost(limit) => vec![span(limit, limit - GUARD_U * u)],
            Self::Within(low, high) => match guard_depth(low, high, u) {
                Some(depth) => vec![span(low, low + depth), span(high, high - depth)],
                None => vec![span(low, high)],
            },
        }
    }
}

/// How far inside a window of two limits P reaches 0.95; none where it does so nowhere.
fn guard_depth(low: f64, high: f64, u: f64) -> Option<f64> {
    let window = Window::within(low, high).ok()?;
    let u = StandardUncertainty::new(u).ok()?;
    let is_sure = |depth: f64| window.conformance(low + depth, u).is_ok_and(|p| p.get() >= GUARD_P);
    let (mut unsure, mut sure) = (0.0, (high - low) / 2.0);
    if !is_sure(sure) {
        return None;
    }
    // P rises from either limit to the middle; sixty halvings are finer than any screen.
    for _ in 0..60 {
        let middle = f64::midpoint(unsure, sure);
        if is_sure(middle) {
            sure = middle;
        } else {
            unsure = middle;
        }
    }
    Some(sure)
}

/// Values at the two edges; the left one may be the greater.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Scale {
    left: f64,
    right: f64,
}

impl Scale {
    /// Refuses a scale without a width, or one so wide that nothing on it has a place.
    fn drawable(self) -> Option<Self> {
        let width = (self.right - self.left).abs();
        (width.is_finite() && width > 0.0 && width > self.left.abs() * 1e-9).then_some(self)
    }

    fn x(self, value: f64) -> f64 {
        (value - self.left) / (self.right - self.left) * 100.0
    }
}

/// New at the left, the limit at 72 to 88 %, whichever way the number runs; `sign` is 1 where it rises to its limit.
fn one_sided(figure: &Figure, (limit, limit_at): (f64, f64), sign: f64) -> Scale {
    let limit = limit * sign;
    let reach = Reach::of(figure, sign);
    let nominal = figure.new.or(figure.target).filter(|value| value.is_finite());
    let nominal = nominal.map(|value| value * sign).filter(|value| *value < limit);
    let away = reach.map_or(0.0, |reach| (limit - reach.middle).abs());
    let spread = reach.map_or(0.0, |reach| reach.high - reach.low);
    let room = (away * 1.6).max(spread * 2.0).max(step(figure) * 5.0).max(f64::MIN_POSITIVE);
    let mut left = nominal.unwrap_or(limit - room);
    if let Some(reach) = reach.filter(|reach| reach.low < left) {
        left = reach.low - (limit - reach.low) * EDGE;
    }
    let mut right = left + (limit - left) / limit_at;
    if let Some(reach) = reach.filter(|reach| reach.high > right - (right - left) * EDGE) {
        right = (reach.high - left * EDGE) / (1.0 - EDGE);
        if (limit - left) / (right - left) < LIMIT_AT_LEAST {
            let width = (reach.high - limit) / (1.0 - EDGE - LIMIT_AT_LEAST);
            left = limit - width * LIMIT_AT_LEAST;
            right = left + width;
        }
    }
    Scale { left: left * sign, right: right * sign }
}

/// The window in the middle, and beside it what the reading needs.
fn two_sided(figure: &Figure, low: f64, high: f64) -> Scale {
    let mut beside = ((high - low) * BESIDE).max(step(figure) * 2.0);
    if let Some(reach) = Reach::of(figure, 1.0) {
        let out = (low - reach.low).max(reach.high - high);
        beside = beside.max(out + (high - low + 2.0 * out) * EDGE);
    }
    Scale { left: low - beside, right: high + beside }
}

/// How far a reading, its whisker and its gauge's pointer reach along the ruler.
#[derive(Clone, Copy, Debug)]
struct Reach {
    low: f64,
    middle: f64,
    high: f64,
}

impl Reach {
    fn of(figure: &Figure, sign: f64) -> Option<Self> {
        let middle = Some(figure.value * sign).filter(|value| value.is_finite())?;
        let u = Some(figure.expanded_u).filter(|u| u.is_finite()).unwrap_or(0.0);
        let gauge = figure.gauge.filter(|value| value.is_finite()).map_or(middle, |value| value * sign);
        Some(Self { low: (middle - u).min(gauge), middle, high: (middle + u).max(gauge) })
    }
}

fn reading(figure: &Figure, bounds: Bounds, scale: Scale) -> Option<Reading> {
    let value = Some(figure.value).filter(|value| value.is_finite())?;
    let u = Some(figure.expanded_u).filter(|u| u.is_finite()).unwrap_or(0.0);
    let nearest = bounds.all().min_by(|a, b| (a - value).abs().total_cmp(&(b - value).abs()))?;
    let x = scale.x(value);
    Some(Reading {
        x,
        whisker: Span::between(scale.x(value - u), scale.x(value + u)),
        margin: Span::between(x, scale.x(nearest)),
        label: value_label(figure, x),
    })
}

fn value_label(figure: &Figure, x: f64) -> Label {
    let mut text = with_unit(&value_and_u(figure), figure.unit);
    if figure.gauge.is_some() {
        text.push_str(" cold");
    }
    let half = px(text.chars().count(), VALUE_PX) / 2.0;
    let anchor = if x < half.max(14.0) {
        Anchor::Start
    } else if x > 100.0 - half.max(14.0) {
        Anchor::End
    } else {
        Anchor::Middle
    };
    Label { x, dx: 0.0, anchor, text }
}

/// Value and expanded uncertainty as the ruler prints them: `33.5 ±1.7`.
#[must_use]
pub fn value_and_u(figure: &Figure) -> String {
    let mut decimals = figure.decimals;
    // An uncertainty that rounds away would read as none.
    if figure.expanded_u > 0.0 && figure.expanded_u < 0.5 * step(figure) {
        decimals += 1;
    }
    format!("{}\u{a0}±{}", text(figure, figure.value), figure_text(figure.expanded_u, decimals))
}

/// The row of names above the body: what would touch something already there is dropped.
#[derive(Default)]
struct Row {
    taken: Vec<Span>,
}

impl Row {
    fn limits(&mut self, figure: &Figure, bounds: Bounds, scale: Scale, source: &str) -> Vec<Label> {
        let source = if source.is_empty() { String::new() } else { format!(" · {source}") };
        let named = match bounds {
            Bounds::AtLeast(limit) | Bounds::AtMost(limit) => {
                vec![(scale.x(limit), format!("limit {}{source}", text(figure, limit)), Anchor::End)]
            }
            Bounds::Within(low, high) => vec![
                (scale.x(low), format!("low {}", text(figure, low)), Anchor::End),
                (scale.x(high), format!("high {}", text(figure, high)), Anchor::Start),
            ],
        };
        named.into_iter().filter_map(|(x, text, anchor)| self.limit(x, text, anchor)).collect()
    }

    /// Beside its notch, turned about where the edge is nearer than it is long.
    fn limit(&mut self, x: f64, text: String, anchor: Anchor) -> Option<Label> {
        let width = px(text.chars().count(), LABEL_PX);
        let anchor = match anchor {
            Anchor::End if width > x => Anchor::Start,
            Anchor::Start if x + width > 100.0 => Anchor::End,
            as_asked => as_asked,
        };
        let dx = if anchor == Anchor::End { 6.0 } else { -6.0 };
        self.place(Label { x, dx, anchor, text })
    }

    /// Centred over its mark; at an edge it starts or ends there.
    fn named(&mut self, x: f64, text: String) -> Option<Label> {
        let half = px(text.chars().count(), LABEL_PX) / 2.0;
        let (x, anchor) = match x {
            x if x < half => (x.max(0.0), Anchor::Start),
            x if x > 100.0 - half => (x.min(100.0), Anchor::End),
            x => (x, Anchor::Middle),
        };
        self.place(Label { x, dx: 0.0, anchor, text })
    }

    fn place(&mut self, label: Label) -> Option<Label> {
        let width = px(label.text.chars().count(), LABEL_PX);
        let at = label.x + label.dx / NARROW_PX * 100.0;
        let from = match label.anchor {
            Anchor::Start => at,
            Anchor::Middle => at - width / 2.0,
            Anchor::End => at - width,
        };
        let span = Span { from, to: from + width };
        if self.taken.iter().any(|taken| span.from < taken.to + 1.5 && taken.from < span.to + 1.5) {
            return None;
        }
        self.taken.push(span);
        Some(label)
    }
}

/// Graduations on a step of 1, 2 or 5, as fine as its figures have room for.
fn ticks(scale: Scale, taken: &[f64], may_be_negative: bool) -> Vec<Tick> {
    let (low, high) = (scale.left.min(scale.right), scale.left.max(scale.right));
    let Some(Step { major, per_major, decimals }) = Step::between(low, high) else { return Vec::new() };
    let minor = major / f64::from(per_major);
    let (first, last) = ((low / minor).ceil(), (high / minor).floor());
    let mut out = Vec::new();
    let mut index = first;
    while index <= last {
        let value = index * minor;
        let is_major = index.rem_euclid(f64::from(per_major)) == 0.0;
        let x = scale.x(value);
        let text = figure_text(value, decimals);
        let clear = (1.25 * text.chars().count() as f64 + 0.6).max(3.4);
        let has_room = x > clear && x < 100.0 - clear && taken.iter().all(|other| (other - x).abs() >= clear);
        let is_real = value >= 0.0 || may_be_negative;
        out.push(Tick { x, is_major, figure: (is_major && has_room && is_real).then_some(text) });
        index += 1.0;
    }
    sorted::sort_by(&mut out, |a, b| a.x.total_cmp(&b.x));
    out
}

/// How a ruler is graduated.
struct Step {
    /// From one long graduation to the next.
    major: f64,
    /// Short steps in a long one.
    per_major: u8,
    /// Decimals its figures need.
    decimals: usize,
}

impl Step {
    /// The finest step of 1, 2 or 5 whose figures do not crowd a narrow ruler.
    fn between(low: f64, high: f64) -> Option<Self> {
        let width = high - low;
        if !width.is_finite() || width <= 0.0 {
            return None;
        }
        let finest = (width / 8.0).log10().floor() as i32 - 1;
        (finest..finest + 6).find_map(|power| {
            let decimals = usize::try_from(-power).unwrap_or(0);
            let figures = [low, high].map(|edge| figure_text(edge, decimals).chars().count());
            let figure_px = figures.into_iter().max().unwrap_or(1) as f64 * LABEL_PX + 10.0;
            let most = (NARROW_PX / figure_px).min(8.0);
            let ten = 10f64.powi(power.abs());
            let steps = [(1.0, 2), (2.0, 2), (5.0, 5)]
                .map(|(lead, per_major)| (if power < 0 { lead / ten } else { lead * ten }, per_major));
            let (major, per_major) = steps.into_iter().find(|(major, _)| width / major <= most)?;
            Some(Self { major, per_major, decimals })
        })
    }
}

fn step(figure: &Figure) -> f64 {
    10f64.powi(-i32::try_from(figure.decimals).unwrap_or(0))
}

fn text(figure: &Figure, value: f64) -> String {
    figure_text(value, figure.decimals)
}

fn px(characters: usize, advance_px: f64) -> f64 {
    characters as f64 * advance_px / NARROW_PX * 100.0
}

fn inside(x: &f64) -> bool {
    (0.0..=100.0).contains(x)
}

#[cfg(test)]
#[path = "ruler_tests.rs"]
mod tests;
