//! Sprockets and toothed pulleys: ratio, road speed, which tooth meets which link, and how long chain or belt must be.

use super::refusal::{Refusal, not_valid, within};
use crate::quantity::{Frequency, Length, Speed, Unit};
use core::f64::consts::{PI, TAU};

/// The two wheels of a drive, their distance and pitch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drive {
    /// Teeth of the driving wheel, at the gearbox.
    pub driving: u16,
    /// Teeth of the driven wheel, at the road wheel.
    pub driven: u16,
    /// Distance of their centres.
    pub centres: Length,
    /// Pitch of the chain or belt.
    pub pitch: Length,
}

/// How many links a chain must have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Links {
    /// What the geometry asks for, a fraction.
    pub exact: f64,
    /// The even number at or above it: a joint needs an inner and an outer link.
    pub even: u16,
}

/// Gear ratio of a final drive: turns of the gearbox sprocket for one of the wheel.
///
/// i = z₂/z₁
///
/// Source: definition. Valid: 6 to 150 teeth each. Worked: 15 to 42 teeth is 2.8 (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn ratio(driving: u16, driven: u16) -> Result<f64, Refusal> {
    Ok(teeth("driven teeth", driven)? / teeth("driving teeth", driving)?)
}

/// Road speed at an engine speed.
///
/// v = 60 n U/(10⁶ i)     n in /min, U rolling circumference in mm, i all reductions multiplied, v in km/h
///
/// Slip and the tyre's growth are left out: a driven tyre is some per cent slower. Source: definition.
/// Valid: engine to 20 000 /min, reduction 0.5 to 100, circumference 800 to 3000 mm.
/// Worked: 6000 /min, 1900 mm, 6.0 is 114 km/h (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn road_speed(engine: Frequency, reduction: f64, circumference: Length) -> Result<Speed, Refusal> {
    let allowed = (0.0, 20_000.0, "0 to 20 000 /min");
    let turns = within("engine speed", engine.per_minute(), Unit::PerMinute, allowed)?;
    let (reduction, round) = rolling(reduction, circumference)?;
    Ok(Speed::from_km_per_h(60.0 * turns * round / (1e6 * reduction))?)
}

/// Engine speed at a road speed. The inverse of [`road_speed`].
///
/// n = 10⁶ v i/(60 U)
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn engine_speed(road: Speed, reduction: f64, circumference: Length) -> Result<Frequency, Refusal> {
    let (reduction, round) = rolling(reduction, circumference)?;
    Ok(Frequency::from_per_minute(1e6 * road.km_per_h() * reduction / (60.0 * round))?)
}

/// Turns of a toothed wheel until the same tooth meets the same link, or the same tooth of the other wheel, again.
///
/// N = other/gcd(teeth, other)
///
/// Where it is `other` itself every tooth meets every link before any meets one again (a hunting tooth), which spreads
/// wear; a small number wears the same pairs. Source: least common multiple (common practice of drives).
/// Valid: 6 to 150 teeth; other 6 to 400 teeth or links.
/// Worked: 15 teeth and 42 meet again after 14 turns of the 15 (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn turns_till_met_again(of_wheel: u16, other: u16) -> Result<u16, Refusal> {
    teeth("teeth", of_wheel)?;
    within("teeth or links met", f64::from(other), Unit::One, (6.0, 400.0, "6 to 400"))?;
    Ok(other / gcd(of_wheel, other))
}

/// Whether every tooth of a wheel meets every one of the other's before any pair meets again.
///
/// # Errors
/// As for [`turns_till_met_again`].
pub fn hunts(of_wheel: u16, other: u16) -> Result<bool, Refusal> {
    Ok(turns_till_met_again(of_wheel, other)? == other)
}

/// Diameter of a chain wheel's pitch circle, on which the pins lie.
///
/// d = p/sin(180°/z)
///
/// Source: ISO 606:2015 annex (from memory). Valid: 6 to 150 teeth, pitch 6 to 40 mm.
/// Worked: 15 teeth of 15.875 mm: 76.3545 mm (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn pitch_diameter(of_wheel: u16, pitch: Length) -> Result<Length, Refusal> {
    let (teeth, pitch) = (teeth("teeth", of_wheel)?, checked_pitch(pitch)?);
    Ok(Length::from_mm(pitch / libm::sin(PI / teeth))?)
}

