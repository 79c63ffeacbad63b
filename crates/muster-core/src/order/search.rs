//! The exact search for the cheapest sequence of visits, a visit being one station in one state.
//!
//! Costs are shortest ways, and a step done later may as well be done when its station is visited
//! in a state that allows it: it costs only its own ms and frees what waits for it. So each
//! visit does all it can, and only the sequence of visits is searched: by least cost plus a bound on
//! what is left (shortest walk past the stations left, and past the stances and powers left; the
//! tables are the subset recurrence of Held and Karp, 1962).

use alloc::collections::{BTreeMap, BinaryHeap};
use alloc::vec::Vec;
use core::cmp::Reverse;

use super::bounds::{NO_WAY, close, cover};
use super::line::{NODES, PHASES, STANCES, closed_by, node_ways, stance_ways};
use super::phases::Costs;

const STATIONS: usize = 6;
const START: usize = STATIONS;
const MAX_STATES: usize = 2_000_000;

/// A step as the search sees it.
pub(crate) struct Prepared {
    pub(crate) station: usize,
    pub(crate) allowed: u32,
    pub(crate) before: u128,
}

/// One station in one state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Visit {
    pub(crate) station: usize,
    pub(crate) phase: usize,
}

pub(crate) enum Outcome {
    Found(Vec<Visit>),
    Impossible,
    TooOpen(usize),
}

/// Steps that can be done in the same states.
struct Class {
    steps: u128,
    phases: u32,
    nodes: u8,
    stances: u8,
}

/// All that decides how a partial plan can go on.
///
/// `closed` (states that may not be entered any more) and `visited` (stations done with in this
/// state) keep only what still matters to a step left, so that plans that differ in nothing else meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Partial {
    done: u128,
    closed: u32,
    phase: u8,
    station: u8,
    visited: u8,
}

impl Partial {
    /// Whether all that can follow `other` can follow this one.
    fn covers(&self, other: &Self) -> bool {
        other.done & !self.done == 0 && self.closed & !other.closed == 0 && self.visited & !other.visited == 0
    }
}

/// A partial plan in the search, and the one it goes on from.
struct Reached {
    partial: Partial,
    from: usize,
    visit: Option<Visit>,
}

pub(crate) struct Problem {
    found: usize,
    steps: Vec<Prepared>,
    all: u128,
    unbound: u128,
    at: [[u128; STATIONS]; PHASES],
    at_station: [u128; STATIONS],
    classes: Vec<Class>,
    walk: [[u64; STATIONS + 1]; STATIONS + 1],
    change: [[u64; PHASES]; PHASES],
    stations_left: [[u64; 1 << STATIONS]; STATIONS + 1],
    walks: [[[u64; STATIONS]; 1 << STATIONS]; STATIONS + 1],
    nodes: [[u64; NODES]; NODES],
    nodes_left: [[u64; 1 << NODES]; NODES],
    stances: [[u64; STANCES]; STANCES],
    stances_left: [[u64; 1 << STANCES]; STANCES],
    turns: [[[u64; STANCES]; 1 << STANCES]; STANCES],
}

impl Problem {
    pub(crate) fn new(found: usize, steps: Vec<Prepared>, costs: &Costs) -> Self {
        let mut problem = Self {
            found,
            all: steps.iter().enumerate().fold(0, |bits, (at, _)| bits | 1 << at),
            unbound: 0,
            at: [[0; STATIONS]; PHASES],
            at_station: [0; STATIONS],
            classes: classes(&steps),
            walk: walking(costs),
            change: [[0; PHASES]; PHASES],
            stations_left: [[0; 1 << STATIONS]; STATIONS + 1],
            walks: [[[NO_WAY; STATIONS]; 1 << STATIONS]; STATIONS + 1],
            nodes: node_ways(costs),
            nodes_left: [[0; 1 << NODES]; NODES],
            stances: stance_ways(costs),
            stances_left: [[0; 1 << STANCES]; STANCES],
            turns: [[[NO_WAY; STANCES]; 1 << STANCES]; STANCES],
            steps,
        };
        problem.stations_left = cover(&problem.walk);
        problem.walks = walks(&problem.walk);
        problem.turns = walks(&problem.stances);
        problem.nodes_left = cover(&problem.nodes);
        problem.stances_left = cover(&problem.stances);
        for (at, step) in problem.steps.iter().enumerate() {
            problem.at_station[step.station] |= 1 << at;
            if step.before == 0 {
                problem.unbound |= 1 << at;
            }
            for phase in (0..PHASES).filter(|phase| step.allowed >> phase & 1 == 1) {
                problem.at[phase][step.station] |= 1 << at;
            }
        }
        for from in 0..PHASES {
            for to in 0..PHASES {
                problem.change[from][to] =
                    problem.nodes[from / STANCES][to / STANCES] + problem.stances[from % STANCES][to % STANCES];
            }
        }
        problem
    }

