//! What a row of the yard says of one machine in words, kept till its record, the yard or the hour changes.

use std::{cell::RefCell, collections::BTreeMap, rc::Rc, sync::Arc};

use muster_core::{
    calendar::Moment,
    judge::Verdict,
    record::machine_state::MachineState,
    words::{Service, Use},
};
use muster_draw::ready::Stations;
use muster_wire::glance::{Due, Margin, Next, OfUse as Told, Out, Row as Bare, Tight as Nearest, What};

use crate::{
    ui::{UseWord, day, day_text, is_today, verdict_words, when_text},
    words::t,
    yard::{Looked, Yard},
};

/// How long what nobody looks at is taken as it was, in seconds: answers lapse by the day, outings end by the minute.
const OLD_S: i64 = 300;

/// One machine at a glance.
pub(super) struct Glance {
    pub(super) id: String,
    pub(super) model: String,
    /// The verdicts by use as words, the planned first.
    pub(super) words: Vec<UseWord>,
    /// The planned use.
    pub(super) planned: Use,
    /// Each use by itself, in their order.
    pub(super) uses: Vec<OfUse>,
    /// Who has it, or where it is.
    pub(super) who: String,
    pub(super) is_out: bool,
    /// Work not proven.
    pub(super) jobs: usize,
    /// Hold tags that hang.
    pub(super) tags: usize,
    /// Contradictions a person has to look at.
    pub(super) contradictions: usize,
}

/// What a row says of one use.
pub(super) struct OfUse {
    pub(super) verdict: Verdict,
    pub(super) stations: Stations,
    /// What is nearest to its limit, or past it.
    pub(super) tight: Tight,
    /// What to do next, or what lapses next.
    pub(super) due: String,
    /// For sorting: less is sooner.
    pub(super) days: f64,
}

/// The check nearest to its limit.
pub(super) struct Tight {
    pub(super) name: String,
    /// The mini ruler's markup.
    pub(super) ruler: Option<String>,
    /// The margin in figures, or what was seen.
    pub(super) margin: String,
    /// For sorting: less is tighter.
    pub(super) share: f64,
}

/// A glance, and what it was made of.
struct Kept {
    state: Arc<MachineState>,
    yard: Arc<muster_core::yard::Yard>,
    at: Moment,
    bare: Bare,
    glance: Arc<Glance>,
}

thread_local! {
    static SEEN: RefCell<BTreeMap<String, Kept>> = const { RefCell::new(BTreeMap::new()) };
}

impl Glance {
    /// What is kept of a machine; it may be old.
    pub(super) fn kept(id: &str) -> Option<Arc<Self>> {
        SEEN.with_borrow(|seen| seen.get(id).map(|kept| kept.glance.clone()))
    }

    /// The verdict of a use, the planned one where none is asked for.
    pub(super) fn of(&self, one: Option<Use>) -> Option<&OfUse> {
        self.uses.get(one.unwrap_or(self.planned) as usize)
    }

    /// Whether uses come to different verdicts.
    pub(super) fn differs(&self) -> bool {
        self.words.len() > 1
    }

    /// A row in words.
    pub(super) fn said(yard: &Yard, bare: &Bare) -> Self {
        let verdicts: Vec<(Use, Verdict)> =
            Use::ALL.iter().copied().zip(bare.uses.iter().map(|of| of.verdict)).collect();
        Self {
            id: bare.machine.clone(),
            model: bare.model.clone(),
            words: verdict_words(bare.planned, &verdicts),
            planned: bare.planned,
            uses: bare.uses.iter().map(|of| of_use(yard, of)).collect(),
            who: who(yard, bare),
            is_out: bare.out.is_some(),
            jobs: bare.jobs,
            tags: bare.tags,
            contradictions: bare.contradictions,
        }
    }
}

/// Whether a machine has to be judged again; what is looked at is judged each minute.
pub(super) fn is_stale(yard: &Yard, id: &str, now: Moment, in_view: bool) -> bool {
    let age = if in_view { 60 } else { OLD_S };
    SEEN.with_borrow(|seen| !seen.get(id).is_some_and(|kept| is_of_now(yard, id, kept, now, age)))
}

