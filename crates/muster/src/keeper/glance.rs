//! The yard at a glance: a machine's row is judged once for a moment, unless something was written about it since.

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, PoisonError, Weak},
};

use muster_core::{
    calendar::Moment,
    judge::Verdict,
    record::{judged, machine_state::MachineState},
    yard::Yard,
};

use super::Keeper;
use muster_wire::yard::MachineRow;

use crate::store::StoreError;

/// A machine's row and the verdict it is sorted by.
#[derive(Clone)]
pub struct Glance {
    /// The verdict of the use planned.
    pub verdict: Verdict,
    /// The row.
    pub row: Arc<MachineRow>,
}

/// Rows by machine, each with what it was judged from. Weak, so that keeping a row keeps no old state alive.
#[derive(Default)]
pub(super) struct Glances(Mutex<BTreeMap<String, Kept>>);

struct Kept {
    state: Weak<MachineState>,
    yard: Weak<Yard>,
    at: Moment,
    glance: Glance,
}

impl Keeper {
    /// A machine's row as judged at a moment; none if there is no such machine. The last moment's is kept.
    ///
    /// # Errors
    /// [`StoreError`] if its events cannot be read.
    pub fn glance(&self, id: &str, at: Moment) -> Result<Option<Glance>, StoreError> {
        let (Some(state), yard) = (self.machine(id)?, self.known().yard) else { return Ok(None) };
        let is_its = |kept: &&Kept| {
            let own = kept.state.upgrade().is_some_and(|its| Arc::ptr_eq(&its, &state));
            own && kept.at == at && kept.yard.upgrade().is_some_and(|its| Arc::ptr_eq(&its, &yard))
        };
        // Held while judging: desks that look at once wait for one of them and share what it finds.
        let mut glances = self.glances.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(glance) = glances.get(id).filter(is_its).map(|kept| kept.glance.clone()) {
            return Ok(Some(glance));
        }
        let judgement = judged::judgement(&self.catalogue, &yard, &state, at, None);
        let Some((judgement, machine)) = judgement.zip(judged::machine(&yard, &state)) else { return Ok(None) };
        let verdict = judgement.planned().map_or(Verdict::Unseen, |of| of.verdict);
        let row = Arc::new(MachineRow::of(machine.row, &judgement, machine.service.as_str(), &state));
        let glance = Glance { verdict, row };
        let kept = Kept { state: Arc::downgrade(&state), yard: Arc::downgrade(&yard), at, glance: glance.clone() };
        glances.insert(id.to_string(), kept);
        Ok(Some(glance))
    }
}
