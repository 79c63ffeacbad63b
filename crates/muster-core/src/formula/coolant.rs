//! A glycol coolant: freezing point and concentration, each from the other, and what to fill in.

use super::propagated::Propagated;
use super::refusal::{Refusal, within};
use crate::quantity::{Ratio, Temperature, Unit};
use crate::statistics::uncertainty::StandardUncertainty;
use alloc::string::String;

/// Which glycol; the label says. A tester is made for one of them and errs on the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Glycol {
    /// Monoethylene glycol, poisonous.
    Ethylene,
    /// Monopropylene glycol.
    Propylene,
}

/// The concentration of glycol in water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Concentration {
    /// Mass of glycol over mass of coolant.
    MassFraction(Ratio),
    /// Volume of glycol over volume of both before mixing.
    VolumeFraction(Ratio),
}

/// Of fractions, and of °C.
const ROUNDING: f64 = 1e-9;
const STEP: f64 = 0.05;
const MAX_MASS_FRACTION: f64 = 0.6;
/// °C at mass fractions 0, 0.05 … 0.6.
const ETHYLENE_CELSIUS: [f64; 13] = [
    0.0, -1.582746, -3.357190, -5.443491, -7.948783, -10.966466, -14.575778, -18.841365, -23.812858, -29.524441,
    -35.994425, -43.224822, -51.200915,
];
const PROPYLENE_CELSIUS: [f64; 13] = [
    0.0, -1.209308, -2.866987, -4.872194, -7.172895, -9.785448, -12.789104, -16.320516, -20.568245, -25.767264,
    -32.193469, -40.158179, -50.002647,
];

/// Temperature at which the first ice forms.
///
/// t(w) by monotone cubic (Fritsch–Carlson) through a table in steps of 0.05 mass fraction
///
/// Source: Melinder, Properties of Secondary Working Fluids (2010), as fitted in CoolProp 8.0.0; water at 0 °C. Valid:
/// mass fraction 0 to 0.6 (beyond it the freezing point rises again, and pure glycol cools badly). The curve between
/// the nodes stays within 0.05 K of the fit, above 0.05 within 0.02 K.
/// Worked: 50 % by mass of ethylene glycol: −35.994 °C (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn freezing_point(glycol: Glycol, concentration: Concentration) -> Result<Temperature, Refusal> {
    let (celsius, _) = curve(glycol, checked_mass_fraction(glycol, concentration)?);
    Ok(Temperature::from_celsius(celsius)?)
}

/// [`freezing_point`] with its uncertainty in K; `concentration_u` is a pure number, of the fraction given.
///
/// c(w) = dt/dw, c(φ) = dt/dw · dw/dφ; the table itself adds [`Glycol::table_u_k`]
///
/// # Errors
/// As for [`freezing_point`].
pub fn freezing_point_with_u(
    glycol: Glycol,
    concentration: Concentration,
    concentration_u: StandardUncertainty,
) -> Result<Propagated<Temperature>, Refusal> {
    let (_, slope) = curve(glycol, checked_mass_fraction(glycol, concentration)?);
    let per_given = match concentration {
        Concentration::MassFraction(_) => 1.0,
        Concentration::VolumeFraction(volume) => {
            let (glycol_mass, water_mass) = (glycol.density(), WATER_KG_PER_M3);
            let mixed = volume.one() * glycol_mass + (1.0 - volume.one()) * water_mass;
            glycol_mass * water_mass / (mixed * mixed)
        }
    };
    Propagated::of(
        freezing_point(glycol, concentration)?,
        [
            ("concentration", slope * per_given, concentration_u),
            ("table", 1.0, StandardUncertainty::new(glycol.table_u_k())?),
        ],
    )
}

/// Mass fraction of a concentration.
///
/// w = φ ρ_g / (φ ρ_g + (1 − φ) ρ_w)     at 20 °C, ρ_w 998.207 15, ρ_g 1113.2 (ethylene) or 1036.1 kg/m³ (propylene)
///
/// φ is the share of glycol poured, before mixing shrinks the whole. Source: definition; water density from CoolProp 8.0.0,
/// glycol densities from memory. Valid: 0 to 1.
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn mass_fraction(glycol: Glycol, concentration: Concentration) -> Result<Ratio, Refusal> {
    match concentration {
        Concentration::MassFraction(mass) => {
            share("glycol by mass", mass, (0.0, 1.0, "0 to 1"))?;
            Ok(mass)
        }
        Concentration::VolumeFraction(volume) => {
            let phi = share("glycol by volume", volume, (0.0, 1.0, "0 to 1"))?;
            let (glycol_mass, water_mass) = (phi * glycol.density(), (1.0 - phi) * WATER_KG_PER_M3);
            Ok(Ratio::from_one(glycol_mass / (glycol_mass + water_mass))?)
        }
    }
}

