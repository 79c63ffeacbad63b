//! The states a walk-round can pass through, numbered along the way of key, engine and heat.

use super::phases::{Act, Change, Costs};
use crate::state::{Heat, Needs, Power, Stance, State};
use alloc::vec::Vec;

use super::bounds::{NO_WAY, close};

/// Points on the line of power and heat: off, on, running as found; running, on, off once warmed up.
pub(crate) const NODES: usize = 6;
/// Ways a machine can stand.
pub(crate) const STANCES: usize = Stance::ALL.len();
/// States a plan may use: each point with each stance.
pub(crate) const PHASES: usize = NODES * STANCES;

const ALL_PHASES: u32 = (1 << PHASES) - 1;
const OFF_BEFORE: u32 = of_nodes(0, 1);
const ON_BEFORE: u32 = of_nodes(1, 2);
const RUNNING: u32 = of_nodes(2, 4);
const ON_AFTER: u32 = of_nodes(4, 5);
const OFF_AFTER: u32 = of_nodes(5, 6);
const SEATED: u32 = seated();

/// The phases of the points from one up to another.
const fn of_nodes(from: usize, to: usize) -> u32 {
    (1 << (to * STANCES)) - (1 << (from * STANCES))
}

const fn seated() -> u32 {
    let (mut node, mut phases) = (0, 0);
    while node < NODES {
        phases |= 1 << (node * STANCES + Stance::Seated as usize);
        node += 1;
    }
    phases
}

/// The phases as seen from the heat found; only a cold machine can be warmed up.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line {
    found: Heat,
}

impl Line {
    pub(crate) fn new(found: Heat) -> Self {
        Self { found }
    }

    pub(crate) fn state(self, phase: usize) -> State {
        let node = phase / STANCES;
        State { heat: if node < 3 { self.found } else { Heat::Warm }, power: power(node), stance: stance(phase) }
    }

    /// The phase a machine is found in: on the first half of the line.
    pub(crate) fn phase_found(state: State) -> usize {
        state.power as usize * STANCES + state.stance as usize
    }

    /// The phases in which a step can be done; `late` ones may follow the warm-up.
    pub(crate) fn allowed(self, needs: Needs, late: bool) -> u32 {
        let phases = if self.found == Heat::Cold { PHASES } else { PHASES / 2 };
        (0..phases)
            .filter(|phase| {
                let state = self.state(*phase);
                let engine_ran = state.power == Power::Running;
                needs.allows(state) && !(engine_ran && needs.is_cold_only()) && (late || phase / STANCES < 4)
            })
            .fold(0, |bits, phase| bits | 1 << phase)
    }
}

fn power(node: usize) -> Power {
    [Power::Off, Power::On, Power::Running, Power::Running, Power::On, Power::Off][node]
}

fn stance(phase: usize) -> Stance {
    use Stance::{FrontRaised, RearRaised, Seated, SideStand, Upright};
    [SideStand, Upright, Seated, FrontRaised, RearRaised][phase % STANCES]
}

/// The phases that can hold no further step once one goes from phase `from` to another.
pub(crate) fn closed_by(from: Option<usize>, to: usize) -> u32 {
    let entered = match to / STANCES {
        0 | 1 => 0,
        2 => of_nodes(0, 2),
        3 => of_nodes(0, 3),
        _ => of_nodes(0, 4),
    };
    let Some(from) = from.filter(|from| *from != to) else { return entered };
    let left = groups(from).into_iter().filter(|group| group >> to & 1 == 0).fold(0, |bits, group| bits | group);
    (entered | left) & ALL_PHASES
}

/// The groups a phase is in that hold no further step once one has left them: its power, seated while running, itself.
pub(crate) fn groups(phase: usize) -> [u32; 3] {
    let power = [OFF_BEFORE, ON_BEFORE, RUNNING, RUNNING, ON_AFTER, OFF_AFTER][phase / STANCES];
    let seated = RUNNING & SEATED;
    [power, if seated >> phase & 1 == 1 { seated } else { power }, 1 << phase]
}

/// What going along the line costs, by the shortest way.
pub(crate) fn node_ways(costs: &Costs) -> [[u64; NODES]; NODES] {
    let power = &costs.power;
    let mut ways = [[NO_WAY; NODES]; NODES];
    for (off, on) in [(0, 1), (5, 4)] {
        ways[off][on] = u64::from(power.key_on_ms);
        ways[on][off] = u64::from(power.key_off_ms);
    }
    ways[1][2] = u64::from(power.start_ms);
    ways[2][1] = u64::from(power.stop_ms);
    ways[2][3] = u64::from(costs.warm_up_ms);
    ways[3][4] = u64::from(power.stop_ms);
    close(ways)
}

/// What changing the stance costs, by the cheapest way.
pub(crate) fn stance_ways(costs: &Costs) -> [[u64; STANCES]; STANCES] {
    close(costs.stance_ms.map(|row| row.map(u64::from)))
}

/// The acts between two phases, in the order a careful person does them.
///
/// The engine is stopped before the stance changes and the stance is right before it starts;
/// a wheel is raised for a warmed machine only after the engine has stopped.
pub(crate) fn changes(from: usize, to: usize, costs: &Costs) -> Vec<Change> {
    let (node, target) = (from / STANCES, to / STANCES);
    let mut acts = Vec::new();
    let warms_up = node < 3 && target >= 3;
    if warms_up {
        switch(power(node), Power::Running, costs, &mut acts);
        acts.push(Change { act: Act::WarmUp, ms: u64::from(costs.warm_up_ms) });
        switch(Power::Running, power(target), costs, &mut acts);
    } else {
        switch(power(node), power(target), costs, &mut acts);
    }
    let (standing, wanted) = (stance(from), stance(to));
    if standing != wanted {
        let ms = stance_ways(costs)[from % STANCES][to % STANCES];
        let act = Change { act: Act::Stance { from: standing, to: wanted }, ms };
        let stops = power(target) < power(node);
        let last = if warms_up { stops || wanted.is_raised() } else { stops };
        acts.insert(if last { acts.len() } else { 0 }, act);
    }
    acts
}

fn switch(from: Power, to: Power, costs: &Costs, acts: &mut Vec<Change>) {
    let mut power = from;
    while power != to {
        let (next, ms) = match (power, power < to) {
            (Power::Off, _) => (Power::On, costs.power.key_on_ms),
            (Power::On, true) => (Power::Running, costs.power.start_ms),
            (Power::On, false) => (Power::Off, costs.power.key_off_ms),
            (Power::Running, _) => (Power::On, costs.power.stop_ms),
        };
        acts.push(Change { act: Act::Power { from: power, to: next }, ms: u64::from(ms) });
        power = next;
    }
}
