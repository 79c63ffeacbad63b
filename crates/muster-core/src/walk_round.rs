//! The walk-round a machine needs: what has lapsed, in the cheapest order its state allows, with what to look for.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use crate::{
    check::{Check, Correction, Measure, Yields},
    form::Form,
    instrument::Instrument,
    judge::{Context, asked},
    limit::{Counting, Limit},
    order::{self, Act, Costs, DeferReason, NoWalk, PowerCosts, Step},
    quantity::{Unit, convert},
    rule::{Rule, TyreRule, WalkCosts},
    state::{Heat, Power, Stance, Standing, State, Station},
    statistics::uncertainty::StandardUncertainty,
    words::{Depth, Use},
};

/// A walk-round, in the order it is walked.
#[derive(Clone, Debug, PartialEq)]
pub struct WalkRound<'c> {
    /// Read first: what was prepared the evening before.
    pub evening: Vec<Ask<'c>>,
    /// The steps in order.
    pub steps: Vec<Ask<'c>>,
    /// What the state found does not allow now, and till when.
    pub deferred: Vec<(&'c Check, String)>,
    /// How long it takes, in seconds, looking, walking and changing state together.
    pub seconds: u32,
}

/// One step of a walk-round.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask<'c> {
    /// The check.
    pub check: &'c Check,
    /// Where it is done on this machine.
    pub station: Station,
    /// The state it is done in.
    pub state: State,
    /// What to change before it: `key on`.
    pub changes: Vec<String>,
    /// How, in short lines: the sheet's way where it has one.
    pub method: Vec<String>,
    /// What can hurt someone: the check's own, then what the sheet's way adds.
    pub caution: Option<String>,
    /// The limits and the target with their sources.
    pub limits: Vec<String>,
    /// Instruments of the yard that cannot decide it here: said before anything is measured.
    pub cannot: Vec<String>,
}

/// Builds the walk-round of a machine.
///
/// # Errors
/// [`NoWalk`] if the catalogue's needs contradict each other.
pub fn plan<'c>(
    context: &Context<'c>,
    forms: &[&Form],
    depth: Depth,
    one: Use,
    found: State,
) -> Result<WalkRound<'c>, NoWalk> {
    let checks = asked(context, forms, depth, one);
    let equipment = &context.machine.traits.equipment;
    let standing = Standing::of_machine(equipment);
    let (evening, now): (Vec<_>, Vec<_>) = checks.into_iter().partition(|check| check.evening);
    let steps: Vec<Step> = now
        .iter()
        .enumerate()
        .map(|(id, check)| Step {
            id,
            station: check.station,
            needs: standing.of(context.needs(check)),
            ms: check.seconds.saturating_mul(1000),
            after: Vec::new(),
        })
        .collect();
    let plan = order::plan(found, &steps, &costs(&context.catalogue.rule.walk))?;
    let read_first: u32 = evening.iter().map(|check| check.seconds).sum();
    let evening = evening.into_iter().map(|check| ask(context, check, one, found, Vec::new())).collect();
    let kind = Kind { has_sidecar: equipment.has_sidecar(), is_electric: equipment.is_electric() };
    let told = plan.steps.iter().filter_map(|step| {
        let changes = step.changes.iter().map(|change| words(change.act, kind)).collect();
        now.get(step.id).map(|check| ask(context, check, one, step.state, changes))
    });
    let deferred = plan.deferred.iter().filter_map(|deferred| {
        let check = now.get(deferred.id)?;
        Some((*check, wait(context, forms, deferred.reason)))
    });
    Ok(WalkRound {
        evening,
        steps: told.collect(),
        deferred: deferred.collect(),
        seconds: u32::try_from(plan.total_ms.div_ceil(1000)).unwrap_or(u32::MAX).saturating_add(read_first),
    })
}

fn costs(walk: &WalkCosts) -> Costs {
    let [off, on, running] = walk.power;
    Costs {
        walk_ms: walk.between,
        start_ms: walk.from_start,
        power: PowerCosts { key_on_ms: on, key_off_ms: off, start_ms: running, stop_ms: off },
        stance_ms: walk.stance.map(|_| walk.stance),
        warm_up_ms: walk.warm_up,
    }
}

