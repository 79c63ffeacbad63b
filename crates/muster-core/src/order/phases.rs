//! The steps of a walk-round and their cheapest order from the state the machine is found in.

use alloc::vec::Vec;

use super::line::{Line, STANCES, changes};
use super::search::{Outcome, Prepared, Problem, Visit};
use crate::sorted::{sort, sort_by};
use crate::state::{Heat, Needs, Power, Stance, State, Station};

/// The most steps one walk-round may have.
pub const MAX_STEPS: usize = 128;

/// One thing to do at the machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// Its number, unique among the steps; lower ones go first where it costs nothing.
    pub id: usize,
    /// Where it is done.
    pub station: Station,
    /// The states in which it can be done.
    pub needs: Needs,
    /// How long it takes, ms.
    pub ms: u32,
    /// Steps that must come before it; those not in the round count as done.
    pub after: Vec<usize>,
}

/// What moving key and engine one notch costs, ms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PowerCosts {
    /// Off to on.
    pub key_on_ms: u32,
    /// On to off.
    pub key_off_ms: u32,
    /// On to running.
    pub start_ms: u32,
    /// Running to on.
    pub stop_ms: u32,
}

/// What a person's time goes into besides the steps. Detours are used where they are shorter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Costs {
    /// Walking from station to station (`[from][to]`, in the order of [`Station`]), ms.
    pub walk_ms: [[u32; 6]; 6],
    /// Walking from where the person stands at first to each station, ms.
    pub start_ms: [u32; 6],
    /// Key and engine.
    pub power: PowerCosts,
    /// Changing the stance (`[from][to]`, in the order of [`Stance`]), ms.
    pub stance_ms: [[u32; STANCES]; STANCES],
    /// Warming up a cold machine with the engine running, ms.
    pub warm_up_ms: u32,
}

/// The cheapest walk-round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WalkPlan {
    /// The state the machine was found in.
    pub found: State,
    /// The steps in order.
    pub steps: Vec<PlannedStep>,
    /// Steps that cannot be done now, by id.
    pub deferred: Vec<Deferred>,
    /// Steps, walking and changes together, ms.
    pub total_ms: u64,
    /// Walking alone, ms.
    pub walking_ms: u64,
    /// Changes of state alone, ms.
    pub changing_ms: u64,
}

/// A step in its place, with what leads to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlannedStep {
    /// The step.
    pub id: usize,
    /// Where it is done.
    pub station: Station,
    /// The state it is done in.
    pub state: State,
    /// Walking to its station from the step before, ms.
    pub walking_ms: u64,
    /// What is done to the machine before it, in order.
    pub changes: Vec<Change>,
    /// The step itself, ms.
    pub ms: u32,
}

/// One act that changes the state of the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    /// What is done.
    pub act: Act,
    /// How long it takes, ms.
    pub ms: u64,
}

/// What can be done to a machine between steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Act {
    /// Key or engine, one notch.
    Power {
        /// Before.
        from: Power,
        /// After.
        to: Power,
    },
    /// The stance.
    Stance {
        /// Before.
        from: Stance,
        /// After.
        to: Stance,
    },
    /// Letting the engine run until the machine is warm.
    WarmUp,
}

/// A step that has to wait for another day, or hour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Deferred {
    /// The step.
    pub id: usize,
    /// Why it cannot be done now.
    pub reason: DeferReason,
}

/// Why a step cannot be done from the state found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DeferReason {
    /// It needs a cold machine, and this one is not.
    NeedsCold,
    /// Nothing is done on hot parts.
    NeedsNotHot,
    /// It needs a hot machine, and a walk-round does not make it hot.
    NeedsHot,
    /// It comes after a step that is deferred.
    Waits {
        /// The lowest such step.
        on: usize,
    },
}

