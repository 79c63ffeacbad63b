//! The states a walk-round can pass through, numbered along the way of key, engine and heat.

use super::phases::{Act, Change, Costs};
use crate::state::{Heat, Needs, Power, Stance, State};
use alloc::vec::Vec;

use super::bounds::{NO_WAY, close};

/// Points on the line of power and heat: off, on, running as found; running, on, off once warmed up.
pub(crate) const NODES: usize = 6;
/// States a plan may use: each point with each stance.
pub(crate) const PHASES: usize = NODES * 4;

const ALL_PHASES: u32 = (1 << PHASES) - 1;
const OFF_BEFORE: u32 = 0x0f;
const ON_BEFORE: u32 = 0x0f << 4;
const RUNNING: u32 = 0xff << 8;
const ON_AFTER: u32 = 0x0f << 16;
const OFF_AFTER: u32 = 0x0f << 20;
const SEATED: u32 = 0x0044_4444;

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
        let node = phase / 4;
        State {
            heat: if node < 3 { self.found } else { Heat::Warm },
            power: power(node),
            stance: [Stance::SideStand, Stance::Upright, Stance::Seated, Stance::Raised][phase % 4],
        }
    }

    /// The phase a machine is found in: on the first half of the line.
    pub(crate) fn phase_found(state: State) -> usize {
        state.power as usize * 4 + state.stance as usize
    }

    /// The phases in which a step can be done; `late` ones may follow the warm-up.
    pub(crate) fn allowed(self, needs: Needs, late: bool) -> u32 {
        let phases = if self.found == Heat::Cold { PHASES } else { PHASES / 2 };
        (0..phases)
            .filter(|phase| {
                let state = self.state(*phase);
                let engine_ran = state.power == Power::Running;
                needs.allows(state) && !(engine_ran && needs.is_cold_only()) && (late || phase / 4 < 4)
            })
            .fold(0, |bits, phase| bits | 1 << phase)
    }
}

fn power(node: usize) -> Power {
    [Power::Off, Power::On, Power::Running, Power::Running, Power::On, Power::Off][node]
}

/// The phases that can hold no further step once one goes from phase `from` to another.
pub(crate) fn closed_by(from: Option<usize>, to: usize) -> u32 {
    let entered = match to / 4 {
        0 | 1 => 0,
        2 => 0xff,
        3 => 0xfff,
        _ => 0xffff,
    };
    let Some(from) = from.filter(|from| *from != to) else { return entered };
    let together = |group: u32| if group >> from & 1 == 1 && group >> to & 1 == 0 { group } else { 0 };
    let left = [OFF_BEFORE, ON_BEFORE, RUNNING, RUNNING & SEATED, ON_AFTER, OFF_AFTER];
    let left = left.into_iter().fold(0, |bits, group| bits | together(group));
    (entered | left | 1 << from) & ALL_PHASES
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
pub(crate) fn stance_ways(costs: &Costs) -> [[u64; 4]; 4] {
    close(costs.stance_ms.map(|row| row.map(u64::from)))
}

/// The acts between two phases, in the order a careful person does them.
///
/// The engine is stopped before the stance changes and the stance is right before it starts;
/// a wheel is raised for a warmed machine only after the engine has stopped.
pub(crate) fn changes(from: usize, to: usize, costs: &Costs) -> Vec<Change> {
    let (node, target) = (from / 4, to / 4);
    let mut acts = Vec::new();
    let warms_up = node < 3 && target >= 3;
    if warms_up {
        switch(power(node), Power::Running, costs, &mut acts);
        acts.push(Change { act: Act::WarmUp, ms: u64::from(costs.warm_up_ms) });
        switch(Power::Running, power(target), costs, &mut acts);
    } else {
        switch(power(node), power(target), costs, &mut acts);
    }
    let all = [Stance::SideStand, Stance::Upright, Stance::Seated, Stance::Raised];
    let (stance, wanted) = (all[from % 4], all[to % 4]);
    if stance != wanted {
        let ms = stance_ways(costs)[from % 4][to % 4];
        let act = Change { act: Act::Stance { from: stance, to: wanted }, ms };
        let stops = power(target) < power(node);
        let last = if warms_up { stops || wanted == Stance::Raised } else { stops };
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