/// What of a machine changes how its states are told.
#[derive(Clone, Copy)]
struct Kind {
    has_sidecar: bool,
    is_electric: bool,
}

/// What to do, in words; a machine with a sidecar stands by itself, an electric one has no engine to start.
fn words(act: Act, Kind { has_sidecar, is_electric }: Kind) -> String {
    let lowered = match act {
        Act::Stance { from, .. } if from.is_raised() => "wheel down, then ",
        _ => "",
    };
    let then = match act {
        Act::Power { from: Power::Running, to: Power::On, .. } if is_electric => "out of ready, key on",
        Act::Power { to: Power::Running, .. } if is_electric => "make it ready: brake held, hand off the throttle",
        Act::WarmUp if is_electric => "let it warm up",
        Act::Power { to: Power::Off, .. } => "key off",
        Act::Power { from: Power::Running, .. } => "stop the engine, key on",
        Act::Power { to: Power::On, .. } if is_electric => "key on, hand off the throttle",
        Act::Power { to: Power::On, .. } => "key on",
        Act::Power { to: Power::Running, .. } => "start the engine, outdoors",
        Act::Stance { to: Stance::SideStand | Stance::Upright, .. } if has_sidecar => "on its own wheels",
        Act::Stance { to: Stance::SideStand, .. } => "on its side stand",
        Act::Stance { to: Stance::Upright, .. } => "hold it upright",
        Act::Stance { to: Stance::Seated, .. } => "sit on it",
        Act::Stance { to: Stance::FrontRaised, .. } => {
            "front wheel off the ground, on a stand on firm level ground, a second person steadies it"
        }
        Act::Stance { to: Stance::RearRaised, .. } => {
            "rear wheel off the ground, on a stand on firm level ground, a second person steadies it"
        }
        Act::WarmUp => "let it warm up, outdoors",
    };
    format!("{lowered}{then}")
}

fn wait(context: &Context<'_>, forms: &[&Form], reason: DeferReason) -> String {
    let what = match reason {
        DeferReason::NeedsCold => "needs it cold",
        DeferReason::NeedsNotHot => "nothing is measured on hot parts",
        DeferReason::NeedsHot => "needs it hot",
        DeferReason::Waits { .. } => "waits for another check",
    };
    let back = forms.iter().filter_map(|form| form.ridden).filter(|back| *back <= context.now).max();
    let rested = context.catalogue.rule.tyre.rested.seconds() as i64;
    match (reason, back) {
        (DeferReason::NeedsCold | DeferReason::NeedsNotHot, Some(back)) if back.later_by(rested) > context.now => {
            format!("{what}: after {}", back.later_by(rested).clock())
        }
        _ => what.to_string(),
    }
}

fn ask<'c>(context: &Context<'c>, check: &'c Check, one: Use, state: State, changes: Vec<String>) -> Ask<'c> {
    let counting = context.limits(check, one);
    let procedure = context.procedure(check).filter(|procedure| !procedure.method.is_empty());
    let page = procedure.and_then(|procedure| procedure.page.as_ref()).map(|page| format!("(handbook, {page})"));
    let method = context.method(check).iter().cloned().chain(page).collect();
    let (limits, cannot) = match &check.yields {
        Yields::Read(measure) => (limits(context, measure, &counting), cannot(context, measure, &counting, state)),
        _ => (Vec::new(), Vec::new()),
    };
    Ask { check, station: check.station, state, changes, method, caution: context.caution(check), limits, cannot }
}

