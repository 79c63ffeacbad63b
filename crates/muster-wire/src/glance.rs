//! What a row of the yard says of one machine, without words: what a screen shows while what judges is still coming.

use std::collections::BTreeMap;

use muster_core::{
    judge::{Context, Judgement, Outcome, UseVerdict, Verdict},
    record::{
        job::JobKind,
        lapse::lapses,
        machine_state::{FindingState, MachineState},
        payload::JobState,
    },
    state::Station,
    words::{Service, Use},
};
use muster_draw::{
    draw,
    gauge::authority,
    merge::is_to_set,
    number::{figure_text, with_unit},
    ready::{Stations, stations},
    ruler::{Ruler, Tone},
};
use serde::{Deserialize, Serialize};

/// Kilometres a day that a distance is compared with days by: what lapses first is only a hint of where to look.
const PER_DAY_KM: f64 = 40.0;

/// The yard at a glance, as judged at one moment from the events up to these heads.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Glances {
    /// When it was judged.
    pub judged_at: String,
    /// The head of each device's series then.
    pub heads: BTreeMap<String, u64>,
    /// The yard's name.
    pub name: String,
    /// Its time zone.
    pub time_zone: String,
    /// Names of those who are out by their ids, for those who may see them.
    pub names: BTreeMap<String, String>,
    /// Its machines; none where there are more than [`Self::MOST`].
    pub rows: Vec<Row>,
}

impl Glances {
    /// More than so many are judged sooner than read.
    pub const MOST: usize = 500;
}

/// One machine at a glance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Row {
    /// Fleet number.
    pub machine: String,
    /// Its model.
    pub model: String,
    /// Its place in the yard.
    pub row: u16,
    /// Service state.
    #[cfg_attr(feature = "schema", schema(value_type = String))]
    pub service: Service,
    /// The use planned, else range.
    #[cfg_attr(feature = "schema", schema(value_type = String))]
    pub planned: Use,
    /// Each use, in their order.
    pub uses: Vec<OfUse>,
    /// Who has it, if it is out.
    pub out: Option<Out>,
    /// Whether work on it is in hand.
    pub in_hand: bool,
    /// Jobs not proven.
    pub jobs: usize,
    /// Hold tags that hang.
    pub tags: usize,
    /// Contradictions a person has to look at.
    pub contradictions: usize,
}

/// With whom a machine is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Out {
    /// Ids of the riders.
    pub riders: Vec<String>,
    /// The outing's name.
    pub outing: String,
    /// When it is to be back.
    pub to: String,
}

/// What a row says of one use.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct OfUse {
    /// The verdict.
    #[cfg_attr(feature = "schema", schema(value_type = String))]
    pub verdict: Verdict,
    /// The gravest verdict at each station, in walking order.
    #[cfg_attr(feature = "schema", schema(value_type = Vec<Option<String>>))]
    pub stations: Stations,
    /// What is nearest to its limit, or past it.
    pub tight: Tight,
    /// What to do next, or what lapses next.
    pub due: Due,
}

/// The check nearest to its limit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Tight {
    /// What it is.
    pub what: What,
    /// The mini ruler's markup.
    pub ruler: Option<String>,
    /// How far it is from its limit.
    pub margin: Margin,
    /// For sorting: less is tighter.
    pub share: f64,
}

/// What is nearest to its limit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// Nothing.
    Nothing,
    /// A check or a finding by its name.
    Named(String),
    /// Several checks that nobody has seen.
    Unseen {
        /// How many.
        count: usize,
        /// When somebody last began to look.
        last: Option<String>,
    },
}

/// How far something is from its limit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Margin {
    /// Nothing is said.
    Nothing,
    /// A finding of a class.
    Finding(String),
    /// Past it by so much.
    Past(String),
    /// So much is left, or the first word of what was seen.
    Said(String),
}

/// What is next.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Due {
    /// What.
    pub what: Next,
    /// For sorting: less is sooner.
    pub days: f64,
}

