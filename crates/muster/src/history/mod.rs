//! Fourteen months at the demonstration's school, told by rule from a seed: what people wrote, and what was true.
//!
//! Nothing is faked: every event is a command that the core decided on the device that wrote it, by what that device knew.
//! What was true is told beside, for tests of what is estimated from the record; the record never holds it.

mod book;
mod course;
mod day;
mod forms;
mod founding;
mod gauge;
pub mod random;
mod real;
mod replay;
mod ride;
mod scenes;
mod settings;
mod story;
mod table;
mod walk;
mod wear;
mod workshop;

#[cfg(test)]
mod foretold;
#[cfg(test)]
mod tests;

use std::{collections::BTreeMap, sync::Arc};

use jiff::civil::Date;
use muster_core::{
    calendar, data,
    record::{
        event::Signed,
        id::{EventId, PersonId},
        private::PersonKey,
    },
    yard::Yard,
};
use sha2::{Digest, Sha256};

use crate::{
    keeper::{Vault, hex},
    store::StoreError,
};

use book::Book;
use forms::Sheet;
use real::Real;
pub use settings::Settings;
use story::{OFFICE, Story};
pub use table::Fault;
pub use wear::Life;

mod embedded {
    //! The demonstration yard's files, as the build found them.
    include!(concat!(env!("OUT_DIR"), "/embedded.rs"));
}

/// Events written into a store at once.
const BATCH: usize = 2000;

/// A history: its events, what was true, and the keys that go with it.
#[derive(Clone, Debug)]
pub struct History {
    /// Signed events in the order the office received them.
    pub events: Vec<Signed>,
    /// What was true.
    pub truth: Truth,
    /// Commands that the core refused, each with the reason: people err.
    pub refused: Vec<String>,
    /// Keys of the people who were not erased.
    pub keys: Vec<(PersonId, PersonKey)>,
    /// The office's own key: an installation that holds it goes on with the office's series.
    pub office: [u8; 32],
}

/// What nobody in the record knows.
#[derive(Clone, Debug, Default)]
pub struct Truth {
    /// Every part's life, gone ones too.
    pub lives: Vec<Life>,
    /// The true figure where something was read, by the reading's event, in the unit it was written in; the worst place's.
    pub readings: BTreeMap<EventId, f64>,
    /// Kilometres on the range and on the road since the first day, by machine, at the end.
    pub ridden_km: BTreeMap<String, (f64, f64)>,
    /// Air each machine's front and rear tyre loses in kPa a day, at 20 °C.
    pub leak_kpa: BTreeMap<String, [f64; 2]>,
}

impl History {
    /// The demonstration's history.
    ///
    /// # Errors
    /// None for the files this build carries; a test tells it.
    pub fn demo() -> Result<Self, Fault> {
        Self::tell(&Settings::demo()?)
    }

    /// Tells a history of the demonstration's school.
    ///
    /// # Errors
    /// [`Fault`] if the settings name what is not there.
    pub fn tell(settings: &Settings) -> Result<Self, Fault> {
        let problems = |found: Vec<muster_core::load::Problem>| Fault(format!("{found:?}"));
        let catalogue = data::catalogue().map_err(problems)?;
        let jobs = data::job_kinds(&catalogue).map_err(problems)?;
        let (forms, files): (Vec<_>, Vec<_>) = embedded::DEMO.iter().partition(|(name, _)| name.starts_with("forms/"));
        let (yard, _) = Yard::load(&files, &catalogue);
        let mut sheets = forms.iter().map(|(name, text)| Sheet::read(name, text)).collect::<Result<Vec<_>, _>>()?;
        sheets.sort_by(|a, b| (a.opened, &a.file).cmp(&(b.opened, &b.file)));
        let devices = settings.devices.iter().map(|row| founding::device(settings, &row.id)).collect();
        let files = files.iter().map(|(name, text)| (name.to_string(), text.to_string())).collect();
        let book = Book::new(Arc::new(catalogue), jobs, devices);
        let mut story = Story::new(settings, book, sheets.clone(), files);
        for id in yard.machines.keys() {
            let own: Vec<&Sheet> = sheets.iter().filter(|sheet| sheet.machine == *id).collect();
            story.reals.extend(Real::new(settings, &yard, id, &own, &forced(id)));
        }
        story.founds()?;
        story.tell();
        Ok(Self::of(settings, story))
    }

    fn of(settings: &Settings, story: Story<'_>) -> Self {
        let (reals, truths, refused) = (story.reals, story.truths, story.refused);
        let kept = settings.people.iter().filter(|row| row.erased.is_none());
        let office = settings.devices.get(OFFICE).map_or("office", |row| row.id.as_str());
        Self {
            truth: Truth {
                ridden_km: reals.iter().map(|real| (real.id.clone(), (real.range_km, real.road_km))).collect(),
                leak_kpa: reals.iter().map(|real| (real.id.clone(), real.leak_kpa)).collect(),
                lives: reals.into_iter().flat_map(|real| real.lives).collect(),
                readings: truths.into_iter().collect(),
            },
            refused,
            keys: kept.map(|row| (row.id.clone(), founding::person_key(settings, &row.id))).collect(),
            office: founding::device_seed(settings, office),
            events: story.book.into_log(),
        }
    }

    /// Writes it into an empty store: the office's own key, the people's keys, all events.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written.
    pub fn write_into(&self, vault: &dyn Vault) -> Result<(), StoreError> {
        vault.put_own_key(&self.office)?;
        for (person, key) in &self.keys {
            vault.put_key(person, key)?;
        }
        for batch in self.events.chunks(BATCH) {
            vault.append(batch)?;
        }
        Ok(())
    }

    /// SHA-256 over all event bytes in their order, a line feed after each, in hexadecimal.
    #[must_use]
    pub fn digest(&self) -> String {
        let mut digest = Sha256::new();
        for signed in &self.events {
            digest.update(signed.event.as_bytes());
            digest.update(b"\n");
        }
        hex(&digest.finalize())
    }
}

/// Days a machine rides because a scene needs it.
fn forced(machine: &str) -> Vec<Date> {
    let its = scenes::FORCED.iter().filter(|(id, _)| *id == machine);
    its.filter_map(|(_, on)| calendar::date(on)).collect()
}
