//! What is to come of a machine's parts, by the newest estimate this device carries.

use muster_core::{
    forecast::coming::Coming,
    judge::{Context, coming},
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
            Some(coming(&context, &state.forms(), one).iter().map(read).collect())
        });
        told.unwrap_or_default()
    }

    /// The day of the newest estimate; none where nothing was estimated.
    pub(crate) fn estimated(self) -> Option<String> {
        self.with(|held| held.known().yard.forecast.as_ref().map(|of| of.at.date().to_string())).flatten()
    }
}
