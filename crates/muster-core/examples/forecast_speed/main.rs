//! How long a fit and every forecast take for a large yard: 10 000 machines, 8 parts each, 15 readings each.
//!
//! `cargo run --release -p muster-core --example forecast_speed [MACHINES] [reference]`; with `reference` the same rows are
//! fitted by lme4 too, in the same go, and both are compared. That takes a minute and needs R with lme4.

mod reference;
mod yard;

use muster_core::forecast::{
    ahead::Model,
    fit::{Fit, fit},
    fleet::Fleet,
};
use std::{env, fs, hint::black_box, process};

fn main() {
    let machines = env::args().skip(1).find_map(|text| text.parse().ok()).unwrap_or(10_000);
    let fleet = yard::fleet(machines);
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
        "{machines} machines, {parts} parts of {} readings, seconds of one core: fit {fitted:.3} cold, {again:.3} from the \
         last one; all forecasts {ahead:.3}",
        yard::READINGS
    );
    if let Ok(status) = fs::read_to_string("/proc/self/status") {
        status.lines().filter(|line| line.starts_with("VmHWM")).for_each(|line| println!("{line}"));
    }
    if env::args().any(|text| text == "reference")
        && let Err(why) = reference::compare(&fleet, &cold, (fitted, ahead))
    {
        eprintln!("{why}");
        process::exit(1);
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
