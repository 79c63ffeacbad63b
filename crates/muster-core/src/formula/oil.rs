//! The oil level on a dipstick or in a glass, when ride height has changed the lean on the side stand.
//!
//! Seen from behind, y to the stand's side from the centre plane, z up, both in the upright machine, the tyres' contact
//! at the origin. The stand's foot stands at y = b and, upright, at z = g above the ground. Leaning by φ about the
//! contact lowers it to g cos φ − b sin φ; it rests on the ground where that is 0: tan φ = g/b. Whatever raises the
//! machine by Δh on its wheels raises the foot with it, g + Δh, so
//!
//! tan φ₁ = tan φ₀ + Δh/b
//!
//! Oil stays level, so a stick at a lateral offset e towards the stand reads e tan φ more than in the middle, and the
//! reading moves by e Δh/b from what the sheet means. Left out, and borne by the model's share: the round crown of the
//! tyres, bent stands, soft ground, the fore-and-aft change.

use super::propagated::Propagated;
use super::refusal::{Refusal, within};
use crate::quantity::{Angle, Length, Unit};
use crate::statistics::uncertainty::StandardUncertainty;

/// The stand and the stick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeanCase {
    /// Lean on the side stand as the sheet's machine has it.
    pub sheet_lean: Angle,
    /// How far this machine rides higher than the sheet's; negative lowered.
    pub ride_height_change: Length,
    /// Distance of the stand's foot from the centre plane, along the upright machine's y.
    pub foot_offset: Length,
    /// Distance of the stick (or glass) from the sump's centre, towards the stand positive.
    pub stick_offset: Length,
}

/// Standard uncertainties of a [`LeanCase`], mm; the sheet's lean falls out of the shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeanU {
    /// Of the ride height change.
    pub ride_height_change_mm: StandardUncertainty,
    /// Of the foot's distance.
    pub foot_offset_mm: StandardUncertainty,
    /// Of the stick's offset.
    pub stick_offset_mm: StandardUncertainty,
}

/// A box-shaped sump.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sump {
    /// Width across the machine.
    pub width: Length,
    /// Depth of the oil with the machine upright.
    pub depth: Length,
}

/// Standard uncertainty of the model itself, as a share of the shift it works out.
pub const MODEL_SHARE: f64 = 0.1;

/// Lean on the side stand after the ride height has changed.
///
/// φ₁ = atan(tan φ₀ + Δh/b)
///
/// Source: geometry above. Valid: foot 80 to 600 mm out, change −150 to 150 mm, both leans 2° to 25°: under 2° the
/// machine may fall away from its stand and must not be left on it.
/// Worked: 11°, lowered 30 mm, foot 260 mm out: 4.5° (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn lean_after(case: &LeanCase) -> Result<Angle, Refusal> {
    let b = foot_mm(case)?;
    let change = change_mm(case)?;
    let tangent = libm::tan(lean_degrees("lean of the sheet", case.sheet_lean)?.to_radians()) + change / b;
    let lean = Angle::from_degrees(libm::atan(tangent).to_degrees())?;
    lean_degrees("lean on the side stand", lean)?;
    Ok(lean)
}

/// What a stick reads in a leaning box sump.
///
/// h = h₀ + e tan φ
///
/// Source: a level surface in a box keeps its height in the middle. Valid: lean 0° to 25°, stick within the sump, floor
/// wet across: h₀ ≥ (width/2) tan φ, and the stick's own place wet.
/// Worked: 60 mm deep, 50 mm out, 10°: 68.8 mm (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn stick_reading(sump: Sump, stick_offset: Length, lean: Angle) -> Result<Length, Refusal> {
    let degrees = within("lean", lean.degrees(), Unit::Degree, (0.0, 25.0, "0° to 25°"))?;
    let tangent = libm::tan(degrees.to_radians());
    stays_wet(sump, tangent)?;
    let offset = offset_mm(sump, stick_offset)?;
    Ok(Length::from_mm(sump.depth.mm() + offset * tangent)?)
}

/// How much more the stick shows than it would at the sheet's lean, in mm, with its uncertainty: subtract it.
///
/// Δ = e Δh/b;  c(e) = Δh/b, c(Δh) = e/b, c(b) = −e Δh/b²; the model adds [`MODEL_SHARE`] of |Δ|
///
/// A modelled correction: it may turn fit into watch, never a raw miss into fit. Valid as [`lean_after`] and
/// [`stick_reading`], at both leans.
/// Worked: 50 mm out, lowered 30 mm, foot 260 mm out: −5.77 mm (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn shift(case: &LeanCase, sump: Sump, u: LeanU) -> Result<Propagated<Length>, Refusal> {
    let lean = lean_after(case)?;
    let b = foot_mm(case)?;
    let (offset, change) = (offset_mm(sump, case.stick_offset)?, change_mm(case)?);
    for lean in [case.sheet_lean, lean] {
        stays_wet(sump, libm::tan(lean.degrees().to_radians()))?;
    }
    let shift = offset * change / b;
    Propagated::of(
        Length::from_mm(shift)?,
        [
            ("ride height change", offset / b, u.ride_height_change_mm),
            ("stick offset", change / b, u.stick_offset_mm),
            ("foot offset", -shift / b, u.foot_offset_mm),
            ("model", 1.0, StandardUncertainty::new(MODEL_SHARE * libm::fabs(shift))?),
        ],
    )
}

fn foot_mm(case: &LeanCase) -> Result<f64, Refusal> {
    within("foot's distance", case.foot_offset.mm(), Unit::Millimetre, (80.0, 600.0, "80 to 600 mm"))
}

fn change_mm(case: &LeanCase) -> Result<f64, Refusal> {
    let allowed = (-150.0, 150.0, "−150 to 150 mm");
    within("ride height change", case.ride_height_change.mm(), Unit::Millimetre, allowed)
}

fn lean_degrees(what: &'static str, lean: Angle) -> Result<f64, Refusal> {
    within(what, lean.degrees(), Unit::Degree, (2.0, 25.0, "2° to 25°: outside it the stand does not hold the machine"))
}

fn offset_mm(sump: Sump, offset: Length) -> Result<f64, Refusal> {
    let half = sump.width.mm() / 2.0;
    within("stick's offset", offset.mm(), Unit::Millimetre, (-half, half, "within the sump's width"))
}

fn stays_wet(sump: Sump, tangent: f64) -> Result<(), Refusal> {
    within("sump width", sump.width.mm(), Unit::Millimetre, (20.0, 600.0, "20 to 600 mm"))?;
    let least = sump.width.mm() / 2.0 * tangent;
    let allowed = (least, 500.0, "at most 500 mm, and deep enough that the leaning floor stays wet");
    within("oil depth", sump.depth.mm(), Unit::Millimetre, allowed)?;
    Ok(())
}
