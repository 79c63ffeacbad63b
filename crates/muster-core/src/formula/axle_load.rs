//! What each axle carries and where the centre of gravity lies, by moments about the rear wheel's contact.

use super::refusal::{Refusal, not_valid, within};
use crate::quantity::{Angle, Force, Length, Mass, Unit};
use crate::sorted::sort_by;
use crate::statistics::uncertainty::StandardUncertainty;
use alloc::vec::Vec;

/// The standard acceleration of free fall, m/s². Source: ISO 80000-3 (from memory).
pub const G: f64 = 9.80665;

/// Something that rests on the wheels: the machine itself, a person, luggage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// Its mass.
    pub mass: Mass,
    /// Its centre of gravity ahead of the rear axle; negative behind it.
    pub ahead: Length,
    /// Its centre of gravity above the road.
    pub height: Length,
}

/// Standard uncertainties of a [`Piece`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PieceU {
    /// Of its mass, kg.
    pub mass_kg: StandardUncertainty,
    /// Of its place along the machine, mm.
    pub ahead_mm: StandardUncertainty,
}

/// A machine with all that rests on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loaded {
    /// All of it.
    pub mass: Mass,
    /// The common centre of gravity ahead of the rear axle.
    pub ahead: Length,
    /// The common centre of gravity above the road.
    pub height: Length,
    /// What the front wheel carries, standing level.
    pub front: Mass,
    /// What the rear wheel carries, standing level.
    pub rear: Mass,
}

/// Works out axle loads and centre of gravity.
///
/// F = Σ m x/L, R = Σ m (1 − x/L), x̄ = Σ m x/Σ m, h̄ = Σ m h/Σ m     m in kg; x, h, L in mm
///
/// Loads are given as masses: what a scale under the wheel shows. Pieces are summed in one order of their own, so that the
/// order they are named in changes no digit. Source: statics. Valid: wheelbase 900 to 2500 mm, centre of gravity between
/// the axles. Worked: 215 kg at 705 mm and 85 kg at 620 mm on 1450 mm: 140.88 kg in front, 159.12 kg behind
/// (tests/golden/evidence/outing.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range: with the centre of gravity past an axle the other wheel lifts.
pub fn loaded(pieces: &[Piece], wheelbase: Length) -> Result<Loaded, Refusal> {
    let base = base_mm(wheelbase)?;
    let mut pieces: Vec<&Piece> = pieces.iter().collect();
    let key = |piece: &Piece| [piece.ahead.mm(), piece.height.mm(), piece.mass.kg()];
    sort_by(&mut pieces, |a, b| {
        let each = key(a).into_iter().zip(key(b)).map(|(a, b)| a.total_cmp(&b));
        each.fold(core::cmp::Ordering::Equal, core::cmp::Ordering::then)
    });
    let sum = |of: fn(&Piece) -> f64| pieces.iter().fold(0.0, |sum, piece| sum + piece.mass.kg() * of(piece));
    let (mass, along, up) = (sum(|_| 1.0), sum(|piece| piece.ahead.mm()), sum(|piece| piece.height.mm()));
    let above_zero = (f64::MIN_POSITIVE, f64::MAX, "above 0");
    within("mass on the wheels", mass, Unit::Kilogram, above_zero)?;
    let ahead = along / mass;
    let between = (0.0, base, "between the axles: past one of them the other wheel lifts");
    within("centre of gravity ahead of the rear axle", ahead, Unit::Millimetre, between)?;
    let front = along / base;
    Ok(Loaded {
        mass: Mass::from_kg(mass)?,
        ahead: Length::from_mm(ahead)?,
        height: Length::from_mm(up / mass)?,
        front: Mass::from_kg(front)?,
        rear: Mass::from_kg(mass - front)?,
    })
}

/// Standard uncertainties in kg of the front and the rear axle's load.
///
/// front c(m) = x/L, c(x) = m/L; rear c(m) = 1 − x/L, c(x) = −m/L
///
/// # Errors
/// As for [`loaded`].
pub fn axles_u(
    pieces: &[(Piece, PieceU)],
    wheelbase: Length,
) -> Result<(StandardUncertainty, StandardUncertainty), Refusal> {
    let base = base_mm(wheelbase)?;
    let of = |share: fn(f64) -> f64| {
        let mut parts = Vec::with_capacity(2 * pieces.len());
        for (piece, u) in pieces {
            parts.push(u.mass_kg.scaled(share(piece.ahead.mm() / base))?);
            parts.push(u.ahead_mm.scaled(piece.mass.kg() / base)?);
        }
        Ok::<_, Refusal>(StandardUncertainty::combine(parts)?)
    };
    Ok((of(libm::fabs)?, of(|share| libm::fabs(1.0 - share))?))
}

/// Height of the centre of gravity from weighing the front wheel level and with the front raised.
///
/// h = r + ΔF L/(m g tan θ)     r axle height, F on the front wheel in N, L wheelbase, θ tilt of the line of the axles
///
/// Source: statics. Valid: tilt 3° to 30°, springs locked or their travel allowed for, the load below that read level.
/// Worked: 215 kg, 1450 mm, 1025 N level, 980 N at 10°, axle 300 mm high: 475.5 mm (tests/golden/evidence/outing.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn centre_height(
    (mass, wheelbase): (Mass, Length),
    axle_height: Length,
    (level, tilted): (Force, Force),
    tilt: Angle,
) -> Result<Length, Refusal> {
    let base = base_mm(wheelbase)?;
    let degrees = within("tilt", tilt.degrees(), Unit::Degree, (3.0, 30.0, "3° to 30°"))?;
    let less = level.newton() - tilted.newton();
    if less < 0.0 {
        let allowed = "at most what it was level: with the front raised the front wheel carries less";
        return Err(not_valid("load of the front wheel when raised", allowed, tilted.newton(), Unit::Newton));
    }
    let above_zero = (f64::MIN_POSITIVE, f64::MAX, "above 0");
    let kg = within("mass", mass.kg(), Unit::Kilogram, above_zero)?;
    Ok(Length::from_mm(axle_height.mm() + less * base / (kg * G * libm::tan(degrees.to_radians())))?)
}

fn base_mm(wheelbase: Length) -> Result<f64, Refusal> {
    within("wheelbase", wheelbase.mm(), Unit::Millimetre, (900.0, 2500.0, "900 to 2500 mm"))
}
