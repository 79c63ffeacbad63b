//! What a row of the yard says of one machine, worked out once and kept till its record, the yard or the hour changes.

use std::{cell::RefCell, collections::BTreeMap, rc::Rc, sync::Arc};

use muster_core::{
    calendar::Moment,
    judge::{Context, Judgement, Outcome, UseVerdict, Verdict},
    record::{judged, machine_state::MachineState, payload::JobState},
    words::{Service, Use},
};
use muster_draw::{
    draw,
    gauge::authority,
    merge::is_to_set,
    ready::{Stations, stations},
    ruler::{Ruler, Tone},
};

use crate::{
    clock,
    screens::machine::lapse::lapses,
    ui::{UseWord, date_text, day, station_of, use_words, when},
    words::t,
    yard::Yard,
};

/// How long what nobody looks at is taken as it was, in seconds: answers lapse by the day, outings end by the minute.
const OLD_S: i64 = 300;
/// Kilometres a day that a distance is compared with days by: what lapses first is only a hint of where to look.
const PER_DAY_KM: f64 = 40.0;

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
    state: Arc<MachineState>,
    yard: Arc<muster_core::yard::Yard>,
    at: Moment,
}

/// What a row says of one use.
pub(super) struct OfUse {
    pub(super) verdict: Verdict,
    pub(super) stations: Stations,
    /// What is nearest to its limit, or past it.
    pub(super) tight: Tight,
    /// What to do next, or what lapses next.
    pub(super) due: Due,
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

/// What is next.
pub(super) struct Due {
    pub(super) says: String,
    /// For sorting: less is sooner.
    pub(super) days: f64,
}

thread_local! {
    static SEEN: RefCell<BTreeMap<String, Arc<Glance>>> = const { RefCell::new(BTreeMap::new()) };
}

impl Glance {
    /// What is kept of a machine; it may be old.
    pub(super) fn kept(id: &str) -> Option<Arc<Self>> {
        SEEN.with_borrow(|seen| seen.get(id).cloned())
    }

    /// The verdict of a use, the planned one where none is asked for.
    pub(super) fn of(&self, one: Option<Use>) -> Option<&OfUse> {
        self.uses.get(one.unwrap_or(self.planned) as usize)
    }