/// Links a chain must have for its sprockets and the distance of their centres.
///
/// X = 2 C/p + (z₁ + z₂)/2 + ((z₂ − z₁)/2π)² p/C
///
/// Source: chain makers' engineering pages (read), ISO 606 design annex (from memory). Valid: 6 to 150 teeth, pitch 6 to
/// 40 mm, centres from where the wheels clear each other to 120 pitches.
/// Worked: 15 and 42 teeth, 15.875 mm, 590 mm: 103.33, so 104 (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn links(drive: Drive) -> Result<Links, Refusal> {
    let (z1, z2, centres) = checked(drive)?;
    let apart = (z2 - z1) / TAU;
    let exact = 2.0 * centres + (z1 + z2) / 2.0 + apart * apart / centres;
    // At most 2 · 120 + 150 + some: a cast of what is so small loses nothing.
    let even = 2 * libm::ceil(exact / 2.0 - ROUNDING) as u16;
    Ok(Links { exact, even })
}

/// Distance of the centres at which a chain of so many links is taut. The inverse of [`links`].
///
/// C = p/4 (k + √(k² − 8 ((z₂ − z₁)/2π)²))     k = X − (z₁ + z₂)/2
///
/// `drive.centres` is not used. Source and range as for [`links`].
/// Worked: 104 links on 15 and 42 teeth of 15.875 mm: 595.37 mm (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range, or for fewer links than go round both wheels.
pub fn centres_for(links: u16, drive: Drive) -> Result<Length, Refusal> {
    let (z1, z2) = (teeth("driving teeth", drive.driving)?, teeth("driven teeth", drive.driven)?);
    let pitch = checked_pitch(drive.pitch)?;
    let apart = (z2 - z1) / TAU;
    let straight = f64::from(links) - (z1 + z2) / 2.0;
    let under = straight * straight - 8.0 * apart * apart;
    if straight <= 0.0 || under < 0.0 {
        return Err(not_valid("links", "enough to go round both wheels", f64::from(links), Unit::One));
    }
    let centres = Length::from_mm(pitch / 4.0 * (straight + libm::sqrt(under)))?;
    checked(Drive { centres, ..drive })?;
    Ok(centres)
}

/// Teeth a belt must have for its pulleys and the distance of their centres, a fraction.
///
/// L = 2 C cos β + π (R + r) + 2 β (R − r), X = L/p     sin β = (R − r)/C, R and r pitch radii z p/2π
///
/// Source: geometry of an open belt, exact. Valid: as for [`links`], pitch of the belt.
/// Worked: 32 and 70 teeth of 14 mm, 600 mm: 137.57 (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn belt_teeth(drive: Drive) -> Result<f64, Refusal> {
    let (z1, z2, centres) = checked(drive)?;
    // In pitches: R − r is a difference of teeth over 2π, and π (R + r) half their sum.
    let sine = (z2 - z1) / TAU / centres;
    let beta = libm::asin(sine);
    Ok(2.0 * centres * libm::cos(beta) + (z1 + z2) / 2.0 + beta * (z2 - z1) / PI)
}

fn rolling(reduction: f64, circumference: Length) -> Result<(f64, f64), Refusal> {
    let reduction = within("reduction", reduction, Unit::One, (0.5, 100.0, "0.5 to 100"))?;
    let allowed = (800.0, 3000.0, "800 to 3000 mm");
    let round = within("rolling circumference", circumference.mm(), Unit::Millimetre, allowed)?;
    Ok((reduction, round))
}

fn teeth(what: &'static str, count: u16) -> Result<f64, Refusal> {
    within(what, f64::from(count), Unit::One, (6.0, 150.0, "6 to 150"))
}

fn checked_pitch(pitch: Length) -> Result<f64, Refusal> {
    within("pitch", pitch.mm(), Unit::Millimetre, (6.0, 40.0, "6 to 40 mm"))
}

/// Returns the teeth of both and the centres in pitches.
fn checked(drive: Drive) -> Result<(f64, f64, f64), Refusal> {
    let (z1, z2) = (teeth("driving teeth", drive.driving)?, teeth("driven teeth", drive.driven)?);
    let pitch = checked_pitch(drive.pitch)?;
    let clear = (z1 + z2) / TAU;
    let allowed = "from where the wheels clear each other to 120 pitches";
    let centres = drive.centres.mm() / pitch;
    if !(clear..=120.0).contains(&centres) {
        return Err(not_valid("distance of the centres", allowed, drive.centres.mm(), Unit::Millimetre));
    }
    Ok((z1, z2, centres))
}

/// Both above 0.
fn gcd(a: u16, b: u16) -> u16 {
    let (mut a, mut b) = (a, b);
    while b > 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// Half links.
const ROUNDING: f64 = 1e-9;
