//! Computes the evidence rows on wear forecasts: the filter where it is a mixed model, first passage, straight lines, the search.

use super::{maybe_number, number, numbers};
use muster_core::forecast::lasting::{Life, Weibull};
use muster_core::forecast::optimum::{Until, highest};
use muster_core::forecast::passage::{Drift, gamma_met_by, met_by, quantile};
use muster_core::forecast::state::{Motion, State};
use muster_core::forecast::straight::{Line, Of};
use muster_core::statistics::uncertainty::Probability;
use toml::Table;

/// Reaction times of 18 subjects over ten days (Belenky et al. 2003), as lme4 1.1-31 ships them.
const SLEEP: &str = include_str!("../golden/evidence/sleepstudy.csv");

/// Returns what the core's forecasts give for `input`.
pub(crate) fn compute(formula: &str, input: &Table) -> Result<f64, String> {
    match formula.strip_prefix("forecast::").unwrap_or(formula) {
        "passage::met_by" => Ok(met_by(number(input, "d")?, number(input, "reach")?, drift(input)?)),
        "passage::quantile" => {
            let (reach, drift) = (number(input, "reach")?, drift(input)?);
            quantile(number(input, "p")?, 1e9, |d| met_by(d, reach, drift)).ok_or_else(|| "not in sight".into())
        }
        "passage::gamma_met_by" => gamma(input),
        "passage::gamma_quantile" => {
            let (reach, shape, scale) = (number(input, "reach")?, number(input, "shape")?, number(input, "scale")?);
            let by = |d| gamma_met_by(d, reach, shape, scale);
            quantile(number(input, "p")?, 1e9, by).ok_or_else(|| "not in sight".into())
        }
        name if name.starts_with("lasting::") => of_lives(name.trim_start_matches("lasting::"), input),
        name if name.starts_with("straight::") => of_line(name.trim_start_matches("straight::"), input),
        name if name.starts_with("state::sleep.") => of_sleep(name.trim_start_matches("state::sleep."), input),
        name if name.starts_with("state::unit.") => of_unit(name.trim_start_matches("state::unit."), input),
        name if name.starts_with("optimum::reml.") => fitted(name.trim_start_matches("optimum::reml.")),
        _ => Err(format!("unknown formula {formula}")),
    }
}

fn drift(input: &Table) -> Result<Drift, String> {
    let w = maybe_number(input, "w")?.unwrap_or(0.0);
    let s2 = match maybe_number(input, "s2")? {
        Some(s2) => s2,
        None => number(input, "s")? * number(input, "s")?,
    };
    Ok(Drift { rate: number(input, "rate")?, rate_variance: w * w, diffusion: s2 })
}

fn gamma(input: &Table) -> Result<f64, String> {
    Ok(gamma_met_by(number(input, "d")?, number(input, "reach")?, number(input, "shape")?, number(input, "scale")?))
}

fn of_line(name: &str, input: &Table) -> Result<f64, String> {
    let points: Vec<(f64, f64)> = numbers(input, "x")?.into_iter().zip(numbers(input, "y")?).collect();
    let line = Line::through(&points).ok_or("no line")?;
    let p = Probability::new(maybe_number(input, "p")?.unwrap_or(0.95)).map_err(|error| error.to_string())?;
    let meets = |of| line.meets(number(input, "limit").unwrap_or(f64::NAN), p, of);
    let interval = |of| meets(of).1.ok_or_else(|| "no interval".to_string());
    match name {
        "intercept" => Ok(line.intercept),
        "slope" => Ok(line.slope),
        "deviation" => Ok(line.deviation),
        "intercept-error" => Ok(line.errors().0),
        "slope-error" => Ok(line.errors().1),
        "at" => Ok(line.at(number(input, "at")?, p, Of::Line).0),
        "line-half" => Ok(line.at(number(input, "at")?, p, Of::Line).1),
        "reading-half" => Ok(line.at(number(input, "at")?, p, Of::Reading).1),
        "meets" => Ok(meets(Of::Line).0),
        "meets-low" => interval(Of::Line).map(|of| of.0),
        "meets-high" => interval(Of::Line).map(|of| of.1),
        "meets-reading-low" => interval(Of::Reading).map(|of| of.0),
        "meets-reading-high" => interval(Of::Reading).map(|of| of.1),
        _ => Err(format!("unknown formula straight::{name}")),
    }
}