/// Whether what is kept was made of what is held now, less than so many seconds ago.
fn is_of_now(yard: &Yard, id: &str, kept: &Kept, now: Moment, age: i64) -> bool {
    let same = yard.with(|held| {
        held.machine(id).is_some_and(|state| Arc::ptr_eq(state, &kept.state))
            && Arc::ptr_eq(&held.known().yard, &kept.yard)
    });
    same.unwrap_or(true) && now.seconds_since(kept.at) < age
}

/// Keeps what the row of a machine says now that it was judged, nothing where it cannot be.
pub(super) fn keep(yard: &Yard, id: &str, looked: Option<Looked>) {
    let kept = looked.map(|Looked { state, yard: its_yard, at, row }| {
        let glance = Arc::new(Glance::said(yard, &row));
        Kept { state, yard: its_yard, at, bare: row, glance }
    });
    SEEN.with_borrow_mut(|seen| match kept {
        Some(kept) => _ = seen.insert(id.to_owned(), kept),
        None => _ = seen.remove(id),
    });
}

/// What all these rows say, in brief, and since when; none while one of them is of another state or old.
pub(super) fn all_of_now(yard: &Yard, machines: &[String], now: Moment) -> Option<(Moment, Vec<Bare>)> {
    SEEN.with_borrow(|seen| {
        let kept = machines.iter().map(|id| seen.get(id).filter(|kept| is_of_now(yard, id, kept, now, OLD_S)));
        let kept = kept.collect::<Option<Vec<&Kept>>>()?;
        let oldest = kept.iter().map(|kept| kept.at).min()?;
        Some((oldest, kept.into_iter().map(|kept| kept.bare.clone().brief()).collect()))
    })
}

fn who(yard: &Yard, bare: &Bare) -> String {
    match &bare.out {
        Some(Out { riders, outing, to }) => {
            let riders: Vec<String> = riders.iter().map(|rider| yard.name(rider)).collect();
            let riders = if riders.is_empty() { outing.clone() } else { riders.join(", ") };
            t!("out-till", who = riders, till = when_text(to))
        }
        None if bare.service != Service::InService => bare.service.to_string(),
        None if bare.in_hand => t!("in-workshop"),
        None => t!("in-yard"),
    }
}

fn of_use(yard: &Yard, of: &Told) -> OfUse {
    OfUse {
        verdict: of.verdict,
        stations: of.stations,
        tight: tight(&of.tight),
        due: due(yard, &of.due),
        days: of.due.days,
    }
}

fn tight(of: &Nearest) -> Tight {
    let name = match &of.what {
        What::Nothing => String::new(),
        What::Named(name) => name.clone(),
        // Nobody has looked since: when somebody did, or how much is left to look at.
        What::Unseen { count, last } => match last.as_deref().and_then(|at| Moment::parse(at).ok()) {
            Some(at) if !is_today(at) => t!("last-walked", on = day(at)),
            _ => t!("its-checks-unseen", count = *count),
        },
    };
    let margin = match &of.margin {
        Margin::Nothing => String::new(),
        Margin::Finding(class) => t!("finding-of", class = class.as_str()),
        Margin::Past(by) => t!("past", by = by.as_str()),
        Margin::Said(text) => text.clone(),
    };
    Tight { name, ruler: of.ruler.clone(), margin, share: of.share }
}

fn due(yard: &Yard, due: &Due) -> String {
    match &due.what {
        Next::Nothing => String::new(),
        Next::Job(kind, state) => t!("due-job", job = kind.as_str(), state = state.as_str()),
        Next::Do(todo) => yard.told(todo),
        Next::Walk(count) => t!("due-walk", count = *count),
        Next::Way(name, km) => t!("due-way", what = name.as_str(), way = yard.way(*km)),
        Next::Day(name, on) => t!("due-day", what = name.as_str(), day = day_text(on)),
        Next::Lapses(name) => name.clone(),
    }
}

/// Keeps the row of a machine as one value that changes when it is judged again.
#[derive(Clone)]
pub(super) struct Row(pub(super) Option<Arc<Glance>>);

impl PartialEq for Row {
    fn eq(&self, other: &Self) -> bool {
        match (&self.0, &other.0) {
            (Some(a), Some(b)) => Arc::ptr_eq(a, b),
            (None, None) => true,
            _ => false,
        }
    }
}

/// Nothing is judged once nobody looks.
pub(super) type Alive = Rc<std::cell::Cell<bool>>;
