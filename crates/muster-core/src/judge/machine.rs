//! The verdict of a machine for each use: the worst of what is required, what was answered and what is open.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use serde::Serialize;

use super::{
    Context, Outcome, Question, Verdict, case, day,
    living::{Given, Past, Unanswered, given_to_each, living_of},
    look, reading,
    uses::{Answered, Outcomes},
};
use crate::sorted::{sort, sort_by};
use crate::{
    calendar::Moment,
    check::{Check, Yields},
    equipment::Holds,
    form::{Close, Finding, Form},
    quantity::{Amount, Distance, Temperature},
    words::{Class, Depth, Service, Use},
};

/// What a machine comes to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judgement {
    /// Version of this shape.
    pub schema: u32,
    /// Fleet number.
    pub machine: String,
    /// Its model.
    pub model: String,
    /// The moment it is judged for.
    pub judged_at: String,
    /// The latest answer it rests on; as known then.
    pub known_at: Option<String>,
    /// The use planned, if an outing is.
    pub planned: Option<Use>,
    /// When it is to be back.
    pub back: Option<String>,
    /// Each use with its verdict, in order.
    pub uses: Vec<UseVerdict>,
    /// SHA-256 of the catalogue it rests on.
    pub catalogue: String,
    /// SHA-256 of the yard's files it rests on.
    pub yard: String,
}

/// What a machine comes to for one use.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct UseVerdict {
    /// The use.
    #[serde(rename = "use")]
    pub one: Use,
    /// The verdict.
    pub verdict: Verdict,
    /// Conditions it may go out on.
    pub conditions: Vec<String>,
    /// Every outcome that counts, worst first.
    pub outcomes: Vec<Outcome>,
}

impl UseVerdict {
    /// The outcomes that are not fit, worst first.
    pub fn reasons(&self) -> impl Iterator<Item = &Outcome> {
        self.outcomes.iter().filter(|outcome| outcome.verdict != Verdict::Fit)
    }
}

impl Judgement {
    /// The verdict of the planned use, else the range's: the use a yard plans unless it says otherwise.
    #[must_use]
    pub fn planned(&self) -> Option<&UseVerdict> {
        let planned = self.planned.unwrap_or(Use::Range);
        self.uses.iter().find(|verdict| verdict.one == planned)
    }

    /// The one byte form: JSON, the same on every machine.
    ///
    /// # Errors
    /// None can occur: every value is a text, a number or a list of them.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string(self)
    }
}

/// Judges a machine from its forms, in any order. What lies after `context.now` does not count.
#[must_use]
pub fn judge(context: &Context<'_>, forms: &[&Form]) -> Judgement {
    Judging::begin(context, forms).judgement()
}

/// A machine that is judged check by check, for whoever has no time for all at once.
pub struct Judging<'j> {
    context: &'j Context<'j>,
    known: Vec<&'j Form>,
    outcomes: Outcomes<'j>,
}