/// Why there is no plan: the steps contradict themselves.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoWalk {
    /// Too many steps.
    #[error("a walk-round can have at most {MAX_STEPS} steps, got {got}")]
    TooManySteps {
        /// How many were given.
        got: usize,
    },
    /// Two steps with one number.
    #[error("step {id} is given twice")]
    Duplicate {
        /// The number.
        id: usize,
    },
    /// No state meets the needs of a step.
    #[error("no state meets the needs of step {id}")]
    NeverMet {
        /// The step.
        id: usize,
    },
    /// Steps wait for each other.
    #[error("steps {ids:?} wait for each other")]
    Cycle {
        /// The steps, ascending.
        ids: Vec<usize>,
    },
    /// The rules of a walk-round and these precedences cannot be kept together.
    #[error("no walk-round keeps all of these orders (first, then): {pairs:?}")]
    OrderImpossible {
        /// A smallest set of precedences that contradict the rules: dropping any one resolves it.
        pairs: Vec<(usize, usize)>,
    },
    /// The search grew past its limit without an answer.
    #[error("the steps leave more than {states} orders open, give them fewer choices of state")]
    TooOpen {
        /// How many partial plans were looked at.
        states: usize,
    },
}

/// Returns the quickest plan that keeps all rules of the [module](super), exact.
///
/// A machine found running counts as warm if it is said to be cold. Among equally quick plans it is
/// always the same one: the search tries lower stations, then earlier states first, and within a
/// visit the lowest step goes first. The order in which steps are given does not matter.
///
/// Errors: see [`NoWalk`].
pub fn plan(found: State, steps: &[Step], costs: &Costs) -> Result<WalkPlan, NoWalk> {
    let steps = sorted(steps)?;
    let heat = heat_at_start(found);
    let ids: Vec<usize> = steps.iter().map(|step| step.id).collect();
    let pairs: Vec<(usize, usize)> = steps
        .iter()
        .flat_map(|step| step.after.iter().map(|first| (*first, step.id)))
        .filter(|(first, _)| ids.contains(first))
        .collect();
    acyclic(&ids, &pairs)?;
    let deferred = deferred(heat, &steps);
    let waiting: Vec<usize> = deferred.iter().map(|step| step.id).collect();
    let doable: Vec<&Step> = steps.into_iter().filter(|step| !waiting.contains(&step.id)).collect();
    let mut pairs: Vec<(usize, usize)> =
        pairs.into_iter().filter(|(first, then)| !waiting.contains(first) && !waiting.contains(then)).collect();
    sort(&mut pairs);
    pairs.dedup();

    let phase = Line::phase_found(State { heat, ..found });
    let problem = Problem::new(phase, prepare(heat, &doable, &pairs), costs);
    match problem.solve() {
        Outcome::Found(visits) => Ok(WalkPlan { deferred, ..written(found, &doable, &problem, &visits, costs) }),
        Outcome::TooOpen(states) => Err(NoWalk::TooOpen { states }),
        Outcome::Impossible => {
            Err(NoWalk::OrderImpossible { pairs: contradiction(phase, heat, &doable, pairs, costs) })
        }
    }
}

/// The heat a plan starts with: an engine that runs is not cold.
pub(crate) fn heat_at_start(found: State) -> Heat {
    if found.power == Power::Running { found.heat.max(Heat::Warm) } else { found.heat }
}

/// Why a step cannot be done from this heat, apart from the steps it waits for.
pub(crate) fn own_reason(heat: Heat, needs: Needs) -> Option<DeferReason> {
    let (cold, warm) = (needs.allows_heat(Heat::Cold), needs.allows_heat(Heat::Warm));
    match heat {
        _ if needs.allows_heat(heat) => None,
        Heat::Cold if warm => None,
        Heat::Warm if cold => Some(DeferReason::NeedsCold),
        Heat::Cold | Heat::Warm => Some(DeferReason::NeedsHot),
        Heat::Hot if warm => Some(DeferReason::NeedsNotHot),
        Heat::Hot => Some(DeferReason::NeedsCold),
    }
}

fn sorted(steps: &[Step]) -> Result<Vec<&Step>, NoWalk> {
    if steps.len() > MAX_STEPS {
        return Err(NoWalk::TooManySteps { got: steps.len() });
    }
    let mut sorted: Vec<&Step> = steps.iter().collect();
    sort_by(&mut sorted, |a, b| a.id.cmp(&b.id));
    for (step, next) in sorted.iter().zip(sorted.iter().skip(1)) {
        if step.id == next.id {
            return Err(NoWalk::Duplicate { id: step.id });
        }
    }
    match sorted.iter().find(|step| !step.needs.can_be_met()) {
        Some(step) => Err(NoWalk::NeverMet { id: step.id }),
        None => Ok(sorted),
    }
}