/// Share of the coolant to drain and refill with concentrate, to raise its volume fraction.
///
/// x = (φ_wanted − φ_now)/(φ_concentrate − φ_now)
///
/// Source: balance of volumes, well mixed, shrinkage ignored. Valid: 0 ≤ φ_now ≤ φ_wanted < φ_concentrate ≤ 1.
/// Worked: from 30 to 50 % with pure glycol: 2/7 (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn share_to_replace(now: Ratio, wanted: Ratio, concentrate: Ratio) -> Result<Ratio, Refusal> {
    let now = share("fraction now", now, (0.0, 1.0, "0 to 1"))?;
    let wanted = share("fraction wanted", wanted, (now, 1.0, "from the fraction now to 1"))?;
    let above = wanted.next_up();
    let concentrate =
        share("fraction of the concentrate", concentrate, (above, 1.0, "above the fraction wanted, to 1"))?;
    Ok(Ratio::from_one((wanted - now) / (concentrate - now))?)
}

/// Volume to drain and refill with concentrate, to raise the volume fraction of a whole system, litres.
///
/// V_x = V (φ_wanted − φ_now)/(φ_concentrate − φ_now)
///
/// [`share_to_replace`] of the system's volume; source and range as there, volume 0.1 to 20 L.
/// Worked: 2.0 L from 30 to 50 % with pure glycol: 0.571 L (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn litres_to_replace(system_litres: f64, now: Ratio, wanted: Ratio, concentrate: Ratio) -> Result<f64, Refusal> {
    Ok(system(system_litres)? * share_to_replace(now, wanted, concentrate)?.one())
}

/// Volume fraction of the mix that fills up what is missing, so that the whole comes to the fraction wanted.
///
/// φ = (V φ_wanted − (V − m) φ_now)/m     V the full system, m what is missing, litres
///
/// Source: balance of volumes, well mixed, shrinkage ignored. Valid: V 0.1 to 20 L, m from 1 % of it to all, result 0 to 1.
/// Worked: 2.0 L of 40 %, 0.4 L missing, 45 % wanted: fill with 65 % (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range: where no mix does it, some must be drained first, see [`litres_to_replace`].
pub fn mix_to_top_up(system_litres: f64, missing_litres: f64, now: Ratio, wanted: Ratio) -> Result<Ratio, Refusal> {
    let whole = system(system_litres)?;
    let allowed = (0.01 * whole, whole, "from 1 % of the system's volume to all of it");
    let missing = within("missing litres", missing_litres, Unit::One, allowed)?;
    let now = share("fraction now", now, (0.0, 1.0, "0 to 1"))?;
    let wanted = share("fraction wanted", wanted, (0.0, 1.0, "0 to 1"))?;
    let mix = (whole * wanted - (whole - missing) * now) / missing;
    let possible = (-ROUNDING, 1.0 + ROUNDING, "0 to 1: drain some first");
    Ok(Ratio::from_one(within("fraction of what is filled in", mix, Unit::One, possible)?.clamp(0.0, 1.0))?)
}

/// Mass fraction of glycol that freezes at a temperature. The inverse of [`freezing_point`].
///
/// Source and range as there: 0 °C down to where 0.6 freezes, −51.2 °C (ethylene) or −50.0 °C (propylene); lower readings
/// may come from either side of the eutectic.
/// Worked: ethylene, −35.994 °C: 0.5 (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn mass_fraction_freezing_at(glycol: Glycol, freezes: Temperature) -> Result<Ratio, Refusal> {
    let celsius = freezes.celsius();
    let strongest = curve(glycol, MAX_MASS_FRACTION).0;
    // A temperature typed in °C and kept in K may miss its bound by a rounding.
    let allowed = "0 °C down to where a mass fraction of 0.6 freezes: beyond the eutectic it rises again";
    let bounds = (strongest - ROUNDING, ROUNDING, allowed);
    within("freezing point", celsius, Unit::Celsius, bounds)?;
    // The curve falls all the way, so halving finds the one place; 60 halvings are finer than a float.
    let (mut weak, mut strong) = (0.0, MAX_MASS_FRACTION);
    for _ in 0..60 {
        let middle = (weak + strong) / 2.0;
        if curve(glycol, middle).0 > celsius { weak = middle } else { strong = middle }
    }
    Ok(Ratio::from_one(strong)?)
}

