//! Computes the evidence rows on readings: gas, dates, identity, wear, drives, lamps, batteries, fluids.

use super::{number, physics_parts};
use muster_core::formula::age::Age;
use muster_core::formula::chain::{self, Centres};
use muster_core::formula::lamp::{self, AimU};
use muster_core::formula::tyre_date::{TyreDate, TyreDateRefusal};
use muster_core::formula::tyre_gas::{self, Surroundings, SurroundingsU, WarmTyreU};
use muster_core::formula::vin::{CheckDigit, Region, Vin, VinRefusal};
use muster_core::formula::{Propagated, Refusal, belt, indicator, wear};
use muster_core::quantity::{
    AbsolutePressure, Angle, Distance, Force, Frequency, GaugePressure, Inclination, Length, LinearDensity, Ratio,
    Temperature, Time,
};
use muster_core::statistics::uncertainty::StandardUncertainty;
use toml::Table;

/// Returns what the core's `formula` gives for `input`.
pub(crate) fn compute(formula: &str, input: &Table) -> Result<f64, String> {
    let Some(path) = formula.strip_prefix("formula::") else {
        return Err(format!("unknown formula {formula}"));
    };
    match path.split_once("::").unwrap_or_default() {
        ("tyre_gas", name) => of_tyre_gas(name, input),
        ("tyre_date", name) => of_tyre_date(name, input),
        ("vin", name) => of_vin(name, input),
        ("wear", name) => of_wear(name, input),
        ("chain", name) => of_chain(name, input),
        ("belt", name) => of_belt(name, input),
        ("lamp", name) => of_lamp(name, input),
        ("battery", name) => physics_parts::of_battery(name, input),
        ("coolant", name) => physics_parts::of_coolant(name, input),
        ("oil", name) => physics_parts::of_oil(name, input),
        ("age", name) => of_age(name, input),
        ("indicator", name) => of_indicator(name, input),
        _ => Err(format!("unknown formula {formula}")),
    }
}

fn of_tyre_gas(name: &str, input: &Table) -> Result<f64, String> {
    let gauge = |key| number(input, key).and_then(|kpa| said(GaugePressure::from_kpa(kpa)));
    let barometer = |key| number(input, key).and_then(|kpa| said(AbsolutePressure::from_kpa(kpa)));
    let at = |gas, air| Ok::<_, String>(Surroundings { gas: celsius(input, gas)?, barometer: barometer(air)? });
    let at_u = |gas, air| Ok::<_, String>(SurroundingsU { gas_k: u(input, gas)?, barometer_kpa: u(input, air)? });
    let warm = || Ok::<_, String>((celsius(input, "tyre_c")?, celsius(input, "air_c")?, barometer("barometer_kpa")?));
    let warm_u = || {
        Ok::<_, String>(WarmTyreU {
            gauge_kpa: u(input, "gauge_u")?,
            tyre_k: u(input, "tyre_u")?,
            air_k: u(input, "air_u")?,
            barometer_kpa: u(input, "barometer_u")?,
        })
    };
    let (function, figure) = split(name);
    match function {
        "moved" => {
            let result = tyre_gas::moved(gauge("gauge_kpa")?, at("t1_c", "pa1_kpa")?, at("t2_c", "pa2_kpa")?);
            value_or_refused(result.map(GaugePressure::kpa), figure)
        }
        "moved_with_u" => propagated(
            &said(tyre_gas::moved_with_u(
                (gauge("gauge_kpa")?, u(input, "gauge_u")?),
                (at("t1_c", "pa1_kpa")?, at_u("t1_u", "pa1_u")?),
                (at("t2_c", "pa2_kpa")?, at_u("t2_u", "pa2_u")?),
            ))?,
            figure,
            GaugePressure::kpa,
        ),
        "cold_equivalent" | "pump_to_now" => {
            let (tyre, air, barometer) = warm()?;
            if input.contains_key("gauge_u") {
                let of = if function == "pump_to_now" {
                    tyre_gas::pump_to_now_with_u
                } else {
                    tyre_gas::cold_equivalent_with_u
                };
                let result = said(of(gauge("gauge_kpa")?, tyre, air, barometer, warm_u()?))?;
                return propagated(&result, figure, GaugePressure::kpa);
            }
            let of = if function == "pump_to_now" { tyre_gas::pump_to_now } else { tyre_gas::cold_equivalent };
            if input.contains_key("gauge_psi") {
                let psi = said(GaugePressure::from_psi(number(input, "gauge_psi")?))?;
                return value_or_refused(of(psi, tyre, air, barometer).map(GaugePressure::psi), figure);
            }
            value_or_refused(of(gauge("gauge_kpa")?, tyre, air, barometer).map(GaugePressure::kpa), figure)
        }
        _ => of_altitude(name, input),
    }
}

