//! The text of a judgement: worst first, each reason with its limit, its source and what to do.

use muster_core::{
    calendar::Moment,
    form::Form,
    judge::{Judgement, Outcome, UseVerdict, Verdict},
};

use super::{
    paper::{Ink, Paper, count, marked},
    site::planned,
};

/// What is printed beside the verdict.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Detail<'d> {
    /// The form judged.
    pub(crate) form: &'d Form,
    /// How many other forms of the machine count.
    pub(crate) earlier: usize,
    /// Whether to show how each verdict was worked out.
    pub(crate) working: bool,
}

/// Lays out a judgement.
pub(crate) fn judgement(paper: &mut Paper, judgement: &Judgement, detail: Detail<'_>) {
    let Some(use_planned) = judgement.planned() else { return };
    head(paper, judgement, detail);
    verdicts(paper, judgement, use_planned);
    reasons(paper, use_planned, detail.working);
    others(paper, judgement, use_planned, detail.working);
    fit(paper, use_planned, detail.working);
}

/// A stored moment as people read it: date and clock.
pub(crate) fn moment(text: &str) -> String {
    Moment::parse(text).map_or_else(|_| text.into(), |moment| format!("{} {}", moment.date(), moment.clock()))
}

/// The conditions a watch goes out on.
pub(crate) fn conditions(verdict: &UseVerdict) -> String {
    format!("May go out on condition: {}.", verdict.conditions.join("; "))
}

fn head(paper: &mut Paper, judgement: &Judgement, detail: Detail<'_>) {
    let form = detail.form;
    let title = paper.ink(Ink::Strong, &format!("{}  {}", judgement.machine, judgement.model));
    paper.line(&title);
    let closed = form.closed.map_or_else(|| ", not closed yet".into(), |closed| format!(" to {}", closed.clock()));
    let by = if form.by.trim().is_empty() { "nobody named" } else { form.by.as_str() };
    let opened = format!("{} {}", form.opened.date(), form.opened.clock());
    paper.hung("", Ink::Plain, &format!("Walk-round, {}, by {by}, {opened}{closed}", form.depth));
    let known = judgement.known_at.as_deref().map(|at| format!("as known at {}", moment(at)));
    let known = known.unwrap_or_else(|| "nothing known by then".into());
    let earlier = match detail.earlier {
        0 => "no other form of it counts".to_string(),
        number => format!(
            "{} of it {}",
            count(number, "other form", "other forms"),
            if number == 1 { "counts" } else { "count" }
        ),
    };
    paper.hung("", Ink::Plain, &format!("Judged at {}, {known}; {earlier}", moment(&judgement.judged_at)));
}

fn verdicts(paper: &mut Paper, judgement: &Judgement, use_planned: &UseVerdict) {
    let back = judgement.back.as_deref().map(|back| format!(", back {}", moment(back))).unwrap_or_default();
    paper.line("");
    let may = match use_planned.verdict {
        Verdict::Hold => "It must not go out.",
        Verdict::Unseen => "It does not go out until what is missing was seen.",
        Verdict::Watch | Verdict::Fit => "It may go out.",
    };
    let mark = paper.ink(Ink::Verdict(use_planned.verdict), &marked(use_planned.verdict).to_uppercase());
    paper.line(&format!("{mark} for {}{back}. {may}", planned(judgement)));
    if use_planned.verdict == Verdict::Watch && !use_planned.conditions.is_empty() {
        paper.hung("", Ink::Plain, &conditions(use_planned));
    }
    let rest: Vec<String> = judgement
        .uses
        .iter()
        .filter(|other| other.one != use_planned.one)
        .map(|other| format!("{}: {}", other.one, paper.ink(Ink::Verdict(other.verdict), &marked(other.verdict))))
        .collect();
    paper.line(&rest.join("    "));
}

fn reasons(paper: &mut Paper, verdict: &UseVerdict, working: bool) {
    let told: Vec<Told<'_>> = verdict.reasons().map(|outcome| Told { outcome, uses: Vec::new() }).collect();
    if !told.is_empty() {
        paper.heading(&format!("Why, for {}", verdict.one));
        all(paper, &told, working);
    }
}

/// What holds the other uses back beyond the planned one's reasons, worst first.
fn others(paper: &mut Paper, judgement: &Judgement, use_planned: &UseVerdict, working: bool) {
    let mut told: Vec<Told<'_>> = Vec::new();
    for other in judgement.uses.iter().filter(|other| other.one != use_planned.one) {
        for outcome in other.reasons() {
            let same = |one: &Outcome| one.check == outcome.check && one.reason == outcome.reason;
            if use_planned.reasons().any(same) {
                continue;
            }
            match told.iter_mut().find(|told| same(told.outcome)) {
                Some(told) => told.uses.push(other.one.as_str()),
                None => told.push(Told { outcome, uses: vec![other.one.as_str()] }),
            }
        }
    }
    if !told.is_empty() {
        paper.heading("Beyond that, for other uses");
        told.sort_by(|a, b| a.outcome.gravity(b.outcome));
        all(paper, &told, working);
    }
}

