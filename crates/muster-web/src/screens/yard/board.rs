//! The yard's rows: judged in small slices, filtered, found and sorted; shared by the desk's table and the phone's list.

use std::{cell::Cell, collections::BTreeMap, rc::Rc, sync::Arc};

use leptos::{prelude::*, task::spawn_local};
use muster_core::{judge::Verdict, sorted, words::Use};
use muster_wire::glance::Glances;

use super::{
    glance::{Alive, Glance, Row, all_of_now, is_stale, keep},
    plans::Plans,
};
use crate::{
    clock,
    pace::Pace,
    ui::Sorted,
    yard::{Yard, yard},
};

/// How often what was judged is told while more is, ms: each telling counts and sorts the whole yard.
const TOLD_MS: f64 = 120.0;

/// What the table is sorted by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum By {
    Number,
    Model,
    Verdict,
    Stations,
    Check,
    Margin,
    Due,
    Who,
    Next,
    Jobs,
    Tags,
    RunsOut,
}

/// What runs out first on each machine: how many days off, and in words.
pub(super) type RunsOut = Arc<BTreeMap<String, (f64, String)>>;

/// Which machines are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shown {
    All,
    Of(Verdict),
    Out,
}

/// How many there are of each verdict, and out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Counts {
    pub(super) all: usize,
    /// In the order of the verdicts.
    pub(super) of: [usize; 4],
    pub(super) out: usize,
    /// Not judged yet.
    pub(super) waiting: usize,
}

/// The yard's rows and how they are looked at.
#[derive(Clone, Copy)]
pub(super) struct Board {
    pub(super) yard: Yard,
    /// Fleet numbers in the order of their rows.
    pub(super) machines: Memo<Arc<Vec<String>>>,
    /// What is shown of what is not judged yet.
    at_a_glance: Memo<AtAGlance>,
    /// Rises when some have been judged.
    pub(super) judged: RwSignal<u64>,
    /// Which are in view: they are judged first.
    in_view: RwSignal<Vec<String>>,
    pub(super) shown: RwSignal<Shown>,
    /// By which use the yard is looked at; none: as planned.
    pub(super) one: RwSignal<Option<Use>>,
    pub(super) sorted: RwSignal<Sorted<By>>,
    pub(super) sought: RwSignal<String>,
    pub(super) plans: Memo<Plans>,
    /// Worked out only where the yard is sorted by it.
    pub(super) runs_out: RwSignal<RunsOut>,
}

impl Board {
    /// Begins to judge, and goes on till whoever looks goes away.
    pub(super) fn new() -> Self {
        let yard = yard();
        let at_a_glance = Memo::new(move |_| AtAGlance::of(yard));
        let board = Self {
            yard,
            machines: Memo::new(move |_| {
                let seen = || at_a_glance.with(|at| at.rows.iter().map(|(id, ..)| id.clone()).collect());
                Arc::new(if yard.is_known() { yard.machines() } else { seen() })
            }),
            at_a_glance,
            judged: RwSignal::new(0),
            in_view: RwSignal::new(Vec::new()),
            shown: RwSignal::new(Shown::All),
            one: RwSignal::new(None),
            sorted: RwSignal::new(Sorted { by: By::Number, falling: false }),
            sought: RwSignal::new(String::new()),
            plans: Memo::new(move |_| Plans::of(&yard)),
            runs_out: RwSignal::new(RunsOut::default()),
        };
        let (alive, busy): (Alive, _) = (Rc::new(Cell::new(true)), Rc::new(Cell::new(false)));
        let gone = StoredValue::new_local(alive.clone());
        on_cleanup(move || gone.with_value(|alive| alive.set(false)));
        let judge = move || {
            if !busy.replace(true) {
                let (alive, busy) = (alive.clone(), busy.clone());
                spawn_local(async move {
                    board.judge(&alive).await;
                    busy.set(false);
                });
            }
        };
        // Whenever the record or the minute changes.
        let anew = judge.clone();
        Effect::new(move || {
            if yard.is_known() {
                anew();
            }
        });
        // Who looks elsewhere: the whole yard need not be asked whether it is old when what is seen is not.
        Effect::new(move || {
            let now = clock::now();
            let seen = board.in_view.get();
            if untrack(|| yard.is_known() && seen.iter().any(|id| is_stale(&yard, id, now, true))) {
                judge();
            }
        });
        board
    }

