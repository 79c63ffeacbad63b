//! Computes the evidence rows on the arithmetic of a decision: distributions, uncertainty, conformance, repeats, risk.

use super::{maybe_number, number, numbers};
use muster_core::statistics::conformance::{Window, guard_band};
use muster_core::statistics::global::{Prior, global_risk};
use muster_core::statistics::repeats::{
    Accuracy, Estimate, InstrumentError, Instruments, Repeatability, combined, difference_of,
};
use muster_core::statistics::student::{self, DegreesOfFreedom};
use muster_core::statistics::uncertainty::{Probability, StandardUncertainty, effective_degrees};
use muster_core::statistics::{Refusal, normal};
use toml::Table;

/// Returns what the core's `formula` gives for `input`.
pub(crate) fn compute(formula: &str, input: &Table) -> Result<f64, String> {
    let Some(path) = formula.strip_prefix("statistics::") else {
        return Err(format!("unknown formula {formula}"));
    };
    match path.split_once("::").unwrap_or_default() {
        ("normal", name) => of_normal(name, input),
        ("student", name) => of_student(name, input),
        ("uncertainty", name) => of_uncertainty(name, input),
        ("conformance", name) => of_conformance(name, input),
        ("repeats", name) => of_repeats(name, input),
        ("global", name) => of_global(name, input),
        _ => Err(format!("unknown formula {formula}")),
    }
}

fn of_normal(name: &str, input: &Table) -> Result<f64, String> {
    Ok(match name {
        "cdf" => normal::cdf(number(input, "z")?),
        "upper_tail" => normal::upper_tail(number(input, "z")?),
        "density" => normal::density(number(input, "z")?),
        "between" => normal::between(number(input, "low")?, number(input, "high")?),
        "quantile" => normal::quantile(probability(input)?),
        _ => return Err(format!("unknown formula normal::{name}")),
    })
}

fn of_student(name: &str, input: &Table) -> Result<f64, String> {
    let degrees = degrees(input)?;
    Ok(match name {
        "cdf" => student::cdf(number(input, "t")?, degrees),
        "quantile" => student::quantile(probability(input)?, degrees),
        "coverage_factor" => student::coverage_factor(probability(input)?, degrees),
        _ => return Err(format!("unknown formula student::{name}")),
    })
}

fn of_uncertainty(name: &str, input: &Table) -> Result<f64, String> {
    let parts = || -> Result<Vec<StandardUncertainty>, String> {
        numbers(input, "parts")?.into_iter().map(|u| said(StandardUncertainty::new(u))).collect()
    };
    let u = match name {
        "StandardUncertainty::rectangular" => StandardUncertainty::rectangular(number(input, "half_width")?),
        "StandardUncertainty::triangular" => StandardUncertainty::triangular(number(input, "half_width")?),
        "StandardUncertainty::resolution" => StandardUncertainty::resolution(number(input, "step")?),
        "StandardUncertainty::from_expanded" => {
            StandardUncertainty::from_expanded(number(input, "expanded")?, number(input, "coverage_factor")?)
        }
        "StandardUncertainty::expanded" => return Ok(uncertainty(input)?.expanded()),
        "StandardUncertainty::scaled" => uncertainty(input)?.scaled(number(input, "sensitivity")?),
        "StandardUncertainty::combine" => {
            let parts = parts()?;
            StandardUncertainty::combine(parts)
        }
        "effective_degrees" => {
            let parts = parts()?;
            let degrees = numbers(input, "degrees")?.into_iter().map(|nu| said(DegreesOfFreedom::new(nu)));
            let degrees = degrees.collect::<Result<Vec<_>, _>>()?;
            return Ok(effective_degrees(&parts.into_iter().zip(degrees).collect::<Vec<_>>()).get());
        }
        _ => return Err(format!("unknown formula uncertainty::{name}")),
    };
    said(u.map(StandardUncertainty::get))
}

fn of_conformance(name: &str, input: &Table) -> Result<f64, String> {
    let window = || window(input, "lower", "upper");
    match name {
        "Window::conformance" => {
            said(window()?.conformance(number(input, "value")?, uncertainty(input)?).map(Probability::get))
        }
        "Window::conformance_by_student" => {
            let p = window()?.conformance_by_student(number(input, "value")?, uncertainty(input)?, degrees(input)?);
            said(p.map(Probability::get))
        }
        "Window::best_possible" => Ok(window()?.best_possible(uncertainty(input)?).get()),
        "Window::largest_uncertainty" => {
            let u = window()?.largest_uncertainty(probability(input)?);
            u.map(StandardUncertainty::get).ok_or_else(|| "no largest uncertainty".into())
        }
        "Window::largest_uncertainty.exists" => {
            Ok(one_if(window()?.largest_uncertainty(probability(input)?).is_some()))
        }
        "guard_band" => Ok(guard_band(probability(input)?, uncertainty(input)?)),
        _ => of_acceptance(name, said(window()?.acceptance(probability(input)?, uncertainty(input)?))?),
    }
}

