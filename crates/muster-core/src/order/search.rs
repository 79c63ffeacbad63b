//! The exact search for the cheapest sequence of visits, a visit being one station in one state.
//!
//! Costs are shortest ways, and a step done later may as well be done when its station is visited
//! in a state that allows it: it costs only its own ms and frees what waits for it. So each
//! visit does all it can, and only the sequence of visits is searched: by least cost plus a bound on
//! what is left (P. E. Hart, N. J. Nilsson and B. Raphael, "A formal basis for the heuristic determination
//! of minimum cost paths", IEEE Trans. SSC 4(2), 1968, pp. 100–107).

use alloc::collections::BinaryHeap;
use alloc::vec::Vec;
use core::cmp::Reverse;

use super::bounds::{NO_WAY, Sets, Ways, close, with_any_of};
use super::line::{NODES, PHASES, STANCES, closed_by, groups, node_ways, stance_ways};
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

/// All that decides how a partial plan can go on.
///
/// `closed` (states that may not be entered any more) and `visited` (stations done with in this
/// state) keep only what still matters to a step left, so that plans that differ in nothing else meet.
#[derive(Clone, Copy, Debug)]
struct Partial {
    done: u128,
    closed: u32,
    phase: u8,
    station: u8,
    visited: u8,
}

impl Partial {
    /// Whether all that can follow this one can follow one at the same place that costs no more.
    fn is_beaten(&self, cost: u64, rivals: &[(Self, u64)]) -> bool {
        rivals.iter().any(|(rival, known)| {
            *known <= cost
                && self.done & !rival.done == 0
                && rival.closed & !self.closed == 0
                && rival.visited & !self.visited == 0
        })
    }
}

/// A partial plan in the search, and the one it goes on from.
struct Reached {
    partial: Partial,
    from: usize,
    visit: Option<Visit>,
}

/// What is asked of a part of the way: the sets of stations, of stances and of nodes that will do.
#[derive(Clone, Copy, Debug)]
struct Asked {
    stations: Sets,
    stances: Sets,
    nodes: Sets,
}

impl Asked {
    const NOTHING: Self = Self { stations: Sets::MAX, stances: Sets::MAX, nodes: Sets::MAX };

    fn is_something(self) -> bool {
        self.nodes & 1 == 0
    }

    fn and(self, other: Self) -> Self {
        Self {
            stations: self.stations & other.stations,
            stances: self.stances & other.stances,
            nodes: self.nodes & other.nodes,
        }
    }
}

pub(crate) struct Problem {
    found: usize,
    steps: Vec<Prepared>,
    asked: Vec<(usize, Asked)>,
    all: u128,
    implied: u128,
    unbound: u128,
    at: [[u128; STATIONS]; PHASES],
    at_station: [u128; STATIONS],
    walk: [[u64; STATIONS + 1]; STATIONS + 1],
    change: [[u64; PHASES]; PHASES],
    walks: Ways<STATIONS, { STATIONS + 1 }, { 1 << STATIONS }>,
    turns: Ways<STANCES, STANCES, { 1 << STANCES }>,
    switches: Ways<NODES, NODES, { 1 << NODES }>,
}

