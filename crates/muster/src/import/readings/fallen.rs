//! Rows whose odometer contradicts others of the table or what is known.

use std::collections::BTreeMap;

use muster_core::{
    calendar::{Moment, date},
    form::Form,
    quantity::{Distance, Kind, text, text::DecimalSign},
    record::machine_state::MachineState,
};

use super::{
    super::{
        odometers::{Figure, off},
        sheet::Sheet,
    },
    Read,
};
use crate::keeper::{NotDone, Trial};

/// Rows whose odometer falls, or is beyond a later one, each with why: beside each other and what is known.
pub(super) fn fallen(
    trial: &mut Trial<'_>,
    sheet: &Sheet,
    reads: &[Read<'_>],
) -> Result<BTreeMap<usize, String>, NotDone> {
    let sign = if sheet.is_comma { DecimalSign::Comma } else { DecimalSign::Point };
    let mut figures = BTreeMap::<&str, Vec<Figure>>::new();
    for (index, read) in reads.iter().enumerate() {
        let km = read.odometer.as_deref().and_then(|typed| km(typed, sign));
        let figure = km.map(|km| Figure { at: read.at, km, row: Some(index) });
        figures.entry(read.cells.get("machine").unwrap_or_default()).or_default().extend(figure);
    }
    let mut out = BTreeMap::new();
    for (machine, mut figures) in figures {
        if figures.is_empty() {
            continue;
        }
        figures.extend(trial.machine(machine)?.iter().flat_map(|state| known(state)));
        for (row, other) in off(figures) {
            let Some(read) = reads.get(row) else { continue };
            let odometer = read.odometer.as_deref().unwrap_or_default();
            let (less, when) = if other.at <= read.at { ("less", "before") } else { ("more", "after") };
            let (km, on) = (other.km.round(), other.at.date());
            let why = format!(
                "odometer: {odometer} is {less} than the {km} km of {on} {when} it: mend it, or leave it out if the instrument was changed"
            );
            out.insert(row, why);
        }
    }
    Ok(out)
}

/// What was typed, in km; none if it is no distance.
pub(super) fn km(typed: &str, sign: DecimalSign) -> Option<f64> {
    let amount = text::read(Kind::Distance, typed, sign).ok()?;
    Distance::try_from(amount).ok().map(Distance::km)
}

/// Odometer figures that are known of a machine with their time.
fn known(state: &MachineState) -> Vec<Figure> {
    let mut out = Vec::new();
    let mut note = |at: Moment, km: f64| out.push(Figure { at, km, row: None });
    for form in state.walk_rounds.values().map(|of| &of.form) {
        let Form { opened, odometer, answers, .. } = form;
        odometer.iter().for_each(|of| note(*opened, of.km()));
        answers.iter().for_each(|answer| answer.odometer.iter().for_each(|of| note(answer.at, of.km())));
    }
    for part in state.parts.values().map(|part| &part.mounted) {
        let on = part.on.as_deref().and_then(date);
        let at = on.and_then(|on| Moment::parse(&format!("{on}T12:00:00+00:00")).ok());
        let km = part.odometer.as_deref().and_then(|typed| km(typed, DecimalSign::Point));
        at.zip(km).into_iter().for_each(|(at, km)| note(at, km));
    }
    out
}