fn of_acceptance(name: &str, accepted: Option<Window>) -> Result<f64, String> {
    let end = match name {
        "Window::acceptance.exists" => return Ok(one_if(accepted.is_some())),
        "Window::acceptance.half_width" => accepted.and_then(Window::width).map(|width| width / 2.0),
        "Window::acceptance.lower" => accepted.and_then(Window::lower),
        "Window::acceptance.upper" => accepted.and_then(Window::upper),
        _ => return Err(format!("unknown formula conformance::{name}")),
    };
    end.ok_or_else(|| "no acceptance interval, or no such end".into())
}

fn of_repeats(name: &str, input: &Table) -> Result<f64, String> {
    if let Some(field) = name.strip_prefix("combined.") {
        return figure(&estimate(input, "readings")?, field);
    }
    if let Some(field) = name.strip_prefix("difference_of.") {
        let (a, mut b) = (estimate(input, "a")?, estimate(input, "b")?);
        if let Some(sensitivity) = maybe_number(input, "sensitivity_b")? {
            b = said(b.corrected(b.value() * sensitivity, sensitivity, StandardUncertainty::ZERO))?;
        }
        let instruments = match input.get("instruments").and_then(toml::Value::as_str) {
            Some("same") => Instruments::Same,
            Some("different") => Instruments::Different,
            other => return Err(format!("instruments {other:?}")),
        };
        return figure(&said(difference_of(&a, &b, instruments))?, field);
    }
    if let Some(field) = name.strip_prefix("Estimate::corrected.") {
        let (before, sensitivity) = (estimate(input, "readings")?, number(input, "sensitivity")?);
        let u = said(StandardUncertainty::new(number(input, "correction_u")?))?;
        return figure(&said(before.corrected(before.value() * sensitivity, sensitivity, u))?, field);
    }
    match name {
        "Repeatability::of" => Ok(scatter_of(&numbers(input, "readings")?)?.deviation().get()),
        "Repeatability::pooled.variance" => pooled(input).map(|all| all.deviation().get().powi(2)),
        "Repeatability::pooled.degrees" => pooled(input).map(|all| all.degrees().get()),
        _ => Err(format!("unknown formula repeats::{name}")),
    }
}

fn of_global(name: &str, input: &Table) -> Result<f64, String> {
    let prior = said(Prior::new(number(input, "mean")?, number(input, "deviation")?))?;
    let tolerance = window(input, "lower", "upper")?;
    let acceptance = window(input, "accept_lower", "accept_upper")?;
    let risk = said(global_risk(tolerance, acceptance, prior, uncertainty(input)?))?;
    match name {
        "global_risk.consumer" => Ok(risk.consumer.get()),
        "global_risk.producer" => Ok(risk.producer.get()),
        _ => Err(format!("unknown formula global::{name}")),
    }
}

fn estimate(input: &Table, readings: &str) -> Result<Estimate, String> {
    let accuracy = match maybe_number(input, "accuracy_k2")? {
        Some(expanded) => Accuracy::ExpandedK2(expanded),
        None => Accuracy::HalfWidth(maybe_number(input, "accuracy_half_width")?.unwrap_or(0.0)),
    };
    let instrument = said(InstrumentError::new(maybe_number(input, "step")?.unwrap_or(0.0), accuracy))?;
    let known = match maybe_number(input, "known_deviation")? {
        Some(deviation) => {
            let degrees = said(DegreesOfFreedom::new(number(input, "known_degrees")?))?;
            Some(Repeatability::new(said(StandardUncertainty::new(deviation))?, degrees))
        }
        None => None,
    };
    said(combined(&numbers(input, readings)?, instrument, known))
}

fn figure(estimate: &Estimate, field: &str) -> Result<f64, String> {
    match field {
        "value" => Ok(estimate.value()),
        "u" => Ok(estimate.u().get()),
        "degrees" => Ok(estimate.degrees().get()),
        _ => Err(format!("unknown figure {field}")),
    }
}

fn pooled(input: &Table) -> Result<Repeatability, String> {
    let samples = input.get("samples").and_then(toml::Value::as_array).ok_or("input has no list `samples`")?;
    let mut all: Option<Repeatability> = None;
    for sample in samples {
        let one = Table::from_iter([("sample".to_owned(), sample.clone())]);
        let scatter = scatter_of(&numbers(&one, "sample")?)?;
        all = Some(match all {
            Some(before) => said(before.pooled(scatter))?,
            None => scatter,
        });
    }
    all.ok_or_else(|| "no samples".into())
}

fn scatter_of(readings: &[f64]) -> Result<Repeatability, String> {
    said(Repeatability::of(readings))?.ok_or_else(|| "too few readings".into())
}

fn window(input: &Table, lower: &str, upper: &str) -> Result<Window, String> {
    said(Window::new(maybe_number(input, lower)?, maybe_number(input, upper)?))
}

fn uncertainty(input: &Table) -> Result<StandardUncertainty, String> {
    said(StandardUncertainty::new(number(input, "u")?))
}

fn probability(input: &Table) -> Result<Probability, String> {
    said(Probability::new(number(input, "p")?))
}

fn degrees(input: &Table) -> Result<DegreesOfFreedom, String> {
    said(DegreesOfFreedom::new(number(input, "degrees")?))
}

fn one_if(holds: bool) -> f64 {
    if holds { 1.0 } else { 0.0 }
}

fn said<T>(outcome: Result<T, Refusal>) -> Result<T, String> {
    outcome.map_err(|refusal| refusal.to_string())
}