    /// Whether uses come to different verdicts.
    pub(super) fn differs(&self) -> bool {
        self.words.len() > 1
    }
}

/// Whether a machine has to be judged again; what is looked at is judged each minute.
pub(super) fn is_stale(yard: &Yard, id: &str, now: Moment, in_view: bool) -> bool {
    let Some(kept) = Glance::kept(id) else { return true };
    let same = yard.with(|held| {
        held.machine(id).is_some_and(|state| Arc::ptr_eq(state, &kept.state))
            && Arc::ptr_eq(&held.known().yard, &kept.yard)
    });
    let old = now.seconds_since(kept.at) >= if in_view { 60 } else { OLD_S };
    !same.unwrap_or(true) || old
}

/// Judges a machine and keeps what its row says. The judgement itself is let go: two thousand of them are too many.
pub(super) fn look(yard: &Yard, id: &str) {
    let now = clock::now();
    let rules = yard.rules();
    let known = yard.with(|held| Some((held.machine(id)?.clone(), held.known().yard.clone()))).flatten();
    let glance = known.and_then(|(state, its_yard)| {
        let judgement = judged::judgement(&rules.catalogue, &its_yard, &state, now, None)?;
        let machine = judged::machine(&its_yard, &state)?;
        let context = Context::of(&rules.catalogue, &its_yard, id, now)?;
        let context = Context { machine: &machine, ..context };
        Some(glance(yard, &context, &state, &judgement, its_yard.clone()))
    });
    SEEN.with_borrow_mut(|seen| match glance {
        Some(glance) => _ = seen.insert(id.to_owned(), Arc::new(glance)),
        None => _ = seen.remove(id),
    });
}

fn glance(
    yard: &Yard,
    context: &Context<'_>,
    state: &Arc<MachineState>,
    judgement: &Judgement,
    its_yard: Arc<muster_core::yard::Yard>,
) -> Glance {
    let service = context.machine.service;
    let out = state.out().next().map(|(_, of)| &of.released);
    let in_hand = state.unproven().any(|(_, job)| job.state.0 == JobState::InHand);
    let who = match out {
        Some(of) => {
            let riders: Vec<String> = of.riders.iter().map(|rider| yard.name(rider.as_str())).collect();
            let riders = if riders.is_empty() { of.outing.clone() } else { riders.join(", ") };
            t!("out-till", who = riders, till = when(of.to))
        }
        None if service != Service::InService => service.to_string(),
        None if in_hand => t!("in-workshop"),
        None => t!("in-yard"),
    };
    Glance {
        id: state.machine.clone(),
        model: judgement.model.clone(),
        words: use_words(judgement),
        planned: judgement.planned().map_or(Use::Range, |of| of.one),
        uses: judgement.uses.iter().map(|of| of_use(yard, context, state, of)).collect(),
        who,
        is_out: out.is_some(),
        jobs: state.unproven().count(),
        tags: state.hanging().count(),
        contradictions: state.contradictions().len(),
        state: state.clone(),
        yard: its_yard,
        at: context.now,
    }
}

fn of_use(yard: &Yard, context: &Context<'_>, state: &Arc<MachineState>, of: &UseVerdict) -> OfUse {
    OfUse {
        verdict: of.verdict,
        stations: stations(of, |check| station_of(context.catalogue, state, check)),
        tight: tight(state, of),
        due: due(yard, context, state, of),
    }
}

/// The worst reason; where all is fit, the reading with the least share of its allowance left.
fn tight(state: &MachineState, of: &UseVerdict) -> Tight {
    let unseen = of.outcomes.iter().filter(|outcome| outcome.verdict == Verdict::Unseen).count();
    let worst = of.outcomes.first().filter(|outcome| outcome.verdict != Verdict::Fit);
    match worst {
        Some(outcome) if outcome.verdict == Verdict::Unseen && unseen > 1 && outcome.figure.is_none() => Tight {
            name: seen_last(state, unseen),
            ruler: Some(draw::unseen().to_owned()),
            margin: String::new(),
            share: f64::NEG_INFINITY,
        },
        Some(outcome) => told(state, outcome),
        None => {
            let share = |of: &Outcome| of.share.unwrap_or(f64::INFINITY);
            let tightest = of.outcomes.iter().filter(|outcome| outcome.figure.is_some());
            match tightest.min_by(|a, b| share(a).total_cmp(&share(b))) {
                Some(outcome) => told(state, outcome),
                None => Tight { name: String::new(), ruler: None, margin: String::new(), share: f64::INFINITY },
            }
        }
    }
}

/// Nobody has looked since: when somebody did, or how much is left to look at.
fn seen_last(state: &MachineState, unseen: usize) -> String {
    let last = state.walk_rounds.values().map(|walk_round| walk_round.form.opened).max();
    match last {
        Some(at) if !crate::ui::is_today(at) => t!("last-walked", on = day(at)),
        _ => t!("its-checks-unseen", count = unseen),
    }
}

fn told(state: &MachineState, outcome: &Outcome) -> Tight {
    let tone = if is_to_set(outcome) { Tone::Set } else { Tone::Judged(outcome.verdict) };
    let ruler = outcome.figure.as_ref().and_then(|figure| Ruler::of(figure, tone, authority(outcome).0));
    let ruler = match ruler {
        Some(ruler) => Some(draw::mini(&ruler)),
        None => (outcome.verdict == Verdict::Unseen).then(|| draw::unseen().to_owned()),
    };
    let finding = outcome.check.strip_prefix("finding.").and_then(|id| state.findings.get(&id.parse().ok()?));
    let name = finding.map_or_else(|| outcome.name.clone(), |finding| finding.raised.what.clone());
    Tight { name, ruler, margin: margin(outcome, finding.is_some()), share: outcome.share.unwrap_or(f64::NEG_INFINITY) }
}

/// The margin in figures; without one the first word of what was seen: `doubtful`, `defective`.
fn margin(outcome: &Outcome, is_finding: bool) -> String {
    if is_finding {
        return t!("finding-of", class = outcome.class.as_str());
    }
    match &outcome.figure {
        Some(figure) if figure.margin.is_finite() => {
            let text = muster_draw::number::figure_text(figure.margin.abs(), figure.decimals);
            let text = muster_draw::number::with_unit(&text, figure.unit);
            if figure.margin < 0.0 { t!("past", by = text) } else { text }
        }
        _ => outcome.reason.split([':', ',', ';']).next().unwrap_or_default().to_owned(),
    }
}

/// What comes next: work that is open, a walk-round, a paper that runs out, the answer that lapses first.
fn due(yard: &Yard, context: &Context<'_>, state: &Arc<MachineState>, of: &UseVerdict) -> Due {
    if context.machine.service != Service::InService {
        return Due { says: String::new(), days: f64::INFINITY };
    }
    if let Some((_, job)) = state.unproven().max_by_key(|(_, job)| job.state.0) {
        let kind = yard.rules().jobs.iter().find(|kind| kind.id == job.opened.job).map(|kind| kind.name.clone());
        let kind = kind.unwrap_or_else(|| job.opened.job.clone());
        return Due { says: t!("due-job", job = kind, state = job.state.0.as_str()), days: 0.5 };
    }
    if let Some(todo) = of.outcomes.first().filter(|of| of.verdict == Verdict::Hold).and_then(|of| of.todo.as_deref()) {
        return Due { says: yard.told(first_step(todo, state)), days: 0.1 };
    }
    let unseen = of.outcomes.iter().filter(|outcome| outcome.verdict == Verdict::Unseen).count();
    if unseen > 0 {
        return Due { says: t!("due-walk", count = unseen), days: 0.0 };
    }
    let today = context.now.date();
    let next = lapses(context, state, of.one).into_iter().filter_map(|lapse| {
        let last = lapse.last.ok()?;
        Some((last.days_left(today, PER_DAY_KM)?, lapse.check.name.clone(), last))
    });
    let Some((days, name, last)) = next.min_by(|a, b| a.0.total_cmp(&b.0)) else {
        return Due { says: String::new(), days: f64::INFINITY };
    };
    let by_km = last.left_km.filter(|km| km / PER_DAY_KM <= days);
    let says = match (by_km, last.expires.or(last.until)) {
        (Some(km), _) => t!("due-way", what = name, way = yard.way(km.max(0.0))),
        (None, Some(day)) => t!("due-day", what = name, day = date_text(day)),
        (None, None) => name,
    };
    Due { says, days }
}

/// The first step of what is to be done: a tag that hangs is not hung again.
fn first_step<'t>(todo: &'t str, state: &MachineState) -> &'t str {
    let mut steps = todo.split([';', ',']).map(str::trim);
    let first = steps.next().unwrap_or(todo);
    if first == "Hang a hold tag" && state.hanging().next().is_some() { steps.next().unwrap_or(first) } else { first }
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
