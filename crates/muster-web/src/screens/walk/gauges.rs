//! Which instruments of the yard read a check, and which was chosen last.

use leptos::{prelude::*, task::spawn_local};
use muster_core::{
    check::{Check, Measure},
    instrument::Instrument,
};

use super::{about::About, fields::Fields, walking::Walking};
use crate::clock;

/// The yard's instruments that can read it today.
pub(super) fn fitting(about: &About, measure: &Measure) -> Vec<Instrument> {
    let today = clock::now().date();
    let fits = |of: &&Instrument| {
        of.reads == measure.kind
            && (measure.instruments.is_empty() || measure.instruments.contains(&of.kind))
            && of.is_trusted(today)
    };
    about.books.instruments.values().filter(fits).cloned().collect()
}

/// The one it was read with last, else the first that can decide it.
pub(super) fn chosen(about: &About, check: &Check, instruments: &[Instrument], cannot: &[String]) -> Option<String> {
    let last = about.last(&check.id).and_then(|answer| answer.with.clone());
    let decides = |of: &&Instrument| !cannot.iter().any(|line| line.starts_with(&format!("{} ", of.id)));
    let last = last.filter(|id| instruments.iter().any(|of| of.id == *id && decides(&of)));
    last.or_else(|| instruments.iter().find(decides).or(instruments.first()).map(|of| of.id.clone()))
}

/// What a choice of instrument is remembered for.
pub(super) fn reads(measure: &Measure) -> String {
    let kinds: Vec<&str> = measure.instruments.iter().map(|kind| kind.as_str()).collect();
    format!("walk with {} {}", measure.kind.name(), kinds.join(" "))
}

/// Takes up what was chosen last.
pub(super) fn recall(
    walking: Walking,
    name: String,
    with: RwSignal<Option<String>>,
    fields: Fields,
    instruments: Vec<Instrument>,
) {
    let Some(disk) = walking.yard.disk() else { return };
    spawn_local(async move {
        let Ok(Some(id)) = disk.recall::<String>(&name).await else { return };
        if let Some(of) = instruments.iter().find(|of| of.id == id)
            && with.try_set(Some(id)).is_none()
        {
            fields.read_with(of);
        }
    });
}