fn of_altitude(name: &str, input: &Table) -> Result<f64, String> {
    let gauge = |key| number(input, key).and_then(|kpa| said(GaugePressure::from_kpa(kpa)));
    let barometer = |key| number(input, key).and_then(|kpa| said(AbsolutePressure::from_kpa(kpa)));
    let altitude = |key| number(input, key).and_then(|m| said(Distance::from_km(m / 1000.0)));
    let (function, figure) = split(name);
    match function {
        "standard_pressure" => {
            value_or_refused(tyre_gas::standard_pressure(altitude("altitude_m")?).map(AbsolutePressure::kpa), figure)
        }
        "predicted_barometer" => {
            let here = (altitude("altitude_m")?, barometer("barometer_kpa")?);
            said(tyre_gas::predicted_barometer(here, altitude("there_m")?).map(AbsolutePressure::kpa))
        }
        "at_altitude" => {
            let here = (
                Surroundings { gas: celsius(input, "t1_c")?, barometer: barometer("pa1_kpa")? },
                altitude("altitude_m")?,
            );
            let there = (celsius(input, "t2_c")?, altitude("there_m")?);
            said(tyre_gas::at_altitude(gauge("gauge_kpa")?, here, there).map(GaugePressure::kpa))
        }
        _ => Err(format!("unknown formula tyre_gas::{name}")),
    }
}

fn of_tyre_date(name: &str, input: &Table) -> Result<f64, String> {
    let parsed = TyreDate::parse(text(input, "text")?);
    match name {
        "TyreDate::parse.before-2000" => {
            return Ok(one_if(matches!(parsed, Err(TyreDateRefusal::BeforeMillennium { .. }))));
        }
        "TyreDate::parse.no-such-week" => {
            return Ok(one_if(matches!(parsed, Err(TyreDateRefusal::NoSuchWeek { .. }))));
        }
        "TyreDate::parse.not-a-code" => return Ok(one_if(matches!(parsed, Err(TyreDateRefusal::NotACode { .. })))),
        _ => {}
    }
    let tyre = said(parsed)?;
    match name {
        "TyreDate::first_day" => Ok(as_number(tyre.first_day())),
        "TyreDate::last_day" => Ok(as_number(tyre.last_day())),
        "TyreDate::age_at.whole-months" => Ok(f64::from(said(tyre.age_at(date(input, "on")?))?.whole_months())),
        "TyreDate::age_at.from-the-future" => {
            let age = tyre.age_at(date(input, "on")?);
            Ok(one_if(matches!(age, Err(TyreDateRefusal::FromTheFuture { .. }))))
        }
        _ => Err(format!("unknown formula tyre_date::{name}")),
    }
}

