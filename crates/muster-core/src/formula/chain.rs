//! Drive chains: elongation by wear, and the play of the lower run.

use super::propagated::Propagated;
use super::refusal::{Refusal, above_zero, not_valid, within};
use crate::quantity::{Length, Ratio, Unit};
use crate::statistics::uncertainty::StandardUncertainty;

/// A chain size and its pitch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChainSize {
    /// The designation stamped on the plates.
    pub designation: &'static str,
    /// Nominal pitch, mm.
    pub pitch_mm: f64,
    /// Where the pitch comes from.
    pub source: &'static str,
}

const ISO_606: &str = "ISO 606:2015, tables 1 and 2 (from memory)";
const ISO_10190: &str =
    "ISO 10190:2008 (from memory); rule of eighths, first digit over 8 is the pitch in inch (common practice)";

/// The sizes met on motorcycles and their cam or oil-pump drives, by designation.
pub const CHAIN_SIZES: [ChainSize; 15] = [
    size("05B", 8.0, ISO_606),
    size("06B", 9.525, ISO_606),
    size("08A", 12.7, ISO_606),
    size("08B", 12.7, ISO_606),
    size("10A", 15.875, ISO_606),
    size("10B", 15.875, ISO_606),
    size("12A", 19.05, ISO_606),
    size("12B", 19.05, ISO_606),
    size("415", 12.7, ISO_10190),
    size("420", 12.7, ISO_10190),
    size("428", 12.7, ISO_10190),
    size("520", 15.875, ISO_10190),
    size("525", 15.875, ISO_10190),
    size("530", 15.875, ISO_10190),
    size("630", 19.05, ISO_10190),
];

/// How the two sprockets' distance is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Centres {
    /// The wheel moves back as the chain wears.
    Adjustable,
    /// The distance cannot be set.
    Fixed,
}

/// Finds a chain size by its designation, in capitals or small letters.
#[must_use]
pub fn chain_size(designation: &str) -> Option<ChainSize> {
    CHAIN_SIZES.into_iter().find(|size| size.designation.eq_ignore_ascii_case(designation.trim()))
}

/// How much longer a chain has become, as a share of its nominal length.
///
/// e = L/(n p) − 1     L over n pitches of p, mm
///
/// Measured taut, pin centre to pin centre (or the same edge to the same edge). Source: definition, ISO 606 (from memory).
/// Valid: 4 to 200 pitches, pitch 6 to 40 mm, result −1 to 8 %; outside it the links were miscounted or the size is
/// another. Worked: 257.2 mm over 20 pitches of 12.7 mm is 1.260 % (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn elongation(measured: Length, pitches: u16, pitch: Length) -> Result<Ratio, Refusal> {
    let elongation = measured.mm() / nominal_mm(pitches, pitch)? - 1.0;
    let miscount = (-1.0, 8.0, "−1 to 8 %: count the links and read the size again");
    within("chain elongation", 100.0 * elongation, Unit::Percent, miscount)?;
    Ok(Ratio::from_one(elongation)?)
}

/// [`elongation`] with its uncertainty (a pure number), from that of the length in mm.
///
/// c(L) = 1/(n p)
///
/// # Errors
/// As for [`elongation`].
pub fn elongation_with_u(
    (measured, measured_mm): (Length, StandardUncertainty),
    pitches: u16,
    pitch: Length,
) -> Result<Propagated<Ratio>, Refusal> {
    let nominal = nominal_mm(pitches, pitch)?;
    Propagated::of(elongation(measured, pitches, pitch)?, [("length", 1.0 / nominal, measured_mm)])
}

/// The length over `pitches` at an elongation: what a ruler must not show more than.
///
/// L = n p (1 + e). The inverse of [`elongation`].
///
/// # Errors
/// As for [`elongation`].
pub fn length_at(elongation: Ratio, pitches: u16, pitch: Length) -> Result<Length, Refusal> {
    within("chain elongation", elongation.percent(), Unit::Percent, (-1.0, 8.0, "−1 to 8 %"))?;
    Ok(Length::from_mm(nominal_mm(pitches, pitch)? * (1.0 + elongation.one()))?)
}

/// The elongation at which a chain should be replaced, where the sheet names none.
///
/// 3 % generally; 200/N % with N > 67 teeth on the larger sprocket; 1.5 % where centres are fixed; the least counts
///
/// No law sets one; a machine's own handbook often asks for less and goes before. Source: two chain makers' engineering
/// pages (read). Valid: 6 to 150 teeth.
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn general_limit(largest_teeth: u16, centres: Centres) -> Result<Ratio, Refusal> {
    let teeth = within("teeth", f64::from(largest_teeth), Unit::One, (6.0, 150.0, "6 to 150"))?;
    let by_teeth = if largest_teeth > 67 { 200.0 / teeth } else { 3.0 };
    let percent = match centres {
        Centres::Adjustable => by_teeth,
        Centres::Fixed => by_teeth.min(1.5),
    };
    Ok(Ratio::from_percent(percent)?)
}

/// Play of the slack run at its middle, from pushed taut one way to pushed taut the other.
///
/// play = 2 √((S/2)² − (c/2)²)     c straight distance of the run's ends, S length of chain between them
///
/// Source: two straight halves (Pythagoras). Valid: S from c to 1.05 c, c 200 to 1500 mm.
/// Worked: c 600 mm, S 602 mm: 49.03 mm (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn play(run: Length, chain: Length) -> Result<Length, Refusal> {
    let c = within("run", run.mm(), Unit::Millimetre, (200.0, 1500.0, "200 to 1500 mm"))?;
    let s = within("chain in the run", chain.mm(), Unit::Millimetre, (c, 1.05 * c, "the run's length to 5 % more"))?;
    // (S − c)(S + c) keeps the digits that S² − c² would lose.
    Ok(Length::from_mm(libm::sqrt((s - c) * (s + c)))?)
}

/// The length of chain between the run's ends at a play. The inverse of [`play`].
///
/// S = √(c² + play²)
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn chain_in_run(run: Length, play: Length) -> Result<Length, Refusal> {
    let c = within("run", run.mm(), Unit::Millimetre, (200.0, 1500.0, "200 to 1500 mm"))?;
    let play = within("play", play.mm(), Unit::Millimetre, (0.0, 0.32 * c, "0 to 32 % of the run"))?;
    Ok(Length::from_mm(libm::hypot(c, play))?)
}

const fn size(designation: &'static str, pitch_mm: f64, source: &'static str) -> ChainSize {
    ChainSize { designation, pitch_mm, source }
}

fn nominal_mm(pitches: u16, pitch: Length) -> Result<f64, Refusal> {
    if !(4..=200).contains(&pitches) {
        return Err(not_valid("pitches", "4 to 200", f64::from(pitches), Unit::One));
    }
    let pitch = within("pitch", pitch.mm(), Unit::Millimetre, (6.0, 40.0, "6 to 40 mm"))?;
    above_zero("nominal length", f64::from(pitches) * pitch, Unit::Millimetre)
}