    /// Judges what is to be judged, what is in view first, till nothing is left or nobody looks.
    async fn judge(self, alive: &Alive) {
        let pace = Pace::begin();
        pace.turn().await;
        let mut before = Vec::new();
        while alive.get() {
            let waiting = untrack(|| self.waiting());
            // What cannot be judged waits for good.
            if waiting.is_empty() || waiting == before {
                if !before.is_empty() {
                    untrack(|| self.judged_all()).await;
                }
                return;
            }
            let (first, mut told) = (self.in_view.get_untracked(), js_sys::Date::now());
            for (at, id) in waiting.iter().enumerate() {
                untrack(|| keep(&self.yard, id, self.yard.look(id)));
                // What is in view is told as soon as all of it is judged.
                let seen = first.last() == Some(id);
                let late = js_sys::Date::now() - told > TOLD_MS;
                if seen || late || at + 1 == waiting.len() {
                    self.judged.update(|judged| *judged += 1);
                    told = js_sys::Date::now();
                }
                pace.rest().await;
                if !alive.get() {
                    return;
                }
                // Whoever scrolled on wants other rows first.
                if late && self.in_view.with_untracked(|now| *now != first) {
                    break;
                }
            }
            before = waiting;
        }
    }

    /// Everything was judged: what was seen at a glance till then has had its time, and what is now is kept.
    async fn judged_all(self) {
        if let Some((at, rows)) = all_of_now(&self.yard, &self.machines.get_untracked(), clock::now()) {
            self.yard.judged_all(at, rows).await;
        }
    }

    /// What is to be judged, what is in view first.
    fn waiting(self) -> Vec<String> {
        let now = clock::now();
        let in_view = self.in_view.get_untracked();
        let stale = |id: &String, seen: bool| is_stale(&self.yard, id, now, seen);
        let mut waiting: Vec<String> = in_view.iter().filter(|id| stale(id, true)).cloned().collect();
        let machines = self.machines.get_untracked();
        waiting.extend(machines.iter().filter(|id| stale(id, false) && !in_view.contains(id)).cloned());
        waiting
    }

    /// A machine's row; it changes when the machine is judged again.
    pub(super) fn row(self, id: String) -> Memo<Row> {
        Memo::new(move |_| {
            self.judged.track();
            Row(self.glance(&id))
        })
    }

    /// What is to be said of a machine now: as it was judged, or as it was seen at a glance while it is to be judged yet.
    pub(super) fn glance(self, id: &str) -> Option<Arc<Glance>> {
        Glance::kept(id).or_else(|| self.at_a_glance.with(|at| at.row(id)?.2.clone()))
    }

    /// Whether machines are known by their names alone till what judges is there.
    pub(super) fn is_only_named(self) -> bool {
        !self.yard.is_known() && self.at_a_glance.with(|at| !at.is_of_now)
    }

    /// A machine's model, judged or not.
    pub(super) fn model(self, id: &str) -> String {
        let model = self.yard.with(|held| {
            let yard = &held.known().yard;
            Some(yard.sheets.get(&yard.machines.get(id)?.sheet)?.model.clone())
        });
        let seen = || self.at_a_glance.with(|at| at.row(id).map(|(_, model, _)| model.clone()));
        model.flatten().or_else(seen).unwrap_or_default()
    }

    /// Tells which rows are drawn.
    pub(super) fn looks_at(self, ids: &[String]) {
        if self.in_view.with_untracked(|now| now != ids) {
            self.in_view.set(ids.to_vec());
        }
    }

    /// How many there are, by the use looked at.
    pub(super) fn counts(self) -> Memo<Counts> {
        Memo::new(move |_| {
            self.judged.track();
            let one = self.one.get();
            let mut counts = Counts::default();
            for id in self.machines.get().iter() {
                counts.all += 1;
                let Some(glance) = self.glance(id) else {
                    counts.waiting += 1;
                    continue;
                };
                counts.out += usize::from(glance.is_out);
                let at = glance.of(one).map_or(Verdict::Unseen, |of| of.verdict) as usize;
                if let Some(count) = counts.of.get_mut(at) {
                    *count += 1;
                }
            }
            counts
        })
    }

    /// The machines to show, in their order.
    pub(super) fn order(self) -> Memo<Vec<String>> {
        Memo::new(move |_| {
            self.judged.track();
            let (one, shown, sorted) = (self.one.get(), self.shown.get(), self.sorted.get());
            let sought = self.sought.get().trim().to_lowercase();
            let (plans, runs_out) = (self.plans.get(), self.runs_out.get());
            let mut rows: Vec<Sortable> = self
                .machines
                .get()
                .iter()
                .enumerate()
                .filter_map(|(place, id)| {
                    let row = Sortable { place, glance: self.glance(id), id: id.clone() };
                    (row.is_shown(shown, one) && row.is_sought(&sought, self)).then_some(row)
                })
                .collect();
            sorted::sort_by(&mut rows, |a, b| {
                let order = a.compare(b, (sorted.by, one), &plans, &runs_out);
                let order = if sorted.falling { order.reverse() } else { order };
                order.then(a.place.cmp(&b.place))
            });
            rows.into_iter().map(|row| row.id).collect()
        })
    }
}