fn of_lives(name: &str, input: &Table) -> Result<f64, String> {
    let lives = |key, ended| numbers(input, key).map(|of| of.into_iter().map(move |lasted| Life { lasted, ended }));
    let lives: Vec<Life> = lives("ended", true)?.chain(lives("going", false)?).collect();
    let law = Weibull::of(&lives).ok_or("no law")?;
    match name {
        "shape" => Ok(law.shape),
        "scale" => Ok(law.scale),
        "log-likelihood" => Ok(law.log_likelihood),
        "ended" => Ok(law.ended(number(input, "p")?)),
        _ => Err(format!("unknown formula lasting::{name}")),
    }
}

const STILL: Motion = Motion { regime: 0.0, memory: 1.0, brownian: 0.0 };

/// Level and rate of a subject, random around nothing: the filter with regime and diffusion off is the mixed model.
fn start(psi: [f64; 3]) -> State {
    State { mean: [0.0; 3], cov: [psi[0], psi[1], 0.0, psi[2], 0.0, 0.0] }
}

/// A series through the filter: innovations with their variances, and the last state.
fn series(psi: [f64; 3], sigma2: f64, data: &[(f64, f64)]) -> (Vec<(f64, f64)>, State) {
    let (mut state, mut at, mut out) = (start(psi), 0.0, Vec::new());
    for (x, y) in data {
        state.carry(x - at, &STILL);
        at = *x;
        let told = state.hear(*y, sigma2);
        out.push((told.surprise, told.variance));
        state.learn(&told);
    }
    (out, state)
}

fn subjects() -> Vec<(String, Vec<(f64, f64)>)> {
    let mut out: Vec<(String, Vec<(f64, f64)>)> = Vec::new();
    let head: Vec<&str> = SLEEP.lines().next().unwrap_or_default().split(',').collect();
    let column = |name: &str| head.iter().position(|cell| cell.trim_matches('"') == name).unwrap_or(usize::MAX);
    let (y, x, who) = (column("Reaction"), column("Days"), column("Subject"));
    for line in SLEEP.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').map(|cell| cell.trim_matches('"')).collect();
        let point = (cells[x].parse().expect("a day"), cells[y].parse().expect("a time"));
        match out.iter_mut().find(|(id, _)| *id == cells[who]) {
            Some((_, points)) => points.push(point),
            None => out.push((cells[who].to_string(), vec![point])),
        }
    }
    out
}

/// Generalised least squares by the filter: columns of the mean run through it beside the data (de Jong 1991).
struct Gls {
    beta: [f64; 2],
    cov: [f64; 3],
    reml: f64,
    ml: f64,
}

fn gls(psi: [f64; 3], sigma2: f64) -> Gls {
    let (mut a, mut b, mut yy, mut logs, mut n) = ([0.0; 3], [0.0; 2], 0.0, 0.0, 0.0);
    for (_, data) in subjects() {
        let ones: Vec<(f64, f64)> = data.iter().map(|(x, _)| (*x, 1.0)).collect();
        let days: Vec<(f64, f64)> = data.iter().map(|(x, _)| (*x, *x)).collect();
        let [y, one, day] = [&data, &ones, &days].map(|series_of| series(psi, sigma2, series_of).0);
        for ((y, one), day) in y.iter().zip(&one).zip(&day) {
            let (v, s) = *y;
            logs += s.ln();
            yy += v * v / s;
            a[0] += one.0 * one.0 / s;
            a[1] += one.0 * day.0 / s;
            a[2] += day.0 * day.0 / s;
            b[0] += one.0 * v / s;
            b[1] += day.0 * v / s;
            n += 1.0;
        }
    }
    let det = a[0] * a[2] - a[1] * a[1];
    let beta = [(a[2] * b[0] - a[1] * b[1]) / det, (a[0] * b[1] - a[1] * b[0]) / det];
    let rest = yy - beta[0] * b[0] - beta[1] * b[1];
    let two_pi = (2.0 * std::f64::consts::PI).ln();
    let (reml, ml) = (logs + (n - 2.0) * two_pi + det.ln() + rest, logs + n * two_pi + rest);
    Gls { beta, cov: [a[2] / det, -a[1] / det, a[0] / det], reml, ml }
}

