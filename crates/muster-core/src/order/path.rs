//! Finds the exact cheapest path or tour through a few places, with places that must come before others.
//!
//! Dynamic programming over subsets: M. Held and R. M. Karp, "A dynamic programming approach to
//! sequencing problems", J. SIAM 10(1), 1962, pp. 196–210. With precedences this is the sequential
//! ordering problem of TSPLIB (G. Reinelt, "TSPLIB, a traveling salesman problem library",
//! ORSA Journal on Computing 3(4), 1991, pp. 376–384), whose published optima are the tests.

use alloc::vec;
use alloc::vec::Vec;

/// The most places a problem may have: the table has 2ⁿ·n entries of 8 bytes.
pub const MAX_PLACES: usize = 18;

/// The cost of a leg that cannot be walked at all.
pub const FORBIDDEN: u32 = u32::MAX;

const UNREACHED: u64 = u64::MAX;

/// Places, what it costs to go from one to another, and what must come before what.
///
/// Costs are whole numbers in any one unit (milliseconds here) and may differ by direction.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PathProblem {
    costs: Vec<Vec<u32>>,
    start: Option<usize>,
    end: Option<usize>,
    closed: bool,
    before: Vec<(usize, usize)>,
}

/// The cheapest order, and what it costs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Route {
    /// The places in order, each once; a closed tour does not repeat its first place.
    pub places: Vec<usize>,
    /// The sum of the legs, with the leg back to the first place if closed; unit of the matrix.
    pub cost: u64,
}

/// Why there is no route.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoRoute {
    /// No place given.
    #[error("a route needs at least one place")]
    Empty,
    /// Too many places for the exact method.
    #[error("a route can have at most {MAX_PLACES} places, got {got}")]
    TooManyPlaces {
        /// How many were given.
        got: usize,
    },
    /// A row of the matrix has not as many costs as there are places.
    #[error("row {row} of the costs must have {expected} numbers, got {got}")]
    NotSquare {
        /// The row, from 0.
        row: usize,
        /// The number of places.
        expected: usize,
        /// The length of the row.
        got: usize,
    },
    /// A start, end or precedence names a place that is not there.
    #[error("place {place} does not exist, there are {places}")]
    UnknownPlace {
        /// The place named.
        place: usize,
        /// The number of places.
        places: usize,
    },
    /// The precedences go round in a circle.
    #[error("the precedences go round in a circle through places {places:?}")]
    Cycle {
        /// The places that wait for each other, ascending.
        places: Vec<usize>,
    },
    /// Each order breaks a precedence, the start or the end, or uses a forbidden leg.
    #[error("no order respects the precedences, start, end and forbidden legs together")]
    Unreachable,
}

impl PathProblem {
    /// Starts an open problem with free ends from a square matrix: `costs[from][to]`.
    #[must_use]
    pub fn new(costs: Vec<Vec<u32>>) -> Self {
        Self { costs, start: None, end: None, closed: false, before: Vec::new() }
    }

    /// Fixes the first place.
    #[must_use]
    pub fn starting_at(mut self, place: usize) -> Self {
        self.start = Some(place);
        self
    }

    /// Fixes the last place.
    #[must_use]
    pub fn ending_at(mut self, place: usize) -> Self {
        self.end = Some(place);
        self
    }

    /// Counts the leg from the last place back to the first.
    #[must_use]
    pub fn closed(mut self) -> Self {
        self.closed = true;
        self
    }

    /// Demands that `first` is visited before `then`.
    #[must_use]
    pub fn with_before(mut self, first: usize, then: usize) -> Self {
        self.before.push((first, then));
        self
    }

    fn cost(&self, from: usize, to: usize) -> u64 {
        match self.costs.get(from).and_then(|row| row.get(to)) {
            Some(&cost) if cost != FORBIDDEN => u64::from(cost),
            _ => UNREACHED,
        }
    }

    /// The places that must be visited before each place, as bits; checks the problem on the way.
    fn checked_predecessors(&self) -> Result<Vec<u32>, NoRoute> {
        let places = self.costs.len();
        if places == 0 {
            return Err(NoRoute::Empty);
        }
        if places > MAX_PLACES {
            return Err(NoRoute::TooManyPlaces { got: places });
        }
        for (row, costs) in self.costs.iter().enumerate() {
            if costs.len() != places {
                return Err(NoRoute::NotSquare { row, expected: places, got: costs.len() });
            }
        }
        let named = self.before.iter().flat_map(|&(first, then)| [first, then]);
        for place in named.chain(self.start).chain(self.end) {
            if place >= places {
                return Err(NoRoute::UnknownPlace { place, places });
            }
        }
        let mut predecessors = vec![0u32; places];
        for &(first, then) in &self.before {
            if let Some(bits) = predecessors.get_mut(then) {
                *bits |= 1 << first;
            }
        }
        acyclic(&predecessors)?;
        Ok(predecessors)
    }
}