impl<'j> Judging<'j> {
    /// Begins with no check judged.
    #[must_use]
    pub fn begin(context: &'j Context<'j>, forms: &[&'j Form]) -> Self {
        let known = in_order(forms.iter().copied().filter(|form| form.opened <= context.now).collect());
        let outcomes = Outcomes::begin(context, &context.catalogue.checks, &known);
        Self { context, known, outcomes }
    }

    /// Judges the next check; whether there was one.
    pub fn next_check(&mut self) -> bool {
        self.outcomes.next()
    }

    /// What the machine comes to, as [`judge`] has it; checks that are left are judged.
    #[must_use]
    pub fn judgement(self) -> Judgement {
        let Self { context, known, outcomes } = self;
        let answers = known.iter().flat_map(|form| &form.answers).map(|answer| answer.at);
        let outing = known.last().and_then(|form| form.outing);
        let uses = Use::ALL.iter().zip(outcomes.all());
        let uses = uses.map(|(one, outcomes)| judge_use(context, &known, outcomes, *one)).collect();
        Judgement {
            schema: 1,
            machine: context.machine.id.clone(),
            model: context.sheet.model.clone(),
            judged_at: context.now.to_string(),
            known_at: answers.filter(|at| *at <= context.now).max().map(|at| at.to_string()),
            planned: outing.map(|outing| outing.planned),
            back: outing.map(|outing| outing.back.to_string()),
            uses,
            catalogue: context.catalogue.hash.clone(),
            yard: context.yard.hash.clone(),
        }
    }
}

/// What one check comes to for each use it counts for, as [`judge`] has it: the other checks are left alone, for whoever
/// types a figure has no time for them.
#[must_use]
pub fn judge_check(context: &Context<'_>, forms: &[&Form], check: &Check) -> Vec<Outcome> {
    let known = in_order(forms.iter().copied().filter(|form| form.opened <= context.now).collect());
    let by_use = Outcomes::begin(context, core::slice::from_ref(check), &known).all();
    let mut outcomes: Vec<Outcome> = by_use.into_iter().flatten().collect();
    for outcome in outcomes.iter_mut().filter(|outcome| outcome.verdict == Verdict::Watch) {
        condition(context, outcome, outcome.one);
    }
    outcomes
}

/// Forms by when they were opened. Two of one moment stand by person, then by all they say, so that the order of the files
/// does not matter.
fn in_order(mut forms: Vec<&Form>) -> Vec<&Form> {
    sort_by(&mut forms, |a, b| {
        let heads = (a.opened, &a.by).cmp(&(b.opened, &b.by));
        heads.then_with(|| says(a).cmp(&says(b)))
    });
    forms
}

/// All a form says, as one text: only to tell two of one moment apart. Written out, as deriving
/// it would cost a phone more.
fn says(form: &Form) -> String {
    let moment = |at: Option<Moment>| at.map(|at| at.to_string()).unwrap_or_default();
    let number = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
    let kelvin = |value: Option<Temperature>| number(value.map(Temperature::kelvin));
    let km = |value: Option<Distance>| number(value.map(Distance::km));
    let found = form.found;
    let conditions = [kelvin(form.air), number(form.barometer.map(Amount::canonical)), moment(form.ridden)].join(" ");
    let mut lines = Vec::from([
        format!("{} {:?} {:?} {}", form.depth, form.no_hold_tag, form.key_on_hook, moment(form.closed)),
        format!("{} {} {} {} {conditions}", found.heat, found.power, found.stance, km(form.odometer)),
    ]);
    lines.extend(form.outing.map(|outing| format!("{} {} {}", outing.planned, outing.back, km(outing.distance))));
    for answer in &form.answers {
        lines.push(format!("{} {} {} {}", answer.check, answer.at, answer.by, case::said(answer)));
        let class = answer.class.map(Class::as_str).unwrap_or_default();
        let conditions = [kelvin(answer.tyre), kelvin(answer.air), km(answer.odometer)].join(" ");
        lines.push(format!("{} {class} {conditions}", answer.slip));
        lines.extend(
            [&answer.with, &answer.after, &answer.why, &answer.defect, &answer.note]
                .map(|part| part.clone().unwrap_or_default()),
        );
    }
    for finding in &form.findings {
        let check = finding.check.as_deref().unwrap_or_default();
        lines.push(format!("{} {} {check} {} {}", finding.id, finding.class, finding.uses, finding.what));
        lines.push(format!("{} {}", finding.by, finding.at));
        lines.extend([&finding.defect, &finding.lowered].map(|part| part.clone().unwrap_or_default()));
    }
    lines.extend(form.closes.iter().map(|close| format!("{} {}", close.finding, close.at)));
    lines.extend(form.events.iter().map(|event| format!("{} {}", event.what, event.at)));
    lines.join("\n")
}

/// The verdict of a use from the outcomes of its checks.
fn judge_use(context: &Context<'_>, forms: &[&Form], of_checks: Vec<Outcome>, one: Use) -> UseVerdict {
    let mut outcomes: Vec<Outcome> = service(context, one).into_iter().chain(first_line(forms, one)).collect();
    outcomes.extend(of_checks);
    outcomes.extend(
        open_findings(context, forms)
            .filter(|finding| finding.uses.contains(one))
            .map(|finding| found(context, finding, one)),
    );
    let mut conditions = Vec::new();
    for outcome in outcomes.iter_mut().filter(|outcome| outcome.verdict == Verdict::Watch) {
        conditions.extend(condition(context, outcome, one));
    }
    sort(&mut conditions);
    conditions.dedup();
    sort_by(&mut outcomes, Outcome::gravity);
    let verdict = outcomes.iter().map(|outcome| outcome.verdict).max().unwrap_or(Verdict::Unseen);
    UseVerdict { one, verdict, conditions, outcomes }
}

/// The outcome of a check for a use.
///
/// A check that names its uses binds those alone, but for a hold of class dangerous, which counts for every use. A check
/// that names none counts wherever it was answered.
pub(super) fn check_outcome(asked: &Question<'_>) -> Answered {
    let &Question { context, check, one, .. } = asked;
    let unknown = match check.applies.holds(&context.machine.traits.equipment) {
        Holds::No => return Answered { outcome: None, by_life: false },
        Holds::Yes => None,
        Holds::Unknown(keys) => Some(format!("{} not stated, so it applies", keys.join(", "))),
    };
    let binds = check.uses.contains(one);
    let optional = check.uses.count() == 0;
    let lacking = check.requires.lacking(&context.machine.traits.equipment);
    if !lacking.is_empty() {
        let outcome = binds.then(|| without(asked, &lacking));
        return Answered { outcome, by_life: false };
    }
    let (mut outcome, by_life) = match living_of(check, asked.known(), one, |_| true) {
        Ok(living) => match &check.yields {
            Yields::Look(look) => (look::judge(asked, look, &living), false),
            Yields::Read(measure) => reading::judge(asked, measure, &living),
            Yields::Date(of) => (day::judge(asked, *of, &living), true),
        },
        Err(unanswered) if binds => (unseen(context, check, unanswered, one), true),
        Err(_) => return Answered { outcome: None, by_life: true },
    };
    outcome.working.extend(unknown);
    let counts = binds || optional || (outcome.verdict == Verdict::Hold && outcome.class == Class::Dangerous);
    Answered { outcome: counts.then_some(outcome), by_life }
}

/// The hold of a machine that lacks what a check needs to be there.
fn without(asked: &Question<'_>, lacking: &[String]) -> Outcome {
    let &Question { context, check, one, .. } = asked;
    let rests_on_law = context.class_row(check, one).is_some();
    let outcome = asked.outcome(Verdict::Hold, format!("no {}", lacking.join(", no ")));
    Outcome { rests_on_law, ..outcome }
        .classed(context.class(check, one).0)
        .todo(format!("Not for use: {one}, until it is mounted"))
}

fn unseen(context: &Context<'_>, check: &Check, unanswered: Unanswered, one: Use) -> Outcome {
    let (reason, todo) = match unanswered {
        Unanswered::Never => ("never looked at".to_string(), "Do this check"),
        Unanswered::CouldNotSee(why) if why.is_empty() => ("could not see".to_string(), "Look again"),
        Unanswered::CouldNotSee(why) => (format!("could not see: {why}"), "Look again"),
        Unanswered::Lapsed(how) => (how, "Do this check again"),
    };
    Outcome::new(&check.id, &check.name, one, Verdict::Unseen, reason).classed(context.class(check, one).0).todo(todo)
}

fn service(context: &Context<'_>, one: Use) -> Option<Outcome> {
    let service = context.machine.service;
    let outcome = |verdict, todo: &str| {
        Some(Outcome::new("service", "Service state", one, verdict, service.as_str()).classed(Class::Major).todo(todo))
    };
    match service {
        Service::InService => None,
        Service::LaidUp => outcome(Verdict::Unseen, "Bring it back with a back-in-service walk-round"),
        Service::OnLoan | Service::Away => outcome(Verdict::Unseen, "Take it back, then walk round it"),
        Service::Impounded => outcome(Verdict::Hold, "Leave it as it is"),
        Service::Sold => outcome(Verdict::Hold, "It is not ours to let out"),
    }
}

/// The first line of every walk-round: no hold tag on the bar, key on its hook. Of forms opened at one moment the graver.
fn first_line(forms: &[&Form], one: Use) -> Option<Outcome> {
    let newest = forms.iter().map(|form| form.opened).max()?;
    let lines = forms.iter().filter(|form| form.opened == newest).filter_map(|form| first_line_of(form, one));
    lines.max_by_key(|outcome| outcome.verdict)
}

fn first_line_of(form: &Form, one: Use) -> Option<Outcome> {
    let outcome = |verdict, reason: &str, todo: &str| {
        Some(Outcome::new("first-line", "First line", one, verdict, reason).classed(Class::Major).todo(todo))
    };
    match (form.no_hold_tag, form.key_on_hook) {
        (Some(false), _) => {
            outcome(Verdict::Hold, "a hold tag hangs on the bar", "Find who hung it; only a named untagging lifts it")
        }
        (None, _) => outcome(Verdict::Unseen, "hold tag not looked for", "Look: no hold tag on the bar"),
        (_, Some(false)) => outcome(Verdict::Unseen, "key not on its hook", "Find who has the key and why"),
        (_, None) => outcome(Verdict::Unseen, "key not looked for", "Look: key on its hook"),
        (Some(true), Some(true)) => None,
    }
}

/// Findings raised and not closed up to now, whoever raised them and whenever.
fn open_findings<'f>(context: &Context<'_>, forms: &[&'f Form]) -> impl Iterator<Item = &'f Finding> {
    let now = context.now;
    let closes: Vec<&Close> = forms.iter().flat_map(|form| &form.closes).filter(|close| close.at <= now).collect();
    let raised = forms.iter().flat_map(|form| &form.findings).filter(move |finding| finding.at <= now);
    raised.filter(move |finding| !closes.iter().any(|close| close.finding == finding.id && close.at >= finding.at))
}

fn found(context: &Context<'_>, finding: &Finding, one: Use) -> Outcome {
    let check = finding.check.as_ref().and_then(|id| context.check(id));
    let gravest = || check.and_then(|check| context.class_row(check, one));
    let graded = check.map(|check| context.graded(check, finding.defect.as_deref(), one));
    // The catalogue's own class of a check says nothing of what a finder has classed.
    let named = graded.as_ref().is_some_and(|graded| graded.named);
    let row = graded.and_then(|graded| graded.row.filter(|_| graded.named)).or_else(gravest);
    let lawful = row.map_or(finding.class, |row| row.class.max(finding.class));
    let class = if finding.lowered.is_some() { finding.class } else { lawful };
    let verdict = if class == Class::Minor { Verdict::Watch } else { Verdict::Hold };
    let reason = format!("{} ({}, {})", finding.what, finding.by, finding.at.date());
    let id = format!("finding.{}", finding.id);
    let mut outcome = Outcome::new(&id, &format!("Finding {}", finding.id), one, verdict, reason).classed(class);
    match &finding.lowered {
        Some(why) if class < lawful => outcome.working.push(format!("lowered from the law pack's {lawful}: {why}")),
        _ if class > finding.class => {
            let of = if named { "this defect" } else { "this check" };
            outcome.working.push(format!("raised as {}; the law pack's class for {of} is {class}", finding.class));
            let unnamed = |check| context.unnamed(check, finding.defect.as_deref(), one);
            outcome.working.extend(check.filter(|_| !named).and_then(unnamed));
        }
        _ => {}
    }
    outcome.rests_on_law = verdict == Verdict::Hold && row.is_some();
    outcome.source = row.map(|row| row.provenance.to_string());
    outcome.by = Some(finding.by.clone());
    outcome.at = Some(finding.at.to_string());
    outcome.todo("Have it put right, then close the finding")
}

/// What the house lets a watch out on; a watch it lets out for other uses only is a hold here.
fn condition(context: &Context<'_>, outcome: &mut Outcome, one: Use) -> Option<String> {
    let mut rows = context.yard.conditions.iter().filter(|row| row.check == outcome.check).peekable();
    rows.peek()?;
    if let Some(row) = rows.clone().find(|row| row.uses.contains(one)) {
        return Some(row.says.clone());
    }
    outcome.verdict = Verdict::Hold;
    outcome.rests_on_law = false;
    let says = rows.map(|row| row.says.as_str()).collect::<Vec<_>>().join(", ");
    outcome.reason = format!("{}; house rule: {says}", outcome.reason);
    None
}

/// The checks a walk-round of a depth asks for: those that apply and have no answer that can be trusted, or all, as the
/// depth says.
#[must_use]
pub fn asked<'c>(context: &Context<'c>, forms: &[&Form], depth: Depth, one: Use) -> Vec<&'c Check> {
    let equipment = &context.machine.traits.equipment;
    let applies =
        |check: &Check| check.applies.holds(equipment) != Holds::No && check.requires.lacking(equipment).is_empty();
    let known = in_order(forms.iter().copied().filter(|form| form.opened <= context.now).collect());
    let past = Past::of(&known, context.now);
    let given = given_to_each(&context.catalogue.checks, &known, context.now);
    let unseen = |outcome: Outcome| outcome.verdict == Verdict::Unseen;
    let lapsed = |(check, given): (&Check, &[Given<'_>]), one: Use| {
        let question = Question { context, check, past: &past, given, one };
        check.uses.contains(one) && check_outcome(&question).outcome.is_some_and(unseen)
    };
    let wanted = |(check, given): (&Check, &[Given<'_>])| match depth {
        Depth::BeforeRide => lapsed((check, given), one),
        Depth::Handover => Use::ALL.iter().any(|one| lapsed((check, given), *one)),
        // What binds no use waits for a full walk-round: this one is the minute's look before it goes on.
        Depth::AfterAFall => {
            check.ends_with.contains(&crate::words::Ending::Fall)
                && Use::ALL.iter().any(|one| check.uses.contains(*one))
        }
        Depth::Full | Depth::Intake | Depth::BackInService => true,
    };
    let checks = context.checks().zip(&given);
    checks.filter(|(check, given)| applies(check) && wanted((check, given))).map(|(check, _)| check).collect()
}
