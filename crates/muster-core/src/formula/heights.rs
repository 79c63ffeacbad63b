//! Heights that tyres and springs set: the axle above the road, and a lamp as the machine squats and pitches.

use super::propagated::Propagated;
use super::refusal::{Refusal, not_valid, within};
use super::tyre_marking::TyreMarking;
use crate::quantity::{Length, OutOfRange, Ratio, Unit};
use crate::statistics::uncertainty::StandardUncertainty;

/// The size of a tyre as its wall tells it, for what height it has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TyreSize {
    /// Nominal section width.
    pub width: Length,
    /// Section height over section width.
    pub aspect: Ratio,
    /// Rim code: the nominal rim diameter in inch.
    pub rim_code: u8,
}

/// How a machine stands lower than when its lamp's height was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Squat {
    /// Compression of the front more than then.
    pub front: Length,
    /// Compression of the rear more than then.
    pub rear: Length,
    /// Between the axles.
    pub wheelbase: Length,
    /// The lamp ahead of the rear axle.
    pub lamp_ahead: Length,
}

/// Standard uncertainties of a [`Squat`], mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SquatU {
    /// Of the lamp's height as it was read.
    pub lamp_mm: StandardUncertainty,
    /// Of the front's compression.
    pub front_mm: StandardUncertainty,
    /// Of the rear's compression.
    pub rear_mm: StandardUncertainty,
}

impl TyreSize {
    /// The size a marking tells; none for one without an aspect, as older sizes in inch are.
    ///
    /// # Errors
    /// None in fact: what was read of a marking is in range.
    pub fn of(marking: &TyreMarking) -> Result<Option<Self>, OutOfRange> {
        let (width, rim_code) = (marking.width_length()?, marking.rim_code);
        Ok(marking.aspect_ratio()?.map(|aspect| Self { width, aspect, rim_code }))
    }
}

/// Radius of a tyre that carries nothing.
///
/// r = 25.4 c/2 + w a     c rim code in inch, w width in mm, a aspect (70 is 0.70)
///
/// Nominal: a tyre may be a few millimetres off, and grows with speed. Source: definition of the size designation, UN R75
/// 2 and annex 5 (from memory; the annex rounds the rim's diameter to whole mm). Valid: rim code 8 to 26, width 50 to
/// 330 mm, aspect 40 to 100 %. Worked: 120/70-17 is 299.9 mm (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn free_radius(size: TyreSize) -> Result<Length, Refusal> {
    let (rim, section) = parts(size)?;
    Ok(Length::from_mm(rim + section)?)
}

/// Height of the axle above the road with the tyre's section squashed by a share of its height.
///
/// h = 25.4 c/2 + w a (1 − s)     s share of the section's height that the load takes
///
/// The height is the static loaded radius. Source: geometry. Valid: share 0 to 35 %, else as [`free_radius`].
/// Worked: 120/70-17 squashed by 12 % stands 289.82 mm high (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn axle_height(size: TyreSize, squashed: Ratio) -> Result<Length, Refusal> {
    let (rim, section) = parts(size)?;
    let share = within("squashed share", squashed.percent(), Unit::Percent, (0.0, 35.0, "0 to 35 %"))?;
    Ok(Length::from_mm(rim + section * (1.0 - share / 100.0))?)
}

/// The share of its section height by which the load squashes a tyre, from the axle's height (its static loaded radius).
///
/// s = (25.4 c/2 + w a − h)/(w a). The inverse of [`axle_height`].
///
/// # Errors
/// [`Refusal`] outside the valid range: a tyre that stands higher than its free radius is of another size, one squashed by
/// more than 35 % has too little air in it or too much on it.
pub fn squashed_share(size: TyreSize, axle_height: Length) -> Result<Ratio, Refusal> {
    let (rim, section) = parts(size)?;
    let percent = 100.0 * (rim + section - axle_height.mm()) / section;
    let allowed = "0 to 35 %: read the size and the pressure again";
    // A height worked out at a bound may miss it by a rounding.
    if !(-ROUNDING..=35.0 + ROUNDING).contains(&percent) {
        return Err(not_valid("squashed share", allowed, percent, Unit::Percent));
    }
    Ok(Ratio::from_percent(percent)?)
}

