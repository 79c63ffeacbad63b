//! How long a fit and every forecast take for a large yard: 10 000 machines, 8 parts each, 15 readings each.
//!
//! `cargo run --release -p muster-core --example forecast_speed [MACHINES] [reference]`; with `reference` the same rows are
//! fitted by lme4 too, in the same go, and both are compared. That takes a minute and needs R with lme4.

mod reference;

use muster_core::{
    forecast::{
        ahead::Model,
        fit::{Fit, fit},
        fleet::{Fleet, Kind},
        parameters::Prior,
        path::{Chain, Read, Step, Stop, What},
        practice::Shape,
    },
    quantity::Unit,
};
use std::{env, fs, hint::black_box, process};

const PARTS: usize = 8;
const READINGS: usize = 15;

fn main() {
    let machines = env::args().skip(1).find_map(|text| text.parse().ok()).unwrap_or(10_000);
    let fleet = fleet(machines);
    let began = cpu_seconds();
    let cold = fit(&fleet, None);
    let fitted = cpu_seconds() - began;
    let warm = fit(&fleet, Some(&cold));
    let again = cpu_seconds() - began - fitted;
    let began = cpu_seconds();
    let (parts, sum) = forecasts(&fleet, &warm);
    let ahead = cpu_seconds() - began;
    black_box(sum);
    println!(
        "{machines} machines, {parts} parts of {READINGS} readings, seconds of one core: fit {fitted:.3} cold, {again:.3} from the \
         last one; all forecasts {ahead:.3}"
    );
    if let Ok(status) = fs::read_to_string("/proc/self/status") {
        status.lines().filter(|line| line.starts_with("VmHWM")).for_each(|line| println!("{line}"));
    }
    if env::args().any(|text| text == "reference") {
        if let Err(why) = reference::compare(&fleet, &cold, (fitted, ahead)) {
            eprintln!("{why}");
            process::exit(1);
        }
    }
}

fn forecasts(fleet: &Fleet, fit: &Fit) -> (usize, f64) {
    let (mut parts, mut sum) = (0, 0.0);
    for kind in &fleet.kinds {
        let Some(known) = fit.kinds.get(&kind.check) else { continue };
        let model = Model::of(known, fit, fleet);
        for chain in &kind.chains {
            let group = fleet.groups.get(chain.group as usize).map_or("", String::as_str);
            let ahead = model.ahead(chain, group, 0.1);
            sum += ahead.band().iter().flatten().sum::<f64>() + ahead.met_by(0.2);
            parts += 1;
        }
    }
    (parts, sum)
}

/// Time this thread has had a core, in seconds: on a busy machine the clock on the wall says little.
fn cpu_seconds() -> f64 {
    let read = fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    read.split(' ').next().and_then(|nanoseconds| nanoseconds.parse::<f64>().ok()).unwrap_or(f64::NAN) / 1e9
}

/// SplitMix64 (Steele, Lea, Flood 2014), as a share of one.
fn share(state: &mut u64) -> f64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^= z >> 31;
    ((z >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
}

fn fleet(machines: usize) -> Fleet {
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
