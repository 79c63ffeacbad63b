//! Run-out of a wheel or disc: what a dial indicator shows over one turn, and the eccentricity in it.

use super::propagated::Propagated;
use super::refusal::{Refusal, not_valid, within};
use crate::quantity::{Length, Ratio, Unit};
use crate::statistics::uncertainty::StandardUncertainty;
use core::f64::consts::TAU;

/// Where the middle of a turning part lies off its axle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eccentric {
    /// How far off, a length from 0.
    pub off: Length,
    /// Where the high spot is, as the share of a turn after the first reading, 0 to 1.
    pub high_at: Ratio,
}

/// Total indicator reading: the highest reading of one turn less the lowest.
///
/// t = max rᵢ − min rᵢ     mm
///
/// Source: definition (ISO 1101 calls it circular run-out; from memory). Valid: 4 to 360 readings of one turn, result to
/// 20 mm: what shows more is bent or was knocked. Worked: 0.10, 0.32, −0.08 and 0.05 mm are 0.40 mm
/// (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn total_reading(readings: &[Length]) -> Result<Length, Refusal> {
    turn(readings)?;
    let (low, high) = readings
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), one| (low.min(one.mm()), high.max(one.mm())));
    total(high - low)
}

/// [`total_reading`] from the two readings that make it, with its uncertainty in mm.
///
/// c(high) = 1, c(low) = −1
///
/// # Errors
/// [`Refusal`] if the first is below the second, or outside [`total_reading`]'s range.
pub fn total_reading_with_u(
    (high, low): (Length, Length),
    each_mm: StandardUncertainty,
) -> Result<Propagated<Length>, Refusal> {
    Propagated::of(total(high.mm() - low.mm())?, [("highest", 1.0, each_mm), ("lowest", -1.0, each_mm)])
}

/// Eccentricity of a round part, from its total indicator reading.
///
/// e = t/2
///
/// Source: a circle turning about a point e from its middle comes e nearer and goes e further. Valid: 0 to 20 mm; a part
/// out of round shows run-out without being eccentric, see [`eccentric`].
/// Worked: 0.40 mm of reading is 0.20 mm off (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn eccentricity(total_reading: Length) -> Result<Length, Refusal> {
    Ok(Length::from_mm(total(total_reading.mm())?.mm() / 2.0)?)
}

/// [`eccentricity`] with its uncertainty in mm.
///
/// c(t) = ½
///
/// # Errors
/// As for [`eccentricity`].
pub fn eccentricity_with_u(
    (total_reading, total_mm): (Length, StandardUncertainty),
) -> Result<Propagated<Length>, Refusal> {
    Propagated::of(eccentricity(total_reading)?, [("total reading", 0.5, total_mm)])
}

/// The eccentricity alone, and where the high spot is, from evenly spaced readings of one turn: buckles and dents that
/// come twice a turn or oftener fall out.
///
/// a = 2/n Σ rᵢ cos 2πi/n, b = 2/n Σ rᵢ sin 2πi/n; e = √(a² + b²), high spot at atan2(b, a)/2π of a turn
///
/// Source: first harmonic of a Fourier series, the least-squares circle for small e. Valid: 4 to 360 evenly spaced
/// readings, the last one step before the first comes round again; e to 10 mm.
/// Worked: 0.3, 0.1, −0.1, 0.1 mm: 0.2 mm off at the first reading (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn eccentric(readings: &[Length]) -> Result<Eccentric, Refusal> {
    let count = turn(readings)?;
    let (a, b) = readings.iter().enumerate().fold((0.0, 0.0), |(a, b), (index, one)| {
        let angle = TAU * index as f64 / count;
        (a + one.mm() * libm::cos(angle), b + one.mm() * libm::sin(angle))
    });
    let off = within("eccentricity", 2.0 * libm::hypot(a, b) / count, Unit::Millimetre, (0.0, 10.0, "0 to 10 mm"))?;
    let turned = libm::atan2(b, a) / TAU;
    let high_at = if turned < 0.0 { turned + 1.0 } else { turned };
    Ok(Eccentric { off: Length::from_mm(off)?, high_at: Ratio::from_one(high_at)? })
}

/// The eccentricity of [`eccentric`] with its uncertainty in mm, each reading known alike and apart from the others.
///
/// u(e) = u(r) √(2/n), for e well above it
///
/// # Errors
/// As for [`eccentric`].
pub fn eccentric_with_u(readings: &[Length], each_mm: StandardUncertainty) -> Result<Propagated<Length>, Refusal> {
    let found = eccentric(readings)?;
    Propagated::of(found.off, [("readings", libm::sqrt(2.0 / readings.len() as f64), each_mm)])
}

fn turn(readings: &[Length]) -> Result<f64, Refusal> {
    let count = readings.len() as f64;
    within("readings of one turn", count, Unit::One, (4.0, 360.0, "4 to 360"))
}

fn total(mm: f64) -> Result<Length, Refusal> {
    if !(0.0..=20.0).contains(&mm) {
        return Err(not_valid("total indicator reading", "0 to 20 mm", mm, Unit::Millimetre));
    }
    Ok(Length::from_mm(mm)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lengths(of: &[f64]) -> alloc::vec::Vec<Length> {
        of.iter().map(|mm| Length::from_mm(*mm).unwrap()).collect()
    }

    #[test]
    fn a_buckle_twice_a_turn_is_no_eccentricity() {
        let buckled = lengths(&[0.5, 0.0, -0.5, 0.0, 0.5, 0.0, -0.5, 0.0]);
        assert!(eccentric(&buckled).unwrap().off.mm() < 1e-12);
        assert!((total_reading(&buckled).unwrap().mm() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_high_spot_is_told_all_round() {
        let high_at = |of: &[f64]| eccentric(&lengths(of)).unwrap().high_at.one();
        let first = high_at(&[1.0, 0.0, -1.0, 0.0]);
        assert!(first.min(1.0 - first).abs() < 1e-12, "{first}: a whole turn is none");
        assert!((high_at(&[0.0, 1.0, 0.0, -1.0]) - 0.25).abs() < 1e-12);
        assert!((high_at(&[0.0, -1.0, 0.0, 1.0]) - 0.75).abs() < 1e-12);
    }

    #[test]
    fn too_few_readings_and_wild_ones_are_refused() {
        assert!(total_reading(&lengths(&[0.1, 0.2, 0.3])).is_err());
        assert!(total_reading(&lengths(&[0.0, 20.1, 0.0, 0.0])).is_err());
        assert!(eccentric(&lengths(&[12.0, 0.0, -12.0, 0.0])).is_err());
        let (low, high) = (Length::from_mm(0.1).unwrap(), Length::from_mm(0.3).unwrap());
        assert!(total_reading_with_u((low, high), StandardUncertainty::ZERO).is_err());
    }
}
