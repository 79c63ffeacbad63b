//! Tyre pressure as temperature, barometer and altitude change it: dry gas in a fixed volume.

use super::propagated::Propagated;
use super::refusal::{Refusal, within};
use crate::quantity::{AbsolutePressure, Distance, GaugePressure, Temperature, Unit};
use crate::statistics::uncertainty::StandardUncertainty;

/// The least standard uncertainty of a warm tyre's gas temperature, K: rim, tread and gas differ by more than any
/// thermometer errs (common practice).
pub const MIN_GAS_TEMPERATURE_U_K: f64 = 5.0;

const KELVIN_AT_ZERO_CELSIUS: f64 = 273.15;

/// The gas of a tyre and the air about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surroundings {
    /// Temperature of the gas inside.
    pub gas: Temperature,
    /// Pressure of the air outside, as at this place (not reduced to sea level).
    pub barometer: AbsolutePressure,
}

/// What [`cold_equivalent_with_u`] and [`pump_to_now_with_u`] know about their arguments; [`moved_with_u`] takes two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurroundingsU {
    /// Of the gas temperature, K; for a warm tyre at least [`MIN_GAS_TEMPERATURE_U_K`].
    pub gas_k: StandardUncertainty,
    /// Of the barometer, kPa.
    pub barometer_kpa: StandardUncertainty,
}

/// What is known about a warm tyre in the air of now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WarmTyreU {
    /// Of the gauge reading or the target, kPa.
    pub gauge_kpa: StandardUncertainty,
    /// Of the tyre's gas temperature, K; at least [`MIN_GAS_TEMPERATURE_U_K`].
    pub tyre_k: StandardUncertainty,
    /// Of the air temperature, K.
    pub air_k: StandardUncertainty,
    /// Of the barometer, kPa.
    pub barometer_kpa: StandardUncertainty,
}

/// What the gauge would show with the tyre moved from one surroundings to another.
///
/// p₂ = (p₁ + pₐ₁) T₂/T₁ − pₐ₂     gauge p and air pₐ in kPa, T in K
///
/// Source: Gay-Lussac's law (ideal gas at fixed volume). Valid: dry gas, casing growth ignored, gas −40 to 150 °C,
/// air 40 to 110 kPa. Against real air the error stays under 1.3 kPa from −20 to 80 °C and 200 to 400 kPa.
/// Worked: 250 kPa at 20 °C is 226.031 kPa at 0 °C, both at 101.325 kPa (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range, or where no gauge could show the result (below 0 or above 600 kPa).
pub fn moved(reading: GaugePressure, from: Surroundings, to: Surroundings) -> Result<GaugePressure, Refusal> {
    let (t1, t2) = (gas_kelvin("gas temperature", from.gas)?, gas_kelvin("gas temperature", to.gas)?);
    let (a1, a2) = (air_kpa(from.barometer)?, air_kpa(to.barometer)?);
    Ok(GaugePressure::from_kpa((reading.kpa() + a1) * (t2 / t1) - a2)?)
}

/// [`moved`] with its uncertainty in kPa; the two places' thermometers and barometers are independent.
///
/// c(p₁) = c(pₐ₁) = T₂/T₁, c(T₁) = −(p₁ + pₐ₁) T₂/T₁², c(T₂) = (p₁ + pₐ₁)/T₁, c(pₐ₂) = −1
///
/// # Errors
/// As for [`moved`].
pub fn moved_with_u(
    (reading, gauge_kpa): (GaugePressure, StandardUncertainty),
    (from, from_u): (Surroundings, SurroundingsU),
    (to, to_u): (Surroundings, SurroundingsU),
) -> Result<Propagated<GaugePressure>, Refusal> {
    let value = moved(reading, from, to)?;
    let (t1, t2) = (from.gas.kelvin(), to.gas.kelvin());
    let absolute = reading.kpa() + from.barometer.kpa();
    Propagated::of(
        value,
        [
            ("gauge", t2 / t1, gauge_kpa),
            ("gas temperature", -absolute * t2 / (t1 * t1), from_u.gas_k),
            ("barometer", t2 / t1, from_u.barometer_kpa),
            ("gas temperature there", absolute / t1, to_u.gas_k),
            ("barometer there", -1.0, to_u.barometer_kpa),
        ],
    )
}

