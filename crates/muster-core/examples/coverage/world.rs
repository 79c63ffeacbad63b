//! A yard that is not the fitted model: use in bursts, riders that change, heavy tails, coarse gauges, unlogged changes.

use muster_core::forecast::{
    fleet::{Fleet, Kind},
    parameters::Prior,
    path::{Chain, Read, Step, Stop, What},
    practice::{Practice, Shape},
};
use muster_core::{quantity::Unit, source::Provenance, words::Known};

/// SplitMix64 (Steele, Lea, Flood 2014).
pub(crate) struct Random(pub(crate) u64);

impl Random {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    pub(crate) fn share(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
    }
    pub(crate) fn chance(&mut self, p: f64) -> bool {
        self.share() < p
    }
    pub(crate) fn normal(&mut self) -> f64 {
        let (a, b) = (self.share(), self.share());
        libm::sqrt(-2.0 * libm::log(a)) * libm::cos(2.0 * core::f64::consts::PI * b)
    }
    /// Student with four degrees of freedom, scaled to variance 1: heavy tails.
    pub(crate) fn heavy(&mut self) -> f64 {
        let square: f64 = (0..4).map(|_| self.normal()).map(|n| n * n).sum();
        self.normal() / libm::sqrt(square / 4.0) / libm::sqrt(2.0)
    }
    pub(crate) fn about(&mut self, mean: f64, spread: f64) -> f64 {
        mean * libm::exp(spread * self.normal() - spread * spread / 2.0)
    }
}

/// A kind of part as this world makes it.
pub(crate) struct Sort {
    pub(crate) name: &'static str,
    new: f64,
    limit: f64,
    life: f64,
    step: f64,
    error: f64,
}

pub(crate) const SORTS: [Sort; 5] = [
    Sort { name: "front tread", new: 6.0, limit: 1.6, life: 14.0, step: 0.5, error: 0.12 },
    Sort { name: "rear tread", new: 7.0, limit: 1.6, life: 8.0, step: 0.5, error: 0.15 },
    Sort { name: "front pads", new: 4.5, limit: 1.5, life: 11.0, step: 0.5, error: 0.12 },
    Sort { name: "rear pads", new: 4.5, limit: 1.5, life: 14.0, step: 0.5, error: 0.12 },
    Sort { name: "chain", new: 0.0, limit: 1.5, life: 16.0, step: 0.1, error: 0.06 },
];

/// A part still on its machine when the history ends, and how far it truly goes from there.
pub(crate) struct Alive {
    pub(crate) sort: usize,
    pub(crate) chain: usize,
    /// 1000 km since the last step.
    pub(crate) since: f64,
    /// 1000 km to the crossing; none where the follow-up did not see it.
    pub(crate) truth: Option<f64>,
    /// Distance and reading of the present logged life.
    pub(crate) life: Vec<(f64, f64)>,
    #[allow(dead_code, reason = "not every example that takes this world asks for it")]
    pub(crate) odometer: f64,
    pub(crate) limit: f64,
}

/// A fleet's history and its truth.
pub(crate) struct World {
    pub(crate) fleet: Fleet,
    pub(crate) alive: Vec<Alive>,
}

struct Ride {
    km: Vec<f64>,
    harsh: Vec<f64>,
}

const HISTORY_DAYS: usize = 425;
pub(crate) const GAUGES: usize = 4;

/// Use in bursts, and how harsh each day's rider and road are.
fn ride(random: &mut Random, days: usize) -> Ride {
    let weekly = random.about(0.19, 0.4);
    let (mut km, mut harsh) = (Vec::new(), Vec::new());
    let (mut busy, mut hard) = (1.0, random.about(1.0, 0.25));
    for day in 0..days {
        if day % 7 == 0 && random.chance(0.25) {
            busy = if random.chance(0.3) { 0.15 } else { random.about(1.1, 0.5) };
        }
        // A new rider or another road every ten weeks or so.
        if random.chance(1.0 / 70.0) {
            hard = random.about(1.0, 0.25);
        }
        let season = 1.0 + 0.4 * libm::sin(day as f64 / 365.25 * 2.0 * core::f64::consts::PI);
        let rides = random.chance(0.55);
        km.push(if rides { random.about(weekly * busy * season / 7.0 / 0.55, 0.5) } else { 0.0 });
        harsh.push(hard);
    }
    Ride { km, harsh }
}

