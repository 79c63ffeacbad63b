//! How long it takes to forecast one machine of a yard of twenty-four anew: from all its readings under every set of numbers,
//! as a server does for its page, and from where an estimate left it, as a phone does for a verdict.

#[path = "../examples/forecast_speed/yard.rs"]
mod yard;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use jiff::civil::date;
use muster_core::forecast::{
    ahead::{Ahead, Model},
    fit::fit,
    parameters::Parameters,
    practice::Clock,
    riding::{Riding, Season},
};

fn one_machine(criterion: &mut Criterion) {
    let fleet = yard::fleet(24);
    let taught = fit(&fleet, None);
    let parts: Vec<_> = fleet
        .kinds
        .iter()
        .filter_map(|kind| {
            let known = taught.kinds.get(&kind.check)?;
            Some((Model::of(known, &taught, &fleet), Parameters::of(&known.theta, known.fresh), kind.chains.first()?))
        })
        .collect();
    let what = format!("forecast/one machine, {} parts of {} readings", parts.len(), yard::READINGS);
    criterion.bench_function(&format!("{what}, all sets of numbers"), |bencher| {
        bencher.iter(|| {
            for (model, _, chain) in &parts {
                let ahead = model.ahead(black_box(chain), "model 0", 0.1);
                black_box((ahead.band(), ahead.met_by(0.2)));
            }
        });
    });
    let stand: Vec<_> = parts.iter().map(|(model, ..)| model.stands(&fleet.kinds[0].chains[0], "model 0")).collect();
    criterion.bench_function("forecast/one machine, 8 parts, one reading more than the estimate", |bencher| {
        bencher.iter(|| {
            for ((_, parameters, chain), state) in parts.iter().zip(&stand) {
                let mut state = *black_box(state);
                state.carry(0.1, &parameters.motion_at(state.mean[1], 0.0));
                let told = state.hear(state.mean[0] + 0.05, parameters.reading_variance);
                state.learn(&told);
                let ahead = Ahead::of(chain.reach, state, parameters);
                black_box((ahead.band(), ahead.met_by(0.2)));
            }
        });
    });
    let season = Season { months: [1.0; 12], day_km: 20.0 };
    let (riding, today) = (Riding { day_km: 20.0, spread: 0.3 }, date(2026, 11, 24));
    let all: Vec<_> = parts
        .iter()
        .zip(&stand)
        .map(|((_, parameters, chain), state)| Ahead::of(chain.reach, *state, parameters))
        .collect();
    criterion.bench_function(
        "forecast/one machine, 8 parts, what a page tells: within 8 weeks, the day at 50 %",
        |bencher| {
            bencher.iter(|| {
                for ahead in &all {
                    let ahead = black_box(ahead);
                    black_box((
                        season.met_by(ahead, riding, (today, 56)),
                        season.half_day(ahead, Clock::Distance, (riding, today)),
                    ));
                }
            });
        },
    );
}

criterion_group!(benches, one_machine);
criterion_main!(benches);