/// What is to do, or lapses.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Next {
    /// Nothing.
    Nothing,
    /// A job that is open: its kind and how far it is.
    Job(String, String),
    /// A step, as the core says it.
    Do(String),
    /// A walk-round with so many checks.
    Walk(usize),
    /// A check lapses after so many kilometres.
    Way(String, f64),
    /// A check lapses on a day.
    Day(String, String),
    /// A check lapses.
    Lapses(String),
}

impl Row {
    /// What a row says of a machine that is judged. `context.machine` is the machine as its record has it.
    #[must_use]
    pub fn of(context: &Context<'_>, jobs: &[JobKind], state: &MachineState, judgement: &Judgement) -> Self {
        let out = state.out().next().map(|(_, of)| Out {
            riders: of.released.riders.iter().map(ToString::to_string).collect(),
            outing: of.released.outing.clone(),
            to: of.released.to.to_string(),
        });
        Self {
            machine: state.machine.clone(),
            model: judgement.model.clone(),
            row: context.machine.row,
            service: context.machine.service,
            planned: judgement.planned().map_or(Use::Range, |of| of.one),
            uses: judgement.uses.iter().map(|of| of_use(context, jobs, state, of)).collect(),
            out,
            in_hand: state.unproven().any(|(_, job)| job.state.0 == JobState::InHand),
            jobs: state.unproven().count(),
            tags: state.hanging().count(),
            contradictions: state.contradictions().len(),
        }
    }

    /// The same with no more than a list shows: of the uses that are not planned their verdicts alone.
    #[must_use]
    pub fn brief(mut self) -> Self {
        let others = self.uses.iter_mut().enumerate().filter(|(at, _)| *at != self.planned as usize);
        others.for_each(|(_, of)| *of = OfUse { verdict: of.verdict, ..OfUse::bare() });
        self
    }
}

impl OfUse {
    fn bare() -> Self {
        Self {
            verdict: Verdict::Unseen,
            stations: [None; 6],
            tight: Tight::NOTHING,
            due: Due { what: Next::Nothing, days: f64::MAX },
        }
    }
}

impl Tight {
    const NOTHING: Self = Self { what: What::Nothing, ruler: None, margin: Margin::Nothing, share: f64::MAX };
}

fn of_use(context: &Context<'_>, jobs: &[JobKind], state: &MachineState, of: &UseVerdict) -> OfUse {
    OfUse {
        verdict: of.verdict,
        stations: stations(of, |check| station_of(context, state, check)),
        tight: tight(state, of),
        due: due(context, jobs, state, of),
    }
}

/// Where a check or a finding is done, so that its verdict shows there.
#[must_use]
pub fn station_of(context: &Context<'_>, state: &MachineState, check: &str) -> Option<Station> {
    let found_at = || finding(state, check)?.raised.check.as_deref();
    let id = if check.starts_with("finding.") { found_at()? } else { check };
    Some(context.check(id)?.station)
}

fn finding<'s>(state: &'s MachineState, check: &str) -> Option<&'s FindingState> {
    state.findings.get(&check.strip_prefix("finding.")?.parse().ok()?)
}

/// The worst reason; where all is fit, the reading with the least share of its allowance left.
fn tight(state: &MachineState, of: &UseVerdict) -> Tight {
    let unseen = of.outcomes.iter().filter(|outcome| outcome.verdict == Verdict::Unseen).count();
    let worst = of.outcomes.first().filter(|outcome| outcome.verdict != Verdict::Fit);
    match worst {
        Some(outcome) if outcome.verdict == Verdict::Unseen && unseen > 1 && outcome.figure.is_none() => {
            // Nobody has looked since: when somebody did, or how much is left to look at.
            let last = state.walk_rounds.values().map(|walk_round| walk_round.form.opened).max();
            Tight {
                what: What::Unseen { count: unseen, last: last.map(|at| at.to_string()) },
                ruler: Some(draw::unseen().to_owned()),
                margin: Margin::Nothing,
                share: f64::MIN,
            }
        }
        Some(outcome) => told(state, outcome),
        None => {
            let share = |of: &Outcome| of.share.unwrap_or(f64::INFINITY);
            let tightest = of.outcomes.iter().filter(|outcome| outcome.figure.is_some());
            tightest.min_by(|a, b| share(a).total_cmp(&share(b))).map_or(Tight::NOTHING, |outcome| told(state, outcome))
        }
    }
}

