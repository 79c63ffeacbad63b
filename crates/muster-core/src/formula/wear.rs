//! Wear of treads, pads, discs and whatever else goes from new to a limit.

use super::propagated::Propagated;
use super::refusal::{Refusal, not_valid};
use crate::quantity::{Length, Ratio, Unit};
use crate::statistics::uncertainty::StandardUncertainty;

/// How much of what lies between new and limit is used up: 0 new, 1 at the limit, more past it.
///
/// s = (new − now) / (new − limit)     lengths in mm
///
/// Also holds for what grows from new to its limit. Below 0 if the reading is better than new, as readings may be.
/// Source: definition. Valid: new and limit at least 0.01 mm apart, result −10 to 10.
/// Worked: 7 mm new, 3 mm now, limit 1 mm: 2/3 (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] if new and limit are the same, or the result lies outside its range.
pub fn share_used(new: Length, now: Length, limit: Length) -> Result<Ratio, Refusal> {
    Ok(Ratio::from_one((new.mm() - now.mm()) / span(new, limit)?)?)
}

/// [`share_used`] with its uncertainty (a pure number); the limit is exact, u of `now` and `new` in mm.
///
/// c(now) = −1/(new − limit), c(new) = (now − limit)/(new − limit)²
///
/// # Errors
/// As for [`share_used`].
pub fn share_used_with_u(
    (new, new_mm): (Length, StandardUncertainty),
    (now, now_mm): (Length, StandardUncertainty),
    limit: Length,
) -> Result<Propagated<Ratio>, Refusal> {
    let span = span(new, limit)?;
    Propagated::of(
        share_used(new, now, limit)?,
        [("now", -1.0 / span, now_mm), ("new", (now.mm() - limit.mm()) / (span * span), new_mm)],
    )
}

/// What is left above a least thickness or depth, mm; negative past it.
///
/// left = now − limit
///
/// # Errors
/// [`Refusal`] where the difference is no length.
pub fn left(now: Length, limit: Length) -> Result<Length, Refusal> {
    Ok(Length::from_mm(now.mm() - limit.mm())?)
}

/// How much thicker one end of a pad, or one place of a disc or tread, is than another, whichever.
///
/// taper = |one − other|
///
/// # Errors
/// [`Refusal`] where the difference is no length.
pub fn taper(one: Length, other: Length) -> Result<Length, Refusal> {
    Ok(Length::from_mm(libm::fabs(one.mm() - other.mm()))?)
}

/// [`taper`] with its uncertainty in mm. Both readings come from one instrument, so only its scatter and resolution
/// count, `each_mm` a reading: its bias falls out.
///
/// # Errors
/// As for [`taper`].
pub fn taper_with_u(one: Length, other: Length, each_mm: StandardUncertainty) -> Result<Propagated<Length>, Refusal> {
    Propagated::of(taper(one, other)?, [("one place", 1.0, each_mm), ("other place", -1.0, each_mm)])
}

fn span(new: Length, limit: Length) -> Result<f64, Refusal> {
    let span = new.mm() - limit.mm();
    if libm::fabs(span) >= 0.01 {
        return Ok(span);
    }
    Err(not_valid("distance from new to limit", "at least 0.01 mm", span, Unit::Millimetre))
}
