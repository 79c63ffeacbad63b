//! `muster yard`: every machine judged, worst first.

use anyhow::Result;
use muster_core::{
    judge::{Judgement, UseVerdict, Verdict},
    words::Use,
};

use super::{
    BAD_INPUT, MAY_GO,
    arguments::Global,
    paper::{Ink, Paper, count, marked, note},
    report,
    site::{Site, planned, said},
};

/// Room of a fleet number and its model.
const NAME_WIDTH: usize = 28;
/// Room of one use.
const USE_WIDTH: usize = 11;

/// Judges every machine of the yard.
///
/// # Errors
/// A yard that cannot be opened.
pub(crate) fn run(global: &Global, json: bool) -> Result<u8> {
    let site = Site::open(global)?;
    let now = site.now();
    let mut judgements = Vec::new();
    for id in site.yard.machines.keys() {
        judgements.push(site.judgement(id, now)?);
    }
    judgements.sort_by_cached_key(|judgement| (std::cmp::Reverse(verdict(judgement)), judgement.machine.clone()));
    let problems = site.all_problems();
    for problem in &problems {
        note(&said(problem));
    }
    let mut paper = Paper::new(global.color);
    if json {
        for judgement in &judgements {
            paper.line(&judgement.to_json()?);
        }
    } else {
        let title = format!("{}, {} {}", site.yard.name, now.date(), now.clock());
        table(&mut paper, &title, &judgements);
    }
    paper.print()?;
    Ok(if problems.is_empty() { MAY_GO } else { BAD_INPUT })
}

fn verdict(judgement: &Judgement) -> Verdict {
    judgement.planned().map_or(Verdict::Unseen, |planned| planned.verdict)
}

fn table(paper: &mut Paper, title: &str, judgements: &[Judgement]) {
    let title = paper.ink(Ink::Strong, title);
    paper.line(&title);
    let law = "Every column is a use; > marks the one planned.";
    paper.hung("", Ink::Faint, law);
    for one in Verdict::ALL.iter().rev() {
        let its: Vec<&Judgement> = judgements.iter().filter(|judgement| verdict(judgement) == *one).collect();
        if its.is_empty() {
            continue;
        }
        let uses: String =
            Use::ALL.iter().map(|one| format!("  {:<width$}", one.as_str(), width = USE_WIDTH - 2)).collect();
        let head = format!("{} ({})", marked(*one), its.len());
        paper.heading(&format!("{head:<NAME_WIDTH$}{}", uses.trim_end()));
        for judgement in its {
            row(paper, judgement);
        }
    }
    paper.line("");
    paper.hung("", Ink::Strong, &summary(judgements));
}

fn row(paper: &mut Paper, judgement: &Judgement) {
    let mut line =
        format!("  {:<width$}", format!("{:<6}{}", judgement.machine, judgement.model), width = NAME_WIDTH - 2);
    for one in &judgement.uses {
        let sign = if one.one == planned(judgement) { '>' } else { ' ' };
        let text = format!("{:<width$}", marked(one.verdict), width = USE_WIDTH - 2);
        line.push_str(&format!("{sign} {}", paper.ink(Ink::Verdict(one.verdict), &text)));
    }
    paper.line(&line);
    if let Some(planned) = judgement.planned() {
        reason(paper, planned);
    }
}

/// The tightest reason of the planned use, and what to do; of a fit machine nothing.
fn reason(paper: &mut Paper, planned: &UseVerdict) {
    const LABEL: &str = "        ";
    let mut reasons = planned.reasons();
    let Some(first) = reasons.next() else { return };
    let more = match reasons.count() {
        0 => String::new(),
        more => format!(" (and {more} more)"),
    };
    paper.hung(LABEL, Ink::Plain, &format!("{}: {}{more}", first.name, first.reason));
    if let Some(todo) = &first.todo {
        paper.hung(&format!("{LABEL}-> "), Ink::Plain, todo);
    }
    if planned.verdict == Verdict::Watch && !planned.conditions.is_empty() {
        paper.hung(LABEL, Ink::Plain, &report::conditions(planned));
    }
}

fn summary(judgements: &[Judgement]) -> String {
    let of = |one: Verdict| judgements.iter().filter(|judgement| verdict(judgement) == one).count();
    let parts: Vec<String> = Verdict::ALL
        .iter()
        .rev()
        .map(|one| format!("{} {one}", of(*one)))
        .filter(|part| !part.starts_with("0 "))
        .collect();
    let out = of(Verdict::Fit) + of(Verdict::Watch);
    format!(
        "{}: {}; {out} may go out as planned.",
        count(judgements.len(), "machine", "machines"),
        if parts.is_empty() { "none".to_string() } else { parts.join(", ") }
    )
}
