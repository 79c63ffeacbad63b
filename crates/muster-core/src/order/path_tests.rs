//! Checks the exact route against TSPLIB's published optima and against trying every order.

use super::*;
use alloc::vec;
use proptest::prelude::*;

// TSPLIB (Reinelt 1991), as copied in public repositories; ESC07, br17.10 and ulysses16 were compared
// in two independent copies, ESC11, gr17 and burma14 come from one. Optima: TSPLIB's tables of best
// known solutions (all proven): burma14 3323, ulysses16 6859, gr17 2085, ESC07 2125, ESC11 2075, br17.10 55.
const BURMA14: &str = include_str!("../../tests/golden/burma14.tsp");
const ULYSSES16: &str = include_str!("../../tests/golden/ulysses16.tsp");
const GR17: &str = include_str!("../../tests/golden/gr17.tsp");
const ESC07: &str = include_str!("../../tests/golden/esc07.sop");
const ESC11: &str = include_str!("../../tests/golden/esc11.sop");
const BR17_10: &str = include_str!("../../tests/golden/br17.10.sop");

fn section<'a>(text: &'a str, name: &str) -> impl Iterator<Item = &'a str> + use<'a> {
    let body = text.split_once(name).map_or("", |(_, body)| body);
    body.trim().trim_end_matches("EOF").split_whitespace()
}

/// TSPLIB's distance on the earth, degrees and minutes, with its own π and radius, rounded down.
fn geographic(text: &str) -> Vec<Vec<u32>> {
    let numbers: Vec<f64> = section(text, "NODE_COORD_SECTION").map(|word| word.parse().unwrap()).collect();
    #[expect(clippy::approx_constant, reason = "TSPLIB fixes the six digits its distances rest on")]
    let pi = 3.141592;
    let radians = |degrees: f64| {
        let whole = libm::trunc(degrees);
        pi * (whole + 5.0 * (degrees - whole) / 3.0) / 180.0
    };
    let points: Vec<(f64, f64)> = numbers.chunks(3).map(|row| (radians(row[1]), radians(row[2]))).collect();
    let distance = |a: (f64, f64), b: (f64, f64)| {
        let q1 = libm::cos(a.1 - b.1);
        let q2 = libm::cos(a.0 - b.0);
        let q3 = libm::cos(a.0 + b.0);
        (6378.388 * libm::acos(0.5 * ((1.0 + q1) * q2 - (1.0 - q1) * q3)) + 1.0) as u32
    };
    points.iter().map(|a| points.iter().map(|b| distance(*a, *b)).collect()).collect()
}

fn lower_triangle(text: &str) -> Vec<Vec<u32>> {
    let mut numbers = section(text, "EDGE_WEIGHT_SECTION").map(|word| word.parse::<u32>().unwrap());
    let mut rows = vec![vec![0; 17]; 17];
    for (row, column) in (0..17).flat_map(|row| (0..=row).map(move |column| (row, column))) {
        let cost = numbers.next().unwrap();
        rows[row][column] = cost;
        rows[column][row] = cost;
    }
    assert_eq!(numbers.next(), None);
    rows
}

/// A sequential ordering problem: from the first to the last, −1 at (i, j) means j before i.
fn sequential(text: &str) -> PathProblem {
    let numbers: Vec<i64> = section(text, "EDGE_WEIGHT_SECTION").map(|word| word.parse().unwrap()).collect();
    let size = numbers[0] as usize;
    let cells = &numbers[1..];
    assert_eq!(cells.len(), size * size);
    let mut before = Vec::new();
    let mut costs = vec![vec![FORBIDDEN; size]; size];
    for (at, &cell) in cells.iter().enumerate() {
        let (row, column) = (at / size, at % size);
        match u32::try_from(cell) {
            Ok(cost) => costs[row][column] = cost,
            Err(_) => before.push((column, row)),
        }
    }
    let problem = PathProblem::new(costs).starting_at(0).ending_at(size - 1);
    before.into_iter().fold(problem, |problem, (first, then)| problem.with_before(first, then))
}

fn check_route(problem: &PathProblem, cost: u64) {
    let route = shortest(problem).unwrap();
    assert_eq!(route.cost, cost);
    assert_eq!(legal_cost(problem, &route.places), Some(cost));
}