    /// Seconds of walking to a station, from another or from where one starts.
    pub(crate) fn walking(&self, from: Option<usize>, to: usize) -> u64 {
        self.walk[from.unwrap_or(START)][to]
    }

    /// The lowest step that can be done next in a visit.
    pub(crate) fn next_step(&self, done: u128, visit: &Visit) -> Option<usize> {
        let left = self.at[visit.phase][visit.station] & !done;
        self.steps
            .iter()
            .enumerate()
            .find(|(at, step)| left >> at & 1 == 1 && step.before & !done == 0)
            .map(|(at, _)| at)
    }

    /// The cheapest sequence of visits; of equal ones always the same.
    pub(crate) fn solve(&self) -> Outcome {
        let start = Partial { done: 0, closed: 0, phase: self.found as u8, station: START as u8, visited: 0 };
        let mut reached = Vec::from([Reached { partial: start, from: 0, visit: None }]);
        let mut settled: [[Vec<(Partial, u64)>; STATIONS + 1]; PHASES] = Default::default();
        let mut least: BTreeMap<Partial, u64> = BTreeMap::new();
        let mut open = BinaryHeap::from([Reverse((self.still(&start), Reverse(0u64), 0usize))]);
        while let Some(Reverse((_, Reverse(cost), at))) = open.pop() {
            let Some(partial) = reached.get(at).map(|reached| reached.partial) else { break };
            if partial.done == self.all {
                return Outcome::Found(way_back(&reached, at));
            }
            let rivals = &mut settled[usize::from(partial.phase)][usize::from(partial.station)];
            if rivals.iter().any(|(rival, known)| *known <= cost && rival.covers(&partial)) {
                continue;
            }
            rivals.push((partial, cost));
            self.moves(&partial, |visit, leg, next| {
                let cost = cost + leg;
                let known = least.entry(next).or_insert(NO_WAY);
                if cost >= *known {
                    return;
                }
                *known = cost;
                let bound = cost + self.still(&next);
                if bound < NO_WAY {
                    open.push(Reverse((bound, Reverse(cost), reached.len())));
                    reached.push(Reached { partial: next, from: at, visit: Some(visit) });
                }
            });
            if reached.len() > MAX_STATES {
                return Outcome::TooOpen(MAX_STATES);
            }
        }
        Outcome::Impossible
    }

    /// Calls `each` with every visit that does at least one step and breaks no rule, low stations first.
    fn moves(&self, partial: &Partial, mut each: impl FnMut(Visit, u64, Partial)) {
        let (phase, station) = (usize::from(partial.phase), usize::from(partial.station));
        let begun = station != START;
        for to in 0..STATIONS {
            if self.at_station[to] & !partial.done == 0 {
                continue;
            }
            for next_phase in (0..PHASES).filter(|next| partial.closed >> next & 1 == 0) {
                let stays = next_phase == phase && begun;
                if self.at[next_phase][to] & !partial.done == 0 || stays && partial.visited >> to & 1 == 1 {
                    continue;
                }
                let done = self.after_visit(partial.done, next_phase, to);
                if done == partial.done {
                    continue;
                }
                let closed = partial.closed | closed_by(begun.then_some(phase), next_phase);
                let visited = if stays { partial.visited } else { 0 } | 1 << to;
                let next = Partial { done, closed, phase: next_phase as u8, station: to as u8, visited };
                if let Some(next) = self.normal(next) {
                    let leg = self.walk[station][to] + self.change[phase][next_phase];
                    each(Visit { station: to, phase: next_phase }, leg, next);
                }
            }
        }
    }

