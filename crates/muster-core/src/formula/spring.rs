//! How far a wheel's springs give under its load, and the preload that brings it into a range.
//!
//! Everything is told at the wheel and upright: s is how far the wheel has come up. The spring itself is pressed by
//! x = i₀ s + c s²/2, where i = dx/ds = i₀ + c s is the motion ratio; with a raked fork i₀ is 1/cos of the rake. Virtual
//! work gives the force at the wheel, i times the spring's. Friction is left out: a machine settles within a few
//! millimetres of the figure, above or below.

use super::refusal::{Refusal, within};
use crate::quantity::{Length, Mass, Unit};

use super::axle_load::G;

/// The springs of one wheel, both legs or shocks together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Springs {
    /// Rate, N/mm.
    pub rate_n_per_mm: f64,
    /// From this compression, preload and all, the next rate in N/mm counts: close coils have met.
    pub then: Option<(Length, f64)>,
    /// Spring's way over the wheel's, fully extended: i₀.
    pub motion: f64,
    /// What the motion ratio grows by, a metre of the wheel's way: c.
    pub motion_per_m: f64,
    /// Air shut in above the oil of a fork.
    pub air: Option<Air>,
    /// Wheel, brake, and what moves with them: on the tyre but not on the spring.
    pub unsprung: Mass,
    /// The wheel's way from fully extended to the stop.
    pub travel: Length,
}

/// Air shut in in both legs of a fork.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Inner diameter of one leg.
    pub bore: Length,
    /// Length of the air above the oil, fully extended.
    pub gap: Length,
}

/// The exponent of the air in a fork: between slow (1) and quick (1.4). Common practice.
const POLYTROPIC: f64 = 1.2;
const ATMOSPHERE_N_PER_MM2: f64 = 0.101_325;
/// A tenth of a nanometre: below what the last digit of any tape tells, above rounding.
const CLOSE_MM: f64 = 1e-10;

/// How far the wheel has come up under the load on it.
///
/// i(s) · (k (x(s) + x₀) + p A ((l/(l − x))ⁿ − 1)) = (m − m_u) g
///
/// 0 where the preload alone carries the load (topped out), the whole travel where the springs do not (on the stop).
/// x₀ preload of the spring, l air gap, n = 1.2. Source: geometry, Hooke's law. Valid: rates 1 to 500 N/mm, motion ratio
/// 0.2 to 1.5, travel 20 to 350 mm. Worked: 95 N/mm, 10 mm, ratio 0.5, 1100 N: 26.316 mm
/// (tests/golden/evidence/outing.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn sag(springs: &Springs, preload: Length, on_the_wheel: Mass) -> Result<Length, Refusal> {
    let travel = checked(springs)?;
    let preload = within("preload", preload.mm(), Unit::Millimetre, (0.0, 100.0, "0 to 100 mm"))?;
    let load = (on_the_wheel.kg() - springs.unsprung.kg()) * G;
    let miss = |s: f64| {
        let (force, slope) = force(springs, preload, s);
        (force - load, slope)
    };
    if miss(0.0).0 >= 0.0 {
        return Ok(Length::from_mm(0.0)?);
    }
    if miss(travel).0 <= 0.0 {
        return Ok(springs.travel);
    }
    let (mut low, mut high) = (0.0, travel);
    let mut s = travel / 3.0;
    // Newton's step where it stays between what is too little and too much, else half way: it cannot run off.
    for _ in 0..100 {
        let (over, slope) = miss(s);
        if over > 0.0 {
            high = s;
        } else {
            low = s;
        }
        let step = s - over / slope;
        let next = if step > low && step < high { step } else { (low + high) / 2.0 };
        let moved = libm::fabs(next - s);
        s = next;
        if moved < CLOSE_MM {
            break;
        }
    }
    Ok(Length::from_mm(s)?)
}

