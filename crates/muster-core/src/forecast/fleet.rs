//! Every chain of every kind, with the gauges and models they share.

use alloc::{string::String, vec::Vec};

use super::{parameters::Prior, path::Chain};
use crate::quantity::Unit;

/// All that a fit learns from.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fleet {
    /// Kinds of part.
    pub kinds: Vec<Kind>,
    /// Gauges, each in one unit.
    pub gauges: Vec<Gauge>,
    /// Models of machines.
    pub groups: Vec<String>,
}

/// One kind of part over the whole fleet.
#[derive(Clone, Debug, PartialEq)]
pub struct Kind {
    /// The check it is read at.
    pub check: String,
    /// Its figures' unit.
    pub unit: Unit,
    /// What is usual before any reading.
    pub prior: Prior,
    /// One chain a machine.
    pub chains: Vec<Chain>,
}

/// A gauge and how far off it may be before anything is learnt.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    /// Its number.
    pub id: String,
    /// The unit its bias is in.
    pub unit: Unit,
    /// Standard deviation of its bias as it is stated.
    pub deviation: f64,
}

impl Fleet {
    /// The place of a gauge in the list, which it joins if it is new.
    pub fn gauge(&mut self, id: &str, unit: Unit, deviation: f64) -> u32 {
        let known = self.gauges.iter().position(|gauge| gauge.id == id && gauge.unit == unit);
        let at = known.unwrap_or_else(|| {
            self.gauges.push(Gauge { id: id.into(), unit, deviation });
            self.gauges.len() - 1
        });
        u32::try_from(at).unwrap_or(u32::MAX)
    }

    /// The place of a model in the list, which it joins if it is new.
    pub fn group(&mut self, model: &str) -> u32 {
        let at = self.groups.iter().position(|known| known == model).unwrap_or_else(|| {
            self.groups.push(model.into());
            self.groups.len() - 1
        });
        u32::try_from(at).unwrap_or(u32::MAX)
    }
}
