//! A chain's play as the swing arm moves: the distance of the sprockets, where the run is tightest, what is left there.
//!
//! Seen from the side the machine's front is to, x forward and z up from the arm's pivot. The gearbox sprocket sits at
//! (gₓ, g_z); the wheel at the end of an arm of length A that hangs by α below the horizontal, at (−A cos α, −A sin α).
//! So the sprockets are c(α) = √((gₓ + A cos α)² + (g_z + A sin α)²) apart, most where the three centres lie in line.

use super::chain;
use super::refusal::{Refusal, within};
use crate::quantity::{Angle, Length, Unit};

/// Where sprockets and pivot are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArmGeometry {
    /// Gearbox sprocket ahead of the pivot.
    pub sprocket_ahead: Length,
    /// Gearbox sprocket above the pivot; negative below.
    pub sprocket_above: Length,
    /// Pivot to wheel axle.
    pub arm: Length,
    /// Pitch radius of the gearbox sprocket.
    pub front_radius: Length,
    /// Pitch radius of the wheel's sprocket.
    pub rear_radius: Length,
}

/// How far the arm can swing, each angle below the horizontal; negative above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Travel {
    /// Sprung right in: the least angle.
    pub bumped: Angle,
    /// Hanging free: the greatest angle.
    pub hanging: Angle,
}

/// Where a run is tightest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tightest {
    /// The arm's angle there, below the horizontal.
    pub arm: Angle,
    /// The distance of the sprockets' centres there.
    pub centres: Length,
}

/// What is left of the play at another angle of the arm.
#[derive(Clone, Copy, Debug, PartialEq)]
#[must_use]
pub enum PlayThere {
    /// The play of the slack run.
    Left(Length),
    /// None: the chain is too short there by this much, so it pulls at bearings and gearbox.
    TooShort(Length),
}

/// Distance of the sprockets' centres at an angle of the arm.
///
/// c = √((gₓ + A cos α)² + (g_z + A sin α)²)     mm
///
/// Source: geometry (see the module). Valid: sprocket 20 to 300 mm ahead of the pivot and within 150 mm of its height,
/// arm 300 to 900 mm, angle −60° to 60°. Worked: 80 ahead, 10 above, 560 mm at 8°: 640.61 mm
/// (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn centres(geometry: ArmGeometry, arm: Angle) -> Result<Length, Refusal> {
    let (x, z, length) = checked(geometry)?;
    let angle = swung("arm angle", arm)?.to_radians();
    Ok(Length::from_mm(libm::hypot(x + length * libm::cos(angle), z + length * libm::sin(angle)))?)
}

/// Where within its travel the run is tightest: sprocket, pivot and wheel in line, or the end of travel next to it.
///
/// α* = atan(g_z/gₓ), kept within the travel; c there is A + √(gₓ² + g_z²) if reached
///
/// Source: triangle inequality; c falls to both sides of α*. Range as for [`centres`], bumped not above hanging.
/// Worked: 80 ahead, 10 above: 7.125° (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn tightest(geometry: ArmGeometry, travel: Travel) -> Result<Tightest, Refusal> {
    let (x, z, _) = checked(geometry)?;
    let bumped = swung("arm angle sprung in", travel.bumped)?;
    let hanging = travel.hanging.degrees();
    let hanging =
        within("arm angle hanging", hanging, Unit::Degree, (bumped, 60.0, "from the angle sprung in to 60°"))?;
    let arm = Angle::from_degrees(libm::atan2(z, x).to_degrees().clamp(bumped, hanging))?;
    Ok(Tightest { arm, centres: centres(geometry, arm)? })
}

/// The slack run's play at an angle of the arm, from that at another: all slack of the chain hangs in one run.
///
/// S = S₀ + (t₀ − t) + (w₀ − w), play = √(S² − t²)     t = √(c² − (R − r)²) straight run,
/// w = 2 β (R − r) what wraps round more than half, sin β = (R − r)/c; S₀ = √(t₀² + play₀²), all mm
///
/// Source: geometry, the chain's length unchanged; play as [`chain::play`] has it. Valid: as for [`centres`], play to
/// 120 mm. Worked: 35 mm at 12° leaves 24.06 mm in line, for 80 ahead, 10 above, 560 mm, radii 38.18 and 106.22 mm
/// (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range, or where the play there is more than [`chain::play`] allows.
pub fn play_at(geometry: ArmGeometry, (read_at, play): (Angle, Length), arm: Angle) -> Result<PlayThere, Refusal> {
    within("play", play.mm(), Unit::Millimetre, (0.0, 120.0, "0 to 120 mm"))?;
    let (t0, w0) = run(geometry, read_at)?;
    let (t, w) = run(geometry, arm)?;
    let hangs = chain::chain_in_run(Length::from_mm(t0)?, play)?.mm() + (t0 - t) + (w0 - w);
    if hangs < t {
        return Ok(PlayThere::TooShort(Length::from_mm(t - hangs)?));
    }
    Ok(PlayThere::Left(chain::play(Length::from_mm(t)?, Length::from_mm(hangs)?)?))
}

/// The play to set at an angle of the arm so that a least play is left where the run is tightest.
///
/// [`play_at`] from the tightest place back: it holds both ways.
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn play_to_set(geometry: ArmGeometry, travel: Travel, least: Length, arm: Angle) -> Result<PlayThere, Refusal> {
    let tightest = tightest(geometry, travel)?;
    play_at(geometry, (tightest.arm, least), arm)
}

/// Returns the straight run between the points of contact, and what wraps round both sprockets more than half, mm.
fn run(geometry: ArmGeometry, arm: Angle) -> Result<(f64, f64), Refusal> {
    let c = centres(geometry, arm)?.mm();
    let radius = |what, of: Length| within(what, of.mm(), Unit::Millimetre, (15.0, 250.0, "15 to 250 mm"));
    let larger = radius("rear radius", geometry.rear_radius)? - radius("front radius", geometry.front_radius)?;
    Ok((libm::sqrt((c - larger) * (c + larger)), 2.0 * libm::asin(larger / c) * larger))
}

fn checked(geometry: ArmGeometry) -> Result<(f64, f64, f64), Refusal> {
    let mm = |what, of: Length, allowed| within(what, of.mm(), Unit::Millimetre, allowed);
    Ok((
        mm("sprocket ahead of the pivot", geometry.sprocket_ahead, (20.0, 300.0, "20 to 300 mm"))?,
        mm("sprocket above the pivot", geometry.sprocket_above, (-150.0, 150.0, "−150 to 150 mm"))?,
        mm("arm", geometry.arm, (300.0, 900.0, "300 to 900 mm"))?,
    ))
}

fn swung(what: &'static str, arm: Angle) -> Result<f64, Refusal> {
    within(what, arm.degrees(), Unit::Degree, (-60.0, 60.0, "−60° to 60°"))
}