fn of_sleep(name: &str, input: &Table) -> Result<f64, String> {
    let psi = [number(input, "psi00")?, number(input, "psi01")?, number(input, "psi11")?];
    let sigma2 = number(input, "sigma2")?;
    let fit = gls(psi, sigma2);
    match name {
        "reml" => return Ok(fit.reml),
        "ml" => return Ok(fit.ml),
        "beta0" => return Ok(fit.beta[0]),
        "beta1" => return Ok(fit.beta[1]),
        "se0" => return Ok(fit.cov[0].sqrt()),
        "se1" => return Ok(fit.cov[2].sqrt()),
        _ => {}
    }
    let who = number(input, "subject")?.to_string();
    let (_, data) = subjects().into_iter().find(|(id, _)| *id == who).ok_or("no such subject")?;
    let last = data.last().map_or(0.0, |(x, _)| *x);
    let on = maybe_number(input, "day")?.unwrap_or(last);
    let ahead = |values: Vec<(f64, f64)>| {
        let mut state = series(psi, sigma2, &values).1;
        state.carry(on - last, &STILL);
        state
    };
    let rest = ahead(data.iter().map(|(x, y)| (*x, y - fit.beta[0] - fit.beta[1] * x)).collect());
    let off = [
        1.0 - ahead(data.iter().map(|(x, _)| (*x, 1.0)).collect()).mean[0],
        on - ahead(data.iter().map(|(x, _)| (*x, *x)).collect()).mean[0],
    ];
    let [c00, c01, c11] = fit.cov;
    let variance = rest.cov[0] + off[0] * off[0] * c00 + 2.0 * off[0] * off[1] * c01 + off[1] * off[1] * c11;
    match name {
        "blup0" => Ok(rest.mean[0] - on * rest.mean[1]),
        "blup1" => Ok(rest.mean[1]),
        "mean" => Ok(fit.beta[0] + fit.beta[1] * on + rest.mean[0]),
        "mean-sd" => Ok(variance.sqrt()),
        "reading-sd" => Ok((variance + sigma2).sqrt()),
        _ => Err(format!("unknown formula sleep.{name}")),
    }
}

/// A new unit with few readings, the fleet's numbers known: one machine, three readings, the fleet's prior.
fn of_unit(name: &str, input: &Table) -> Result<f64, String> {
    let psi = [number(input, "psi00")?, number(input, "psi01")?, number(input, "psi11")?];
    let (sigma2, beta) = (number(input, "sigma2")?, [number(input, "beta0")?, number(input, "beta1")?]);
    let points: Vec<(f64, f64)> = numbers(input, "x")?.into_iter().zip(numbers(input, "y")?).collect();
    let last = points.last().map_or(0.0, |(x, _)| *x);
    let rest: Vec<(f64, f64)> = points.iter().map(|(x, y)| (*x, y - beta[0] - beta[1] * x)).collect();
    let mut state = series(psi, sigma2, &rest).1;
    let on = number(input, "day")?;
    state.carry(on - last, &STILL);
    match name {
        "level" => Ok(state.mean[0] - on * state.mean[1]),
        "rate" => Ok(state.mean[1]),
        "mean" => Ok(beta[0] + beta[1] * on + state.mean[0]),
        "line-sd" => Ok(state.cov[0].sqrt()),
        "reading-sd" => Ok((state.cov[0] + sigma2).sqrt()),
        _ => Err(format!("unknown formula unit.{name}")),
    }
}

/// The search itself: restricted likelihood of the sleep study over the Cholesky factors of the covariance and ln sigma.
fn fitted(name: &str) -> Result<f64, String> {
    let of = |t: &[f64; 4]| {
        let (a, b, c) = (t[0].exp(), t[1], t[2].exp());
        ([a * a, a * b, b * b + c * c], (2.0 * t[3]).exp())
    };
    let height = |t: &[f64; 4]| {
        let (psi, sigma2) = of(t);
        -gls(psi, sigma2).reml / 2.0
    };
    let until = Until { slope: 1e-6, steps: 200, difference: 1e-4, both_sides: true };
    let top = highest([3.0, 0.0, 1.5, 3.0], until, height);
    let (psi, sigma2) = of(&top.at);
    match name {
        "psi00" => Ok(psi[0]),
        "psi01" => Ok(psi[1]),
        "psi11" => Ok(psi[2]),
        "sigma2" => Ok(sigma2),
        "deviance" => Ok(-2.0 * top.value),
        _ => Err(format!("unknown formula reml.{name}")),
    }
}
