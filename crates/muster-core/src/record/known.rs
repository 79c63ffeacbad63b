//! What is known of a yard without reading its events again.

use alloc::{
    collections::BTreeMap,
    string::{String, ToString},
    sync::Arc,
    vec::Vec,
};

use super::{
    event::Event,
    fold::Applied,
    machine_state::{MachineState, Scope},
    payload::Kind,
    yard_state::YardState,
};
use crate::{catalogue::Catalogue, load::Problem, yard::Yard};

/// A yard, folded; cheap to clone, so that a reader holds no lock.
#[derive(Clone, Debug)]
pub struct Known {
    /// Its events, folded.
    pub state: Arc<YardState>,
    /// The same, as the judge takes it.
    pub yard: Arc<Yard>,
    /// What is wrong in its files.
    pub problems: Arc<Vec<Problem>>,
    /// Machines folded so far.
    pub machines: BTreeMap<String, Arc<MachineState>>,
    stale: bool,
}

impl Known {
    /// Folds a yard's events.
    #[must_use]
    pub fn of(events: &[Event], catalogue: &Catalogue) -> Self {
        let mut known = Self::unread(events);
        known.load(catalogue);
        known
    }

    /// The same before its files are read: [`Self::load`] does.
    #[must_use]
    pub fn unread(events: &[Event]) -> Self {
        Self {
            state: Arc::new(YardState::fold(events)),
            yard: Arc::default(),
            problems: Arc::default(),
            machines: BTreeMap::new(),
            stale: true,
        }
    }

    /// The yard without its machines: who reads of it for a while holds none of them fast, and events change them in place.
    #[must_use]
    pub fn of_yard(&self) -> Self {
        Self {
            state: self.state.clone(),
            yard: self.yard.clone(),
            problems: self.problems.clone(),
            machines: BTreeMap::new(),
            stale: self.stale,
        }
    }

    /// Takes an event of the yard; true if the whole has to be folded again.
    pub fn take_of_yard(&mut self, event: &Event) -> bool {
        if Arc::make_mut(&mut self.state).apply(event) == Applied::FoldAgain {
            return true;
        }
        match event.payload.kind() {
            // Whom and what a machine's events are trusted by has changed.
            Kind::PersonAdded | Kind::PersonChanged | Kind::PersonErased | Kind::DeviceAdded | Kind::DeviceRevoked => {
                self.machines.clear();
            }
            Kind::OutingPlanned | Kind::RosterSet | Kind::PaperIssued => {}
            _ => self.stale = true,
        }
        false
    }

    /// Takes an event of a machine; false if it has to be folded again.
    pub fn take_of_machine(&mut self, id: &str, event: &Event, catalogue: &Catalogue) -> bool {
        let Some(state) = self.machines.get_mut(id) else { return true };
        let scope = Scope { catalogue, yard: &self.state };
        Arc::make_mut(state).apply(event, scope) == Applied::Taken
    }

    /// Folds a machine's events.
    pub fn fold(&mut self, id: &str, events: &[Event], catalogue: &Catalogue) -> Arc<MachineState> {
        let state = Arc::new(MachineState::fold(id, events, Scope { catalogue, yard: &self.state }));
        self.machines.insert(id.to_string(), state.clone());
        state
    }

    /// Reads the yard's files, if any has changed since; whether one had.
    pub fn load(&mut self, catalogue: &Catalogue) -> bool {
        let is_stale = core::mem::take(&mut self.stale);
        if is_stale {
            let (yard, problems) = self.state.yard(catalogue);
            self.yard = Arc::new(yard);
            self.problems = Arc::new(problems);
        }
        is_stale
    }
}
