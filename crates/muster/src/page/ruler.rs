//! The geometry of the margin ruler: where a reading, its limits and its doubt stand on one scale, in per cent of the
//! width.

use muster_core::{
    judge::Figure,
    statistics::{
        conformance::Window,
        uncertainty::{Probability, StandardUncertainty},
    },
};

/// Where a one-sided limit stands unless the reading lies far past it.
const LIMIT_AT: f64 = 0.8;
/// The furthest left a one-sided limit moves to keep a reading past it in sight.
const LIMIT_AT_LEAST: f64 = 0.72;
/// What shows on either side of a two-sided window, as a share of it.
const BESIDE_WINDOW: f64 = 0.3;
/// The probability at which the guard band ends.
const SURE: f64 = 0.95;
/// Nearer to the pointer or a notch, and a figure of the scale is dropped; per cent.
const CLEAR: f64 = 3.4;
/// How many figures are tried for, as long as a phone has room for them side by side.
const MOST_FIGURES: [f64; 4] = [9.0, 7.0, 5.0, 4.0];

/// A stretch of the scale, in per cent of the width; `from` is the smaller.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Span {
    /// Left end.
    pub(crate) from: f64,
    /// Right end.
    pub(crate) to: f64,
}

/// A line of the graduation.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Tick {
    /// Where it hangs, per cent.
    pub(crate) at: f64,
    /// Its figure: none for a short line, or where it would stand in the way.
    pub(crate) figure: Option<f64>,
    /// Whether it is a long line.
    pub(crate) long: bool,
}

/// Everything a ruler draws, in per cent of its width; left is new, right is the limit.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Ruler {
    /// The reading that counts.
    pub(crate) pointer: f64,
    /// Its expanded uncertainty, k = 2.
    pub(crate) whisker: Span,
    /// What the gauge showed before the correction.
    pub(crate) gauge: Option<f64>,
    /// The least allowed.
    pub(crate) low: Option<f64>,
    /// The most allowed.
    pub(crate) high: Option<f64>,
    /// The value to set.
    pub(crate) target: Option<f64>,
    /// What a new part shows.
    pub(crate) new: Option<f64>,
    /// From the reading to the limit its margin is counted from.
    pub(crate) margin: Span,
    /// Past a limit.
    pub(crate) past: Vec<Span>,
    /// Inside a limit, but not with the probability asked for.
    pub(crate) guard: Vec<Span>,
    /// The graduation.
    pub(crate) ticks: Vec<Tick>,
    /// Decimals of the graduation's figures.
    pub(crate) decimals: usize,
}

impl Ruler {
    /// The ruler of a figure; none without a limit or where a number is not finite.
    pub(crate) fn of(figure: &Figure) -> Option<Self> {
        let scale = Scale::of(figure)?;
        let u = figure.expanded_u.max(0.0);
        let low = figure.at_least.map(|value| scale.at(value));
        let high = figure.at_most.map(|value| scale.at(value));
        let pointer = scale.at(figure.value);
        let gauge = figure.gauge.map(|value| scale.at(value));
        let marks: Vec<f64> = low.into_iter().chain(high).chain(gauge).chain([pointer]).collect();
        let (ticks, decimals) = scale.ticks(figure, &marks);
        Some(Self {
            pointer,
            whisker: scale.span(figure.value - u, figure.value + u),
            gauge,
            low,
            high,
            target: figure.target.map(|value| scale.at(value)),
            new: figure.new.map(|value| scale.at(value)),
            margin: scale.span(figure.value, counted_from(figure)?),
            past: past(figure, &scale),
            guard: guard(figure, &scale),
            ticks,
            decimals,
        })
    }
}

/// Which value stands at either end.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Scale {
    left: f64,
    right: f64,
}

impl Scale {
    fn of(figure: &Figure) -> Option<Self> {
        let scale = match (figure.at_least, figure.at_most) {
            (Some(low), Some(high)) => Self::within(figure, low, high),
            (Some(limit), None) => Self::one_sided(figure, limit, -1.0),
            (None, Some(limit)) => Self::one_sided(figure, limit, 1.0),
            (None, None) => return None,
        };
        let numbers = [scale.left, scale.right, figure.value, figure.expanded_u, figure.margin];
        let finite = numbers.iter().all(|number| number.is_finite());
        (finite && (scale.right - scale.left).abs() > 0.0).then_some(scale)
    }

    /// `sense` is 1 where the number rises towards the limit, −1 where it falls.
    fn one_sided(figure: &Figure, limit: f64, sense: f64) -> Self {
        let u = figure.expanded_u.max(0.0);
        // How far a value lies on the safe side of the limit.
        let inside = |value: f64| sense * (limit - value);
        let shown = || figure.gauge.into_iter().chain([figure.value]);
        let furthest = shown().map(|value| inside(value) + u).fold(0.0, f64::max);
        let past = shown().map(|value| u - inside(value)).fold(0.0, f64::max);
        let nominal = figure.new.or(figure.target).map(inside).filter(|share| *share > 0.0);
        let usual = nominal.unwrap_or(if furthest > 0.0 { furthest * 1.15 } else { limit.abs().max(u * 4.0) / 2.0 });
        let needed = past * LIMIT_AT_LEAST / (1.0 - LIMIT_AT_LEAST);
        let safe = usual.max(furthest).max(needed);
        let beyond = (safe * (1.0 - LIMIT_AT) / LIMIT_AT).max(past);
        Self { left: limit - sense * safe, right: limit + sense * beyond }
    }