fn acyclic(ids: &[usize], pairs: &[(usize, usize)]) -> Result<(), NoWalk> {
    let mut left = ids.to_vec();
    loop {
        let waits = |id: &usize| pairs.iter().any(|(first, then)| then == id && left.contains(first));
        let stuck: Vec<usize> = left.iter().copied().filter(waits).collect();
        if stuck.is_empty() {
            return Ok(());
        }
        if stuck.len() == left.len() {
            return Err(NoWalk::Cycle { ids: stuck });
        }
        left = stuck;
    }
}

fn deferred(heat: Heat, steps: &[&Step]) -> Vec<Deferred> {
    let own = |step: &&Step| Some(Deferred { id: step.id, reason: own_reason(heat, step.needs)? });
    let mut deferred: Vec<Deferred> = steps.iter().filter_map(own).collect();
    loop {
        let before = deferred.len();
        for step in steps {
            let waits = |id: &usize| deferred.iter().any(|other| other.id == *id);
            let first = step.after.iter().copied().filter(waits).min();
            if let Some(on) = first.filter(|_| !waits(&step.id)) {
                deferred.push(Deferred { id: step.id, reason: DeferReason::Waits { on } });
            }
        }
        if deferred.len() == before {
            sort_by(&mut deferred, |a, b| a.id.cmp(&b.id));
            return deferred;
        }
    }
}

fn prepare(heat: Heat, steps: &[&Step], pairs: &[(usize, usize)]) -> Vec<Prepared> {
    let mut late: Vec<usize> = steps.iter().filter(|step| step.needs.is_warmth()).map(|step| step.id).collect();
    while let Some((_, then)) = pairs.iter().find(|(first, then)| late.contains(first) && !late.contains(then)) {
        late.push(*then);
    }
    let bit = |id: &usize| steps.iter().position(|step| step.id == *id).map_or(0u128, |at| 1 << at);
    steps
        .iter()
        .map(|step| Prepared {
            station: step.station as usize,
            allowed: Line::new(heat).allowed(step.needs, late.contains(&step.id)),
            before: pairs.iter().filter(|(_, then)| *then == step.id).fold(0, |bits, (first, _)| bits | bit(first)),
        })
        .collect()
}

/// Drops precedences as long as the rest still contradicts the rules.
fn contradiction(
    phase: usize,
    heat: Heat,
    steps: &[&Step],
    mut pairs: Vec<(usize, usize)>,
    costs: &Costs,
) -> Vec<(usize, usize)> {
    let mut at = 0;
    while at < pairs.len() {
        let mut fewer = pairs.clone();
        fewer.remove(at);
        match Problem::new(phase, prepare(heat, steps, &fewer), costs).solve() {
            Outcome::Impossible => pairs = fewer,
            Outcome::Found(_) | Outcome::TooOpen(_) => at += 1,
        }
    }
    pairs
}

fn written(found: State, steps: &[&Step], problem: &Problem, visits: &[Visit], costs: &Costs) -> WalkPlan {
    let line = Line::new(heat_at_start(found));
    let mut plan = WalkPlan {
        found,
        steps: Vec::with_capacity(steps.len()),
        deferred: Vec::new(),
        total_ms: 0,
        walking_ms: 0,
        changing_ms: 0,
    };
    let (mut phase, mut place, mut done) = (Line::phase_found(found), None, 0u128);
    for visit in visits {
        let mut walking_ms = problem.walking(place, visit.station);
        let mut changes = changes(phase, visit.phase, costs);
        plan.walking_ms += walking_ms;
        plan.changing_ms += changes.iter().map(|change| change.ms).sum::<u64>();
        while let Some(at) = problem.next_step(done, visit) {
            done |= 1 << at;
            let Some(step) = steps.get(at) else { continue };
            plan.total_ms += u64::from(step.ms);
            plan.steps.push(PlannedStep {
                id: step.id,
                station: step.station,
                state: line.state(visit.phase),
                walking_ms: core::mem::take(&mut walking_ms),
                changes: core::mem::take(&mut changes),
                ms: step.ms,
            });
        }
        (phase, place) = (visit.phase, Some(visit.station));
    }
    plan.total_ms += plan.walking_ms + plan.changing_ms;
    plan
}