/// [`squashed_share`] with its uncertainty (a pure number), from those of the height and of the tyre's own free radius, mm.
///
/// c(h) = −1/(w a), c(r) = 1/(w a)
///
/// # Errors
/// As for [`squashed_share`].
pub fn squashed_share_with_u(
    size: TyreSize,
    (axle_height, height_mm): (Length, StandardUncertainty),
    free_radius_mm: StandardUncertainty,
) -> Result<Propagated<Ratio>, Refusal> {
    let (_, section) = parts(size)?;
    Propagated::of(
        squashed_share(size, axle_height)?,
        [("axle height", -1.0 / section, height_mm), ("free radius", 1.0 / section, free_radius_mm)],
    )
}

/// Height of a lamp after the machine has squatted and pitched.
///
/// h = h₀ − (z_r + (z_f − z_r) x/L)     z compression more than when h₀ was read, x lamp ahead of the rear axle, mm
///
/// Source: geometry, small angles. Valid: wheelbase 900 to 2500 mm, each compression −200 to 200 mm, lamp 200 mm behind
/// the rear axle to 500 mm ahead of the front one. Worked: 950 mm with the rear 30 mm down is 947.93 mm
/// (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn lamp_height(before: Length, squat: Squat) -> Result<Length, Refusal> {
    let share = lamp_share(squat)?;
    let compressed = |what, of: Length| within(what, of.mm(), Unit::Millimetre, (-200.0, 200.0, "−200 to 200 mm"));
    let (front, rear) = (compressed("front compression", squat.front)?, compressed("rear compression", squat.rear)?);
    Ok(Length::from_mm(before.mm() - (rear + (front - rear) * share))?)
}

/// [`lamp_height`] with its uncertainty in mm.
///
/// c(h₀) = 1, c(z_f) = −x/L, c(z_r) = x/L − 1
///
/// # Errors
/// As for [`lamp_height`].
pub fn lamp_height_with_u(before: Length, squat: Squat, u: SquatU) -> Result<Propagated<Length>, Refusal> {
    let share = lamp_share(squat)?;
    Propagated::of(
        lamp_height(before, squat)?,
        [
            ("lamp height", 1.0, u.lamp_mm),
            ("front compression", -share, u.front_mm),
            ("rear compression", share - 1.0, u.rear_mm),
        ],
    )
}

fn lamp_share(squat: Squat) -> Result<f64, Refusal> {
    let base = within("wheelbase", squat.wheelbase.mm(), Unit::Millimetre, (900.0, 2500.0, "900 to 2500 mm"))?;
    let allowed = "from 200 mm behind the rear axle to 500 mm ahead of the front one";
    let ahead = within(
        "lamp ahead of the rear axle",
        squat.lamp_ahead.mm(),
        Unit::Millimetre,
        (-200.0, base + 500.0, allowed),
    )?;
    Ok(ahead / base)
}

/// Returns the rim's radius and the section's height, mm.
fn parts(size: TyreSize) -> Result<(f64, f64), Refusal> {
    const INCH_MM: f64 = 25.4;
    let rim = within("rim code", f64::from(size.rim_code), Unit::One, (8.0, 26.0, "8 to 26"))?;
    let width = within("tyre width", size.width.mm(), Unit::Millimetre, (50.0, 330.0, "50 to 330 mm"))?;
    let aspect = within("tyre aspect", size.aspect.percent(), Unit::Percent, (40.0, 100.0, "40 to 100 %"))?;
    Ok((rim * INCH_MM / 2.0, width * aspect / 100.0))
}

/// Per cent.
const ROUNDING: f64 = 1e-9;