impl Problem {
    pub(crate) fn new(found: usize, steps: Vec<Prepared>, costs: &Costs) -> Self {
        let (walk, nodes, stances) = (walking(costs), node_ways(costs), stance_ways(costs));
        let mut problem = Self {
            found,
            asked: steps.iter().map(asked).collect(),
            all: steps.iter().enumerate().fold(0, |bits, (at, _)| bits | 1 << at),
            implied: implied(&steps),
            unbound: 0,
            at: [[0; STATIONS]; PHASES],
            at_station: [0; STATIONS],
            walk,
            change: [[0; PHASES]; PHASES],
            walks: Ways::new(&walk),
            turns: Ways::new(&stances),
            switches: Ways::new(&nodes),
            steps,
        };
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
                problem.change[from][to] = nodes[from / STANCES][to / STANCES] + stances[from % STANCES][to % STANCES];
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
        let start =
            Partial { done: self.implied, closed: 0, phase: self.found as u8, station: START as u8, visited: 0 };
        let mut reached = Vec::from([Reached { partial: start, from: 0, visit: None }]);
        let mut settled: [[Vec<(Partial, u64)>; STATIONS + 1]; PHASES] = Default::default();
        let mut open = BinaryHeap::from([Reverse((self.still(&start), Reverse(0u64), 0usize))]);
        while let Some(Reverse((_, Reverse(cost), at))) = open.pop() {
            let Some(partial) = reached.get(at).map(|reached| reached.partial) else { break };
            if partial.done == self.all {
                return Outcome::Found(way_back(&reached, at));
            }
            let rivals = &mut settled[usize::from(partial.phase)][usize::from(partial.station)];
            if partial.is_beaten(cost, rivals) {
                continue;
            }
            rivals.push((partial, cost));
            self.moves(&partial, |visit, leg, next| {
                let cost = cost + leg;
                if next.is_beaten(cost, &settled[usize::from(next.phase)][usize::from(next.station)]) {
                    return;
                }
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
        let left = self.all & !partial.done;
        let mut open = !partial.closed;
        // A step left that can be done only here, or only with this power, keeps one here.
        for step in self.left(left).filter(|_| begun) {
            for group in groups(phase) {
                if step.allowed & !partial.closed & !group == 0 {
                    open &= group;
                }
            }
        }
        for to in 0..STATIONS {
            let useful = self.left(self.at_station[to] & left).fold(0, |phases, step| phases | step.allowed);
            for next_phase in bits(u128::from(useful & open)) {
                let stays = next_phase == phase && begun;
                if stays && partial.visited >> to & 1 == 1 {
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
            for at in bits(left & !self.unbound) {
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
        let left = self.all & !partial.done;
        let mut useful = 0;
        for step in self.left(left) {
            if step.allowed & !partial.closed == 0 {
                return None;
            }
            useful |= step.allowed;
        }
        let here = &self.at[usize::from(partial.phase)];
        let matters = (0..STATIONS).filter(|at| here[*at] & left != 0).fold(0u8, |bits, at| bits | 1 << at);
        Some(Partial { closed: partial.closed & useful, visited: partial.visited & matters, ..partial })
    }

    /// A lower bound on what the steps left still cost in walking and changes.
    ///
    /// A step whose states all lie in one layer of power is done there, so whoever finishes passes, layer after layer,
    /// one of the sets that will do, and no way past them is shorter than [`Ways::through`]. Walking, changing the
    /// stance and switching add up and share one order of layers: the sum of the three, in the cheaper of
    /// the orders still open, is never more than what is left costs.
    fn still(&self, partial: &Partial) -> u64 {
        let mut layers = [Asked::NOTHING; LAYERS.len() + 1];
        for (layer, asked) in bits(self.all & !partial.done).filter_map(|at| self.asked.get(at)) {
            layers[*layer] = layers[*layer].and(*asked);
        }
        let [off, on, running, on_or_running, after, _] = layers;
        let (phase, station) = (usize::from(partial.phase), usize::from(partial.station));
        let through = |order: &[Asked]| {
            [
                self.walks.through(station, order.iter().map(|asked| asked.stations)),
                self.turns.through(phase % STANCES, order.iter().map(|asked| asked.stances)),
                self.switches.through(phase / STANCES, order.iter().map(|asked| asked.nodes)),
            ]
        };
        // On and running apart, and as one layer with what can be done in either.
        let off_first = || {
            let each = through(&[off, on, running, after]);
            let joined = through(&[off, on.and(running).and(on_or_running), after]);
            each.into_iter().zip(joined).map(|(each, joined)| each.max(joined)).sum::<u64>()
        };
        let on_first = || through(&[on, off, running, after]).into_iter().sum::<u64>();
        let here = |node: usize| station != START && phase / STANCES == node;
        match (off.is_something() && !here(0), on.is_something() && here(1)) {
            (false, _) => off_first(),
            (true, true) => on_first(),
            (true, false) => off_first().min(on_first()),
        }
    }

    /// The steps of a set.
    fn left(&self, steps: u128) -> impl Iterator<Item = &Prepared> {
        bits(steps).filter_map(|at| self.steps.get(at))
    }
}

/// The places of the ones, from the lowest.
fn bits(mut ones: u128) -> impl Iterator<Item = usize> {
    core::iter::from_fn(move || {
        let at = ones.trailing_zeros();
        ones &= ones.checked_sub(1)?;
        Some(at as usize)
    })
}

/// The nodes of each layer: key off, key on, running, on or running, after.
const LAYERS: [u8; 5] = [0b1, 0b10, 0b1100, 0b1110, 0b11_0000];

/// The layer a step is sure to be done in (the number of layers if it is in none), and what it asks there.
fn asked(step: &Prepared) -> (usize, Asked) {
    let allowed = || bits(u128::from(step.allowed));
    let nodes = allowed().fold(0u8, |bits, phase| bits | 1 << (phase / STANCES));
    let asked = Asked {
        stations: with_any_of(1 << step.station),
        stances: with_any_of(allowed().fold(0, |bits, phase| bits | 1 << (phase % STANCES))),
        nodes: with_any_of(u64::from(nodes)),
    };
    (LAYERS.iter().position(|layer| nodes & !layer == 0).unwrap_or(LAYERS.len()), asked)
}

/// Steps the search need not know of, since they are done with another one at the latest: one at the same station that
/// has no state they have not, and waits for all they wait for. What another step waits for is always kept.
fn implied(steps: &[Prepared]) -> u128 {
    let first = steps.iter().fold(0, |bits, step| bits | step.before);
    let with = |at: usize, by: usize| match (steps.get(at), steps.get(by)) {
        (Some(step), Some(other)) => {
            first >> at & 1 == 0
                && step.station == other.station
                && other.allowed & !step.allowed == 0
                && step.before & !other.before == 0
        }
        _ => false,
    };
    let is_implied = |at: &usize| (0..steps.len()).any(|by| by != *at && with(*at, by) && (by < *at || !with(by, *at)));
    (0..steps.len()).filter(is_implied).fold(0, |bits, at| bits | 1 << at)
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
