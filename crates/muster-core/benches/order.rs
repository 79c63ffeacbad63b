//! How long it takes to order a before-ride walk-round of 12 steps and a full one of 45.

use criterion::{Criterion, criterion_group, criterion_main};
use muster_core::order::{Costs, Heat, Needs, Power, PowerCosts, Stance, State, Station, Step, plan};

const COSTS: Costs = Costs {
    walk_ms: [
        [0, 3, 4, 7, 4, 5],
        [3, 0, 2, 5, 2, 5],
        [4, 2, 0, 4, 6, 3],
        [7, 5, 4, 0, 4, 5],
        [4, 2, 6, 4, 0, 3],
        [5, 5, 3, 5, 3, 0],
    ],
    start_ms: [3, 4, 5, 6, 5, 6],
    power: PowerCosts { key_on_ms: 3, key_off_ms: 2, start_ms: 6, stop_ms: 2 },
    stance_ms: [[0, 4, 8, 24, 20], [4, 0, 5, 22, 18], [7, 5, 0, 28, 24], [15, 14, 20, 0, 30], [15, 14, 20, 30, 0]],
    warm_up_ms: 180,
};

/// A round of the shape real ones have: most steps in any stance with the engine stopped, some cold,
/// some with a wheel raised, seated, key on, running or warm, and a few that follow another.
fn round(count: usize) -> Vec<Step> {
    let stopped = Needs::ANY.powers(&[Power::Off, Power::On]);
    (0..count)
        .map(|id| {
            let needs = match id % 12 {
                0 => stopped.heats(&[Heat::Cold]),
                1 => Needs::ANY.powers(&[Power::On]),
                2 => stopped.stances(&[Stance::Upright, Stance::Seated]),
                3 => Needs::ANY.powers(&[Power::Running]),
                4 if id > 12 => stopped.stances(&[[Stance::FrontRaised, Stance::RearRaised][id / 12 % 2]]),
                5 => Needs::ANY.powers(&[Power::Off, Power::On]).heats(&[Heat::Cold, Heat::Warm]),
                6 => Needs::ANY.powers(&[Power::On]).stances(&[Stance::Seated]),
                7 if id > 24 => stopped.heats(&[Heat::Warm]).stances(&[Stance::Upright]),
                8 => Needs::ANY,
                _ => stopped,
            };
            let station = Station::ALL[(id * 5 + id / 6) % 6];
            let after = if id % 9 == 8 { vec![id - 3] } else { vec![] };
            Step { id, station, needs, ms: 8 + (id as u32 * 7) % 20, after }
        })
        .collect()
}

fn order(criterion: &mut Criterion) {
    let found = State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand };
    for count in [12, 24, 45] {
        let steps = round(count);
        assert!(plan(found, &steps, &COSTS).is_ok(), "the round can be walked");
        criterion.bench_function(&format!("walk-round of {count} steps"), |bencher| {
            bencher.iter(|| plan(found, std::hint::black_box(&steps), &COSTS));
        });
    }
}

criterion_group!(benches, order);
criterion_main!(benches);
