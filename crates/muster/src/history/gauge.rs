//! What a person reads and writes down at a check: the truth, the instrument's error, the hand's, the rounding.

use std::collections::BTreeMap;

use muster_core::{calendar::Moment, limit::Counting, quantity::Unit, record::payload::Typed};

use super::{random::Random, real::Real, settings::Settings};

/// kPa of one psi: 6.894 757 (NIST SP 811, appendix B).
pub(super) const KPA_PER_PSI: f64 = 6.894_757;

/// One reading as it is written, or an act between two.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Line {
    /// Figures.
    Read(Figures),
    /// What was done.
    Set(&'static str),
}

/// Figures as they are written.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Figures {
    pub(super) read: Typed,
    pub(super) with: Option<String>,
    pub(super) tyre: Option<String>,
    pub(super) why: Option<String>,
    /// What was true, in the unit of the figures; the worst place's.
    pub(super) truth: Option<f64>,
}

/// Where and when it is read.
pub(super) struct Here<'h> {
    pub(super) settings: &'h Settings,
    pub(super) now: Moment,
    pub(super) air_c: f64,
    /// The tyres' own temperature, where they are warm.
    pub(super) tyre_c: Option<f64>,
    /// The limits that count.
    pub(super) counting: &'h Counting<'h>,
    /// The pressure gauge at hand.
    pub(super) gauge: &'h str,
    /// A puncture somebody sees.
    pub(super) punctured: bool,
}

/// Reads a check; none if it is not read.
pub(super) fn read(real: &mut Real, check: &str, here: &Here<'_>) -> Vec<Line> {
    match check {
        "tyre.front.pressure" => pressure(real, 0, here),
        "tyre.rear.pressure" => pressure(real, 1, here),
        "tyre.front.tread" | "tyre.rear.tread" => tread(real, check, here),
        "brake.front.pads" | "brake.rear.pads" => pads(real, check, here),
        "brake.front.disc" | "brake.rear.disc" => {
            let bias = bias(here, "V-1");
            places(
                real,
                check,
                [("first", 0.0), ("second", 0.02), ("third", 0.0)],
                |value, random| fixed(even(value + bias + random.normal(0.0, 0.012), 0.02), 2, "mm"),
                "V-1",
            )
        }
        "chain.elongation" => {
            let bias = bias(here, "R-2");
            places(
                real,
                check,
                [("first", 0.0), ("second", -0.03), ("third", 0.0)],
                |value, random| fixed(even(value + bias + random.normal(0.0, 0.06), 0.1).max(0.0), 1, "%"),
                "R-2",
            )
        }
        "battery.rest" => {
            let bias = bias(here, "M-1");
            places(real, check, [], |value, random| fixed(value + bias + random.normal(0.0, 0.015), 2, "V"), "M-1")
        }
        "chain.slack" => slack(real, here),
        "oil.level" => oil(real, here),
        _ => steady(real, check, here),
    }
}

fn steady(real: &mut Real, check: &str, here: &Here<'_>) -> Vec<Line> {
    let (quirks, random) = (real.quirks.clone(), &mut real.random);
    let one = |text: String, with: &str, truth: f64| line(Typed::One(text), with, Some(truth));
    match check {
        "belt.deflection" => {
            one(fixed(even(quirks.belt_mm + random.normal(0.0, 0.6), 0.5), 1, "mm"), "R-1", quirks.belt_mm)
        }
        "lamp.aim" => one(fixed(quirks.aim_percent + random.normal(0.0, 0.12), 1, "%"), "I-1", quirks.aim_percent),
        "coolant.freezing" => {
            let shown = quirks.freezing_c + bias(here, "B-1") + random.normal(0.0, 0.7);
            one(fixed(shown, 0, "°C"), "B-1", quirks.freezing_c)
        }
        "lamp.indicator-rate" => {
            let mut side = |place: &str| {
                let counted = even(quirks.flash_per_min + random.normal(0.0, 1.2), 2.0);
                (place.to_string(), vec![fixed(counted, 0, "/min")])
            };
            let sides: BTreeMap<_, _> = [side("left"), side("right")].into();
            line(Typed::Places(sides), "E-2", Some(quirks.flash_per_min))
        }
        "wheel.front.run-out" | "wheel.rear.run-out" => {
            let mut way = |place: &str| (place.to_string(), vec![fixed(random.between(0.3, 0.9), 1, "mm")]);
            line(Typed::Places([way("sideways"), way("up and down")].into()), "D-1", None)
        }
        "brake.front.run-out" | "brake.rear.run-out" => {
            line(Typed::One(fixed(random.between(0.03, 0.14), 2, "mm")), "D-1", None)
        }
        "battery.cranking" => line(Typed::One(fixed(random.between(10.1, 10.9), 1, "V")), "M-1", None),
        "battery.charging" => line(Typed::One(fixed(random.between(14.0, 14.4), 1, "V")), "M-1", None),
        "battery.draw" => line(Typed::One(fixed(random.between(0.4, 1.9), 1, "mA")), "A-1", None),
        "traction.charge" => line(Typed::One(fixed(random.between(62.0, 100.0), 0, "%")), "E-3", None),
        _ => Vec::new(),
    }
}