/// Rows as they were seen at a glance: number, model, and what is said where that is of now.
#[derive(Default)]
struct AtAGlance {
    rows: Vec<(String, String, Option<Arc<Glance>>)>,
    of: Option<Arc<Glances>>,
    is_of_now: bool,
}

impl AtAGlance {
    fn of(yard: Yard) -> Self {
        let Some(seen) = yard.at_a_glance() else { return Self::default() };
        let glance = |row| seen.is_of_now.then(|| Arc::new(Glance::said(&yard, row)));
        let rows = seen.glances.rows.iter().map(|row| (row.machine.clone(), row.model.clone(), glance(row)));
        Self { rows: rows.collect(), is_of_now: seen.is_of_now, of: Some(seen.glances) }
    }

    fn row(&self, id: &str) -> Option<&(String, String, Option<Arc<Glance>>)> {
        self.rows.iter().find(|(own, ..)| own == id)
    }
}

impl PartialEq for AtAGlance {
    fn eq(&self, other: &Self) -> bool {
        let same = match (&self.of, &other.of) {
            (Some(a), Some(b)) => Arc::ptr_eq(a, b),
            (None, None) => true,
            _ => false,
        };
        same && self.is_of_now == other.is_of_now
    }
}

struct Sortable {
    place: usize,
    id: String,
    glance: Option<Arc<Glance>>,
}

impl Sortable {
    /// What is not judged yet is unseen.
    fn verdict(&self, one: Option<Use>) -> Verdict {
        self.glance.as_ref().and_then(|glance| glance.of(one)).map_or(Verdict::Unseen, |of| of.verdict)
    }

    fn is_shown(&self, shown: Shown, one: Option<Use>) -> bool {
        match shown {
            Shown::All => true,
            Shown::Of(verdict) => self.verdict(one) == verdict,
            Shown::Out => self.glance.as_ref().is_some_and(|glance| glance.is_out),
        }
    }

    fn is_sought(&self, sought: &str, board: Board) -> bool {
        if sought.is_empty() {
            return true;
        }
        let has = |text: &str| text.to_lowercase().contains(sought);
        has(&self.id)
            || match &self.glance {
                Some(glance) => has(&glance.model) || has(&glance.who),
                None => has(&board.model(&self.id)),
            }
    }

    fn compare(
        &self,
        other: &Self,
        (by, one): (By, Option<Use>),
        plans: &Plans,
        runs_out: &RunsOut,
    ) -> std::cmp::Ordering {
        if by == By::RunsOut {
            let days = |id: &String| runs_out.get(id).map_or(f64::INFINITY, |(days, _)| *days);
            return days(&self.id).total_cmp(&days(&other.id));
        }
        let (Some(a), Some(b)) = (&self.glance, &other.glance) else {
            return self.glance.is_none().cmp(&other.glance.is_none());
        };
        let (Some(of_a), Some(of_b)) = (a.of(one), b.of(one)) else { return std::cmp::Ordering::Equal };
        let unfit = |of: &super::glance::OfUse| {
            std::cmp::Reverse(of.stations.iter().flatten().map(|verdict| 8_usize.pow(*verdict as u32)).sum::<usize>())
        };
        match by {
            By::Number | By::RunsOut => self.place.cmp(&other.place),
            By::Model => a.model.cmp(&b.model),
            By::Verdict => of_b.verdict.cmp(&of_a.verdict),
            By::Stations => unfit(of_a).cmp(&unfit(of_b)),
            By::Check => of_a.tight.name.cmp(&of_b.tight.name),
            By::Margin => of_a.tight.share.total_cmp(&of_b.tight.share),
            By::Due => of_a.days.total_cmp(&of_b.days),
            By::Who => b.is_out.cmp(&a.is_out).then_with(|| a.who.cmp(&b.who)),
            By::Next => plans.next_at(&a.id).cmp(&plans.next_at(&b.id)),
            By::Jobs => b.jobs.cmp(&a.jobs),
            By::Tags => b.tags.cmp(&a.tags),
        }
    }
}
