//! A stop from its record: mean fully developed deceleration, stopping distance, and the directive's two criteria apart.

use super::refusal::{Refusal, not_valid, within};
use crate::quantity::{Distance, OutOfRange, Speed, Time, Unit, show};
use alloc::string::String;
use alloc::vec::Vec;

/// A stop, worked out of its record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// Speed when the record begins, with the brake.
    pub from: Speed,
    /// Way till standing.
    pub stopped_after: Distance,
    /// Mean fully developed deceleration, m/s².
    pub mfdd_m_per_s2: f64,
}

/// Which row of the directive's table a test falls under: laden, one brake alone, engine disconnected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Brake {
    /// Motorcycle, front brake.
    MotorcycleFront,
    /// Motorcycle, rear brake.
    MotorcycleRear,
    /// Motorcycle with sidecar, either.
    Sidecar,
    /// Moped with two wheels, front brake.
    MopedFront,
    /// Moped with two wheels, rear brake; moped with three wheels, either.
    MopedRear,
}

/// One criterion and what was reached; met where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Criterion {
    /// What is required.
    pub required: f64,
    /// What was reached.
    pub reached: f64,
    /// Whether it was.
    pub is_met: bool,
}

/// A stop against the directive: two criteria, each by itself, for the printed deceleration is rounded from the distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compared {
    /// Stopping distance at the test's speed, m; at most.
    pub distance_m: Criterion,
    /// Mean fully developed deceleration, m/s²; at least.
    pub mfdd_m_per_s2: Criterion,
}

/// A record that tells no stop.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RecordRefusal {
    /// Too few figures between 80 and 10 % of the first speed.
    #[error(
        "a record of a stop needs {least} figures or more between 80 and 10 % of its first speed, got {got}: read it more often"
    )]
    TooShort {
        /// How many there are.
        got: usize,
        /// How many there must be.
        least: usize,
    },
    /// Time or way does not go on.
    #[error("each figure of the record must come after the one before, number {number} does not")]
    NotInOrder {
        /// Which figure, from 1.
        number: usize,
    },
    /// The speed rises.
    #[error("speed must fall all through a stop, it rises at figure {number} to {got}")]
    NotFalling {
        /// Which figure, from 1.
        number: usize,
        /// The speed there.
        got: String,
    },
    /// The speed leaps: figures are missing.
    #[error("the record has a gap before figure {number}: the speed falls by more than a tenth of the first at once")]
    Gap {
        /// Which figure, from 1.
        number: usize,
    },
    /// It ends on the move.
    #[error("the record of a stop must end standing, at {most} or less; it ends at {got}")]
    NotStanding {
        /// The last speed.
        got: String,
        /// What counts as standing.
        most: String,
    },
    /// An argument outside its range.
    #[error(transparent)]
    Formula(#[from] Refusal),
}

/// Fewest figures between 80 and 10 % of the first speed.
pub const LEAST_FIGURES: usize = 8;
/// What a wheel sensor's ripple may lift the speed by, and what counts as standing, km/h.
const RIPPLE_KM_PER_H: f64 = 1.0;
/// 2 · 3.6²: from (km/h)² to (m/s)², and the 2 of v² = 2 a s.
const TWICE_SQUARED_KM_PER_H: f64 = 25.92;

/// Works a stop out of speeds read at times.
///
/// d_m = (V_b² − V_e²)/(25.92 (S_e − S_b)), m/s²     V_b 80 and V_e 10 % of the first speed, km/h; S way so far, m
///
/// The way is the sum of trapezes: exact where the deceleration is even between figures. The denominator is a way, never
/// a time. Source: UN R78 and UN GTR 3 (formula from memory). Valid: first speed 20 to 200 km/h, standing at the end.
/// Worked: from 60 km/h, 7 m/s² after a ramp of 0.4 s: 7.000 m/s², 23.13 m (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`RecordRefusal`] for a record too short, out of order, rising, with gaps, or that ends on the move.
pub fn of_times(record: &[(Time, Speed)]) -> Result<Stop, RecordRefusal> {
    let mut way = 0.0;
    let mut before: Option<(f64, f64)> = None;
    let mut rows = Vec::with_capacity(record.len());
    for (index, (time, speed)) in record.iter().enumerate() {
        let (s, v) = (time.seconds(), speed.km_per_h());
        if let Some((s0, v0)) = before {
            if s <= s0 {
                return Err(RecordRefusal::NotInOrder { number: index + 1 });
            }
            way += (v0 + v) / 2.0 * (s - s0) / 3.6;
        }
        rows.push((way, v));
        before = Some((s, v));
    }
    of_rows(&rows)
}