/// The limits and the target in the unit shown, each with its layer and source.
#[must_use]
pub fn limits(context: &Context<'_>, measure: &Measure, counting: &Counting<'_>) -> Vec<String> {
    let shown = context.shown(measure);
    let text = |amount: crate::quantity::Amount| shown.text(amount.value(), amount.unit());
    let row = |row: &&Limit| {
        let bound = match (row.at_least, row.at_most) {
            (Some(least), Some(most)) => {
                format!("{} to {}", shown.figure(least.value(), least.unit()), text(most))
            }
            (Some(least), None) => format!("at least {}", text(least)),
            (None, Some(most)) => format!("at most {}", text(most)),
            (None, None) => String::new(),
        };
        let places = if row.places.is_empty() { String::new() } else { format!(" {}", row.places.join(", ")) };
        format!("{bound}{places} ({}: {})", row.layer, row.provenance)
    };
    let target = counting.target.and_then(|row| row.target).map(|target| format!("set {}", text(target)));
    // Several clauses that come to the same figure are one line.
    let mut lines: Vec<String> = target.into_iter().collect();
    for line in counting.bounds.iter().map(row) {
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines
}

/// The yard's instruments for this check with which no reading could be fit, by number and accuracy.
fn cannot(context: &Context<'_>, measure: &Measure, counting: &Counting<'_>, state: State) -> Vec<String> {
    let reads = |instrument: &&Instrument| {
        instrument.reads == measure.kind
            && (measure.instruments.is_empty() || measure.instruments.contains(&instrument.kind))
            && instrument.is_trusted(context.now.date())
    };
    let rule = &context.catalogue.rule;
    let warm = measure.correction == Some(Correction::TyreGas) && state.heat != Heat::Cold;
    let instruments = context.yard.instruments.values().filter(reads);
    let no = instruments.filter(|instrument| {
        counting.bounds.iter().any(|row| can_decide(rule, measure, instrument, (row, warm)) == Some(false))
    });
    no.map(|instrument| format!("{} ({}) cannot decide this: use a finer one", instrument.id, instrument.name))
        .collect()
}

/// Whether any reading of a check that can be taken at all is fit when read with an instrument: the middle of a window, or
/// the far end of what the check can read, from one bound; none if the units do not fit.
///
/// Source: JCGM 106:2012, 7.2 and 7.4; the thresholds are the rule's.
#[must_use]
pub fn can_decide(
    rule: &Rule,
    measure: &Measure,
    instrument: &Instrument,
    (row, warm): (&Limit, bool),
) -> Option<bool> {
    let unit = row.unit().unwrap_or(measure.si.unit);
    let u = uncertainty_with(rule, measure, instrument, (row, warm))?;
    let window = row.window(unit)?;
    let end = |value: f64| convert(value, measure.range.unit, unit);
    let best = match (window.lower(), window.upper()) {
        (Some(_), None) => window.conformance(end(measure.range.max), u).ok()?,
        (None, Some(_)) => window.conformance(end(measure.range.min), u).ok()?,
        _ => window.best_possible(u),
    };
    Some(best >= rule.verdict.fit)
}

/// The uncertainty of one reading of a check with an instrument near a limit, in the limit's unit, cold or on a warm tyre:
/// scatter of the hand, resolution and accuracy of the instrument, and what warmth adds; none if the units do not fit.
///
/// Source: JCGM 100:2008, 5.1.2.
#[must_use]
pub fn uncertainty_with(
    rule: &Rule,
    measure: &Measure,
    instrument: &Instrument,
    (row, warm): (&Limit, bool),
) -> Option<StandardUncertainty> {
    let unit = row.unit().unwrap_or(measure.si.unit);
    let scatter = measure.repeatability.as_ref();
    let scatter = scatter.map_or(0.0, |scatter| scatter.deviation.value() * scatter.deviation.unit().step());
    let error = instrument.error(unit).ok()?;
    let gas = if warm { gas_u(&rule.tyre, row, unit) } else { 0.0 };
    let own = |value: f64| StandardUncertainty::new(value).ok();
    StandardUncertainty::combine([error.resolution(), error.bias(), own(scatter / unit.step())?, own(gas)?]).ok()
}

/// What not knowing the gas's temperature adds to a warm tyre's reading near its limit, in `unit`.
fn gas_u(rule: &TyreRule, row: &Limit, unit: Unit) -> f64 {
    const ROOM_K: f64 = 293.15;
    let near = row.at_least.or(row.at_most).map_or(0.0, crate::quantity::Amount::canonical);
    (near + rule.barometer.kpa()) * rule.gas_u.kelvin() / ROOM_K / unit.step()
}
