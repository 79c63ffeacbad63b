//! Headlamp aim from a wall, and what load does to it.

use super::propagated::Propagated;
use super::refusal::{Refusal, not_valid, within};
use crate::quantity::{Angle, Distance, Inclination, Length, Unit};
use crate::statistics::uncertainty::StandardUncertainty;

/// Standard uncertainties of an aim read on a wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AimU {
    /// Of the lamp centre's height, mm.
    pub lamp_mm: StandardUncertainty,
    /// Of the cut-off's height, mm; the edge is a band, not a line.
    pub cut_off_mm: StandardUncertainty,
    /// Of the distance lamp to wall, mm.
    pub distance_mm: StandardUncertainty,
    /// Of the machine's stance (ground, rider, fork and tyre), as inclination, per cent.
    pub stance_percent: StandardUncertainty,
}

/// Inclination of the cut-off, downwards positive.
///
/// i = 100 (h − c)/d     h lamp centre, c cut-off on the wall, d lamp to wall, all mm; i in %
///
/// Source: definition in UN R53 and R113 (from memory). Valid: distance 2 to 25 m, level ground, wall upright.
/// Worked: 900 mm, 780 mm at 10 m: 1.2 % (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn inclination(lamp: Length, cut_off: Length, distance: Length) -> Result<Inclination, Refusal> {
    let d = wall_mm(distance)?;
    Ok(Inclination::from_percent(100.0 * (lamp.mm() - cut_off.mm()) / d)?)
}

/// [`inclination`] with its uncertainty in %.
///
/// c(c) = −100/d, c(h) = 100/d, c(d) = −i/d, c(stance) = 1
///
/// # Errors
/// As for [`inclination`].
pub fn inclination_with_u(
    lamp: Length,
    cut_off: Length,
    distance: Length,
    u: AimU,
) -> Result<Propagated<Inclination>, Refusal> {
    let value = inclination(lamp, cut_off, distance)?;
    let d = distance.mm();
    Propagated::of(
        value,
        [
            ("cut-off height", -100.0 / d, u.cut_off_mm),
            ("lamp height", 100.0 / d, u.lamp_mm),
            ("distance", -value.percent() / d, u.distance_mm),
            ("stance", 1.0, u.stance_percent),
        ],
    )
}

/// How far below the lamp's centre the cut-off must stand on a wall; negative above it.
///
/// drop = i d/100
///
/// # Errors
/// [`Refusal`] outside [`inclination`]'s range.
pub fn drop_at(inclination: Inclination, distance: Length) -> Result<Length, Refusal> {
    Ok(Length::from_mm(inclination.percent() * wall_mm(distance)? / 100.0)?)
}

/// How far ahead the cut-off meets level ground.
///
/// reach = 100 h/i
///
/// Valid: lamp 300 to 2000 mm, inclination at least 0.05 %: a level or rising beam meets no ground, it dazzles.
/// Worked: 800 mm at 1 %: 80 m (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn reach(lamp: Length, inclination: Inclination) -> Result<Distance, Refusal> {
    let height = within("lamp height", lamp.mm(), Unit::Millimetre, (300.0, 2000.0, "300 to 2000 mm"))?;
    let percent = inclination.percent();
    if percent < 0.05 {
        let allowed = "at least 0.05 %: a level or rising beam meets no ground";
        return Err(not_valid("inclination", allowed, percent, Unit::PercentSlope));
    }
    Ok(Distance::from_km(height / percent * 1e-4)?)
}

/// How far the machine noses up when load squats its ends; nose-up positive.
///
/// θ = atan((z_r − z_f)/L)     z compression more than at aiming, L wheelbase, mm
///
/// Source: geometry. Valid: wheelbase 900 to 2500 mm, each compression −200 to 200 mm.
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn pitch(front_squat: Length, rear_squat: Length, wheelbase: Length) -> Result<Angle, Refusal> {
    let base = within("wheelbase", wheelbase.mm(), Unit::Millimetre, (900.0, 2500.0, "900 to 2500 mm"))?;
    let squat = |what, of: Length| within(what, of.mm(), Unit::Millimetre, (-200.0, 200.0, "−200 to 200 mm"));
    let (front, rear) = (squat("front compression", front_squat)?, squat("rear compression", rear_squat)?);
    Ok(Angle::from_degrees(libm::atan((rear - front) / base).to_degrees())?)
}

/// The inclination a beam has after the machine has pitched.
///
/// i = tan(atan i₀ − θ)     θ nose-up positive
///
/// Source: geometry. Valid: pitch −10° to 10°. Worked: 1.2 % after 1.185° nose-up is −0.869 %, above the horizon
/// (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn after_pitch(aimed: Inclination, pitch: Angle) -> Result<Inclination, Refusal> {
    let degrees = within("pitch", pitch.degrees(), Unit::Degree, (-10.0, 10.0, "−10° to 10°"))?;
    let angle = libm::atan(aimed.percent() / 100.0) - degrees.to_radians();
    Ok(Inclination::from_percent(100.0 * libm::tan(angle))?)
}

fn wall_mm(distance: Length) -> Result<f64, Refusal> {
    within("distance to the wall", distance.mm(), Unit::Millimetre, (2000.0, 25_000.0, "2 to 25 m"))
}
