//! Belt tension, from the note of a plucked span or from the force that bends it.

use super::propagated::Propagated;
use super::refusal::{Refusal, above_zero, within};
use crate::quantity::{Force, Frequency, Length, LinearDensity, Unit};
use crate::statistics::uncertainty::StandardUncertainty;

/// Standard uncertainties of a span and its note.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpanU {
    /// Of the mass a length, kg/m.
    pub mass_kg_per_m: StandardUncertainty,
    /// Of the free span, m.
    pub span_m: StandardUncertainty,
    /// Of the frequency, Hz.
    pub frequency_hz: StandardUncertainty,
}

/// Standard uncertainties of a span bent by a force.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BentU {
    /// Of the force, N.
    pub force_n: StandardUncertainty,
    /// Of the deflection, mm.
    pub deflection_mm: StandardUncertainty,
    /// Of the free span, mm.
    pub span_mm: StandardUncertainty,
}

/// Tension of a span that sounds at a frequency.
///
/// T = 4 m L² f²     m in kg/m, L in m, f in Hz, T in N
///
/// Source: transverse string, first mode; the same in two public belt manuals (read). Valid: free span 50 to 2000 mm,
/// 5 to 1000 Hz, no bending stiffness; a stiff belt on a short span reads high (2.8 % for a 5-rib belt on 170 mm).
/// Worked: 0.11 kg/m, 0.17 m, 220 Hz: 615.454 N (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn tension(mass: LinearDensity, span: Length, frequency: Frequency) -> Result<Force, Refusal> {
    let (m, length, f) = (mass_kg_per_m(mass)?, span_m(span)?, frequency_hz(frequency)?);
    Ok(Force::from_newton(4.0 * m * length * length * f * f)?)
}

/// [`tension`] with its uncertainty in N.
///
/// c(f) = 2T/f, c(m) = T/m, c(L) = 2T/L
///
/// # Errors
/// As for [`tension`].
pub fn tension_with_u(
    mass: LinearDensity,
    span: Length,
    frequency: Frequency,
    u: SpanU,
) -> Result<Propagated<Force>, Refusal> {
    let value = tension(mass, span, frequency)?;
    let t = value.newton();
    Propagated::of(
        value,
        [
            ("frequency", 2.0 * t / frequency.hertz(), u.frequency_hz),
            ("mass", t / mass.kg_per_m(), u.mass_kg_per_m),
            ("span", 2.0 * t / span.m(), u.span_m),
        ],
    )
}

/// The frequency a span of a tension sounds at. The inverse of [`tension`].
///
/// f = √(T/m) / (2 L)
///
/// # Errors
/// [`Refusal`] outside [`tension`]'s range, or for no tension.
pub fn frequency(mass: LinearDensity, span: Length, tension: Force) -> Result<Frequency, Refusal> {
    let t = above_zero("tension", tension.newton(), Unit::Newton)?;
    let sounds = Frequency::from_hertz(libm::sqrt(t / mass_kg_per_m(mass)?) / (2.0 * span_m(span)?))?;
    frequency_hz(sounds)?;
    Ok(sounds)
}

/// Tension of a span that a force at its middle bends by a deflection.
///
/// T = F √((t/2)² + d²) / (2 d)     t span, d deflection, mm; F, T in N
///
/// Source: balance of forces on two straight halves; handbooks print the same as T ≈ 16 F at d = t/64 (read in two). The
/// stretch that the deflection itself makes is left out and reads high. Valid: span 50 to 2000 mm, deflection from 0.5 mm
/// to t/32.
/// Worked: 12.4939 N bends 508 mm by 508/64 mm at 200 N (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn tension_from_deflection(force: Force, deflection: Length, span: Length) -> Result<Force, Refusal> {
    let (d, half) = bent_mm(deflection, span)?;
    Ok(Force::from_newton(force.newton() * libm::hypot(half, d) / (2.0 * d))?)
}

/// [`tension_from_deflection`] with its uncertainty in N.
///
/// c(F) = T/F, c(d) = −F (t/2)² / (2 d² √((t/2)² + d²)), c(t) = F t / (8 d √((t/2)² + d²))
///
/// # Errors
/// As for [`tension_from_deflection`].
pub fn tension_from_deflection_with_u(
    force: Force,
    deflection: Length,
    span: Length,
    u: BentU,
) -> Result<Propagated<Force>, Refusal> {
    let (d, half) = bent_mm(deflection, span)?;
    let (f, slant) = (force.newton(), libm::hypot(half, d));
    Propagated::of(
        tension_from_deflection(force, deflection, span)?,
        [
            ("force", slant / (2.0 * d), u.force_n),
            ("deflection", -f * half * half / (2.0 * d * d * slant), u.deflection_mm),
            ("span", f * half / (4.0 * d * slant), u.span_mm),
        ],
    )
}

/// The force at the middle that bends a span of a tension by a deflection. The inverse of [`tension_from_deflection`].
///
/// F = 2 T d / √((t/2)² + d²)
///
/// # Errors
/// [`Refusal`] outside [`tension_from_deflection`]'s range.
pub fn force_for_deflection(tension: Force, deflection: Length, span: Length) -> Result<Force, Refusal> {
    let (d, half) = bent_mm(deflection, span)?;
    Ok(Force::from_newton(2.0 * tension.newton() * d / libm::hypot(half, d))?)
}

fn mass_kg_per_m(mass: LinearDensity) -> Result<f64, Refusal> {
    above_zero("mass a length", mass.kg_per_m(), Unit::KilogramPerMetre)
}

fn span_m(span: Length) -> Result<f64, Refusal> {
    within("free span", span.m(), Unit::Metre, (0.05, 2.0, "0.05 to 2 m"))
}

fn frequency_hz(frequency: Frequency) -> Result<f64, Refusal> {
    within("span frequency", frequency.hertz(), Unit::Hertz, (5.0, 1000.0, "5 to 1000 Hz"))
}

fn bent_mm(deflection: Length, span: Length) -> Result<(f64, f64), Refusal> {
    let t = 1000.0 * span_m(span)?;
    let allowed = (0.5, t / 32.0, "0.5 mm to 1/32 of the span");
    let d = within("deflection", deflection.mm(), Unit::Millimetre, allowed)?;
    Ok((d, t / 2.0))
}