fn of_vin(name: &str, input: &Table) -> Result<f64, String> {
    let vin = Vin::parse(text(input, "vin")?);
    match name {
        "Vin::parse.length" => return Ok(one_if(matches!(vin, Err(VinRefusal::Length { .. })))),
        "Vin::parse.all-zeros" => return Ok(one_if(matches!(vin, Err(VinRefusal::AllZeros)))),
        "Vin::parse.hint" => {
            let Err(VinRefusal::Character { hint: Some(hint), .. }) = vin else { return Err("no hint".into()) };
            return hint.to_digit(10).map(f64::from).ok_or_else(|| "hint is no digit".into());
        }
        "Vin::parse.position" => {
            let Err(VinRefusal::Character { position, .. }) = vin else { return Err("no position".into()) };
            return Ok(position as f64);
        }
        _ => {}
    }
    let vin = said(vin)?;
    let digit = |c: char| c.to_digit(10).map_or(10.0, f64::from);
    match name {
        "Vin::expected_check_digit" => Ok(digit(vin.expected_check_digit())),
        "Vin::check_digit.matches" => Ok(one_if(vin.check_digit() == CheckDigit::Matches)),
        "Vin::check_digit.not-required" => Ok(one_if(vin.check_digit() == CheckDigit::NotRequired)),
        "Vin::check_digit.differs" => match vin.check_digit() {
            CheckDigit::Differs { expected } => Ok(digit(expected)),
            other => Err(format!("{other:?}")),
        },
        "Vin::region" => Ok(match vin.region() {
            Region::Africa => 1.0,
            Region::Asia => 2.0,
            Region::Europe => 3.0,
            Region::NorthAmerica => 4.0,
            Region::Oceania => 5.0,
            Region::SouthAmerica => 6.0,
            Region::Other => 0.0,
        }),
        "Vin::model_years.first" => vin.model_years().map(|[first, _]| f64::from(first)).ok_or_else(|| "none".into()),
        "Vin::model_years.second" => {
            vin.model_years().map(|[_, second]| f64::from(second)).ok_or_else(|| "none".into())
        }
        "Vin::model_years.none" => Ok(one_if(vin.model_years().is_none())),
        _ => Err(format!("unknown formula vin::{name}")),
    }
}

fn of_wear(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let mm = |key| mm(input, key);
    match function {
        "share_used" => {
            value_or_refused(wear::share_used(mm("new")?, mm("now")?, mm("limit")?).map(Ratio::one), figure)
        }
        "share_used_with_u" => {
            let (new, now) = ((mm("new")?, u(input, "new_u")?), (mm("now")?, u(input, "now_u")?));
            propagated(&said(wear::share_used_with_u(new, now, mm("limit")?))?, figure, Ratio::one)
        }
        "left" => said(wear::left(mm("now")?, mm("limit")?).map(Length::mm)),
        "taper" => said(wear::taper(mm("one")?, mm("other")?).map(Length::mm)),
        "taper_with_u" => {
            propagated(&said(wear::taper_with_u(mm("one")?, mm("other")?, u(input, "each_u")?))?, figure, Length::mm)
        }
        _ => Err(format!("unknown formula wear::{name}")),
    }
}

fn of_chain(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let mm = |key| mm(input, key);
    let count = |key| number(input, key).map(|count| count as u16);
    match function {
        "elongation" => {
            let result = chain::elongation(mm("length")?, count("pitches")?, mm("pitch")?);
            value_or_refused(result.map(Ratio::percent), figure)
        }
        "elongation_with_u" => {
            let length = (mm("length")?, u(input, "length_u")?);
            let result = said(chain::elongation_with_u(length, count("pitches")?, mm("pitch")?))?;
            propagated(&result, figure, Ratio::percent)
        }
        "length_at" => {
            let elongation = said(Ratio::from_percent(number(input, "percent")?))?;
            said(chain::length_at(elongation, count("pitches")?, mm("pitch")?).map(Length::mm))
        }
        "general_limit" => {
            let centres = if text(input, "centres")? == "fixed" { Centres::Fixed } else { Centres::Adjustable };
            value_or_refused(chain::general_limit(count("teeth")?, centres).map(Ratio::percent), figure)
        }
        "chain_size" => chain::chain_size(text(input, "size")?).map(|size| size.pitch_mm).ok_or_else(|| "none".into()),
        "play" => value_or_refused(chain::play(mm("run")?, mm("chain")?).map(Length::mm), figure),
        "chain_in_run" => said(chain::chain_in_run(mm("run")?, mm("play")?).map(Length::mm)),
        _ => Err(format!("unknown formula chain::{name}")),
    }
}

