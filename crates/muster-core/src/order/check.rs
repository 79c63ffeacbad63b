//! Checks a finished plan against every rule of a walk-round, apart from the search that made it.

use alloc::collections::{BTreeMap, BTreeSet};
use alloc::vec::Vec;

use super::phases::{Act, DeferReason, PlannedStep, Step, WalkPlan, heat_at_start, own_reason};
use crate::state::{Heat, Power, Stance, State, Station};

/// A rule a plan breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Violation {
    /// A step is neither planned nor deferred.
    Missing {
        /// The step.
        id: usize,
    },
    /// A step is planned or deferred more than once.
    Repeated {
        /// The step.
        id: usize,
    },
    /// A step is not among those asked for, or stands at another station or time than asked.
    NotAsked {
        /// The step.
        id: usize,
    },
    /// A step is deferred without the reason given.
    NotDeferrable {
        /// The step.
        id: usize,
    },
    /// A step is done in a state it cannot be done in.
    WrongState {
        /// The step.
        id: usize,
    },
    /// The changes before a step do not lead to the state it is done in.
    NoWayTo {
        /// The step.
        id: usize,
    },
    /// A step comes before one it must follow.
    TooEarly {
        /// The step.
        id: usize,
        /// The step it must follow.
        after: usize,
    },
    /// A cold-only step comes when the engine has run.
    NotCold {
        /// The step.
        id: usize,
    },
    /// A step that needs no warmth comes after the engine has run and stopped.
    RunningNotLast {
        /// The step.
        id: usize,
    },
    /// A state is left and entered again for steps.
    StateAgain {
        /// The state.
        state: State,
    },
    /// A station is left and entered again within one state.
    StationAgain {
        /// The station.
        station: Station,
        /// The state.
        state: State,
    },
    /// Key-on or key-off steps are torn apart, or the engine (warm-up included) runs twice for steps.
    PowerSplit {
        /// The power.
        power: Power,
    },
    /// Seated steps with one power are torn apart.
    SeatedSplit {
        /// The power.
        power: Power,
    },
    /// A sum of ms is not that of its parts.
    WrongSum,
}

/// Lists every rule a plan breaks for these steps; a sound plan breaks none.
///
/// Whether it is the cheapest, and whether the ms walked are those of a site, is not checked here.
#[must_use]
pub fn violations(plan: &WalkPlan, steps: &[Step]) -> Vec<Violation> {
    let mut broken = Vec::new();
    let asked: BTreeMap<usize, &Step> = steps.iter().map(|step| (step.id, step)).collect();
    roll_call(plan, &asked, &mut broken);
    deferrals(plan, &asked, &mut broken);
    states(plan, &asked, &mut broken);
    precedences(plan, &asked, &mut broken);
    engine(plan, &asked, &mut broken);
    togetherness(plan, &mut broken);
    sums(plan, &mut broken);
    broken
}

fn roll_call(plan: &WalkPlan, asked: &BTreeMap<usize, &Step>, broken: &mut Vec<Violation>) {
    let mut seen = BTreeSet::new();
    for id in plan.steps.iter().map(|step| step.id).chain(plan.deferred.iter().map(|step| step.id)) {
        if !seen.insert(id) {
            broken.push(Violation::Repeated { id });
        }
        if !asked.contains_key(&id) {
            broken.push(Violation::NotAsked { id });
        }
    }
    for planned in &plan.steps {
        let same = |step: &&Step| step.station == planned.station && step.ms == planned.ms;
        if asked.get(&planned.id).is_some_and(|step| !same(step)) {
            broken.push(Violation::NotAsked { id: planned.id });
        }
    }
    broken.extend(asked.keys().filter(|id| !seen.contains(id)).map(|id| Violation::Missing { id: *id }));
}

fn deferrals(plan: &WalkPlan, asked: &BTreeMap<usize, &Step>, broken: &mut Vec<Violation>) {
    let heat = heat_at_start(plan.found);
    let waiting: BTreeSet<usize> = plan.deferred.iter().map(|step| step.id).collect();
    for deferred in &plan.deferred {
        let Some(step) = asked.get(&deferred.id) else { continue };
        let grounded = match deferred.reason {
            DeferReason::Waits { on } => step.after.contains(&on) && waiting.contains(&on),
            own => own_reason(heat, step.needs) == Some(own),
        };
        if !grounded {
            broken.push(Violation::NotDeferrable { id: deferred.id });
        }
    }
}

/// Follows the changes from the state found, and asks each step whether it can be done.
fn states(plan: &WalkPlan, asked: &BTreeMap<usize, &Step>, broken: &mut Vec<Violation>) {
    let mut now = State { heat: heat_at_start(plan.found), ..plan.found };
    for planned in &plan.steps {
        let mut possible = true;
        for change in &planned.changes {
            possible &= apply(change.act, &mut now);
        }
        if !possible || now != planned.state {
            broken.push(Violation::NoWayTo { id: planned.id });
            now = planned.state;
        }
        if asked.get(&planned.id).is_some_and(|step| !step.needs.allows(planned.state)) {
            broken.push(Violation::WrongState { id: planned.id });
        }
    }
}

