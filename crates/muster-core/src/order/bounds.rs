//! Tables of least costs between a few points: shortest ways, and the cheapest way past a set of them.

/// A cost no way has; sums of it stay below the range of `u64`.
pub(crate) const NO_WAY: u64 = u64::MAX / 16;

/// Replaces each direct cost by that of the shortest way (Floyd's method), nothing from a point to itself.
pub(crate) fn close<const N: usize>(mut costs: [[u64; N]; N]) -> [[u64; N]; N] {
    for (point, row) in costs.iter_mut().enumerate() {
        row[point] = 0;
    }
    for by in 0..N {
        for from in 0..N {
            for to in 0..N {
                costs[from][to] = costs[from][to].min(costs[from][by] + costs[by][to]).min(NO_WAY);
            }
        }
    }
    costs
}

/// Least cost of passing each point of a set, by where one stands (`sets` is 2^points).
///
/// The subset recurrence of Held and Karp (1962) on shortest ways.
pub(crate) fn cover<const N: usize, const SETS: usize>(ways: &[[u64; N]; N]) -> [[u64; SETS]; N] {
    let mut least = [[0; SETS]; N];
    for set in 1..SETS {
        for from in 0..N {
            let mut best = NO_WAY;
            for to in (0..N).filter(|to| set >> to & 1 == 1) {
                best = best.min(ways[from][to] + least[to][set & !(1 << to)]);
            }
            least[from][set] = best;
        }
    }
    least
}