fn of_belt(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let mass = || number(input, "mass").and_then(|m| said(LinearDensity::from_kg_per_m(m)));
    let span = || number(input, "span_m").and_then(|m| said(Length::from_m(m)));
    let newton = |key| number(input, key).and_then(|n| said(Force::from_newton(n)));
    let hertz = || number(input, "hertz").and_then(|f| said(Frequency::from_hertz(f)));
    match function {
        "tension" => value_or_refused(belt::tension(mass()?, span()?, hertz()?).map(Force::newton), figure),
        "tension_with_u" => {
            let u = belt::SpanU {
                mass_kg_per_m: u(input, "mass_u")?,
                span_m: u(input, "span_u")?,
                frequency_hz: u(input, "hertz_u")?,
            };
            propagated(&said(belt::tension_with_u(mass()?, span()?, hertz()?, u))?, figure, Force::newton)
        }
        "frequency" => {
            value_or_refused(belt::frequency(mass()?, span()?, newton("tension")?).map(Frequency::hertz), figure)
        }
        "tension_from_deflection" => {
            let result = belt::tension_from_deflection(newton("force")?, mm(input, "deflection")?, span()?);
            value_or_refused(result.map(Force::newton), figure)
        }
        "tension_from_deflection_with_u" => {
            let u = belt::BentU {
                force_n: u(input, "force_u")?,
                deflection_mm: u(input, "deflection_u")?,
                span_mm: u(input, "span_u")?,
            };
            let deflection = mm(input, "deflection")?;
            let result = belt::tension_from_deflection_with_u(newton("force")?, deflection, span()?, u);
            propagated(&said(result)?, figure, Force::newton)
        }
        "force_for_deflection" => {
            said(belt::force_for_deflection(newton("tension")?, mm(input, "deflection")?, span()?).map(Force::newton))
        }
        _ => Err(format!("unknown formula belt::{name}")),
    }
}

fn of_lamp(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let mm = |key| mm(input, key);
    let percent = || number(input, "percent").and_then(|i| said(Inclination::from_percent(i)));
    match function {
        "inclination" => {
            let result = lamp::inclination(mm("lamp")?, mm("cut_off")?, mm("distance")?);
            value_or_refused(result.map(Inclination::percent), figure)
        }
        "inclination_with_u" => {
            let u = AimU {
                lamp_mm: u(input, "lamp_u")?,
                cut_off_mm: u(input, "cut_off_u")?,
                distance_mm: u(input, "distance_u")?,
                stance_percent: u(input, "stance_u")?,
            };
            let result = said(lamp::inclination_with_u(mm("lamp")?, mm("cut_off")?, mm("distance")?, u))?;
            propagated(&result, figure, Inclination::percent)
        }
        "drop_at" => said(lamp::drop_at(percent()?, mm("distance")?).map(Length::mm)),
        "reach" => value_or_refused(lamp::reach(mm("lamp")?, percent()?).map(|reach| 1000.0 * reach.km()), figure),
        "pitch" => said(lamp::pitch(mm("front")?, mm("rear")?, mm("wheelbase")?).map(Angle::degrees)),
        "after_pitch" => {
            let pitch = said(Angle::from_degrees(number(input, "pitch_degrees")?))?;
            said(lamp::after_pitch(percent()?, pitch).map(Inclination::percent))
        }
        _ => Err(format!("unknown formula lamp::{name}")),
    }
}

