//! A fit as bytes: what the event *forecast estimated* carries, and its hash.

use alloc::{
    collections::BTreeMap,
    string::{String, ToString},
    vec::Vec,
};

use serde::{Deserialize, Serialize};

use super::{
    effects::Effect,
    fit::{Fit, KindFit},
    parameters::COUNT,
};
use crate::{
    hash,
    quantity::{Kind, Unit},
    sorted,
};

/// The version of what is written.
const SCHEMA: u32 = 1;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    schema: u32,
    kinds: BTreeMap<String, WrittenKind>,
    /// Gauge, unit, bias, variance.
    gauges: Vec<(String, String, f64, f64)>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenKind {
    unit: String,
    theta: [f64; COUNT],
    /// Empty where one set of numbers stands for all.
    root: Vec<[f64; COUNT]>,
    fresh: f64,
    models: BTreeMap<String, (f64, f64)>,
    models_variance: f64,
    chains: u32,
    readings: u32,
    unfinished: bool,
}

/// Why parameters cannot be read as a fit.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAFit {
    /// No such JSON.
    #[error("the forecast's parameters cannot be read: {0}")]
    Unreadable(String),
    /// Another version.
    #[error("the forecast's parameters are of version {0}, this program reads 1: update it")]
    Version(u32),
    /// A figure or unit that means nothing.
    #[error("the forecast's parameters hold a figure that means nothing in {0}")]
    Meaningless(String),
}

/// A unit's own spelling: a slope's per cent is another than a share's.
fn spelt(unit: Unit) -> String {
    if unit == Unit::PercentSlope { "% slope".to_string() } else { unit.symbol().to_string() }
}

fn unit_of(text: &str) -> Option<Unit> {
    if text == "% slope" {
        return Some(Unit::PercentSlope);
    }
    let all = Kind::ALL.iter().flat_map(|kind| kind.units());
    all.copied().find(|unit| *unit != Unit::PercentSlope && unit.symbol() == text)
}

impl Fit {
    /// Its parameters as JSON, keys in order, and their SHA-256: the payload of *forecast estimated*.
    ///
    /// # Errors
    /// What JSON refuses; a fit holds none of it.
    pub fn written(&self) -> Result<(String, String), serde_json::Error> {
        let kind = |kind: &KindFit| WrittenKind {
            unit: spelt(kind.unit),
            theta: kind.theta,
            root: kind.root.map_or_else(Vec::new, |root| root.to_vec()),
            fresh: kind.fresh,
            models: sorted::map(kind.models.iter().map(|(name, of)| (name.clone(), (of.mean, of.variance)))),
            models_variance: kind.models_variance,
            chains: kind.chains,
            readings: kind.readings,
            unfinished: kind.unfinished,
        };
        let gauges = self.gauges.iter();
        let gauges = gauges.map(|((id, unit), of)| (id.clone(), spelt(*unit), of.mean, of.variance));
        let kinds = sorted::map(self.kinds.iter().map(|(check, of)| (check.clone(), kind(of))));
        let text = serde_json::to_string(&Written { schema: SCHEMA, kinds, gauges: gauges.collect() })?;
        let hash = hash::of_text(&text);
        Ok((text, hash))
    }

    /// Reads parameters back.
    ///
    /// # Errors
    /// [`NotAFit`]: another version, a figure that is none.
    pub fn read(parameters: &str) -> Result<Self, NotAFit> {
        let written: Written =
            serde_json::from_str(parameters).map_err(|error| NotAFit::Unreadable(error.to_string()))?;
        if written.schema != SCHEMA {
            return Err(NotAFit::Version(written.schema));
        }
        let mut out = Self::default();
        for (check, of) in written.kinds {
            let meaningless = || NotAFit::Meaningless(check.clone());
            let unit = unit_of(&of.unit).ok_or_else(meaningless)?;
            let root = match of.root.len() {
                0 => None,
                COUNT => of.root.try_into().ok(),
                _ => return Err(meaningless()),
            };
            let finite = of
                .theta
                .iter()
                .chain(root.iter().flatten().flatten())
                .all(|cell: &f64| cell.is_finite() && libm::fabs(*cell) < 100.0);
            if !finite || !(0.0..=10.0).contains(&of.fresh) || of.models_variance < 0.0 {
                return Err(meaningless());
            }
            let models =
                sorted::map(of.models.into_iter().map(|(name, (mean, variance))| (name, Effect { mean, variance })));
            let (theta, fresh, models_variance) = (of.theta, of.fresh, of.models_variance);
            let (chains, readings, unfinished) = (of.chains, of.readings, of.unfinished);
            let kind = KindFit {
                check: check.clone(),
                unit,
                theta,
                root,
                fresh,
                models,
                models_variance,
                chains,
                readings,
                unfinished,
            };
            out.kinds.insert(check, kind);
        }
        for (id, unit, mean, variance) in written.gauges {
            let unit = unit_of(&unit).ok_or_else(|| NotAFit::Meaningless(id.clone()))?;
            out.gauges.insert((id, unit), Effect { mean, variance });
        }
        Ok(out)
    }
}