/// What a warm tyre's gauge would show once the tyre has cooled to the air of now.
///
/// p_cold = (p + pₐ) T_air/T_tyre − pₐ
///
/// Source and range as for [`moved`]; air −40 to 60 °C.
/// Worked: 35.8 psi at 34 °C in air of 20 °C is 33.5 psi cold (tests/golden/evidence/physics.toml).
///
/// # Errors
/// As for [`moved`]; a warm tyre that shows almost nothing has no cold equivalent at all: it is flat.
pub fn cold_equivalent(
    reading: GaugePressure,
    tyre: Temperature,
    air: Temperature,
    barometer: AbsolutePressure,
) -> Result<GaugePressure, Refusal> {
    checked_air(air)?;
    moved(reading, Surroundings { gas: tyre, barometer }, Surroundings { gas: air, barometer })
}

/// [`cold_equivalent`] with its uncertainty in kPa; one barometer serves both states.
///
/// c(p) = T_air/T_tyre, c(T_tyre) = −(p + pₐ) T_air/T_tyre², c(T_air) = (p + pₐ)/T_tyre, c(pₐ) = T_air/T_tyre − 1
///
/// # Errors
/// As for [`cold_equivalent`].
pub fn cold_equivalent_with_u(
    reading: GaugePressure,
    tyre: Temperature,
    air: Temperature,
    barometer: AbsolutePressure,
    u: WarmTyreU,
) -> Result<Propagated<GaugePressure>, Refusal> {
    let value = cold_equivalent(reading, tyre, air, barometer)?;
    at_one_barometer(value, reading, (tyre, u.tyre_k), (air, u.air_k), (barometer, u))
}

/// What a warm tyre's gauge must show now, so that it shows the target once cooled to the air of now.
///
/// p_now = (p_target + pₐ) T_tyre/T_air − pₐ
///
/// The inverse of [`cold_equivalent`]. It says how far to pump up; a warm reading never tells anyone to let air out.
/// Worked: a target of 36 psi in air of 20 °C asks for 38.4 psi at 34 °C (tests/golden/evidence/physics.toml).
///
/// # Errors
/// As for [`moved`].
pub fn pump_to_now(
    target_cold: GaugePressure,
    tyre: Temperature,
    air: Temperature,
    barometer: AbsolutePressure,
) -> Result<GaugePressure, Refusal> {
    checked_air(air)?;
    moved(target_cold, Surroundings { gas: air, barometer }, Surroundings { gas: tyre, barometer })
}

/// [`pump_to_now`] with its uncertainty in kPa; `u.gauge_kpa` is the target's, usually zero.
///
/// # Errors
/// As for [`moved`].
pub fn pump_to_now_with_u(
    target_cold: GaugePressure,
    tyre: Temperature,
    air: Temperature,
    barometer: AbsolutePressure,
    u: WarmTyreU,
) -> Result<Propagated<GaugePressure>, Refusal> {
    let value = pump_to_now(target_cold, tyre, air, barometer)?;
    at_one_barometer(value, target_cold, (air, u.air_k), (tyre, u.tyre_k), (barometer, u))
}

