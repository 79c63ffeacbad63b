//! How often the forecast's 90 % interval holds the truth, on fleets from a generator that is not the fitted model.
//!
//! `cargo run --release -p muster-core --example coverage [FACTOR]`; FACTOR: how many times longer parts truly last than
//! stated practice says. Seeds are fixed; results stand in docs/forecast.md with their date.

mod world;

use muster_core::{
    forecast::{
        ahead::Model,
        fit::fit,
        straight::{Line, Of},
    },
    statistics::uncertainty::Probability,
};
use std::{env, time::Instant};
use world::{Random, SORTS, World};

/// Days that follow the history: a life counts where its crossing is seen in them.
const FOLLOW: usize = 425;
/// The same, till nearly all have crossed.
const FOLLOW_ALL: usize = 3000;

#[derive(Default)]
struct Tally {
    lives: u32,
    held: u32,
    low: u32,
    high: u32,
    widths: Vec<f64>,
    errors: Vec<f64>,
}

impl Tally {
    fn add(&mut self, (low, middle, high): (f64, f64, f64), truth: f64) {
        self.lives += 1;
        self.low += u32::from(truth < low);
        self.high += u32::from(truth > high);
        self.held += u32::from(truth >= low && truth <= high);
        self.widths.push((high - low) / truth);
        self.errors.push((middle - truth).abs() / truth);
    }

    fn line(&mut self, what: &str) {
        let n = f64::from(self.lives.max(1));
        println!(
            "{what:<28} lives {:>5}  held {:.3}  below {:.3}  above {:.3}  width {:.2}  error {:.3}",
            self.lives,
            f64::from(self.held) / n,
            f64::from(self.low) / n,
            f64::from(self.high) / n,
            median(&mut self.widths),
            median(&mut self.errors)
        );
    }
}

fn median(all: &mut [f64]) -> f64 {
    all.sort_unstable_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(f64::NAN)
}

fn main() {
    let factor = env::args().nth(1).and_then(|text| text.parse().ok()).unwrap_or(1.0);
    println!("parts last {factor} times as long as stated practice says");
    for (machines, fleets, follow) in [
        (5, 200, FOLLOW),
        (24, 40, FOLLOW),
        (400, 2, FOLLOW),
        (5, 200, FOLLOW_ALL),
        (24, 40, FOLLOW_ALL),
        (400, 2, FOLLOW_ALL),
    ] {
        let began = Instant::now();
        let (mut model, mut line) = (Tally::default(), Tally::default());
        let mut by_sort: Vec<Tally> = SORTS.iter().map(|_| Tally::default()).collect();
        for seed in 0..fleets {
            let mut random = Random(1000 * machines as u64 + seed + follow as u64);
            let world = world::world(&mut random, machines, factor, follow);
            measure(&world, &mut model, &mut line, &mut by_sort);
        }
        println!(
            "\n{machines} machines, {fleets} fleets, followed {follow} days, {:.1} s",
            began.elapsed().as_secs_f64()
        );
        model.line("fleet model");
        line.line("straight line per part");
        for (sort, tally) in SORTS.iter().zip(&mut by_sort) {
            tally.line(&format!("  {}", sort.name));
        }
    }
}

fn measure(world: &World, tally: &mut Tally, line: &mut Tally, by_sort: &mut [Tally]) {
    let fit = fit(&world.fleet, None);
    let ninety = Probability::new(0.9).unwrap_or(Probability::ONE);
    for (index, kind) in world.fleet.kinds.iter().enumerate() {
        let Some(known) = fit.kinds.get(&kind.check) else { continue };
        let model = Model::of(known, &fit, &world.fleet);
        for part in world.alive.iter().filter(|part| part.sort == index) {
            let Some(truth) = part.truth.filter(|truth| *truth > 0.0) else { continue };
            let Some(chain) = kind.chains.get(part.chain) else { continue };
            let group = world.fleet.groups.get(chain.group as usize).map_or("", String::as_str);
            let ahead = model.ahead(chain, group, part.since);
            let [low, middle, high] = ahead.band_if_not_yet().map(|d| d.unwrap_or(1000.0));
            let band = (low, middle, high);
            tally.add(band, truth);
            if let Some(own) = by_sort.get_mut(index) {
                own.add(band, truth);
            }
            let fitted = Line::through(&part.life);
            if let Some((middle, Some((low, high)))) = fitted.map(|line| line.meets(part.limit, ninety, Of::Line)) {
                let here = part.odometer;
                line.add(((low - here).max(0.0), (middle - here).max(0.0), (high - here).max(0.0)), truth);
            }
        }
    }
}