    /// What is done once a station was visited in a state.
    fn after_visit(&self, mut done: u128, phase: usize, station: usize) -> u128 {
        loop {
            let left = self.at[phase][station] & !done;
            let mut now = left & self.unbound;
            let mut bound = left & !self.unbound;
            while bound != 0 {
                let at = bound.trailing_zeros() as usize;
                bound &= bound - 1;
                if self.steps.get(at).is_some_and(|step| step.before & !(done | now) == 0) {
                    now |= 1 << at;
                }
            }
            if now == 0 {
                return done;
            }
            done |= now;
        }
    }

    /// The partial plan with only what still matters; none if a step left has no state left.
    fn normal(&self, partial: Partial) -> Option<Partial> {
        let left = !partial.done;
        let mut useful = 0;
        for class in self.classes.iter().filter(|class| class.steps & left != 0) {
            if class.phases & !partial.closed == 0 {
                return None;
            }
            useful |= class.phases;
        }
        let here = &self.at[usize::from(partial.phase)];
        let matters = (0..STATIONS).filter(|at| here[*at] & left != 0).fold(0u8, |bits, at| bits | 1 << at);
        Some(Partial { closed: partial.closed & useful, visited: partial.visited & matters, ..partial })
    }

    fn stations_of(&self, steps: u128) -> usize {
        (0..STATIONS).filter(|at| self.at_station[*at] & steps != 0).fold(0, |bits, at| bits | 1 << at)
    }

    /// What of the steps left can be done in one layer alone: see [`Layers`].
    fn layers(&self, left: u128) -> (Layers, Layers) {
        let (mut stations, mut stances) = (Layers::default(), Layers::default());
        for class in self.classes.iter().filter(|class| class.steps & left != 0) {
            let at = self.stations_of(class.steps & left);
            let stance = if class.stances.is_power_of_two() { usize::from(class.stances) } else { 0 };
            for ((layer, stations), stances) in LAYERS.iter().zip(&mut stations.0).zip(&mut stances.0) {
                if class.nodes & !layer == 0 {
                    *stations |= at;
                    *stances |= stance;
                }
            }
        }
        (stations, stances)
    }

    /// A lower bound on what the steps left still cost in walking and changes.
    ///
    /// Walking and changing the stance go through the layers of power in one order, the same for both: the least
    /// sum over the orders that are left is a bound, each part at least its way past all that is left in any order.
    fn still(&self, partial: &Partial) -> u64 {
        let (phase, station) = (usize::from(partial.phase), usize::from(partial.station));
        let (node, stance) = (phase / STANCES, phase % STANCES);
        let left = !partial.done;
        let (mut nodes, mut stances, mut farthest_node, mut farthest_stance) = (0usize, 0usize, 0, 0);
        for class in self.classes.iter().filter(|class| class.steps & left != 0) {
            if class.nodes.is_power_of_two() {
                nodes |= usize::from(class.nodes);
            } else {
                farthest_node = farthest_node.max(nearest(&self.nodes[node], class.nodes));
            }
            if class.stances.is_power_of_two() {
                stances |= usize::from(class.stances);
            } else {
                farthest_stance = farthest_stance.max(nearest(&self.stances[stance], class.stances));
            }
        }
        let (at, turned) = self.layers(left);
        let walk_left = self.stations_left[station][self.stations_of(left)];
        let turns_left = self.stances_left[stance][stances].max(farthest_stance);
        let in_order = |order: fn(&Layers) -> [usize; 4]| {
            walk_left.max(through(&self.walks, station, &order(&at)))
                + turns_left.max(through(&self.turns, stance, &order(&turned)))
        };
        let [off, on, ..] = at.0;
        let begun = station != START;
        let either = if off == 0 || on == 0 || node == 0 && begun {
            in_order(Layers::off_first)
        } else if node == 1 && begun {
            in_order(Layers::on_first)
        } else {
            in_order(Layers::off_first).min(in_order(Layers::on_first))
        };
        either.max(in_order(Layers::before)) + self.nodes_left[node][nodes].max(farthest_node)
    }
}

