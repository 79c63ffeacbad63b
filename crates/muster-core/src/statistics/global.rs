//! How often a decision rule errs over a whole fleet: the global risks of letting bad pass and of stopping good.

use super::conformance::Window;
use super::normal;
use super::refusal::{Refusal, finite, positive};
use super::uncertainty::{Probability, StandardUncertainty};
use alloc::vec::Vec;

/// How the true values of a fleet are spread, before any is measured: a normal distribution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    mean: f64,
    deviation: f64,
}

impl Prior {
    /// Returns the prior of that mean and standard deviation, both in the unit of the value.
    ///
    /// # Errors
    /// Refuses a mean that is not finite, and a deviation that is not finite and above 0.
    pub fn new(mean: f64, deviation: f64) -> Result<Self, Refusal> {
        Ok(Self { mean: finite("mean", mean)?, deviation: positive("standard deviation", deviation)? })
    }
}

/// The two ways in which a rule errs, as shares of all that is measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GlobalRisk {
    /// Does not conform, and is accepted.
    pub consumer: Probability,
    /// Conforms, and is rejected.
    pub producer: Probability,
}

/// Returns the global risks of accepting the readings inside `acceptance`, where the truth must lie inside `tolerance`.
///
/// R_C = ∫ outside tolerance, R_P = ∫ inside tolerance, of g(η) P(accepted | η) or g(η) (1 − P(accepted | η)) dη
///
/// g is the prior's density; P(accepted | η) the share of readings of a true η, with standard uncertainty `u`, inside
/// `acceptance`. Missing bounds are infinite: a one-sided rule rejects nothing on its open side.
///
/// Source: JCGM 106:2012, 9.5.2, equations 18 and 19, normal prior and normal error.
/// Quadrature: Gauss–Legendre of 8 points (Abramowitz & Stegun, table 25.4) on panels of half the smaller deviation,
/// broken at every bound, out to 9 deviations; error below 1e-12.
/// Worked: N(250, 12), u 4, 225 to 275 gives 0.008 124 and 0.019 010 (tests/golden/evidence/decision.toml).
///
/// # Errors
/// Refuses a prior whose spread vanishes beside its mean.
pub fn global_risk(
    tolerance: Window,
    acceptance: Window,
    prior: Prior,
    u: StandardUncertainty,
) -> Result<GlobalRisk, Refusal> {
    let (mut consumer, mut producer) = (0.0, 0.0);
    let edges = edges(tolerance, acceptance, prior, u);
    for pair in edges.windows(2) {
        let [from, to] = *pair else { continue };
        let middle = from + (to - from) / 2.0;
        // Away from the acceptance limits the chance of acceptance is flat; only there does u set the scale.
        let near_limit = [acceptance.lower(), acceptance.upper()]
            .into_iter()
            .flatten()
            .any(|limit| libm::fabs(middle - limit) <= REACH * u.get());
        let scale = if near_limit { prior.deviation.min(u.get()) } else { prior.deviation };
        let conforms = tolerance.contains(middle);
        let share = integrate(from, to, scale / 2.0, |truth| {
            let accepted = acceptance.conformance(truth, u)?.get();
            let density = normal::density((truth - prior.mean) / prior.deviation) / prior.deviation;
            Ok(density * if conforms { 1.0 - accepted } else { accepted })
        })?;
        if conforms {
            producer += share;
        } else {
            consumer += share;
        }
    }
    Ok(GlobalRisk { consumer: Probability::rounded_in(consumer), producer: Probability::rounded_in(producer) })
}

/// Standard deviations beyond which a normal tail, 1e-19, is left out.
const REACH: f64 = 9.0;

/// Returns, in order, the points between which the integrand is smooth.
fn edges(tolerance: Window, acceptance: Window, prior: Prior, u: StandardUncertainty) -> Vec<f64> {
    let first = prior.mean - REACH * prior.deviation;
    let last = prior.mean + REACH * prior.deviation;
    let mut edges: Vec<f64> = [first, last].to_vec();
    edges.extend([tolerance.lower(), tolerance.upper()].into_iter().flatten());
    for limit in [acceptance.lower(), acceptance.upper()].into_iter().flatten() {
        edges.extend([limit - REACH * u.get(), limit, limit + REACH * u.get()]);
    }
    edges.retain(|edge| (first..=last).contains(edge));
    edges.sort_by(f64::total_cmp);
    edges
}

/// Returns ∫ of `density` from `from` to `to`, on equal panels no wider than `widest`.
fn integrate(from: f64, to: f64, widest: f64, density: impl Fn(f64) -> Result<f64, Refusal>) -> Result<f64, Refusal> {
    if to <= from {
        return Ok(0.0);
    }
    // At most 2 × REACH of the smaller deviation lie between two edges, so the panels are few.
    let panels = libm::ceil((to - from) / positive("panel width", widest)?).max(1.0);
    let half = (to - from) / panels / 2.0;
    let (mut total, mut panel) = (0.0, 0.0);
    while panel < panels {
        let middle = from + (2.0 * panel + 1.0) * half;
        for (node, weight) in LEGENDRE {
            total += weight * half * (density(middle - node * half)? + density(middle + node * half)?);
        }
        panel += 1.0;
    }
    Ok(total)
}

/// Nodes and weights of the 8-point Gauss–Legendre rule on −1..1, one of each pair.
const LEGENDRE: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];