fn told(state: &MachineState, outcome: &Outcome) -> Tight {
    let tone = if is_to_set(outcome) { Tone::Set } else { Tone::Judged(outcome.verdict) };
    let ruler = outcome.figure.as_ref().and_then(|figure| Ruler::of(figure, tone, authority(outcome).0));
    let ruler = match ruler {
        Some(ruler) => Some(draw::mini(&ruler)),
        None => (outcome.verdict == Verdict::Unseen).then(|| draw::unseen().to_owned()),
    };
    let finding = finding(state, &outcome.check);
    let name = finding.map_or_else(|| outcome.name.clone(), |finding| finding.raised.what.clone());
    let share = outcome.share.filter(|share| share.is_finite()).unwrap_or(f64::MIN);
    Tight { what: What::Named(name), ruler, margin: margin(outcome, finding.is_some()), share }
}

/// The margin in figures; without one the first word of what was seen: `doubtful`, `defective`.
fn margin(outcome: &Outcome, is_finding: bool) -> Margin {
    if is_finding {
        return Margin::Finding(outcome.class.as_str().to_owned());
    }
    match &outcome.figure {
        Some(figure) if figure.margin.is_finite() => {
            let text = with_unit(&figure_text(figure.margin.abs(), figure.decimals), figure.unit);
            if figure.margin < 0.0 { Margin::Past(text) } else { Margin::Said(text) }
        }
        _ => {
            let first = outcome.reason.split([':', ',', ';']).next().unwrap_or_default();
            // The day of it is in the whole reason.
            Margin::Said(first.split(" on ").next().unwrap_or_default().to_owned())
        }
    }
}

/// What comes next: work that is open, a walk-round, a paper that runs out, the answer that lapses first.
fn due(context: &Context<'_>, jobs: &[JobKind], state: &MachineState, of: &UseVerdict) -> Due {
    if context.machine.service != Service::InService {
        return OfUse::bare().due;
    }
    if let Some((_, job)) = state.unproven().max_by_key(|(_, job)| job.state.0) {
        let kind = jobs.iter().find(|kind| kind.id == job.opened.job).map(|kind| kind.name.clone());
        let kind = kind.unwrap_or_else(|| job.opened.job.clone());
        return Due { what: Next::Job(kind, job.state.0.as_str().to_owned()), days: 0.5 };
    }
    if let Some(todo) = of.outcomes.first().filter(|of| of.verdict == Verdict::Hold).and_then(|of| of.todo.as_deref()) {
        return Due { what: Next::Do(first_step(todo, state).to_owned()), days: 0.1 };
    }
    let unseen = of.outcomes.iter().filter(|outcome| outcome.verdict == Verdict::Unseen).count();
    if unseen > 0 {
        return Due { what: Next::Walk(unseen), days: 0.0 };
    }
    lapses_first(context, state, of.one)
}

fn lapses_first(context: &Context<'_>, state: &MachineState, one: Use) -> Due {
    let today = context.now.date();
    let next = lapses(context, state, one).into_iter().filter_map(|lapse| {
        let last = lapse.last.ok()?;
        Some((last.days_left(today, PER_DAY_KM)?, lapse.check.name.clone(), last))
    });
    let Some((days, name, last)) = next.min_by(|a, b| a.0.total_cmp(&b.0)) else { return OfUse::bare().due };
    let by_km = last.left_km.filter(|km| km / PER_DAY_KM <= days);
    let what = match (by_km, last.expires.or(last.until)) {
        (Some(km), _) => Next::Way(name, km.max(0.0)),
        (None, Some(day)) => Next::Day(name, day.to_string()),
        (None, None) => Next::Lapses(name),
    };
    Due { what, days }
}

/// The first step of what is to be done: a tag that hangs is not hung again.
fn first_step<'t>(todo: &'t str, state: &MachineState) -> &'t str {
    let mut steps = todo.split([';', ',']).map(str::trim);
    let first = steps.next().unwrap_or(todo);
    if first == "Hang a hold tag" && state.hanging().next().is_some() { steps.next().unwrap_or(first) } else { first }
}
