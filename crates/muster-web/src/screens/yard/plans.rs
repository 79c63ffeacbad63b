//! What is planned: the next outing of each machine, and what the next day needs against what is fit for it.

use std::{collections::BTreeMap, sync::Arc};

use muster_core::{
    calendar::{Moment, days_later},
    judge::Verdict,
    record::{payload::OutingPlanned, payload::RosterRow, yard_state::YardState},
    sorted,
    words::Use,
};

use super::glance::Glance;
use crate::{clock, ui::clock_of, yard::Yard};

/// What is planned from now on.
#[derive(Clone, Default)]
pub(super) struct Plans {
    state: Option<Arc<YardState>>,
    next: BTreeMap<String, (Moment, String)>,
    /// Outings of the next day, by when they begin.
    pub(super) tomorrow: Vec<Need>,
}

impl PartialEq for Plans {
    fn eq(&self, other: &Self) -> bool {
        let same = match (&self.state, &other.state) {
            (Some(a), Some(b)) => Arc::ptr_eq(a, b),
            (None, None) => true,
            _ => false,
        };
        same && self.next.len() == other.next.len() && self.tomorrow == other.tomorrow
    }
}

/// An outing of the next day, and the machines the roster gives it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Need {
    pub(super) name: String,
    pub(super) from: Moment,
    pub(super) uses: Vec<Use>,
    /// How many machines it needs.
    pub(super) wanted: usize,
    /// Those the roster names.
    pub(super) given: Vec<String>,
}

/// How an outing's bays are filled.
pub(super) struct Filled {
    /// Machines in their bays, with the verdict for the outing's uses.
    pub(super) bays: Vec<(String, Verdict)>,
    /// Bays that stay empty.
    pub(super) short: usize,
    /// Fit machines that no outing of the day needs.
    pub(super) spare: Vec<String>,
}

impl Plans {
    pub(super) fn of(yard: &Yard) -> Self {
        let now = clock::now();
        let Some(state) = yard.with(|held| held.known().state.clone()) else { return Self::default() };
        let mut next: BTreeMap<String, (Moment, String)> = BTreeMap::new();
        let rows = state.rosters.values().flat_map(|(rows, _)| rows).filter(|row| row.to > now);
        for row in rows {
            let name = state.outings.values().find(|outing| is_of(row, outing)).map(|outing| outing.name.clone());
            let entry = (row.from, name.unwrap_or_default());
            let earlier = next.get(&row.machine).is_none_or(|(at, _)| row.from < *at);
            if earlier {
                next.insert(row.machine.clone(), entry);
            }
        }
        let day = days_later(now.date(), 1);
        let rows: Vec<&RosterRow> =
            state.rosters.get(&day.to_string()).map_or(Vec::new(), |(rows, _)| rows.iter().collect());
        let mut tomorrow: Vec<Need> = state
            .outings
            .values()
            .filter(|outing| outing.from.date() == day)
            .map(|outing| {
                let given: Vec<String> =
                    rows.iter().filter(|row| is_of(row, outing)).map(|row| row.machine.clone()).collect();
                let wanted = outing.riders.len().max(given.len());
                Need { name: outing.name.clone(), from: outing.from, uses: outing.uses.clone(), wanted, given }
            })
            .collect();
        sorted::sort_by(&mut tomorrow, |a, b| (a.from, &a.name).cmp(&(b.from, &b.name)));
        Self { state: Some(state), next, tomorrow }
    }

    /// A machine's next outing, in words.
    pub(super) fn next_of(&self, id: &str) -> Option<String> {
        let (at, name) = self.next.get(id)?;
        Some(format!("{} {name}", clock_of(*at)))
    }

    /// When it begins, as a text that sorts; those without one come last.
    pub(super) fn next_at(&self, id: &str) -> (bool, Option<Moment>) {
        let at = self.next.get(id).map(|(at, _)| *at);
        (at.is_none(), at)
    }
}

/// A roster's row belongs to the outing that goes out and comes back with it.
fn is_of(row: &RosterRow, outing: &OutingPlanned) -> bool {
    row.from == outing.from && row.rider.as_ref().is_none_or(|rider| outing.riders.contains(rider))
}

impl Need {
    /// Its bays: what the roster gives, then what is fit, then what is watch for its uses. What is on hold or unseen fills
    /// none.
    pub(super) fn filled(&self, machines: &[String], taken: &[String]) -> Filled {
        let verdict = |id: &String| {
            let glance = Glance::kept(id);
            let of = |one: &Use| glance.as_ref().and_then(|glance| glance.of(Some(*one))).map(|of| of.verdict);
            self.uses.iter().map(|one| of(one).unwrap_or(Verdict::Unseen)).max().unwrap_or(Verdict::Unseen)
        };
        let goes = |verdict: Verdict| verdict < Verdict::Unseen;
        let mut bays: Vec<(String, Verdict)> = self.given.iter().map(|id| (id.clone(), verdict(id))).collect();
        let mut free: Vec<(String, Verdict)> = machines
            .iter()
            .filter(|id| !self.given.contains(id) && !taken.contains(id))
            .map(|id| (id.clone(), verdict(id)))
            .filter(|(id, verdict)| goes(*verdict) && Glance::kept(id).is_some_and(|glance| glance.tags == 0))
            .collect();
        sorted::sort_by(&mut free, |(_, a), (_, b)| a.cmp(b));
        let mut free = free.into_iter();
        if self.given.is_empty() {
            bays.extend(free.by_ref().take(self.wanted));
        }
        let going = bays.iter().filter(|(_, verdict)| goes(*verdict)).count();
        Filled { short: self.wanted.saturating_sub(going), bays, spare: free.map(|(id, _)| id).collect() }
    }
}
