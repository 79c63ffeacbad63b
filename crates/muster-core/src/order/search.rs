//! The exact search for the cheapest sequence of visits, a visit being one station in one state.
//!
//! Costs are shortest ways, and a step done later may as well be done when its station is visited
//! in a state that allows it: it costs only its own seconds and frees what waits for it. So each
//! visit does all it can, and only the sequence of visits is searched: by least cost plus a bound on
//! what is left (shortest walk past the stations left, and past the stances and powers left; the
//! tables are the subset recurrence of Held and Karp, 1962).

use alloc::collections::{BTreeMap, BTreeSet, BinaryHeap};
use alloc::vec::Vec;
use core::cmp::Reverse;

use super::bounds::{NO_WAY, close, cover};
use super::line::{NODES, PHASES, closed_by, node_ways, stance_ways};
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
    nodes: [[u64; NODES]; NODES],
    nodes_left: [[u64; 1 << NODES]; NODES],
    stances: [[u64; 4]; 4],
    stances_left: [[u64; 1 << 4]; 4],
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
            nodes: node_ways(costs),
            nodes_left: [[0; 1 << NODES]; NODES],
            stances: stance_ways(costs),
            stances_left: [[0; 1 << 4]; 4],
            steps,
        };
        problem.stations_left = cover(&problem.walk);
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
                problem.change[from][to] = problem.nodes[from / 4][to / 4] + problem.stances[from % 4][to % 4];
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

    /// The cheapest sequence of visits; of equal ones that with the lowest stations, then states, first.
    pub(crate) fn solve(&self) -> Outcome {
        let start = Partial { done: 0, closed: 0, phase: self.found as u8, station: START as u8, visited: 0 };
        let mut least: BTreeMap<Partial, u64> = BTreeMap::new();
        let mut open = BinaryHeap::new();
        least.insert(start, 0);
        open.push(Reverse((self.still(&start), 0u64, start)));
        let mut best = NO_WAY;
        while let Some(Reverse((bound, cost, partial))) = open.pop() {
            if bound > best {
                break;
            }
            if least.get(&partial).is_none_or(|known| *known < cost) {
                continue;
            }
            if partial.done == self.all {
                best = best.min(cost);
                continue;
            }
            self.moves(&partial, |_, leg, next| {
                let reached = cost + leg;
                let bound = reached + self.still(&next);
                if bound > best || bound >= NO_WAY || least.get(&next).is_some_and(|known| *known <= reached) {
                    return;
                }
                least.insert(next, reached);
                open.push(Reverse((bound, reached, next)));
            });
            if least.len() > MAX_STATES {
                return Outcome::TooOpen(MAX_STATES);
            }
        }
        if best >= NO_WAY {
            return Outcome::Impossible;
        }
        let mut visits = Vec::new();
        self.first_best(&start, 0, best, &least, &mut BTreeSet::new(), &mut visits);
        visits.reverse();
        Outcome::Found(visits)
    }

    /// Follows least costs from `partial` to an end that costs `best`, lowest visits first; backwards.
    fn first_best(
        &self,
        partial: &Partial,
        cost: u64,
        best: u64,
        least: &BTreeMap<Partial, u64>,
        failed: &mut BTreeSet<Partial>,
        visits: &mut Vec<Visit>,
    ) -> bool {
        if partial.done == self.all {
            return cost == best;
        }
        let mut nexts = Vec::new();
        self.moves(partial, |visit, leg, next| {
            if least.get(&next) == Some(&(cost + leg)) && cost + leg <= best {
                nexts.push((visit, cost + leg, next));
            }
        });
        for (visit, cost, next) in nexts {
            if !failed.contains(&next) && self.first_best(&next, cost, best, least, failed, visits) {
                visits.push(visit);
                return true;
            }
        }
        failed.insert(*partial);
        false
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
                if let Some(next) = self.normal(done, closed, next_phase, to, visited) {
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
    fn normal(&self, done: u128, closed: u32, phase: usize, station: usize, visited: u8) -> Option<Partial> {
        let mut useful = 0;
        for class in self.classes.iter().filter(|class| class.steps & !done != 0) {
            if class.phases & !closed == 0 {
                return None;
            }
            useful |= class.phases;
        }
        let matters = (0..STATIONS).filter(|at| self.at[phase][*at] & !done != 0).fold(0u8, |bits, at| bits | 1 << at);
        Some(Partial {
            done,
            closed: closed & useful,
            phase: phase as u8,
            station: station as u8,
            visited: visited & matters,
        })
    }

    /// A lower bound on what the steps left still cost in walking and changes.
    fn still(&self, partial: &Partial) -> u64 {
        let (phase, station) = (usize::from(partial.phase), usize::from(partial.station));
        let (node, stance) = (phase / 4, phase % 4);
        let left = !partial.done;
        let stations = (0..STATIONS).filter(|at| self.at_station[*at] & left != 0).fold(0, |bits, at| bits | 1 << at);
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
        self.stations_left[station][stations]
            + self.nodes_left[node][nodes].max(farthest_node)
            + self.stances_left[stance][stances].max(farthest_stance)
    }
}

fn nearest(ways: &[u64], set: u8) -> u64 {
    ways.iter().enumerate().filter(|(at, _)| set >> at & 1 == 1).map(|(_, way)| *way).min().unwrap_or(NO_WAY)
}

/// Shortest walks between stations and from the start, to which nothing leads back.
fn walking(costs: &Costs) -> [[u64; STATIONS + 1]; STATIONS + 1] {
    let mut walk = [[NO_WAY; STATIONS + 1]; STATIONS + 1];
    for (from, row) in costs.walk_seconds.iter().chain([&costs.start_seconds]).enumerate() {
        for (to, seconds) in row.iter().enumerate() {
            walk[from][to] = u64::from(*seconds);
        }
    }
    close(walk)
}

fn classes(steps: &[Prepared]) -> Vec<Class> {
    let mut by_phases: BTreeMap<u32, u128> = BTreeMap::new();
    for (at, step) in steps.iter().enumerate() {
        *by_phases.entry(step.allowed).or_default() |= 1 << at;
    }
    by_phases
        .into_iter()
        .map(|(phases, steps)| {
            let allowed = || (0..PHASES).filter(move |phase| phases >> phase & 1 == 1);
            Class {
                steps,
                phases,
                nodes: allowed().fold(0, |bits, phase| bits | 1 << (phase / 4)),
                stances: allowed().fold(0, |bits, phase| bits | 1 << (phase % 4)),
            }
        })
        .collect()
}
