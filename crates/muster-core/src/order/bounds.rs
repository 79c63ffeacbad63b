//! Ways between a few points: the shortest, and the shortest past sets of them.

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

/// Some sets of at most six points, those that will do: bit 0 is the empty set, bit 5 that of the points 0 and 2.
///
/// What will do will do with more points in it, so passing several things asked for is the sets' intersection.
pub(crate) type Sets = u64;

/// The sets that have at least one of these points.
pub(crate) const fn with_any_of(points: u64) -> Sets {
    let (mut set, mut sets) = (0, 0);
    while set < Sets::BITS as u64 {
        if set & points != 0 {
            sets |= 1 << set;
        }
        set += 1;
    }
    sets
}

/// Those of the sets that have no point to spare.
fn fewest(sets: Sets) -> Sets {
    const WITH: [Sets; 6] =
        [with_any_of(1), with_any_of(2), with_any_of(4), with_any_of(8), with_any_of(16), with_any_of(32)];
    let spare = |point: usize| (sets & !WITH[point]) << (1 << point);
    sets & !(0..6).fold(0, |spares, point| spares | spare(point))
}

/// The least cost from each of `FROM` points past each set of the first `N` of them, by the last point passed.
pub(crate) struct Ways<const N: usize, const FROM: usize, const SETS: usize>([[[u64; N]; SETS]; FROM]);

impl<const N: usize, const FROM: usize, const SETS: usize> Ways<N, FROM, SETS> {
    /// The subset recurrence of Held and Karp (1962) on shortest ways.
    pub(crate) fn new(ways: &[[u64; FROM]; FROM]) -> Self {
        let mut past = [[[NO_WAY; N]; SETS]; FROM];
        for (from, sets) in past.iter_mut().enumerate() {
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
        Self(past)
    }

    /// The least cost from a point past one of the sets that will do, for each of some layers in turn.
    ///
    /// Sets with a point to spare are left out: on shortest ways no detour past one more point is cheaper.
    pub(crate) fn through(&self, from: usize, layers: impl Iterator<Item = Sets>) -> u64 {
        let mut costs = [NO_WAY; FROM];
        costs[from] = 0;
        for sets in layers.filter(|sets| sets & 1 == 0) {
            let mut sets = fewest(sets);
            let mut next = [NO_WAY; FROM];
            while sets != 0 {
                let set = sets.trailing_zeros() as usize;
                sets &= sets - 1;
                for (from, cost) in costs.iter().enumerate().filter(|(_, cost)| **cost < NO_WAY) {
                    for (next, way) in next.iter_mut().zip(&self.0[from][set]) {
                        *next = (*next).min(cost + way);
                    }
                }
            }
            costs = next;
        }
        costs.into_iter().min().unwrap_or(NO_WAY)
    }
}
