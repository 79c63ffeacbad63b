//! `muster judge`: filled forms to a verdict, with an exit code a script can go by.

use std::path::Path;

use anyhow::{Result, bail};
use muster_core::{
    form::Form,
    judge::{Judgement, Verdict, implausible, judge},
    load::Problem,
    words::Use,
};

use super::{
    BAD_INPUT, MAY_GO,
    arguments::{Global, Judge},
    code, files, graver,
    paper::{Ink, Paper, count, note},
    report,
    site::{Filed, Site, said},
};

/// One form judged, as far as it can be.
struct Judged {
    filed: Filed,
    problems: Vec<Problem>,
    judgement: Option<Judgement>,
    earlier: usize,
}

/// Judges the forms named.
///
/// # Errors
/// A yard that cannot be opened, or a page that cannot be written. A form that cannot be read is said and the next one
/// judged.
pub(crate) fn run(global: &Global, asked: &Judge) -> Result<u8> {
    let site = Site::open(global)?;
    if asked.html.is_some() && asked.files.len() > 1 {
        bail!("--html writes the page of one form: name one");
    }
    let mut gravest = MAY_GO;
    let mut paper = Paper::new(global.color);
    for (index, path) in asked.files.iter().enumerate() {
        let filed = match read(&site, path) {
            Ok(filed) => filed,
            Err(error) => {
                note(&format!("muster: {error}"));
                gravest = BAD_INPUT;
                continue;
            }
        };
        let judged = judged(&site, filed, asked.planned)?;
        gravest = graver(gravest, verdict_code(&site, &judged));
        if asked.json {
            json(&mut paper, &judged)?;
        } else {
            if index > 0 {
                paper.line("");
                let rule = "-".repeat(paper.width());
                paper.line(&rule);
            }
            tell(&mut paper, &site, &judged, asked.working);
        }
        if let (Some(out), Some(judgement)) = (&asked.html, &judged.judgement) {
            files::write_new(out, muster::page::page(judgement, &site.yard.name).as_bytes(), true)?;
        }
    }
    paper.print()?;
    Ok(gravest)
}

fn read(site: &Site, path: &Path) -> Result<Filed, files::FileError> {
    let (name, text) = match path.to_str() {
        Some("-") => ("standard input".to_string(), files::read_input()?),
        _ => (path.display().to_string(), files::read(path)?),
    };
    Ok(Filed::read(name, text, &site.catalogue, &site.yard))
}

fn judged(site: &Site, filed: Filed, planned: Option<Use>) -> Result<Judged> {
    let mut problems = filed.problems.clone();
    let Some(form) = &filed.form else {
        return Ok(Judged { filed, problems, judgement: None, earlier: 0 });
    };
    let now = site.moment_of(form);
    let context = site.context(&form.machine, now)?;
    // The same form may lie in the yard's folder too, whatever it was called by.
    let others = site.forms.iter().filter(|other| other.text != filed.text).filter_map(|other| other.form.as_ref());
    let others: Vec<&Form> = others.filter(|other| other.machine == form.machine && other.opened <= now).collect();
    problems.extend(implausible(&context, &filed.name, form, &others));
    problems.sort();
    problems.dedup();
    let all: Vec<&Form> = others.iter().copied().chain([form]).collect();
    let mut judgement = judge(&context, &all);
    judgement.planned = planned.or(form.outing.map(|outing| outing.planned)).or(judgement.planned);
    Ok(Judged { earlier: others.len(), problems, judgement: Some(judgement), filed })
}

fn verdict_code(site: &Site, judged: &Judged) -> u8 {
    let Some(judgement) = &judged.judgement else { return BAD_INPUT };
    let verdict = judgement.planned().map_or(Verdict::Unseen, |planned| planned.verdict);
    let rests_on_faults = !judged.problems.is_empty() || !site.problems_of(&judgement.machine).is_empty();
    if rests_on_faults { BAD_INPUT } else { code(verdict) }
}

fn json(paper: &mut Paper, judged: &Judged) -> Result<()> {
    for problem in &judged.problems {
        note(&said(problem));
    }
    if let Some(judgement) = &judged.judgement {
        paper.line(&judgement.to_json()?);
    }
    Ok(())
}

fn tell(paper: &mut Paper, site: &Site, judged: &Judged, working: bool) {
    if !judged.problems.is_empty() {
        let heading = format!("Put right first: {}", count(judged.problems.len(), "fault", "faults"));
        paper.line(&heading);
        for problem in &judged.problems {
            paper.hung("  - ", Ink::Plain, &said(problem));
        }
        paper.line("");
    }
    let Some((judgement, form)) = judged.judgement.as_ref().zip(judged.filed.form.as_ref()) else {
        paper.line(&format!("{}: nothing can be judged.", judged.filed.name));
        return;
    };
    let yard = site.problems_of(&judgement.machine).len();
    if yard > 0 {
        let text = format!(
            "The yard's own files have {}: muster data names them. What they leave out does not count.",
            count(yard, "fault", "faults")
        );
        paper.hung("", Ink::Strong, &text);
        paper.line("");
    }
    let detail = report::Detail { form, earlier: judged.earlier, working };
    report::judgement(paper, judgement, detail);
}