/// The standard atmosphere's pressure at an altitude above sea level.
///
/// p = 101.325 kPa · (1 − 0.0065 H/288.15)^5.255 879 812 7, H = r z/(r + z), r = 6 356 766 m     z, H in m
///
/// Source: ISO 2533:1975 (constants from memory). Valid: geometric altitude z from 0 to 7000 m, the reach of a road.
/// Worked: 89.876 278 kPa at 1000 m (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn standard_pressure(altitude: Distance) -> Result<AbsolutePressure, Refusal> {
    const SEA_LEVEL_KPA: f64 = 101.325;
    const SEA_LEVEL_K: f64 = 288.15;
    const LAPSE_K_PER_M: f64 = 0.0065;
    const EARTH_RADIUS_M: f64 = 6_356_766.0;
    const EXPONENT: f64 = 9.80665 / (LAPSE_K_PER_M * 287.052_87);
    let z = altitude.km() * 1000.0;
    within("altitude", z, Unit::Metre, (0.0, 7000.0, "0 to 7000 m"))?;
    let geopotential_m = EARTH_RADIUS_M * z / (EARTH_RADIUS_M + z);
    let temperature_share = 1.0 - LAPSE_K_PER_M * geopotential_m / SEA_LEVEL_K;
    Ok(AbsolutePressure::from_kpa(SEA_LEVEL_KPA * libm::pow(temperature_share, EXPONENT))?)
}

/// Predicts today's barometer at another altitude: the weather of here goes along.
///
/// pₐ(there) = pₐ(here) · p_std(there)/p_std(here)
///
/// # Errors
/// [`Refusal`] if either altitude is outside [`standard_pressure`]'s range.
pub fn predicted_barometer(here: (Distance, AbsolutePressure), there: Distance) -> Result<AbsolutePressure, Refusal> {
    let (altitude, barometer) = here;
    let share = standard_pressure(there)?.kpa() / standard_pressure(altitude)?.kpa();
    Ok(AbsolutePressure::from_kpa(barometer.kpa() * share)?)
}

/// Predicts what the gauge will show at another altitude and gas temperature. A prediction, never a correction.
///
/// [`moved`] to [`predicted_barometer`].
///
/// # Errors
/// As for [`moved`] and [`predicted_barometer`].
pub fn at_altitude(
    reading: GaugePressure,
    (from, altitude): (Surroundings, Distance),
    (gas_there, altitude_there): (Temperature, Distance),
) -> Result<GaugePressure, Refusal> {
    let barometer = predicted_barometer((altitude, from.barometer), altitude_there)?;
    moved(reading, from, Surroundings { gas: gas_there, barometer })
}

fn at_one_barometer(
    value: GaugePressure,
    given: GaugePressure,
    (from, from_u): (Temperature, StandardUncertainty),
    (to, to_u): (Temperature, StandardUncertainty),
    (barometer, u): (AbsolutePressure, WarmTyreU),
) -> Result<Propagated<GaugePressure>, Refusal> {
    let (t1, t2) = (from.kelvin(), to.kelvin());
    let absolute = given.kpa() + barometer.kpa();
    Propagated::of(
        value,
        [
            ("gauge", t2 / t1, u.gauge_kpa),
            ("temperature given at", -absolute * t2 / (t1 * t1), from_u),
            ("temperature asked for", absolute / t1, to_u),
            ("barometer", t2 / t1 - 1.0, u.barometer_kpa),
        ],
    )
}

fn gas_kelvin(what: &'static str, gas: Temperature) -> Result<f64, Refusal> {
    let celsius = gas.kelvin() - KELVIN_AT_ZERO_CELSIUS;
    within(what, celsius, Unit::Celsius, (-40.0 - ROUNDING, 150.0 + ROUNDING, "−40 to 150 °C"))?;
    Ok(gas.kelvin())
}

fn checked_air(air: Temperature) -> Result<(), Refusal> {
    within("air temperature", air.celsius(), Unit::Celsius, (-40.0 - ROUNDING, 60.0 + ROUNDING, "−40 to 60 °C"))?;
    Ok(())
}

fn air_kpa(barometer: AbsolutePressure) -> Result<f64, Refusal> {
    // A figure reduced to sea level looks alike; one outside this range is another kind of pressure altogether.
    within("barometer", barometer.kpa(), Unit::Kilopascal, (40.0, 110.0, "40 to 110 kPa"))
}

/// A bound typed in °C and kept in K may miss by a rounding.
const ROUNDING: f64 = 1e-9;