    fn within(figure: &Figure, low: f64, high: f64) -> Self {
        let u = figure.expanded_u.max(0.0);
        let width = (high - low).abs().max(u).max(f64::MIN_POSITIVE);
        let beside = width * BESIDE_WINDOW;
        let room = width * 0.05;
        let shown = figure.gauge.into_iter().chain([figure.value - u, figure.value + u]).chain(figure.target);
        let (least, most) = shown.fold((low, high), |(least, most), value| (least.min(value), most.max(value)));
        Self { left: (low - beside).min(least - room), right: (high + beside).max(most + room) }
    }

    /// Where a value stands, per cent; at the edge where it lies outside.
    fn at(&self, value: f64) -> f64 {
        ((value - self.left) / (self.right - self.left) * 100.0).clamp(0.0, 100.0)
    }

    fn span(&self, one: f64, other: f64) -> Span {
        let (one, other) = (self.at(one), self.at(other));
        Span { from: one.min(other), to: one.max(other) }
    }

    /// The finest step whose figures stand side by side.
    fn step(&self) -> (f64, u8, usize) {
        let wide = (self.right - self.left).abs();
        let furthest = if self.left.abs() > self.right.abs() { self.left } else { self.right };
        let tried = MOST_FIGURES.map(|most| graduation(wide / most));
        let fits = |(step, _, decimals): &(f64, u8, usize)| step / wide * 50.0 > half_width(furthest, *decimals) + 0.5;
        tried.into_iter().find(fits).unwrap_or_else(|| graduation(wide / 3.0))
    }

    /// The graduation, left to right, clear of the marks, and the decimals of its figures.
    fn ticks(&self, figure: &Figure, marks: &[f64]) -> (Vec<Tick>, usize) {
        let (step, parts, decimals) = self.step();
        let small = step / f64::from(parts);
        let (least, most) = (self.left.min(self.right), self.left.max(self.right));
        let given = [figure.at_least, figure.at_most, figure.new, figure.target, Some(figure.value)];
        // The scale may run past the physical zero, without figures.
        let below_zero = given.iter().flatten().any(|value| *value < 0.0);
        let mut ticks = Vec::new();
        let mut index = (least / small).ceil();
        while index * small <= most && ticks.len() < 200 {
            let value = index * small;
            let at = self.at(value);
            let long = index.rem_euclid(f64::from(parts)) < 0.5;
            let half = half_width(value, decimals);
            let clear = marks.iter().all(|other| (other - at).abs() >= CLEAR.max(half + 0.8));
            let inside = at >= half && at <= 100.0 - half;
            let told = long && clear && inside && (value > -small / 2.0 || below_zero);
            ticks.push(Tick { at, figure: told.then_some(value), long });
            index += 1.0;
        }
        ticks.sort_by(|a, b| a.at.total_cmp(&b.at));
        (ticks, decimals)
    }
}

/// A step of 1, 2 or 5 no smaller than asked, how many short lines part it, and the decimals its figures need.
fn graduation(least: f64) -> (f64, u8, usize) {
    let power = least.log10().floor();
    let unit = 10_f64.powf(power);
    let (factor, parts, power) = match least / unit {
        share if share <= 1.0 => (1.0, 5, power),
        share if share <= 2.0 => (2.0, 4, power),
        share if share <= 5.0 => (5.0, 5, power),
        _ => (10.0, 5, power + 1.0),
    };
    let decimals = if power < 0.0 { (-power) as usize } else { 0 };
    (factor * unit, parts, decimals)
}

/// Half of what a figure of the scale takes on the narrowest phone, per cent.
fn half_width(value: f64, decimals: usize) -> f64 {
    format!("{value:.decimals$}").chars().count() as f64 * 1.2
}

/// The limit the margin is counted from: the one passed, else the nearer.
fn counted_from(figure: &Figure) -> Option<f64> {
    let inside = |limit: &(f64, f64)| limit.1 * (figure.value - limit.0);
    let limits = figure.at_least.map(|limit| (limit, 1.0)).into_iter().chain(figure.at_most.map(|limit| (limit, -1.0)));
    limits.min_by(|a, b| inside(a).total_cmp(&inside(b))).map(|limit| limit.0)
}

fn past(figure: &Figure, scale: &Scale) -> Vec<Span> {
    let two_sided = figure.at_least.is_some() && figure.at_most.is_some();
    let low = figure.at_least.map(|limit| scale.span(limit, if two_sided { scale.left } else { scale.right }));
    let high = figure.at_most.map(|limit| scale.span(limit, scale.right));
    low.into_iter().chain(high).collect()
}

/// Inside the limits, where a reading with this uncertainty would conform with less than [`SURE`].
fn guard(figure: &Figure, scale: &Scale) -> Vec<Span> {
    let (Ok(window), Ok(u), Ok(sure)) = (
        Window::new(figure.at_least, figure.at_most),
        StandardUncertainty::new(figure.expanded_u / 2.0),
        Probability::new(SURE),
    ) else {
        return Vec::new();
    };
    match window.acceptance(sure, u) {
        Ok(Some(inner)) => {
            let low = figure.at_least.zip(inner.lower());
            let high = figure.at_most.zip(inner.upper());
            let spans = low.into_iter().chain(high).map(|(limit, inner)| scale.span(limit, inner));
            spans.filter(|span| span.to > span.from).collect()
        }
        // So wide a doubt that nothing between the limits is sure.
        Ok(None) => figure.at_least.zip(figure.at_most).map(|(low, high)| scale.span(low, high)).into_iter().collect(),
        Err(_) => Vec::new(),
    }
}