/// The nodes of each layer: key off, key on, either of them before the engine runs, running, after.
const LAYERS: [u8; 5] = [0b1, 0b10, 0b11, 0b1100, 0b11_0000];

/// Per layer, the points (stations or stances) that some step left needs there and in no other layer.
#[derive(Clone, Copy, Debug, Default)]
struct Layers([usize; 5]);

impl Layers {
    fn off_first(&self) -> [usize; 4] {
        let [off, on, _, running, after] = self.0;
        [off, on, running, after]
    }

    fn on_first(&self) -> [usize; 4] {
        let [off, on, _, running, after] = self.0;
        [on, off, running, after]
    }

    fn before(&self) -> [usize; 4] {
        let [_, _, before, running, after] = self.0;
        [0, before, running, after]
    }
}

/// Least way from a point past each set of points, one set after the other.
fn through<const N: usize, const FROM: usize, const SETS: usize>(
    walks: &[[[u64; N]; SETS]; FROM],
    from: usize,
    sets: &[usize],
) -> u64 {
    let mut costs = [NO_WAY; FROM];
    costs[from] = 0;
    for set in sets.iter().copied().filter(|set| *set != 0) {
        let mut next = [NO_WAY; FROM];
        for (from, cost) in costs.iter().enumerate().filter(|(_, cost)| **cost < NO_WAY) {
            for (next, way) in next.iter_mut().zip(&walks[from][set]) {
                *next = (*next).min(cost + way);
            }
        }
        costs = next;
    }
    costs.into_iter().min().unwrap_or(NO_WAY)
}

fn way_back(reached: &[Reached], mut at: usize) -> Vec<Visit> {
    let mut visits = Vec::new();
    while let Some(Reached { visit: Some(visit), from, .. }) = reached.get(at) {
        visits.push(*visit);
        at = *from;
    }
    visits.reverse();
    visits
}

fn nearest(ways: &[u64], set: u8) -> u64 {
    ways.iter().enumerate().filter(|(at, _)| set >> at & 1 == 1).map(|(_, way)| *way).min().unwrap_or(NO_WAY)
}

/// Least way from a point past a set of points, by the last of them.
fn walks<const N: usize, const FROM: usize, const SETS: usize>(ways: &[[u64; FROM]; FROM]) -> [[[u64; N]; SETS]; FROM] {
    let mut walks = [[[NO_WAY; N]; SETS]; FROM];
    for (from, sets) in walks.iter_mut().enumerate() {
        for set in 1..SETS {
            for end in (0..N).filter(|end| set >> end & 1 == 1) {
                let rest = set & !(1 << end);
                sets[set][end] = if rest == 0 {
                    ways[from][end]
                } else {
                    (0..N).map(|by| sets[rest][by] + ways[by][end]).min().unwrap_or(NO_WAY).min(NO_WAY)
                };
            }
        }
    }
    walks
}

/// Shortest walks between stations and from the start, to which nothing leads back.
fn walking(costs: &Costs) -> [[u64; STATIONS + 1]; STATIONS + 1] {
    let mut walk = [[NO_WAY; STATIONS + 1]; STATIONS + 1];
    for (from, row) in costs.walk_ms.iter().chain([&costs.start_ms]).enumerate() {
        for (to, ms) in row.iter().enumerate() {
            walk[from][to] = u64::from(*ms);
        }
    }
    close(walk)
}

fn classes(steps: &[Prepared]) -> Vec<Class> {
    let mut classes: Vec<Class> = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        if let Some(class) = classes.iter_mut().find(|class| class.phases == step.allowed) {
            class.steps |= 1 << at;
            continue;
        }
        let allowed = || (0..PHASES).filter(|phase| step.allowed >> phase & 1 == 1);
        classes.push(Class {
            steps: 1 << at,
            phases: step.allowed,
            nodes: allowed().fold(0, |bits, phase| bits | 1 << (phase / STANCES)),
            stances: allowed().fold(0, |bits, phase| bits | 1 << (phase % STANCES)),
        });
    }
    classes
}
