//! What a fixed interval, an eyeballed line and the forecast each cost, on the fleets of `coverage`: parts that meet their
//! limit before anybody looks again, and parts that are thrown away too early.
//!
//! `cargo run --release -p muster-core --example policies`. Seeds are fixed; results stand in docs/forecast.md with their date.

#[path = "coverage/world.rs"]
mod world;

use muster_core::forecast::{
    ahead::{Ahead, Model},
    fit::fit,
    lasting::{Life, Weibull},
    path::{Chain, What},
};
use world::{Alive, Random, World};

/// Till the next look, in 1000 km: a month of use.
const NEXT_LOOK: f64 = 0.7;
/// How far every part is followed, in days.
const FOLLOW: usize = 3000;

/// How it is decided that a part goes before the next look.
const POLICIES: [(&str, Decides); 6] = [
    ("fixed interval, 80 % of the usual life", |of| of.since_mounting >= 0.8 * of.usual),
    ("fixed interval, 60 % of the usual life", |of| of.since_mounting >= 0.6 * of.usual),
    ("fixed interval, one in ten has ended by", |of| of.since_mounting >= of.one_in_ten),
    ("line through first and last reading", |of| of.by_eye <= NEXT_LOOK),
    ("the same, with half as much again", |of| of.by_eye <= 1.5 * NEXT_LOOK),
    ("forecast, more than 5 %", |of| of.ahead.met_by(NEXT_LOOK) > 0.05),
];

type Decides = fn(&Part) -> bool;

/// A part as each policy sees it, distances in 1000 km.
struct Part {
    ahead: Ahead,
    usual: f64,
    /// What one in ten of the yard's own parts of its kind has ended by, those that go on counted; without a law of lives the
    /// four fifths of the usual.
    one_in_ten: f64,
    since_mounting: f64,
    /// What is left by a line through the first reading of the life, or what a new one shows, and the last.
    by_eye: f64,
}

#[derive(Default)]
struct Tally {
    parts: u32,
    gone: u32,
    unsafe_: u32,
    early: u32,
    wasted: f64,
}

fn main() {
    for (machines, fleets) in [(5, 40_u64), (24, 12), (400, 1)] {
        let mut all: [Tally; POLICIES.len()] = Default::default();
        for seed in 0..fleets {
            let mut random = Random(1000 * machines as u64 + seed + FOLLOW as u64);
            measure(&world::world(&mut random, machines, 1.0, FOLLOW), &mut all);
        }
        println!("\n{machines} machines, {} parts; of 1000 parts looked at:", all[0].parts);
        for ((name, _), of) in POLICIES.iter().zip(&all) {
            let per = 1000.0 / f64::from(of.parts);
            println!(
                "{name:<40} past the limit before the next look {:>5.1}  replaced {:>5.1}, of these too early {:>5.1}; km left in each {:>6.0}",
                f64::from(of.unsafe_) * per,
                f64::from(of.gone) * per,
                f64::from(of.early) * per,
                1000.0 * of.wasted / f64::from(of.early.max(1))
            );
        }
    }
}

fn measure(world: &World, all: &mut [Tally; POLICIES.len()]) {
    let fit = fit(&world.fleet, None);
    for (index, kind) in world.fleet.kinds.iter().enumerate() {
        let Some(known) = fit.kinds.get(&kind.check) else { continue };
        let model = Model::of(known, &fit, &world.fleet);
        let usual = libm::exp(-kind.prior.mean[0]) * kind.prior.reach;
        let one_in_ten = Weibull::of(&lives(&kind.chains)).map_or(0.8 * usual, |law| law.ended(0.1));
        for alive in world.alive.iter().filter(|alive| alive.sort == index) {
            let Some(chain) = kind.chains.get(alive.chain) else { continue };
            // What is past its limit already, every policy sees at the reading.
            let Some(truth) = alive.truth.filter(|truth| *truth > 0.0) else { continue };
            let group = world.fleet.groups.get(chain.group as usize).map_or("", String::as_str);
            let ahead = model.ahead(chain, group, alive.since);
            let part = Part { one_in_ten, ..seen(chain, alive, (ahead, usual)) };
            for ((_, decides), tally) in POLICIES.iter().zip(all.iter_mut()) {
                tally.parts += 1;
                let is_met = truth <= NEXT_LOOK;
                if decides(&part) {
                    tally.gone += 1;
                    tally.early += u32::from(!is_met);
                    tally.wasted += if is_met { 0.0 } else { truth };
                } else {
                    tally.unsafe_ += u32::from(is_met);
                }
            }
        }
    }
}

/// The lives between mountings that were noted; those that began before are of unknown length.
fn lives(chains: &[Chain]) -> Vec<Life> {
    let mut lives = Vec::new();
    for chain in chains {
        let mut since = chain.fresh.then_some(0.0);
        let mut end = |since: Option<f64>, ended| {
            lives.extend(since.filter(|lasted| *lasted > 0.0).map(|lasted| Life { lasted, ended }));
        };
        for step in &chain.steps {
            since = since.map(|since| since + step.over);
            if matches!(step.what, What::Mounted) {
                end(since.replace(0.0), true);
            }
        }
        end(since, false);
    }
    lives
}

fn seen(chain: &Chain, alive: &Alive, (ahead, usual): (Ahead, f64)) -> Part {
    let mut since_mounting = 0.0;
    let mut is_known = chain.fresh;
    for step in &chain.steps {
        since_mounting += step.over;
        if matches!(step.what, What::Mounted) {
            (since_mounting, is_known) = (0.0, true);
        }
    }
    since_mounting += alive.since;
    // Of a part mounted before, unknown, people take the half.
    if !is_known {
        since_mounting += 0.5 * usual;
    }
    let used = |value: f64| chain.reach - (alive.limit - value) * chain.sign;
    let by_eye = match (alive.life.first(), alive.life.last()) {
        (Some((from, first)), Some((to, last))) => {
            let (distance, worn) = match to - from {
                far if far > 0.0 => (far, used(*last) - used(*first)),
                // With one reading the line begins at a new part.
                _ => (since_mounting - alive.since, used(*last)),
            };
            let rate = if worn > 0.0 && distance > 0.0 { worn / distance } else { chain.reach / usual };
            (chain.reach - used(*last)) / rate - alive.since
        }
        _ => usual - since_mounting,
    };
    Part { ahead, usual, one_in_ten: f64::NAN, since_mounting, by_eye }
}
