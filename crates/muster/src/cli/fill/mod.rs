//! `muster fill`: a form filled check by check at a terminal, saved after every answer.

mod answer;
mod typed;

use std::path::Path;

use anyhow::{Result, bail};
use muster_core::{
    check::{Check, Yields},
    form::Form,
    judge::{Judgement, Outcome, Verdict, implausible, judge},
    load::Problem,
    quantity::Kind,
    walk_round,
    words::Use,
    yard::Units,
};

use super::{
    BAD_INPUT, MAY_GO,
    arguments::Global,
    explain::capital,
    form_file::{FormFile, Said},
    paper::{Ink, Paper, marked, note},
    site::{Filed, Site, planned, said},
    walk_round::FIRST_LINE,
};
use answer::Answer;
use typed::{Typed, ask, say};

/// Fills a form.
///
/// # Errors
/// A form that cannot be read, judged or saved. What was answered before is saved.
pub(crate) fn run(global: &Global, file: &Path, by: Option<&str>) -> Result<u8> {
    let site = Site::open(global)?;
    let form = FormFile::open(file)?;
    let mut filling =
        Filling { site: &site, form, by: by.map(str::to_string), last_with: Vec::new(), color: global.color };
    let problems = filling.filed().problems;
    let unnamed = |problem: &Problem| problem.what.starts_with("`by` is empty");
    for problem in problems.iter().filter(|problem| !unnamed(problem)) {
        note(&said(problem));
    }
    if filling.filed().form.is_none() {
        bail!("{} cannot be filled: put that right first", file.display());
    }
    let done = filling.head()? && filling.checks()?;
    filling.end(done)
}

/// What came of a question.
enum Step {
    /// Answered, or left for later.
    On,
    /// To the one before.
    Back,
    /// Enough.
    Quit,
}

/// A form being filled.
struct Filling<'s> {
    site: &'s Site,
    form: FormFile,
    /// Who fills it, if that was said.
    by: Option<String>,
    /// Instruments used before, the last one last.
    last_with: Vec<String>,
    color: super::arguments::Color,
}

