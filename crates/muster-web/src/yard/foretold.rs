//! What is to come of a machine's parts, by the newest estimate this device carries.

use muster_core::{
    forecast::{
        coming::Coming,
        falls::{Aging, Falls, Ridden, falls},
        practice::Practices,
        riding::{Riding, Season},
    },
    judge::{Context, coming},
    quantity::Distance,
    record::judged,
    words::Use,
};

use super::Yard;
use crate::clock;

impl Yard {
    /// Reads every part of a machine that the estimate knows, by its limits for a use.
    pub(crate) fn foretold<T>(self, id: &str, one: Use, read: impl Fn(&Coming<'_>) -> T) -> Vec<T> {
        let held = self.with(|held| Some((held.machine(id)?.clone(), held.known().yard.clone()))).flatten();
        let told = held.and_then(|(state, books)| {
            let (rules, machine) = (self.rules(), judged::machine(&books, &state)?);
            let context = Context::of(&rules.catalogue, &books, id, clock::now())?;
            let context = Context { machine: &machine, ..context };
            let forms = state.forms();
            Some(clock::timed("forecast", || coming(&context, &forms, one).iter().map(read).collect()))
        });
        told.unwrap_or_default()
    }

    /// What of a machine is due by age or distance alone, each with the probability that it is so within some days. How far
    /// it is ridden the estimate says; without one only ages count.
    pub(crate) fn falling(self, id: &str, practices: &Practices, days: i32) -> Vec<(Falls, f64)> {
        let held = self.with(|held| Some((held.machine(id)?.clone(), held.known().yard.clone()))).flatten();
        let told = held.and_then(|(state, books)| {
            let (rules, machine) = (self.rules(), judged::machine(&books, &state)?);
            let context = Context::of(&rules.catalogue, &books, id, clock::now())?;
            let context = Context { machine: &machine, ..context };
            let mounted = state.parts.values().filter(|part| part.removed.is_none());
            let aging = Aging { forms: state.forms(), parts: mounted.map(|part| &part.mounted).collect() };
            let (today, plain) = (context.now.date(), Season { months: [1.0; 12], day_km: 0.0 });
            let (season, riding) = match books.forecast.as_deref() {
                Some(estimate) => (&estimate.season, estimate.riding(id)),
                None => (&plain, Riding { day_km: 0.0, spread: 1.0 }),
            };
            let trace = state.odometer().map(|km| (today, Distance::km(km))).into_iter().collect();
            let ridden = Ridden { season, riding, trace: &trace };
            let all = falls(&context, practices, (&aging, ridden), Use::Road);
            let within = |one: Falls| {
                let p = one.within(ridden, (today, days));
                (one, p)
            };
            Some(all.into_iter().map(within).collect())
        });
        told.unwrap_or_default()
    }

    /// The day of the newest estimate; none where nothing was estimated.
    pub(crate) fn estimated(self) -> Option<String> {
        self.with(|held| held.known().yard.forecast.as_ref().map(|of| of.at.date().to_string())).flatten()
    }
}