fn pressure(real: &mut Real, wheel: usize, here: &Here<'_>) -> Vec<Line> {
    let mut window = bounds(here.counting, Unit::Kilopascal);
    if let Some(rear) = real.bike.rear_kpa.filter(|_| wheel == 1) {
        window = Window { low: window.low.max(rear - 9.0), target: rear, ..window };
    }
    let celsius = here.tyre_c.unwrap_or(here.air_c);
    let tyre = here.tyre_c.map(|celsius| fixed(celsius, 0, "°C"));
    let bias_kpa = bias(here, here.gauge) * KPA_PER_PSI;
    let shown = |real: &mut Real| {
        let truth = real.pressure_kpa(wheel, celsius);
        let noise = real.random.normal(0.0, 1.1);
        (psi(truth + bias_kpa + noise, here.gauge), truth)
    };
    let (found, truth) = shown(real);
    // What it would show cold: a person takes the warm figure for the cold one by the tool.
    let cold = real.pressure_kpa(wheel, here.air_c) + (found * KPA_PER_PSI - truth);
    let why = here.punctured.then(|| "sunk overnight, something sits in the tread".to_string());
    let far = cold < window.low - 38.0 && !here.punctured;
    let why = why.or_else(|| far.then(|| "valve core loose, tightened".to_string()));
    let written = |shown: f64, why: Option<String>, truth: f64| {
        Line::Read(Figures {
            read: Typed::One(fixed(shown, 1, "psi")),
            with: Some(here.gauge.into()),
            tyre: tyre.clone(),
            why,
            truth: Some(truth / KPA_PER_PSI),
        })
    };
    let mut out = vec![written(found, why, truth)];
    let low = cold < window.low + 7.0;
    let high = cold > window.high - 5.0 && here.tyre_c.is_none();
    if (low || high) && !here.punctured {
        let aimed = window.target - bias_kpa + real.random.normal(0.0, 1.5);
        real.pump(wheel, aimed, here.air_c);
        let (now, truth) = shown(real);
        out.push(Line::Set(if low { "pumped" } else { "let down to its target, cold" }));
        out.push(written(now, None, truth));
    }
    out
}

fn tread(real: &mut Real, check: &str, here: &Here<'_>) -> Vec<Line> {
    let [left, right] = real.quirks.shoulder_mm;
    let bias = bias(here, "T-1");
    let read = |value: f64, random: &mut Random| fixed((value + bias + random.normal(0.0, 0.07)).max(0.0), 1, "mm");
    places(real, check, [("left", left), ("centre", 0.0), ("right", right)], read, "T-1")
}

fn pads(real: &mut Real, check: &str, here: &Here<'_>) -> Vec<Line> {
    let outer = real.quirks.outer_mm;
    let bias = bias(here, "R-1");
    let read = |value: f64, random: &mut Random| fixed(even(value + bias + random.normal(0.0, 0.1), 0.5), 1, "mm");
    places(real, check, [("inner", 0.0), ("outer", outer)], read, "R-1")
}

/// Reads a part's value at each place, by how much the place differs.
fn places<const N: usize>(
    real: &mut Real,
    check: &str,
    by: [(&str, f64); N],
    read: impl Fn(f64, &mut Random) -> String,
    with: &str,
) -> Vec<Line> {
    let Some(truth) = real.mounted(check).map(|life| real.value(life)) else { return Vec::new() };
    if N == 0 {
        return line(Typed::One(read(truth, &mut real.random)), with, Some(truth));
    }
    let mut by_place = BTreeMap::new();
    for (name, offset) in by {
        by_place.insert(name.to_string(), vec![read(truth + offset, &mut real.random)]);
    }
    line(Typed::Places(by_place), with, Some(truth))
}

