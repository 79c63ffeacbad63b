//! Bearing play from the movement a hand feels further out: steering head at the axle, wheel bearings at the rim.

use super::propagated::Propagated;
use super::refusal::{Refusal, within};
use crate::quantity::{Length, Unit};
use crate::statistics::uncertainty::StandardUncertainty;

/// A shaft in two bearings, and the place outside them where its movement is read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoBearings {
    /// Between the middles of the two bearings.
    pub apart: Length,
    /// From the nearer bearing to the place read for a steering head; from the axle's line to the rim for a wheel.
    pub reach: Length,
}

/// Play of the steering head's bearings, from how far the axle moves fore and aft with the front wheel off the ground.
///
/// j = m/(1 + 2a/b)     m movement from stop to stop, a lower bearing to axle, b between the bearings, all mm
///
/// Both bearings are taken to have the same play j across the stem, and the fork to be stiff: worn fork bushes move the
/// axle too and must be held still. Source: geometry, small angles. Valid: b 80 to 400 mm, a 300 to 1000 mm, m 0 to 30 mm.
/// No law sets a limit: noticeable play is refused by most. Worked: 2.0 mm at 700 mm below bearings 180 mm apart is
/// 0.228 mm (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn steering_head_play(movement: Length, stem: TwoBearings) -> Result<Length, Refusal> {
    let (apart, reach) = checked_stem(stem)?;
    let movement = moved("movement at the axle", movement)?;
    Ok(Length::from_mm(movement / (1.0 + 2.0 * reach / apart))?)
}

/// [`steering_head_play`] with its uncertainty in mm, from that of the movement in mm.
///
/// c(m) = 1/(1 + 2a/b)
///
/// # Errors
/// As for [`steering_head_play`].
pub fn steering_head_play_with_u(
    (movement, movement_mm): (Length, StandardUncertainty),
    stem: TwoBearings,
) -> Result<Propagated<Length>, Refusal> {
    let (apart, reach) = checked_stem(stem)?;
    Propagated::of(steering_head_play(movement, stem)?, [("movement", 1.0 / (1.0 + 2.0 * reach / apart), movement_mm)])
}

/// How far the axle moves for a play of the steering head's bearings. The inverse of [`steering_head_play`].
///
/// m = j (1 + 2a/b)
///
/// # Errors
/// [`Refusal`] outside the valid range, play 0 to 5 mm.
pub fn movement_at_axle(play: Length, stem: TwoBearings) -> Result<Length, Refusal> {
    let (apart, reach) = checked_stem(stem)?;
    Ok(Length::from_mm(checked_play(play)? * (1.0 + 2.0 * reach / apart))?)
}

/// Radial play of a wheel's two bearings, from how far the rim rocks sideways at one place.
///
/// j = m s/(2R)     m movement of the rim from stop to stop, s between the bearings, R axle to where it is read, mm
///
/// Rocked at opposite places of the rim; movement of the whole wheel along its axle is end play, and must be taken off
/// first. Source: geometry, small angles. Valid: s 30 to 250 mm, R 100 to 400 mm, m 0 to 30 mm. No law sets a limit.
/// Worked: 1.0 mm at 220 mm with bearings 90 mm apart is 0.205 mm (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn wheel_bearing_play(movement: Length, wheel: TwoBearings) -> Result<Length, Refusal> {
    let (apart, radius) = checked_wheel(wheel)?;
    Ok(Length::from_mm(moved("movement at the rim", movement)? * apart / (2.0 * radius))?)
}

/// [`wheel_bearing_play`] with its uncertainty in mm, from that of the movement in mm.
///
/// c(m) = s/(2R)
///
/// # Errors
/// As for [`wheel_bearing_play`].
pub fn wheel_bearing_play_with_u(
    (movement, movement_mm): (Length, StandardUncertainty),
    wheel: TwoBearings,
) -> Result<Propagated<Length>, Refusal> {
    let (apart, radius) = checked_wheel(wheel)?;
    Propagated::of(wheel_bearing_play(movement, wheel)?, [("movement", apart / (2.0 * radius), movement_mm)])
}

/// How far the rim rocks for a radial play of the wheel's bearings. The inverse of [`wheel_bearing_play`].
///
/// m = 2 j R/s
///
/// # Errors
/// [`Refusal`] outside the valid range, play 0 to 5 mm.
pub fn movement_at_rim(play: Length, wheel: TwoBearings) -> Result<Length, Refusal> {
    let (apart, radius) = checked_wheel(wheel)?;
    Ok(Length::from_mm(2.0 * checked_play(play)? * radius / apart)?)
}

fn moved(what: &'static str, movement: Length) -> Result<f64, Refusal> {
    within(what, movement.mm(), Unit::Millimetre, (0.0, 30.0, "0 to 30 mm"))
}

fn checked_play(play: Length) -> Result<f64, Refusal> {
    within("play", play.mm(), Unit::Millimetre, (0.0, 5.0, "0 to 5 mm"))
}

fn checked_stem(stem: TwoBearings) -> Result<(f64, f64), Refusal> {
    let apart = within("bearings apart", stem.apart.mm(), Unit::Millimetre, (80.0, 400.0, "80 to 400 mm"))?;
    let reach = within("bearing to axle", stem.reach.mm(), Unit::Millimetre, (300.0, 1000.0, "300 to 1000 mm"))?;
    Ok((apart, reach))
}

fn checked_wheel(wheel: TwoBearings) -> Result<(f64, f64), Refusal> {
    let apart = within("bearings apart", wheel.apart.mm(), Unit::Millimetre, (30.0, 250.0, "30 to 250 mm"))?;
    let radius = within("axle to rim", wheel.reach.mm(), Unit::Millimetre, (100.0, 400.0, "100 to 400 mm"))?;
    Ok((apart, radius))
}
