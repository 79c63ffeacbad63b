//! Computes the evidence rows on brake records: closed forms written out as records, and records as they stand.

use super::physics::{one_if, said, split, text, value_or_refused};
use super::{maybe_number, number, numbers};
use muster_core::formula::Refusal;
use muster_core::formula::brake_test::{self, Brake, RecordRefusal, Stop};
use muster_core::quantity::{Distance, Speed, Time};
use toml::Table;

pub(super) fn of_test(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    match function {
        "of_times" => told(brake_test::of_times(&times(input)?), figure),
        "of_ways" => told(brake_test::of_ways(&ways(input)?), figure),
        "distance_from" => {
            let test = km_per_h(number(input, "test")?)?;
            value_or_refused(brake_test::distance_from(&stop(input, 0.0)?, test).map(metres), figure)
        }
        "longest" => {
            let longest = brake(input)?.longest(km_per_h(number(input, "from_km_h")?)?);
            value_or_refused(longest.map(metres), figure)
        }
        "least_mfdd" => Ok(brake(input)?.least_mfdd_m_per_s2()),
        "test_speed" => said(brake(input)?.test_speed().map(Speed::km_per_h)),
        "compare" => {
            let compared = said(brake_test::compare(&stop(input, number(input, "mfdd")?)?, brake(input)?))?;
            match figure {
                Some("mfdd-met") => Ok(one_if(compared.mfdd_m_per_s2.is_met)),
                Some("distance-met") => Ok(one_if(compared.distance_m.is_met)),
                _ => Err(format!("unknown figure of {name}")),
            }
        }
        _ => Err(format!("unknown formula brake_test::{name}")),
    }
}

fn told(stop: Result<Stop, RecordRefusal>, figure: Option<&str>) -> Result<f64, String> {
    let kind = match &stop {
        Ok(_) => "",
        Err(RecordRefusal::TooShort { .. }) => "too-short",
        Err(RecordRefusal::NotInOrder { .. }) => "not-in-order",
        Err(RecordRefusal::NotFalling { .. }) => "rising",
        Err(RecordRefusal::Gap { .. }) => "gap",
        Err(RecordRefusal::NotStanding { .. }) => "not-standing",
        Err(RecordRefusal::Formula(Refusal::NotValid { .. })) => "refused",
        Err(RecordRefusal::Formula(_)) => "other",
    };
    match figure {
        Some("mfdd") => Ok(said(stop)?.mfdd_m_per_s2),
        Some("distance") => Ok(metres(said(stop)?.stopped_after)),
        Some(figure) if figure == kind => Ok(1.0),
        _ => Err(format!("{figure:?}: {stop:?}")),
    }
}

fn metres(distance: Distance) -> f64 {
    1000.0 * distance.km()
}

fn km_per_h(of: f64) -> Result<Speed, String> {
    said(Speed::from_km_per_h(of))
}

fn stop(input: &Table, mfdd_m_per_s2: f64) -> Result<Stop, String> {
    Ok(Stop {
        from: km_per_h(number(input, "from_km_h")?)?,
        stopped_after: said(Distance::from_km(number(input, "distance")? / 1000.0))?,
        mfdd_m_per_s2,
    })
}

fn brake(input: &Table) -> Result<Brake, String> {
    Ok(match text(input, "brake")? {
        "motorcycle-front" => Brake::MotorcycleFront,
        "motorcycle-rear" => Brake::MotorcycleRear,
        "sidecar" => Brake::Sidecar,
        "moped-front" => Brake::MopedFront,
        "moped-rear" => Brake::MopedRear,
        other => return Err(format!("brake {other}")),
    })
}

fn times(input: &Table) -> Result<Vec<(Time, Speed)>, String> {
    let pairs: Vec<(f64, f64)> = match input.contains_key("times") {
        true => numbers(input, "times")?.into_iter().zip(numbers(input, "speeds")?).collect(),
        false => closed(input)?.into_iter().map(|(time, _, speed)| (time, speed)).collect(),
    };
    pairs.into_iter().map(|(time, speed)| Ok((said(Time::from_seconds(time))?, km_per_h(speed)?))).collect()
}

fn ways(input: &Table) -> Result<Vec<(Distance, Speed)>, String> {
    let pairs: Vec<(f64, f64)> = match input.contains_key("ways") {
        true => numbers(input, "ways")?.into_iter().zip(numbers(input, "speeds")?).collect(),
        false => closed(input)?.into_iter().map(|(_, way, speed)| (way, speed)).collect(),
    };
    pairs.into_iter().map(|(way, speed)| Ok((said(Distance::from_km(way / 1000.0))?, km_per_h(speed)?))).collect()
}

/// Returns time in s, way in m and speed in km/h of a stop in closed form, a row each step and one at its end.
fn closed(input: &Table) -> Result<Vec<(f64, f64, f64)>, String> {
    let (first, step, end) = (number(input, "v1")? / 3.6, number(input, "step")?, number(input, "end")?);
    let even = maybe_number(input, "a")?.zip(maybe_number(input, "ramp")?);
    let at = |t: f64| match even {
        // The deceleration grows evenly to `a` within `ramp`, and stays.
        Some((a, ramp)) if t <= ramp => (first * t - a * t * t * t / (6.0 * ramp), first - a * t * t / (2.0 * ramp)),
        Some((a, ramp)) => {
            let (after, v) = (t - ramp, first - a * ramp / 2.0);
            (first * ramp - a * ramp * ramp / 6.0 + v * after - a * after * after / 2.0, v - a * after)
        }
        // 6 + 1.5 sin 5t
        None => {
            let way = first * t - 3.0 * t * t - 0.3 * t + 0.06 * (5.0 * t).sin();
            (way, first - 6.0 * t - 0.3 * (1.0 - (5.0 * t).cos()))
        }
    };
    let steps = (end / step).floor() as u32;
    let on_the_way = (0..=steps).map(|index| step * f64::from(index)).filter(|t| *t < end - 1e-6);
    let row = |t: f64| {
        let (way, speed) = at(t);
        (t, way, (3.6 * speed).max(0.0))
    };
    Ok(on_the_way.chain([end]).map(row).collect())
}