#[test]
fn published_tours() {
    check_route(&PathProblem::new(geographic(BURMA14)).closed(), 3323);
    check_route(&PathProblem::new(geographic(ULYSSES16)).closed(), 6859);
    check_route(&PathProblem::new(lower_triangle(GR17)).closed(), 2085);
}

#[test]
fn published_sequential_orderings() {
    check_route(&sequential(ESC07), 2125);
    check_route(&sequential(ESC11), 2075);
    check_route(&sequential(BR17_10), 55);
}

/// What an order costs, judged apart from the solver; none if it breaks a rule.
fn legal_cost(problem: &PathProblem, order: &[usize]) -> Option<u64> {
    let place_of = |place: usize| order.iter().position(|at| *at == place).unwrap();
    let legal = problem.before.iter().all(|&(first, then)| place_of(first) < place_of(then))
        && problem.start.is_none_or(|start| order.first() == Some(&start))
        && problem.end.is_none_or(|end| order.last() == Some(&end));
    let mut legs: Vec<(usize, usize)> = order.windows(2).map(|pair| (pair[0], pair[1])).collect();
    if problem.closed && order.len() > 1 {
        legs.push((order[order.len() - 1], order[0]));
    }
    let walkable = legs.iter().all(|&(a, b)| problem.costs[a][b] != FORBIDDEN);
    (legal && walkable).then(|| legs.iter().map(|&(a, b)| u64::from(problem.costs[a][b])).sum())
}

fn all_orders(places: usize) -> Vec<Vec<usize>> {
    if places == 0 {
        return vec![vec![]];
    }
    let mut orders = Vec::new();
    for shorter in all_orders(places - 1) {
        for at in 0..places {
            let mut order = shorter.clone();
            order.insert(at, places - 1);
            orders.push(order);
        }
    }
    orders
}

fn small_problem() -> impl Strategy<Value = PathProblem> {
    (1usize..=7).prop_flat_map(|places| {
        let leg = prop_oneof![8 => 0u32..30, 1 => Just(FORBIDDEN)];
        (
            prop::collection::vec(prop::collection::vec(leg, places), places),
            prop::option::of(0..places),
            prop::option::weighted(0.3, 0..places),
            any::<bool>(),
            prop::collection::vec((0..places, 0..places), 0..4),
        )
            .prop_map(|(costs, start, end, closed, before)| PathProblem { costs, start, end, closed, before })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn is_what_trying_every_order_finds(problem in small_problem()) {
        let orders = all_orders(problem.costs.len());
        let best = orders.iter().filter_map(|order| legal_cost(&problem, order)).min();
        match shortest(&problem) {
            Ok(route) => {
                prop_assert_eq!(Some(route.cost), best);
                prop_assert_eq!(legal_cost(&problem, &route.places), best);
            }
            Err(NoRoute::Unreachable | NoRoute::Cycle { .. }) => prop_assert_eq!(best, None),
            Err(other) => prop_assert!(false, "{}", other),
        }
    }
}

#[test]
fn refuses_what_has_no_route() {
    let square = |n: usize| PathProblem::new(vec![vec![1; n]; n]);
    assert_eq!(shortest(&square(0)), Err(NoRoute::Empty));
    assert_eq!(shortest(&square(19)), Err(NoRoute::TooManyPlaces { got: 19 }));
    assert_eq!(shortest(&square(3).starting_at(3)), Err(NoRoute::UnknownPlace { place: 3, places: 3 }));
    assert_eq!(
        shortest(&PathProblem::new(vec![vec![0, 1], vec![1]])),
        Err(NoRoute::NotSquare { row: 1, expected: 2, got: 1 })
    );
    assert_eq!(shortest(&square(3).with_before(1, 2).with_before(2, 1)), Err(NoRoute::Cycle { places: vec![1, 2] }));
    assert_eq!(shortest(&square(3).starting_at(1).with_before(0, 1)), Err(NoRoute::Unreachable));
}

#[test]
fn of_equal_routes_the_lowest_places_first() {
    let problem = PathProblem::new(vec![vec![1; 5]; 5]).with_before(3, 1);
    assert_eq!(shortest(&problem).unwrap().places, [0, 2, 3, 1, 4]);
}