fn slack(real: &mut Real, here: &Here<'_>) -> Vec<Line> {
    let window = bounds(here.counting, Unit::Millimetre);
    let shown = |real: &mut Real| libm::round(real.slack_mm + real.random.normal(0.0, 0.8));
    let found = shown(real);
    let mut out = line(Typed::One(fixed(found, 0, "mm")), "R-1", Some(real.slack_mm));
    if found > window.high - 3.0 || found < window.low + 3.0 {
        real.slack_mm = window.target + real.random.normal(0.0, 0.8);
        let now = shown(real);
        out.push(Line::Set("adjusted"));
        out.extend(line(Typed::One(fixed(now, 0, "mm")), "R-1", Some(real.slack_mm)));
    }
    out
}

fn oil(real: &mut Real, here: &Here<'_>) -> Vec<Line> {
    let window = bounds(here.counting, Unit::Percent);
    // A lowered machine on its stand shows less than it has: people learn to leave it lower on the stick.
    let aimed = if real.id == "H-07" { 50.0 } else { window.target };
    let shown = |real: &mut Real| even((real.oil_percent + real.random.normal(0.0, 3.0)).max(0.0), 5.0);
    let found = shown(real);
    let mut out = line(Typed::One(fixed(found, 0, "%")), "E-1", Some(real.oil_percent));
    if found < 35.0 {
        real.oil_percent = aimed + real.random.normal(0.0, 3.0);
        let now = shown(real);
        out.push(Line::Set("topped up"));
        out.extend(line(Typed::One(fixed(now, 0, "%")), "E-1", Some(real.oil_percent)));
    }
    out
}

struct Window {
    low: f64,
    high: f64,
    target: f64,
}

/// The window of the limits that count: the least greatest, the greatest least, and the target.
fn bounds(counting: &Counting<'_>, unit: Unit) -> Window {
    let least = counting.bounds.iter().filter_map(|row| row.at_least).map(|amount| amount.in_unit(unit));
    let most = counting.bounds.iter().filter_map(|row| row.at_most).map(|amount| amount.in_unit(unit));
    let (low, high) = (least.fold(0.0, f64::max), most.fold(1000.0, f64::min));
    let target = counting.target.and_then(|row| row.target).map(|amount| amount.in_unit(unit));
    Window { low, high, target: target.unwrap_or((low + high) / 2.0) }
}

fn line(read: Typed, with: &str, truth: Option<f64>) -> Vec<Line> {
    vec![Line::Read(Figures { read, with: Some(with.into()), tyre: None, why: None, truth })]
}

/// What an instrument shows too much today, in the unit it is read in.
fn bias(here: &Here<'_>, instrument: &str) -> f64 {
    let row = here.settings.compared.iter().find(|row| row.instrument == instrument);
    let dropped = row.and_then(|row| row.dropped).filter(|(on, _)| here.now.date() >= *on);
    row.map_or(0.0, |row| row.bias) + dropped.map_or(0.0, |(_, bias)| bias)
}

fn psi(kpa: f64, gauge: &str) -> f64 {
    let shown = kpa / KPA_PER_PSI;
    if gauge == "G-2" { even(shown, 0.1) } else { even(shown, 0.5) }
}

/// To the nearest step.
fn even(value: f64, step: f64) -> f64 {
    libm::round(value / step) * step
}

/// A figure with its unit.
pub(super) fn fixed(value: f64, decimals: usize, unit: &str) -> String {
    let text = format!("{value:.decimals$}");
    // No zero below zero.
    let text = if text.trim_matches(['-', '0', '.']).is_empty() { text.replace('-', "") } else { text };
    format!("{text} {unit}")
}

/// A moment's air: coldest before the day, warmest in the early afternoon.
pub(super) fn air_at(eight_c: f64, now: Moment, sun_k: f64) -> f64 {
    let clock = now.clock();
    let hour: f64 = clock.split(':').next().and_then(|hour| hour.parse().ok()).unwrap_or(8.0);
    let up = if hour <= 14.0 { (hour - 8.0) / 6.0 } else { 1.0 - (hour - 14.0) / 8.0 };
    eight_c + sun_k * up
}