fn of_age(name: &str, input: &Table) -> Result<f64, String> {
    let age = Age::between(date(input, "from")?, date(input, "on")?);
    if name == "Age::between.refused" {
        return Ok(one_if(age.is_err()));
    }
    let age = said(age)?;
    Ok(match name {
        "Age::between.whole-months" => f64::from(age.whole_months()),
        "Age::between.whole-years" => f64::from(age.whole_years()),
        "Age::between.months-of-year" => f64::from(age.months_of_year()),
        "Age::between.days-of-month" => f64::from(age.days_of_month()),
        "Age::between.decimal-years" => age.decimal_years(),
        _ => return Err(format!("unknown formula age::{name}")),
    })
}

fn of_indicator(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let flashes = number(input, "flashes")? as u16;
    let during = said(Time::from_seconds(number(input, "seconds")?))?;
    match function {
        "flash_rate" => value_or_refused(indicator::flash_rate(flashes, during).map(Frequency::per_minute), figure),
        "flash_rate_with_u" => {
            let result = said(indicator::flash_rate_with_u(flashes, during, u(input, "seconds_u")?))?;
            propagated(&result, figure, Frequency::per_minute)
        }
        _ => Err(format!("unknown formula indicator::{name}")),
    }
}

/// Splits `function.figure`.
pub(crate) fn split(name: &str) -> (&str, Option<&str>) {
    name.split_once('.').map_or((name, None), |(function, figure)| (function, Some(figure)))
}

/// Returns the figure, or for the figure `refused` whether the formula refused for its own range.
pub(crate) fn value_or_refused(result: Result<f64, Refusal>, figure: Option<&str>) -> Result<f64, String> {
    match figure {
        None => said(result),
        Some("refused") => Ok(one_if(matches!(result, Err(Refusal::NotValid { .. } | Refusal::Quantity(_))))),
        Some(other) => Err(format!("unknown figure {other}")),
    }
}

/// Returns a figure of a propagated result: value, u, correction-u, or `of.<component>`.
pub(crate) fn propagated<T: Copy>(
    result: &Propagated<T>,
    figure: Option<&str>,
    in_unit: fn(T) -> f64,
) -> Result<f64, String> {
    match figure {
        Some("value") => Ok(in_unit(result.value())),
        Some("u") => Ok(result.u().get()),
        Some("correction-u") => said(result.correction_u().map(StandardUncertainty::get)),
        Some(figure) => {
            let name = figure.strip_prefix("of.").ok_or_else(|| format!("unknown figure {figure}"))?;
            let part = result.components().iter().find(|part| part.name() == name);
            part.map(|part| part.contribution().get()).ok_or_else(|| format!("no component {name}"))
        }
        None => Err("a figure must be named".into()),
    }
}

pub(crate) fn u(input: &Table, key: &str) -> Result<StandardUncertainty, String> {
    said(StandardUncertainty::new(number(input, key)?))
}

pub(crate) fn mm(input: &Table, key: &str) -> Result<Length, String> {
    said(Length::from_mm(number(input, key)?))
}

pub(crate) fn celsius(input: &Table, key: &str) -> Result<Temperature, String> {
    said(Temperature::from_celsius(number(input, key)?))
}

pub(crate) fn text<'a>(input: &'a Table, key: &str) -> Result<&'a str, String> {
    input.get(key).and_then(toml::Value::as_str).ok_or_else(|| format!("input has no text `{key}`"))
}

pub(crate) fn one_if(holds: bool) -> f64 {
    f64::from(u8::from(holds))
}

pub(crate) fn said<T, E: std::fmt::Display>(result: Result<T, E>) -> Result<T, String> {
    result.map_err(|refusal| refusal.to_string())
}

fn date(input: &Table, key: &str) -> Result<jiff::civil::Date, String> {
    said(text(input, key)?.parse())
}

fn as_number(date: jiff::civil::Date) -> f64 {
    f64::from(i32::from(date.year()) * 10_000 + i32::from(date.month()) * 100 + i32::from(date.day()))
}