/// Returns the cheapest route, and of equally cheap ones that with the lowest places first.
///
/// Errors: see [`NoRoute`]. Time O(2ⁿ·n²), once per possible start if the tour is closed,
/// has precedences and no fixed start.
pub fn shortest(problem: &PathProblem) -> Result<Route, NoRoute> {
    let predecessors = problem.checked_predecessors()?;
    let places = predecessors.len();
    if !problem.closed {
        return from_start(problem, &predecessors, problem.start).ok_or(NoRoute::Unreachable);
    }
    // A tour without precedences or fixed ends costs the same wherever it starts.
    let anywhere = problem.before.is_empty() && problem.end.is_none();
    let starts = match problem.start {
        Some(start) => start..start + 1,
        None if anywhere => 0..1,
        None => 0..places,
    };
    let mut best: Option<Route> = None;
    for start in starts {
        if let Some(route) = from_start(problem, &predecessors, Some(start))
            && best.as_ref().is_none_or(|found| route.cost < found.cost)
        {
            best = Some(route);
        }
    }
    best.ok_or(NoRoute::Unreachable)
}

/// The Held–Karp table, filled from the full set down: what it costs at least to finish when the
/// set `mask` is visited and `last` is where one stands.
struct ToFinish {
    places: usize,
    least: Vec<u64>,
}

impl ToFinish {
    fn get(&self, mask: usize, last: usize) -> u64 {
        self.least.get(mask * self.places + last).copied().unwrap_or(UNREACHED)
    }

    /// The place to go to next (the lowest of the cheapest) and what finishing by it costs.
    fn next(&self, problem: &PathProblem, predecessors: &[u32], mask: usize, last: usize) -> (u64, usize) {
        let mut best = (UNREACHED, 0);
        for (next, &needed) in predecessors.iter().enumerate() {
            if mask >> next & 1 == 1 || needed as usize & !mask != 0 {
                continue;
            }
            let cost = problem.cost(last, next).saturating_add(self.get(mask | 1 << next, next));
            if cost < best.0 {
                best = (cost, next);
            }
        }
        best
    }
}

fn from_start(problem: &PathProblem, predecessors: &[u32], start: Option<usize>) -> Option<Route> {
    let places = predecessors.len();
    let full = (1usize << places) - 1;
    let mut table = ToFinish { places, least: vec![UNREACHED; (full + 1) * places] };
    for last in 0..places {
        if problem.end.is_some_and(|end| end != last) {
            continue;
        }
        let back = match start {
            Some(first) if problem.closed && places > 1 => problem.cost(last, first),
            _ => 0,
        };
        if let Some(entry) = table.least.get_mut(full * places + last) {
            *entry = back;
        }
    }
    for mask in (1..full).rev() {
        if start.is_some_and(|first| mask >> first & 1 == 0) {
            continue;
        }
        for last in (0..places).filter(|last| mask >> last & 1 == 1) {
            let (cost, _) = table.next(problem, predecessors, mask, last);
            if let Some(entry) = table.least.get_mut(mask * places + last) {
                *entry = cost;
            }
        }
    }
    let free = |place: &usize| predecessors.get(*place) == Some(&0);
    let candidates = (0..places).filter(|place| start.is_none_or(|first| first == *place)).filter(free);
    let (cost, first) = candidates.map(|place| (table.get(1 << place, place), place)).min()?;
    if cost == UNREACHED {
        return None;
    }
    let (mut mask, mut last, mut order) = (1 << first, first, vec![first]);
    while mask != full {
        let (_, next) = table.next(problem, predecessors, mask, last);
        mask |= 1 << next;
        last = next;
        order.push(next);
    }
    Some(Route { places: order, cost })
}

/// Takes away places that wait for nobody, again and again; what is left goes round in a circle.
fn acyclic(predecessors: &[u32]) -> Result<(), NoRoute> {
    let mut left: u32 = (1 << predecessors.len()) - 1;
    loop {
        let free = predecessors
            .iter()
            .enumerate()
            .filter(|(place, needed)| left >> place & 1 == 1 && **needed & left == 0)
            .fold(0u32, |bits, (place, _)| bits | 1 << place);
        left &= !free;
        if left == 0 {
            return Ok(());
        }
        if free == 0 {
            let places = (0..predecessors.len()).filter(|place| left >> place & 1 == 1).collect();
            return Err(NoRoute::Cycle { places });
        }
    }
}

#[cfg(test)]
#[path = "path_tests.rs"]
mod tests;