/// The preload at which the wheel comes up by a wanted way. The inverse of [`sag`].
///
/// Worked: 95 N/mm, ratio 0.5, 1500 N, wanted 38 mm: 12.579 mm (tests/golden/evidence/outing.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range, or where no preload of 0 to 100 mm gives it.
pub fn preload_for(springs: &Springs, wanted: Length, on_the_wheel: Mass) -> Result<Length, Refusal> {
    let travel = checked(springs)?;
    let s = within("wanted sag", wanted.mm(), Unit::Millimetre, (0.0, travel, "0 to the wheel's travel"))?;
    let load = (on_the_wheel.kg() - springs.unsprung.kg()) * G;
    let (x, ratio) = at(springs, s);
    let spring = load / ratio - air(springs, x).0;
    let first = springs.then.map_or(f64::INFINITY, |(from, _)| from.mm() * springs.rate_n_per_mm);
    let pressed = match springs.then {
        Some((from, rate)) if spring > first => from.mm() + (spring - first) / rate,
        _ => spring / springs.rate_n_per_mm,
    };
    let preload = within("preload", pressed - x, Unit::Millimetre, (0.0, 100.0, "0 to 100 mm"))?;
    Ok(Length::from_mm(preload)?)
}

/// The spring's way and the motion ratio at a wheel's way in mm.
fn at(springs: &Springs, s: f64) -> (f64, f64) {
    let per_mm = springs.motion_per_m / 1000.0;
    (springs.motion * s + per_mm * s * s / 2.0, springs.motion + per_mm * s)
}

/// Force at the wheel in N and how it grows in N/mm.
fn force(springs: &Springs, preload: f64, s: f64) -> (f64, f64) {
    let (x, ratio) = at(springs, s);
    let pressed = x + preload;
    let (coil, rate) = match springs.then {
        Some((from, rate)) if pressed > from.mm() => {
            (springs.rate_n_per_mm * from.mm() + rate * (pressed - from.mm()), rate)
        }
        _ => (springs.rate_n_per_mm * pressed, springs.rate_n_per_mm),
    };
    let (air, air_rate) = air(springs, x);
    (ratio * (coil + air), springs.motion_per_m / 1000.0 * (coil + air) + ratio * ratio * (rate + air_rate))
}

/// Force of the air in both legs in N and how it grows in N/mm.
fn air(springs: &Springs, x: f64) -> (f64, f64) {
    let Some(Air { bore, gap }) = springs.air else { return (0.0, 0.0) };
    let area = core::f64::consts::FRAC_PI_2 * bore.mm() * bore.mm();
    let left = gap.mm() - x;
    let grown = libm::pow(gap.mm() / left, POLYTROPIC);
    let whole = ATMOSPHERE_N_PER_MM2 * area;
    (whole * (grown - 1.0), whole * POLYTROPIC * grown / left)
}

fn checked(springs: &Springs) -> Result<f64, Refusal> {
    let rates = [springs.rate_n_per_mm].into_iter().chain(springs.then.map(|(_, rate)| rate));
    for rate in rates {
        within("spring rate in N/mm", rate, Unit::One, (1.0, 500.0, "1 to 500 N/mm"))?;
    }
    let travel = within("travel", springs.travel.mm(), Unit::Millimetre, (20.0, 350.0, "20 to 350 mm"))?;
    let (way, last) = at(springs, travel);
    for ratio in [springs.motion, last] {
        within("motion ratio", ratio, Unit::One, (0.2, 1.5, "0.2 to 1.5 over the whole travel"))?;
    }
    if let Some(Air { bore, gap }) = springs.air {
        within("bore", bore.mm(), Unit::Millimetre, (20.0, 70.0, "20 to 70 mm"))?;
        let longer = (way + 1.0, 500.0, "longer than the fork's way, to 500 mm");
        within("air gap", gap.mm(), Unit::Millimetre, longer)?;
    }
    Ok(travel)
}
