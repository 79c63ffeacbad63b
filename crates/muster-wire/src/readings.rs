//! What was read on a machine over its distance, check by check: what a chart is drawn from.

use std::collections::BTreeMap;

use muster_core::{
    catalogue::Catalogue,
    check::{Check, Measure, Shown, Yields},
    forecast::leaks::Leak,
    form::{Answer, Form, Said},
    quantity::convert,
    record::machine_state::MachineState,
    yard::Units,
};
use serde::{Deserialize, Serialize};

/// A machine's readings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ReadingsView {
    /// Fleet number.
    pub machine: String,
    /// Checks with a reading, in the order of the catalogue.
    pub checks: Vec<CheckReadings>,
}

/// The readings of one check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CheckReadings {
    /// The check.
    pub check: String,
    /// Its name.
    pub name: String,
    /// Symbol of the unit the values are in.
    pub unit: String,
    /// Decimals they are shown with.
    pub decimals: usize,
    /// Of a tyre's pressure: how fast it loses air and the day its low limit is met, in words; none where nobody can tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leak: Option<String>,
    /// As they were read, uncorrected, oldest first.
    pub readings: Vec<ReadingView>,
}

/// One reading at one place; the mean where it was repeated there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ReadingView {
    /// When, ISO 8601.
    pub at: String,
    /// Who.
    pub by: String,
    /// What the odometer showed, in km; none where nobody noted it.
    pub odometer_km: Option<f64>,
    /// The place, where places are told apart.
    pub place: Option<String>,
    /// What was read.
    pub value: f64,
    /// The act since the reading before, such as `pumped`.
    pub after: Option<String>,
}

impl ReadingsView {
    /// The readings of a machine, in the units of its yard.
    #[must_use]
    pub fn of(state: &MachineState, catalogue: &Catalogue, units: Units) -> Self {
        let forms = state.forms();
        let checks = catalogue.checks.iter().filter_map(|check| of_check(check, &forms, units)).collect();
        Self { machine: state.machine.clone(), checks }
    }

    /// The readings of one check alone; with none where nobody took any.
    #[must_use]
    pub fn of_one(state: &MachineState, check: &Check, units: Units) -> Self {
        Self { machine: state.machine.clone(), checks: of_check(check, &state.forms(), units).into_iter().collect() }
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

fn of_check(check: &Check, forms: &[&Form], units: Units) -> Option<CheckReadings> {
    let Yields::Read(measure) = &check.yields else { return None };
    let shown = shown(measure, units);
    let mut given: Vec<(&Form, &Answer)> =
        forms.iter().flat_map(|form| form.answers.iter().map(move |answer| (*form, answer))).collect();
    given.retain(|(_, answer)| answer.check == check.id);
    given.sort_by_key(|(_, answer)| answer.at);
    let readings: Vec<ReadingView> = given.into_iter().flat_map(|(form, answer)| read(form, answer, shown)).collect();
    (!readings.is_empty()).then(|| CheckReadings {
        check: check.id.clone(),
        name: check.name.clone(),
        unit: shown.unit.symbol().to_owned(),
        decimals: shown.decimals,
        leak: None,
        readings,
    })
}

fn shown(measure: &Measure, units: Units) -> Shown {
    match units {
        Units::Si => measure.si,
        Units::Us => measure.us,
    }
}

fn read(form: &Form, answer: &Answer, shown: Shown) -> Vec<ReadingView> {
    let Said::Read(figures) = &answer.said else { return Vec::new() };
    let mut places: BTreeMap<Option<&str>, Vec<f64>> = BTreeMap::new();
    for (place, amount) in figures {
        let value = convert(amount.value(), amount.unit(), shown.unit);
        places.entry(place.as_deref()).or_default().push(value);
    }
    let odometer = answer.odometer.or(form.odometer);
    let one = |(place, values): (Option<&str>, Vec<f64>)| ReadingView {
        at: answer.at.to_string(),
        by: answer.by.clone(),
        odometer_km: odometer.map(muster_core::quantity::Distance::km),
        place: place.map(str::to_owned),
        value: values.iter().sum::<f64>() / values.len() as f64,
        after: answer.after.clone(),
    };
    places.into_iter().map(one).collect()
}