fn apply(act: Act, now: &mut State) -> bool {
    match act {
        Act::Power { from, to } => {
            let notch = matches!(
                (from, to),
                (Power::Off, Power::On) | (Power::On, Power::Off | Power::Running) | (Power::Running, Power::On)
            );
            let possible = notch && now.power == from;
            now.power = to;
            possible
        }
        Act::Stance { from, to } => {
            let possible = now.stance == from && from != to;
            now.stance = to;
            possible
        }
        Act::WarmUp => {
            let possible = now.power == Power::Running && now.heat == Heat::Cold;
            now.heat = now.heat.max(Heat::Warm);
            possible
        }
    }
}

fn precedences(plan: &WalkPlan, asked: &BTreeMap<usize, &Step>, broken: &mut Vec<Violation>) {
    let mut done = BTreeSet::new();
    for planned in &plan.steps {
        let needed = asked.get(&planned.id).map_or(&[][..], |step| &step.after);
        for after in needed.iter().filter(|after| asked.contains_key(after) && !done.contains(*after)) {
            broken.push(Violation::TooEarly { id: planned.id, after: *after });
        }
        done.insert(planned.id);
    }
}

/// Cold before the engine runs; after it has stopped, only what needs warmth or follows what does.
fn engine(plan: &WalkPlan, asked: &BTreeMap<usize, &Step>, broken: &mut Vec<Violation>) {
    let (mut step_ran, mut stopped, mut engine_ran) = (false, false, plan.found.power == Power::Running);
    for planned in &plan.steps {
        let Some(step) = asked.get(&planned.id) else { continue };
        let running = planned.state.power == Power::Running;
        let started = |act: Act| matches!(act, Act::Power { to: Power::Running, .. });
        engine_ran |= running || planned.changes.iter().any(|change| started(change.act));
        step_ran |= running || planned.changes.iter().any(|change| change.act == Act::WarmUp);
        if engine_ran && step.needs.is_cold_only() {
            broken.push(Violation::NotCold { id: planned.id });
        }
        stopped |= step_ran && !running;
        if running && stopped {
            broken.push(Violation::PowerSplit { power: Power::Running });
        }
        if step_ran && !running && !follows_warmth(planned.id, asked, plan) {
            broken.push(Violation::RunningNotLast { id: planned.id });
        }
    }
}

fn follows_warmth(id: usize, asked: &BTreeMap<usize, &Step>, plan: &WalkPlan) -> bool {
    // A machine found warm is warm before the engine runs, so nothing has to follow.
    if heat_at_start(plan.found) != Heat::Cold {
        return false;
    }
    let (mut open, mut seen) = (Vec::from([id]), BTreeSet::new());
    while let Some(id) = open.pop() {
        let Some(step) = asked.get(&id).filter(|_| seen.insert(id)) else { continue };
        if step.needs.is_warmth() {
            return true;
        }
        open.extend(step.after.iter().copied());
    }
    false
}

fn togetherness(plan: &WalkPlan, broken: &mut Vec<Violation>) {
    for state in split(plan.steps.iter().map(|step| step.state)) {
        broken.push(Violation::StateAgain { state });
    }
    for (state, station) in split(plan.steps.iter().map(|step| (step.state, step.station))) {
        broken.push(Violation::StationAgain { station, state });
    }
    // Before the engine ran and after it, key-on and key-off steps are counted apart.
    let leg = |step: &PlannedStep, ran: &mut bool| {
        *ran |= step.state.power == Power::Running || step.changes.iter().any(|change| change.act == Act::WarmUp);
        *ran
    };
    let mut ran = false;
    let legs: Vec<(bool, State)> = plan.steps.iter().map(|step| (leg(step, &mut ran), step.state)).collect();
    let powers = split(legs.iter().map(|(ran, state)| (*ran, state.power)));
    let powers = powers.into_iter().map(|(_, power)| power).filter(|power| *power != Power::Running);
    broken.extend(powers.map(|power| Violation::PowerSplit { power }));
    for &power in Power::ALL {
        let within = legs.iter().filter(|(_, state)| state.power == power);
        let seats = split(within.map(|(ran, state)| (*ran, state.stance == Stance::Seated)));
        broken.extend(seats.into_iter().filter(|(_, seated)| *seated).map(|_| Violation::SeatedSplit { power }));
    }
}

/// The values that come back after another came between.
fn split<T: Copy + Ord>(values: impl Iterator<Item = T>) -> Vec<T> {
    let (mut seen, mut last, mut again) = (BTreeSet::new(), None, Vec::new());
    for value in values {
        if last != Some(value) && !seen.insert(value) {
            again.push(value);
        }
        last = Some(value);
    }
    again
}

fn sums(plan: &WalkPlan, broken: &mut Vec<Violation>) {
    let walking: u64 = plan.steps.iter().map(|step| step.walking_ms).sum();
    let changing: u64 = plan.steps.iter().flat_map(|step| &step.changes).map(|change| change.ms).sum();
    let doing: u64 = plan.steps.iter().map(|step| u64::from(step.ms)).sum();
    let stated = (plan.walking_ms, plan.changing_ms, plan.total_ms);
    if stated != (walking, changing, walking + changing + doing) {
        broken.push(Violation::WrongSum);
    }
}
