//! The yard at a glance: a machine's row is judged once for a moment, unless something was written about it since.

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, PoisonError, TryLockError, Weak},
};

use muster_core::{
    calendar::Moment,
    judge::{Context, Verdict},
    record::{judged, machine_state::MachineState},
    yard::Yard,
};

use super::Keeper;
use muster_wire::{
    glance::{Glances as AtAGlance, Row},
    sync::Holds,
    yard::MachineRow,
};

use crate::store::StoreError;

/// A machine's row and the verdict it is sorted by.
#[derive(Clone)]
pub struct Glance {
    /// The verdict of the use planned.
    pub verdict: Verdict,
    /// The row.
    pub row: Arc<MachineRow>,
    /// The same as the app shows it.
    pub brief: Arc<Row>,
}

/// Rows by machine, each behind its own lock.
#[derive(Default)]
pub(super) struct Glances(Mutex<BTreeMap<String, Arc<Mutex<Option<Kept>>>>>);

/// A row with what it was judged from. Weak, so that keeping a row keeps no old state alive.
struct Kept {
    state: Weak<MachineState>,
    yard: Weak<Yard>,
    at: Moment,
    glance: Glance,
}

impl Glances {
    fn of(&self, id: &str) -> Arc<Mutex<Option<Kept>>> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.entry(id.to_string()).or_default().clone()
    }
}

impl Keeper {
    /// Every machine's row as judged at a moment. The last moment's are kept. Several who ask at once share the work: a row
    /// that another judges is left till the rest is done, and then it is there.
    ///
    /// # Errors
    /// [`StoreError`] if events cannot be read.
    pub fn glances(&self, at: Moment) -> Result<Vec<Glance>, StoreError> {
        let (mut found, mut later) = (Vec::new(), Vec::new());
        for id in self.known().yard.machines.keys() {
            let row = self.glances.of(id);
            let kept = match row.try_lock() {
                Ok(kept) => Some(kept),
                Err(TryLockError::Poisoned(kept)) => Some(kept.into_inner()),
                Err(TryLockError::WouldBlock) => None,
            };
            match kept {
                Some(mut kept) => found.extend(self.glance(id, at, &mut kept)?),
                None => later.push((id.clone(), row.clone())),
            }
        }
        for (id, row) in later {
            found.extend(self.glance(&id, at, &mut row.lock().unwrap_or_else(PoisonError::into_inner))?);
        }
        Ok(found)
    }

    /// The yard as an app shows it before it can judge by itself; without rows where it judges sooner than it reads them.
    /// Names are the asker's to add.
    ///
    /// # Errors
    /// [`StoreError`] if events cannot be read.
    pub fn at_a_glance(&self, at: Moment) -> Result<AtAGlance, StoreError> {
        let heads = self.store.heads()?;
        let yard = self.known().yard;
        let few = yard.machines.len() <= AtAGlance::MOST;
        let glances = if few { self.glances(at)? } else { Vec::new() };
        let mut rows: Vec<Row> = glances.into_iter().map(|glance| (*glance.brief).clone()).collect();
        // What was written while they were judged may be in one row and not in another: these are of no state.
        if self.store.heads()? != heads {
            rows.clear();
        }
        rows.sort_by(|a, b| a.row.cmp(&b.row).then_with(|| a.machine.cmp(&b.machine)));
        Ok(AtAGlance {
            judged_at: at.to_string(),
            heads: Holds::from(&heads).heads,
            name: yard.name.clone(),
            time_zone: yard.time_zone.clone(),
            names: BTreeMap::new(),
            rows,
        })
    }

    /// A machine's row, judged anew unless the one kept is of this moment and nothing it rests on has changed.
    fn glance(&self, id: &str, at: Moment, kept: &mut Option<Kept>) -> Result<Option<Glance>, StoreError> {
        let (Some(state), yard) = (self.machine(id)?, self.known().yard) else { return Ok(None) };
        let is_its = |kept: &&Kept| {
            let own = kept.state.upgrade().is_some_and(|its| Arc::ptr_eq(&its, &state));
            own && kept.at == at && kept.yard.upgrade().is_some_and(|its| Arc::ptr_eq(&its, &yard))
        };
        if let Some(kept) = kept.as_ref().filter(is_its) {
            return Ok(Some(kept.glance.clone()));
        }
        let judgement = judged::judgement(&self.catalogue, &yard, &state, at, None);
        let Some((judgement, machine)) = judgement.zip(judged::machine(&yard, &state)) else { return Ok(None) };
        let context = Context::of(&self.catalogue, &yard, id, at);
        let Some(context) = context.map(|context| Context { machine: &machine, ..context }) else { return Ok(None) };
        let brief = Arc::new(Row::of(&context, &self.jobs, &state, &judgement).brief());
        let verdict = judgement.planned().map_or(Verdict::Unseen, |of| of.verdict);
        let row = Arc::new(MachineRow::of(machine.row, &judgement, machine.service.as_str(), &state));
        let glance = Glance { verdict, row, brief };
        let (state, yard) = (Arc::downgrade(&state), Arc::downgrade(&yard));
        *kept = Some(Kept { state, yard, at, glance: glance.clone() });
        Ok(Some(glance))
    }
}