/// Works a stop out of speeds read along the way.
///
/// As [`of_times`]; between two figures the deceleration is taken to be even, v² falls straight with the way.
///
/// # Errors
/// As for [`of_times`].
pub fn of_ways(record: &[(Distance, Speed)]) -> Result<Stop, RecordRefusal> {
    let first = record.first().map_or(0.0, |row| row.0.km());
    let rows: Vec<_> = record.iter().map(|(way, speed)| (1000.0 * (way.km() - first), speed.km_per_h())).collect();
    if let Some(index) = rows.iter().zip(rows.iter().skip(1)).position(|(one, next)| next.0 <= one.0) {
        return Err(RecordRefusal::NotInOrder { number: index + 2 });
    }
    of_rows(&rows)
}

/// The stopping distance as it would have been from the test's speed, where the rider began a little faster or slower.
///
/// S = 0.1 V + (Sₐ − 0.1 Vₐ) V²/Vₐ²     m, km/h; index a as driven
///
/// Source: UN R78 (from memory). Valid: V 20 to 200 km/h, Vₐ within 5 km/h of it.
/// Worked: 23.0 m from 61 km/h is 22.35 m from 60 km/h (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn distance_from(stop: &Stop, test: Speed) -> Result<Distance, Refusal> {
    let (wanted, driven) = (first_speed(test.km_per_h())?, stop.from.km_per_h());
    let allowed = (wanted - 5.0, wanted + 5.0, "within 5 km/h of the test's speed");
    within("first speed", driven, Unit::KilometrePerHour, allowed)?;
    let braked = 1000.0 * stop.stopped_after.km() - 0.1 * driven;
    let metres = 0.1 * wanted + braked * (wanted / driven) * (wanted / driven);
    Ok(Distance::from_km(metres / 1000.0)?)
}

impl Brake {
    /// All rows of the table.
    pub const ALL: [Self; 5] =
        [Self::MotorcycleFront, Self::MotorcycleRear, Self::Sidecar, Self::MopedFront, Self::MopedRear];

    /// The speed the test is driven from: 60 km/h, mopeds 40.
    ///
    /// # Errors
    /// None in fact: both are speeds.
    pub fn test_speed(self) -> Result<Speed, OutOfRange> {
        Speed::from_km_per_h(match self {
            Self::MopedFront | Self::MopedRear => 40.0,
            _ => 60.0,
        })
    }

    /// The stopping distance that must not be passed.
    ///
    /// S = 0.1 V + V²/d     d 115, 75, 95, 90, 70 (front, rear, sidecar, moped front, moped rear); m, km/h
    ///
    /// Source: Directive 93/14/EEC annex, appendix 1, 2.1 (read). Valid: 20 to 200 km/h.
    /// Worked: 37.30 m from 60 km/h with the front brake (tests/golden/evidence/workshop.toml).
    ///
    /// # Errors
    /// [`Refusal`] outside the valid range.
    pub fn longest(self, from: Speed) -> Result<Distance, Refusal> {
        let speed = first_speed(from.km_per_h())?;
        Ok(Distance::from_km((0.1 * speed + speed * speed / self.row().0) / 1000.0)?)
    }

    /// The mean fully developed deceleration that must be reached, m/s², as printed.
    ///
    /// Source: Directive 93/14/EEC annex, appendix 1, 2.1 (read).
    #[must_use]
    pub fn least_mfdd_m_per_s2(self) -> f64 {
        self.row().1
    }