/// Makes a fleet. `wrong` is how many times longer parts truly last than stated practice says.
pub(crate) fn world(random: &mut Random, machines: usize, wrong: f64, follow_days: usize) -> World {
    let mut fleet = Fleet::default();
    let mut biases = Vec::new();
    for gauge in 0..GAUGES {
        let off = 0.12 * random.heavy();
        biases.push(off);
        fleet.gauge(&format!("T-{gauge}"), Unit::Millimetre, 0.1);
    }
    for gauge in 0..GAUGES {
        fleet.gauge(&format!("C-{gauge}"), Unit::Percent, 0.03);
        biases.push(0.02 * random.heavy());
    }
    let models = 3.min(machines);
    for model in 0..models {
        fleet.group(&format!("model {model}"));
    }
    let mut alive = Vec::new();
    let rides: Vec<Ride> = (0..machines).map(|_| ride(random, HISTORY_DAYS + follow_days)).collect();
    for (index, sort) in SORTS.iter().enumerate() {
        let truth = random.about(sort.life * wrong, 0.3);
        let of_model: Vec<f64> = (0..models).map(|_| random.about(1.0, 0.15)).collect();
        let practice = practice(sort);
        let unit = practice.unit;
        let mut chains = Vec::new();
        for (machine, ride) in rides.iter().enumerate() {
            let (reach, sign) = (practice.reach(), if sort.limit > sort.new { 1.0 } else { -1.0 });
            let rate = reach / truth * of_model[machine % models] * random.about(1.0, 0.2);
            let one = one(
                random,
                sort,
                ride,
                (rate, &biases[if index == 4 { GAUGES } else { 0 }..], if index == 4 { GAUGES } else { 0 }),
            );
            let chain = Chain { reach, sign, group: (machine % models) as u32, fresh: one.fresh, steps: one.steps };
            alive.push(Alive {
                sort: index,
                chain: machine,
                since: one.since,
                truth: one.truth,
                life: one.life,
                odometer: one.odometer,
                limit: sort.limit,
            });
            chains.push(chain);
        }
        fleet.kinds.push(Kind { check: sort.name.into(), unit, prior: Prior::of(&practice), chains });
    }
    World { fleet, alive }
}

struct One {
    fresh: bool,
    steps: Vec<Step>,
    since: f64,
    truth: Option<f64>,
    life: Vec<(f64, f64)>,
    odometer: f64,
}

fn one(random: &mut Random, sort: &Sort, ride: &Ride, (machine_rate, biases, first): (f64, &[f64], usize)) -> One {
    let reach = (sort.limit - sort.new).abs();
    let sign = if sort.limit > sort.new { 1.0 } else { -1.0 };
    let mut rate = random.about(machine_rate, 0.22);
    let fresh = random.chance(0.3);
    let mut wear = if fresh { 0.02 * reach * random.normal().abs() } else { reach * 0.85 * random.share() };
    let mut gone = 0.0;
    let mut since = 0.0;
    let mut odometer = 0.0;
    let mut out = One { fresh, steps: Vec::new(), since: 0.0, truth: None, life: Vec::new(), odometer: 0.0 };
    let mut favourite = random.next() as usize % GAUGES;
    for (day, (km, harsh)) in ride.km.iter().zip(&ride.harsh).enumerate() {
        let history = day < HISTORY_DAYS;
        odometer += km;
        // Wear comes in gusts: mostly little, sometimes a hard stop or a bad road.
        let gust = if random.chance(0.03) { 6.0 * random.share() } else { 0.9 };
        wear += rate * km * harsh * gust;
        if !history {
            gone += km;
            if wear >= reach {
                out.truth = Some(gone);
                break;
            }
            continue;
        }
        since += km;
        let due = wear > reach * (0.86 + 0.1 * random.share()) && random.chance(0.15);
        if due || random.chance(0.0004) {
            rate = random.about(machine_rate, 0.22);
            wear = reach * 0.02 * random.normal().abs();
            if random.chance(0.9) {
                out.steps.push(Step { over: since, what: What::Mounted });
                out.life.clear();
                since = 0.0;
            }
        }
        if random.chance(1.0 / 25.0) {
            if random.chance(0.2) {
                favourite = random.next() as usize % GAUGES;
            }
            let value = read(random, sort, wear, biases[favourite]);
            let z = sign * (value - sort.new);
            let stop = match (value <= 0.0, sign > 0.0) {
                (true, true) => Stop::Below,
                (true, false) => Stop::Above,
                _ => Stop::Free,
            };
            let read = Read { z, gauge: (first + favourite) as u32, times: 1.0, step: sort.step, stop };
            out.steps.push(Step { over: since, what: What::Read(read) });
            out.life.push((odometer, value));
            since = 0.0;
        }
        if day + 1 == HISTORY_DAYS {
            out.since = since;
            out.odometer = odometer;
            if wear >= reach {
                out.truth = Some(-1.0);
                break;
            }
        }
    }
    out
}

/// What a gauge shows: its bias, a hand that is now and then unsteady, a slip of the keys, its step.
fn read(random: &mut Random, sort: &Sort, wear: f64, bias: f64) -> f64 {
    let reach = sort.limit - sort.new;
    let error = if random.chance(0.06) { 2.5 * sort.error } else { sort.error } * random.normal();
    let mut value = sort.new + reach.signum() * wear + bias + error;
    if random.chance(0.006) {
        value += 3.0 * (random.share() - 0.5) * reach.abs();
    }
    (libm::round(value / sort.step) * sort.step).max(0.0)
}

fn practice(sort: &Sort) -> Practice {
    Practice {
        check: sort.name.into(),
        part: sort.name.into(),
        name: sort.name.into(),
        order: None,
        clock: muster_core::forecast::practice::Clock::Distance,
        unit: if sort.name == "chain" { Unit::Percent } else { Unit::Millimetre },
        new: sort.new,
        limit: sort.limit,
        life: sort.life,
        shape: Shape::default(),
        provenance: Provenance { title: "invented".into(), place: None, known: Known::Invented },
    }
}
