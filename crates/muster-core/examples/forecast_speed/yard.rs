//! A yard of so many machines, eight kinds of part each, fifteen readings or mountings of each.

use muster_core::{
    forecast::{
        fleet::{Fleet, Kind},
        parameters::Prior,
        path::{Chain, Read, Step, Stop, What},
        practice::Shape,
    },
    quantity::Unit,
};

const PARTS: usize = 8;
/// What happens to each part.
pub(crate) const READINGS: usize = 15;

/// SplitMix64 (Steele, Lea, Flood 2014), as a share of one.
fn share(state: &mut u64) -> f64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^= z >> 31;
    ((z >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
}

pub(crate) fn fleet(machines: usize) -> Fleet {
    let mut fleet = Fleet::default();
    for gauge in 0..6 {
        fleet.gauge(&format!("T-{gauge}"), Unit::Millimetre, 0.1);
    }
    for model in 0..5 {
        fleet.group(&format!("model {model}"));
    }
    let mut state = 7;
    for part in 0..PARTS {
        let life = 8.0 + part as f64;
        let shape = Shape::default();
        let reach = 4.4;
        let prior = Prior::usual(reach, life, &shape);
        let chains = (0..machines).map(|machine| chain(&mut state, machine, (reach, life))).collect();
        fleet.kinds.push(Kind { check: format!("part {part}"), unit: Unit::Millimetre, prior, chains });
    }
    fleet
}

fn chain(state: &mut u64, machine: usize, (reach, life): (f64, f64)) -> Chain {
    let rate = reach / life * (0.6 + 0.8 * share(state));
    let mut wear = reach * 0.5 * share(state);
    let mut steps = Vec::new();
    for _ in 0..READINGS {
        let over = 0.2 + 0.5 * share(state);
        wear += rate * over * (0.7 + 0.6 * share(state));
        if wear > 0.95 * reach {
            steps.push(Step { over, what: What::Mounted });
            wear = 0.0;
            continue;
        }
        let z = wear + 0.3 * (share(state) + share(state) - 1.0);
        let z = libm::round(z * 10.0) / 10.0;
        let gauge = (share(state) * 6.0) as u32;
        steps.push(Step { over, what: What::Read(Read { z, gauge, times: 1.0, step: 0.1, stop: Stop::Free }) });
    }
    Chain { reach, sign: -1.0, group: (machine % 5) as u32, fresh: false, steps }
}
