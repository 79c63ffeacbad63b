//! The latest readings of a machine, check by check: what its page shows before anybody opens a chart.

use std::collections::BTreeMap;

use muster_core::forecast::leaks::Leak;
use serde::{Deserialize, Serialize};

use crate::readings::{CheckReadings, ReadingsView};

/// How many readings of a place are told: a ruler marks five and is itself one; the rest stands in for marks that would lie
/// beyond its scale.
const LATEST: usize = 8;

/// A machine's latest readings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LatestView {
    /// Fleet number.
    pub machine: String,
    /// Checks with a reading, in the order of the catalogue.
    pub checks: Vec<CheckLatest>,
}

/// The latest readings of one check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CheckLatest {
    /// The check.
    pub check: String,
    /// Symbol of the unit the values are in.
    pub unit: String,
    /// How many readings there are whose distance is known: what a chart over the distance shows.
    pub over_distance: usize,
    /// Of a tyre's pressure: how fast it loses air and the day its low limit is met, in words; none where nobody can tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leak: Option<String>,
    /// Each place, or the check as a whole where places are not told apart.
    pub places: Vec<PlaceLatest>,
}

/// The latest readings of one place, at most eight, uncorrected, oldest first: the whole is at the door of the readings.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlaceLatest {
    /// The place, where places are told apart.
    pub place: Option<String>,
    /// When each was read, ISO 8601.
    pub at: Vec<String>,
    /// What was read, in the same order.
    pub values: Vec<f64>,
}

impl LatestView {
    /// The latest of a machine's readings.
    #[must_use]
    pub fn of(view: &ReadingsView) -> Self {
        Self { machine: view.machine.clone(), checks: view.checks.iter().map(of_check).collect() }
    }

    /// The same with what is lost of each tyre's air.
    #[must_use]
    pub fn leaking(mut self, leaks: &[Leak]) -> Self {
        for of in &mut self.checks {
            of.leak = leaks.iter().find(|leak| leak.check == of.check).map(Leak::said);
        }
        self
    }
}

fn of_check(of: &CheckReadings) -> CheckLatest {
    let mut places: BTreeMap<&Option<String>, PlaceLatest> = BTreeMap::new();
    for reading in of.readings.iter().rev() {
        let its = places.entry(&reading.place).or_default();
        if its.values.len() < LATEST {
            its.at.push(reading.at.clone());
            its.values.push(reading.value);
        }
    }
    let oldest_first = |(place, mut its): (&Option<String>, PlaceLatest)| {
        its.at.reverse();
        its.values.reverse();
        PlaceLatest { place: place.clone(), ..its }
    };
    CheckLatest {
        check: of.check.clone(),
        unit: of.unit.clone(),
        over_distance: of.readings.iter().filter(|reading| reading.odometer_km.is_some()).count(),
        leak: of.leak.clone(),
        places: places.into_iter().map(oldest_first).collect(),
    }
}