    fn row(self) -> (f64, f64) {
        match self {
            Self::MotorcycleFront => (115.0, 4.4),
            Self::MotorcycleRear => (75.0, 2.9),
            Self::Sidecar => (95.0, 3.6),
            Self::MopedFront => (90.0, 3.4),
            Self::MopedRear => (70.0, 2.7),
        }
    }
}

/// Compares a stop with the directive's row for the brake, at its test speed; each criterion by itself.
///
/// A stop in a yard is no type approval: load, surface and the free engine are the rider's word.
///
/// # Errors
/// As for [`distance_from`].
pub fn compare(stop: &Stop, brake: Brake) -> Result<Compared, Refusal> {
    let test = brake.test_speed()?;
    let metres = |distance: Distance| 1000.0 * distance.km();
    let (longest, reached) = (metres(brake.longest(test)?), metres(distance_from(stop, test)?));
    let (least, mfdd) = (brake.least_mfdd_m_per_s2(), stop.mfdd_m_per_s2);
    Ok(Compared {
        distance_m: Criterion { required: longest, reached, is_met: reached <= longest },
        mfdd_m_per_s2: Criterion { required: least, reached: mfdd, is_met: mfdd >= least },
    })
}

/// Works a stop out of ways so far in m and speeds in km/h.
fn of_rows(rows: &[(f64, f64)]) -> Result<Stop, RecordRefusal> {
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else {
        return Err(RecordRefusal::TooShort { got: 0, least: LEAST_FIGURES });
    };
    let from = first_speed(first.1)?;
    checked(rows, from)?;
    let (begin, end) = (0.8 * from, 0.1 * from);
    let got = rows.iter().filter(|row| (end..=begin).contains(&row.1)).count();
    if got < LEAST_FIGURES {
        return Err(RecordRefusal::TooShort { got, least: LEAST_FIGURES });
    }
    let metres = way_at(rows, end) - way_at(rows, begin);
    let mfdd_m_per_s2 = (begin * begin - end * end) / (TWICE_SQUARED_KM_PER_H * metres);
    Ok(Stop {
        from: Speed::from_km_per_h(from).map_err(Refusal::from)?,
        stopped_after: Distance::from_km(last.0 / 1000.0).map_err(Refusal::from)?,
        mfdd_m_per_s2,
    })
}

/// Refuses a record that rises, leaps or ends on the move.
fn checked(rows: &[(f64, f64)], from: f64) -> Result<(), RecordRefusal> {
    let said = |km_per_h| show::plain(km_per_h, Unit::KilometrePerHour);
    let mut lowest = from;
    for (index, (_, speed)) in rows.iter().enumerate() {
        if *speed > lowest + RIPPLE_KM_PER_H {
            return Err(RecordRefusal::NotFalling { number: index + 1, got: said(*speed) });
        }
        if lowest - speed > 0.1 * from {
            return Err(RecordRefusal::Gap { number: index + 1 });
        }
        lowest = lowest.min(*speed);
    }
    let last = rows.last().map_or(from, |row| row.1);
    if last > RIPPLE_KM_PER_H {
        return Err(RecordRefusal::NotStanding { got: said(last), most: said(RIPPLE_KM_PER_H) });
    }
    Ok(())
}

/// Returns the way at which the speed first falls to a figure: v² falls straight between rows.
fn way_at(rows: &[(f64, f64)], speed: f64) -> f64 {
    let pieces = rows.iter().zip(rows.iter().skip(1));
    let mut crossing = pieces.filter(|(high, low)| high.1 > speed && low.1 <= speed);
    crossing.next().map_or(0.0, |((s0, v0), (s1, v1))| s0 + (s1 - s0) * (v0 * v0 - speed * speed) / (v0 * v0 - v1 * v1))
}

fn first_speed(km_per_h: f64) -> Result<f64, Refusal> {
    if (20.0..=200.0).contains(&km_per_h) {
        return Ok(km_per_h);
    }
    Err(not_valid("speed of a brake test", "20 to 200 km/h", km_per_h, Unit::KilometrePerHour))
}