impl Filling<'_> {
    fn filed(&self) -> Filed {
        let name = self.form.path().display().to_string();
        Filed::read(name, self.form.text(), &self.site.catalogue, &self.site.yard)
    }

    /// Asks for what stands at the form's head and is missing; false to end.
    fn head(&mut self) -> Result<bool> {
        let form = self.filed().form;
        let Some(form) = form else { return Ok(false) };
        say(&format!("{}: empty is later, back is one back, quit ends; every answer is saved at once.", form.machine));
        say(FIRST_LINE);
        if form.no_hold_tag.is_none() && !self.yes("no_hold_tag", "No hold tag on the bar? y or n")? {
            return Ok(false);
        }
        if form.key_on_hook.is_none() && !self.yes("key_on_hook", "Key on its hook? y or n")? {
            return Ok(false);
        }
        if form.by.trim().is_empty() {
            let by = match self.by.clone() {
                Some(by) => Typed::Text(by),
                None => ask("Who walks round it?")?,
            };
            match by {
                Typed::Text(by) => {
                    self.form.set("by", &Said::Text(by.clone()))?;
                    self.form.save()?;
                    self.by = Some(by);
                }
                Typed::Quit => return Ok(false),
                Typed::Empty | Typed::Back => {}
            }
        }
        let us = self.site.yard.units == Units::Us;
        let unit = |si, imperial| if us { imperial } else { si };
        Ok((form.odometer.is_some() || self.figure("odometer", "Odometer", (Kind::Distance, unit("km", "mi")))?)
            && (form.air.is_some()
                || self.figure("air", "Air, in the shade", (Kind::Temperature, unit("°C", "°F")))?))
    }

    /// Asks yes or no; false to end.
    fn yes(&mut self, key: &str, question: &str) -> Result<bool> {
        loop {
            match ask(question)? {
                Typed::Quit => return Ok(false),
                Typed::Empty | Typed::Back => return Ok(true),
                Typed::Text(text) => match text.to_lowercase().as_str() {
                    "y" | "yes" => {
                        self.form.set(key, &Said::Yes)?;
                        self.form.save()?;
                        return Ok(true);
                    }
                    "n" | "no" => {
                        self.form.set(key, &Said::No)?;
                        self.form.save()?;
                        say(&format!("  {} Do not take it out; find who knows.", marked(Verdict::Hold)));
                        return Ok(true);
                    }
                    _ => say("  y or n"),
                },
            }
        }
    }

    /// Asks for a figure of the head; false to end. One that cannot be is kept if it is typed twice.
    fn figure(&mut self, key: &str, name: &str, (kind, unit): (Kind, &str)) -> Result<bool> {
        let mut doubted = String::new();
        loop {
            match ask(&format!("{name}, {unit}:"))? {
                Typed::Quit => return Ok(false),
                Typed::Empty | Typed::Back => return Ok(true),
                Typed::Text(given) => match self.with_unit(kind, &given, unit) {
                    Ok(figure) => {
                        let before = self.problems()?;
                        self.form.set(key, &Said::Text(figure))?;
                        if given == doubted || self.is_sound(&before)? {
                            self.form.save()?;
                            return Ok(true);
                        }
                        say("  type it again if it is so");
                        self.form.undo()?;
                        doubted = given;
                    }
                    Err(why) => say(&format!("  {why}")),
                },
            }
        }
    }

    /// Everything wrong with the form as it stands.
    fn problems(&self) -> Result<Vec<Problem>> {
        let filed = self.filed();
        let mut problems = filed.problems;
        if let Some(form) = &filed.form {
            let context = self.site.context(&form.machine, self.site.now().max(form.opened))?;
            problems.extend(implausible(&context, &filed.name, form, &self.others(form)));
        }
        Ok(problems)
    }

    /// Whether nothing is wrong that was not wrong before; says what is.
    fn is_sound(&self, before: &[Problem]) -> Result<bool> {
        let known = |problem: &Problem| before.iter().any(|other| other.what == problem.what);
        let fresh: Vec<Problem> = self.problems()?.into_iter().filter(|problem| !known(problem)).collect();
        for problem in &fresh {
            say(&format!("  {}", problem.what));
        }
        Ok(fresh.is_empty())
    }

    /// The other forms of the machine; not this one, should it lie in the yard's folder.
    fn others(&self, form: &Form) -> Vec<&Form> {
        let own = self.form.path().canonicalize().ok();
        let forms = self.site.forms.iter();
        let forms = forms.filter(|filed| own.is_none() || Path::new(&filed.name).canonicalize().ok() != own);
        forms.filter_map(|filed| filed.form.as_ref()).filter(|other| other.machine == form.machine).collect()
    }

    /// Asks every check that has no answer yet; false if it ended early.
    fn checks(&mut self) -> Result<bool> {
        let rows = self.form.answers();
        let open: Vec<usize> = rows.iter().enumerate().filter(|(_, (_, filled))| !filled).map(|(row, _)| row).collect();
        let mut at = 0;
        while let Some(row) = open.get(at).copied() {
            let Some((id, filled)) = self.form.answers().get(row).cloned() else { break };
            let Some(check) = self.site.catalogue.check(&id) else {
                at += 1;
                continue;
            };
            self.show(check, &format!("{} of {}", at + 1, open.len()))?;
            let target = if filled {
                say("  answered before: a new answer corrects a slip of the keys, and both stay.");
                Target::Slip
            } else {
                Target::Row(row)
            };
            match self.ask_check(check, &target)? {
                Step::On => at += 1,
                Step::Back => at = at.saturating_sub(1),
                Step::Quit => return Ok(false),
            }
        }
        Ok(true)
    }

    fn show(&self, check: &Check, number: &str) -> Result<()> {
        let Some(form) = self.filed().form else { return Ok(()) };
        let context = self.site.context(&form.machine, self.site.now())?;
        let mut page = Paper::new(self.color);
        let check = context.own(check);
        let place = capital(&check.station.as_str().replace('-', " "));
        let head = page.ink(Ink::Strong, &format!("{} ({number}, {place})", check.name));
        page.line("");
        page.line(&head);
        for line in context.method(check) {
            page.hung("  ", Ink::Plain, line);
        }
        if let Some(caution) = context.caution(check) {
            page.hung("  Caution: ", Ink::Plain, &caution);
        }
        if let Yields::Read(measure) = &check.yields {
            let one = form.outing.map_or(Use::Range, |outing| outing.planned);
            for limit in walk_round::limits(&context, measure, &context.limits(check, one)) {
                page.hung("  = ", Ink::Plain, &limit);
            }
        }
        if let Yields::Look(look) = &check.yields {
            page.hung("  s sound      ", Ink::Plain, &look.sound);
            page.hung("  d doubtful   ", Ink::Plain, &look.doubtful);
            page.hung("  x defective  ", Ink::Plain, &look.defective);
        }
        page.print()?;
        Ok(())
    }

    fn ask_check(&mut self, check: &Check, target: &Target) -> Result<Step> {
        loop {
            let answer = match &check.yields {
                Yields::Look(look) => self.look(&look.places)?,
                Yields::Read(measure) => self.reading(check, measure, "Reading")?,
                Yields::Date(of) => self.day(*of)?,
            };
            let mut says = match answer {
                Answer::Step(step) => return Ok(step),
                Answer::Again => continue,
                Answer::Says(says) => says,
            };
            says.extend(self.defect(check, &says)?);
            if self.write(check, target, says)? {
                return self.settle(check);
            }
        }
    }

    /// Writes an answer and tells what comes of it; false if it is refused and nothing was written.
    fn write(&mut self, check: &Check, target: &Target, mut says: Vec<(&'static str, Said)>) -> Result<bool> {
        let before = self.problems()?;
        let form = self.filed().form;
        says.push(("at", Said::At(self.site.now())));
        let author = form.map(|form| form.by).unwrap_or_default();
        if let Some(by) = self.by.as_ref().filter(|by| **by != author) {
            says.push(("by", Said::Text(by.clone())));
        }
        match target {
            Target::Row(row) => self.form.fill(*row, &says)?,
            Target::Slip => {
                says.push(("slip", Said::Yes));
                self.form.add(&check.id, &says)?;
            }
            Target::After(act) => {
                says.insert(0, ("after", Said::Text(act.clone())));
                self.form.add(&check.id, &says)?;
            }
        }
        if !self.is_sound(&before)? {
            self.form.undo()?;
            return Ok(false);
        }
        self.form.save()?;
        if let Some(outcome) = self.outcome(check)? {
            tell(self.color, &outcome)?;
        }
        Ok(true)
    }

    /// What can be set is set and read again, as long as it is off and somebody says so.
    fn settle(&mut self, check: &Check) -> Result<Step> {
        let Yields::Read(measure) = &check.yields else { return Ok(Step::On) };
        let Some(settable) = &measure.settable else { return Ok(Step::On) };
        self.ask_why(check, &settable.why)?;
        while self.outcome(check)?.is_some_and(|outcome| self.is_off(&outcome)) {
            match self.reading(check, measure, &format!("After {}, the new reading", settable.act))? {
                Answer::Step(step) => return Ok(step),
                Answer::Says(says) if says.iter().any(|(key, _)| *key == "read") => {
                    let _written = self.write(check, &Target::After(settable.act.clone()), says)?;
                }
                Answer::Says(_) => say("  leave it empty to do it later"),
                Answer::Again => {}
            }
        }
        Ok(Step::On)
    }

    /// Whether a reading is past its limit, or too near it to be fit.
    fn is_off(&self, outcome: &Outcome) -> bool {
        let asked = self.site.catalogue.rule.verdict.fit.get();
        outcome.figure.as_ref().is_some_and(|figure| figure.margin < 0.0)
            || outcome.probability.is_some_and(|p| p < asked)
    }

    /// Far off asks why first: a puncture, a leak.
    fn ask_why(&mut self, check: &Check, look_for: &str) -> Result<()> {
        let far_off = |outcome: Outcome| outcome.working.iter().any(|line| line.starts_with("found far off"));
        if !self.outcome(check)?.is_some_and(far_off) {
            return Ok(());
        }
        if let Typed::Text(why) = ask(&format!("Far off. {look_for} What was it? Empty if not known yet:"))? {
            let last = self.form.answers().iter().rposition(|(id, _)| *id == check.id);
            if let Some(row) = last {
                self.form.put(row, "why", &Said::Text(why))?;
                self.form.save()?;
            }
        }
        Ok(())
    }

    fn judgement(&self) -> Result<Option<Judgement>> {
        let Some(form) = self.filed().form else { return Ok(None) };
        let context = self.site.context(&form.machine, self.site.now().max(form.opened))?;
        let all: Vec<&Form> = self.others(&form).into_iter().chain([&form]).collect();
        let mut judgement = judge(&context, &all);
        judgement.planned = form.outing.map(|outing| outing.planned).or(judgement.planned);
        Ok(Some(judgement))
    }

    /// What a check comes to for the use planned, else for any.
    fn outcome(&self, check: &Check) -> Result<Option<Outcome>> {
        let Some(judgement) = self.judgement()? else { return Ok(None) };
        let first = planned(&judgement);
        let mut uses: Vec<_> = judgement.uses.iter().collect();
        uses.sort_by_key(|one| one.one != first);
        Ok(uses.iter().flat_map(|one| &one.outcomes).find(|outcome| outcome.check == check.id).cloned())
    }

    /// Closes the form if all is answered, and says what it comes to.
    fn end(&mut self, done: bool) -> Result<u8> {
        let rows = self.form.answers();
        let open = rows.iter().filter(|(_, filled)| !filled).count();
        let form = self.filed().form;
        if done
            && open == 0
            && form.is_some_and(|form| form.closed.is_none())
            && let Typed::Text(text) = ask("All is answered. Close the walk-round? y or n")?
            && text.to_lowercase().starts_with('y')
        {
            self.form.set("closed", &Said::At(self.site.now()))?;
            self.form.save()?;
        }
        let file = self.form.path().display().to_string();
        let left = if open == 0 { "nothing left".into() } else { format!("{open} left: muster fill {file} goes on") };
        say(&format!("\nSaved {file}: {} of {} answered, {left}.", rows.len() - open, rows.len()));
        if let Some(judgement) = self.judgement()?
            && let Some(planned) = judgement.planned()
        {
            say(&format!(
                "{} for {}; muster judge {file} tells why.",
                marked(planned.verdict).to_uppercase(),
                planned.one
            ));
        }
        Ok(if self.filed().problems.is_empty() { MAY_GO } else { BAD_INPUT })
    }
}

/// Where an answer is written.
enum Target {
    /// Into the row that waits for it.
    Row(usize),
    /// Into a new row that corrects a slip.
    Slip,
    /// Into a new row, after an act.
    After(String),
}

/// Says what an answer comes to and what to do at once.
fn tell(color: super::arguments::Color, outcome: &Outcome) -> Result<()> {
    let mut page = Paper::new(color);
    page.hung(&format!("  {} - ", marked(outcome.verdict)), Ink::Verdict(outcome.verdict), &outcome.reason);
    if let Some(todo) = &outcome.todo {
        page.hung("  -> ", Ink::Strong, todo);
    }
    page.print()?;
    Ok(())
}