/// A reason, and the uses it is told for.
struct Told<'j> {
    outcome: &'j Outcome,
    uses: Vec<&'j str>,
}

impl Told<'_> {
    /// Whether one text tells both: checks that lapsed alike.
    fn joins(&self, other: &Self) -> bool {
        let key = |told: &Self| {
            let one = told.outcome;
            (one.verdict, one.class, one.reason.clone(), one.todo.clone(), one.source.clone())
        };
        self.outcome.figure.is_none() && key(self) == key(other) && self.uses == other.uses
    }
}

/// Tells reasons in order, those with one and the same text together.
fn all(paper: &mut Paper, told: &[Told<'_>], working: bool) {
    for (index, one) in told.iter().enumerate() {
        if told.iter().take(index).any(|other| other.joins(one)) {
            continue;
        }
        let later = told.iter().skip(index + 1).filter(|other| other.joins(one));
        let names: Vec<&str> = std::iter::once(one).chain(later).map(|other| other.outcome.name.as_str()).collect();
        reason(paper, one, &names.join("; "), working);
    }
}

/// How far reasons stand from the edge.
const INDENT: &str = "           ";

fn reason(paper: &mut Paper, told: &Told<'_>, names: &str, working: bool) {
    let outcome = told.outcome;
    let uses = if told.uses.is_empty() { String::new() } else { format!(" ({})", told.uses.join(", ")) };
    let mark = format!("  {:<9}", marked(outcome.verdict));
    let mark = paper.ink(Ink::Verdict(outcome.verdict), &mark);
    paper.hung_behind(&mark, INDENT.len(), Ink::Strong, &format!("{names}, {}{uses}", outcome.class));
    paper.hung(INDENT, Ink::Plain, &sentence(&outcome.reason));
    if let Some(todo) = &outcome.todo {
        paper.hung(&format!("{INDENT}-> "), Ink::Plain, &sentence(todo));
    }
    beside(paper, outcome, INDENT, working);
}

/// What a verdict rests on: its source, who, when, what was set, and the working if that is asked for.
fn beside(paper: &mut Paper, outcome: &Outcome, indent: &str, working: bool) {
    if let Some(set) = &outcome.set {
        paper.hung(indent, Ink::Plain, &format!("Found {}, {}, now {}.", set.found, set.act, set.now));
    }
    if let Some(source) = &outcome.source {
        let law = if outcome.rests_on_law { " - law" } else { "" };
        paper.hung(&format!("{indent}by "), Ink::Faint, &format!("{source}{law}"));
    }
    if working {
        let who = outcome.by.as_ref().map(|by| format!("answered by {by}"));
        let when = outcome.at.as_deref().map(|at| format!("at {}", moment(at)));
        let answered: Vec<String> = who.into_iter().chain(when).collect();
        if !answered.is_empty() {
            paper.hung(&format!("{indent}. "), Ink::Faint, &answered.join(" "));
        }
        for line in &outcome.working {
            paper.hung(&format!("{indent}. "), Ink::Faint, line);
        }
    }
}

fn fit(paper: &mut Paper, verdict: &UseVerdict, working: bool) {
    let fit: Vec<&Outcome> = verdict.outcomes.iter().filter(|outcome| outcome.verdict == Verdict::Fit).collect();
    if fit.is_empty() {
        return;
    }
    paper.heading(&format!("Fit for {}: {}", verdict.one, count(fit.len(), "check", "checks")));
    let (figures, looks): (Vec<&Outcome>, Vec<&Outcome>) =
        fit.into_iter().partition(|outcome| outcome.reason != "sound");
    for outcome in figures {
        paper.hung("  + ", Ink::Plain, &format!("{}: {}", outcome.name, outcome.reason));
        beside(paper, outcome, "      ", working);
    }
    if !looks.is_empty() {
        let names: Vec<&str> = looks.iter().map(|outcome| outcome.name.as_str()).collect();
        paper.hung("  + ", Ink::Plain, &format!("sound: {}", names.join(", ")));
    }
}

/// A reason as a sentence of its own.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let head: String = letters.next().map(|first| first.to_uppercase().collect()).unwrap_or_default();
    let end = if text.ends_with(['.', '!', '?', '…']) { "" } else { "." };
    format!("{head}{}{end}", letters.as_str())
}