/// What a refractometer's freezing point says of a coolant: its mass fraction of glycol.
///
/// [`mass_fraction_freezing_at`], if the scale read is the coolant's own
///
/// A refractometer sees the refractive index; each scale turns it into a freezing point for one glycol. On the wrong one
/// the freezing point errs by 18 °F (10 K) and more, and a mixture of both is wrong on either (ASTM D3321, significance
/// and use: read). No table from one scale to the other was found, so it is refused, never corrected.
///
/// # Errors
/// [`Refusal`] for a scale of the other glycol, or outside [`mass_fraction_freezing_at`]'s range.
pub fn read_on_scale(scale: Glycol, coolant: Glycol, reading: Temperature) -> Result<Ratio, Refusal> {
    if scale != coolant {
        let name = |glycol| String::from(if glycol == Glycol::Ethylene { "ethylene" } else { "propylene" });
        return Err(Refusal::NotValid {
            what: "scale of the refractometer",
            allowed: "the coolant's own glycol: the other scale errs by 10 K and more",
            got: name(scale),
        });
    }
    mass_fraction_freezing_at(coolant, reading)
}

const WATER_KG_PER_M3: f64 = 998.207_150_467_9;

impl Glycol {
    /// Standard uncertainty of the table, K: half of what it and the ASHRAE table differ by at most, for one mixture
    /// (3.2 K for ethylene glycol, Melinder the colder; 0.6 K for propylene glycol; computed with CoolProp 8.0.0).
    #[must_use]
    pub fn table_u_k(self) -> f64 {
        match self {
            Self::Ethylene => 1.6,
            Self::Propylene => 0.3,
        }
    }

    /// Density of the pure glycol at 20 °C, kg/m³.
    fn density(self) -> f64 {
        match self {
            Self::Ethylene => 1113.2,
            Self::Propylene => 1036.1,
        }
    }

    fn nodes(self) -> &'static [f64; 13] {
        match self {
            Self::Ethylene => &ETHYLENE_CELSIUS,
            Self::Propylene => &PROPYLENE_CELSIUS,
        }
    }
}

fn checked_mass_fraction(glycol: Glycol, concentration: Concentration) -> Result<f64, Refusal> {
    let allowed = (0.0, MAX_MASS_FRACTION, "0 to 0.6: beyond it the freezing point rises again");
    share("glycol by mass", mass_fraction(glycol, concentration)?, allowed)
}

fn system(litres: f64) -> Result<f64, Refusal> {
    within("litres in the system", litres, Unit::One, (0.1, 20.0, "0.1 to 20 L"))
}

fn share(what: &'static str, of: Ratio, allowed: (f64, f64, &'static str)) -> Result<f64, Refusal> {
    within(what, of.one(), Unit::One, allowed)
}

/// Returns °C and K per unit of mass fraction, by a cubic between nodes that turns nowhere.
fn curve(glycol: Glycol, w: f64) -> (f64, f64) {
    let nodes = glycol.nodes();
    let last = nodes.len() - 1;
    let at = |index: usize| nodes.get(index.min(last)).copied().unwrap_or_default();
    let rise = |index: usize| (at(index + 1) - at(index)) / STEP;
    // Both ends of the table take the three-point slope; inside, the harmonic mean of the neighbours (equal steps).
    let slope = |index: usize| match index {
        0 => 1.5 * rise(0) - 0.5 * rise(1),
        _ if index >= last => 1.5 * rise(last - 1) - 0.5 * rise(last - 2),
        _ => 2.0 * rise(index - 1) * rise(index) / (rise(index - 1) + rise(index)),
    };
    // w lies within 0..=0.6, so the piece is one of the table's.
    let piece = (0..last - 1).take_while(|index| w > STEP * (*index as f64 + 1.0)).count();
    let s = (w - STEP * piece as f64) / STEP;
    let (y0, y1, m0, m1) = (at(piece), at(piece + 1), STEP * slope(piece), STEP * slope(piece + 1));
    let value = y0 + s * (m0 + s * ((3.0 * (y1 - y0) - 2.0 * m0 - m1) + s * (2.0 * (y0 - y1) + m0 + m1)));
    let per_s = m0 + s * (2.0 * (3.0 * (y1 - y0) - 2.0 * m0 - m1) + s * 3.0 * (2.0 * (y0 - y1) + m0 + m1));
    (value, per_s / STEP)
}
