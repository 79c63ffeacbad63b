//! `muster fill`: a form filled check by check at a terminal, saved after every answer.

use std::{
    io::{self, BufRead, IsTerminal, Read as _, Write as _},
    path::Path,
};

use anyhow::{Result, bail};
use muster_core::{
    check::{Check, Correction, DateOf, Measure, Yields},
    form::Form,
    judge::{Judgement, Outcome, Verdict, judge},
    load::Problem,
    quantity::{Kind, text},
    state::Heat,
    walk_round,
    words::Use,
    yard::Units,
};

use super::{
    BAD_INPUT, MAY_GO,
    arguments::Global,
    explain::capital,
    form_file::{FormFile, Said},
    paper::{self, Ink, Paper, marked},
    site::{Filed, Site, planned, said},
    walk_round::{FIRST_LINE, fitting},
};

/// How long a line at the terminal may be, in bytes.
const MAX_LINE: u64 = 4096;

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
        eprintln!("{}", said(problem));
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

/// What was typed.
enum Typed {
    /// Nothing: later.
    Empty,
    /// To the one before.
    Back,
    /// Enough, or there is no more input.
    Quit,
    /// Something.
    Text(String),
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
        println!("{}: empty is later, back is one back, quit ends; every answer is saved at once.", form.machine);
        println!("{FIRST_LINE}");
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
                        println!("  {} Do not take it out; find who knows.", marked(Verdict::Hold));
                        return Ok(true);
                    }
                    _ => println!("  y or n"),
                },
            }
        }
    }

    /// Asks for a figure of the head; false to end.
    fn figure(&mut self, key: &str, name: &str, (kind, unit): (Kind, &str)) -> Result<bool> {
        loop {
            match ask(&format!("{name}, {unit}:"))? {
                Typed::Quit => return Ok(false),
                Typed::Empty | Typed::Back => return Ok(true),
                Typed::Text(given) => match self.with_unit(kind, &given, unit) {
                    Ok(figure) => {
                        self.form.set(key, &Said::Text(figure))?;
                        self.form.save()?;
                        return Ok(true);
                    }
                    Err(why) => println!("  {why}"),
                },
            }
        }
    }

    /// A figure as it is written down: one without a unit in the unit named.
    fn with_unit(&self, kind: Kind, given: &str, unit: &str) -> Result<String, String> {
        match text::read(kind, given, self.site.yard.sign) {
            Ok(_) => Ok(given.to_string()),
            Err(text::NotRead::NoUnit { .. }) => {
                let full = format!("{given} {unit}");
                text::read(kind, &full, self.site.yard.sign).map_err(|e| e.to_string())?;
                Ok(full)
            }
            Err(error) => Err(error.to_string()),
        }
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
                println!("  answered before: a new answer corrects a slip of the keys, and both stay.");
                Target::Slip
            } else {
                Target::Row(row)
            };
            match self.ask_check(check, target)? {
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
        let place = capital(&check.station.as_str().replace('-', " "));
        let head = page.ink(Ink::Strong, &format!("{} ({number}, {place})", check.name));
        page.line("");
        page.line(&head);
        let own = context.procedure(check).filter(|procedure| !procedure.method.is_empty());
        let method = own.map_or(&check.method, |procedure| &procedure.method);
        for line in method {
            page.hung("  ", Ink::Plain, line);
        }
        if let Some(caution) = &check.caution {
            page.hung("  Caution: ", Ink::Plain, caution);
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

    fn ask_check(&mut self, check: &Check, target: Target) -> Result<Step> {
        loop {
            let answer = match &check.yields {
                Yields::Look(look) => self.look(&look.places)?,
                Yields::Read(measure) => self.reading(check, measure, "Reading")?,
                Yields::Date(of) => self.day(*of)?,
            };
            let says = match answer {
                Answer::Step(step) => return Ok(step),
                Answer::Again => continue,
                Answer::Says(says) => says,
            };
            if self.write(check, &target, says)? {
                return self.settle(check);
            }
        }
    }

    /// Writes an answer and tells what comes of it; false if it is refused and nothing was written.
    fn write(&mut self, check: &Check, target: &Target, mut says: Vec<(&'static str, Said)>) -> Result<bool> {
        let before = self.filed();
        says.push(("at", Said::At(self.site.now())));
        let author = before.form.as_ref().map(|form| form.by.clone()).unwrap_or_default();
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
        let known: Vec<&str> = before.problems.iter().map(|problem| problem.what.as_str()).collect();
        let after = self.filed();
        let fresh: Vec<&Problem> =
            after.problems.iter().filter(|problem| !known.contains(&problem.what.as_str())).collect();
        if !fresh.is_empty() {
            for problem in fresh {
                println!("  {}", problem.what);
            }
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
        while self.outcome(check)?.is_some_and(|outcome| outcome.verdict != Verdict::Fit && outcome.figure.is_some()) {
            match self.reading(check, measure, &format!("After {}, the new reading", settable.act))? {
                Answer::Step(step) => return Ok(step),
                Answer::Again => {}
                Answer::Says(says) => {
                    let _written = self.write(check, &Target::After(settable.act.clone()), says)?;
                }
            }
        }
        Ok(Step::On)
    }

    fn judgement(&self) -> Result<Option<Judgement>> {
        let Some(form) = self.filed().form else { return Ok(None) };
        let context = self.site.context(&form.machine, self.site.now().max(form.opened))?;
        let own = self.form.path().canonicalize().ok();
        let filed =
            self.site.forms.iter().filter(|filed| Path::new(&filed.name).canonicalize().ok() != own || own.is_none());
        let others = filed.filter_map(|filed| filed.form.as_ref()).filter(|other| other.machine == form.machine);
        let all: Vec<&Form> = others.chain([&form]).collect();
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

    fn look(&mut self, places: &[String]) -> Result<Answer> {
        let question = |place: &str| format!("{place}s, d or x with a note if need be, c WHY, back, quit:");
        if places.is_empty() {
            return Ok(match ask(&question(""))? {
                Typed::Text(text) => match looked(&text) {
                    Ok((word, rest)) => Answer::Says(seen(Said::Text(word.into()), word, &rest)),
                    Err(why) => refused(&why),
                },
                other => step(&other),
            });
        }
        let mut given: Vec<(String, String)> = Vec::new();
        let mut rests: Vec<String> = Vec::new();
        let mut worst = "sound";
        while let Some(place) = places.get(given.len()) {
            match ask(&question(&format!("{}: ", capital(place))))? {
                Typed::Text(text) => match looked(&text) {
                    Ok((word, rest)) => {
                        if word == "could not see" {
                            worst = word;
                        }
                        if !rest.is_empty() {
                            rests.push(format!("{place}: {rest}"));
                        }
                        given.push((place.clone(), word.to_string()));
                    }
                    Err(why) => println!("  {why}"),
                },
                Typed::Empty if !given.is_empty() => println!("  every place is answered, or quit"),
                Typed::Back if !given.is_empty() => {
                    given.pop();
                }
                other => return Ok(step(&other)),
            }
        }
        Ok(Answer::Says(seen(Said::Places(given), worst, &rests.join("; "))))
    }

    fn reading(&mut self, check: &Check, measure: &Measure, name: &str) -> Result<Answer> {
        let unit = self.usual_unit(check, measure);
        let figures = match self.figures(measure, name, &unit)? {
            Ok(figures) => figures,
            Err(answer) => return Ok(answer),
        };
        let mut says = vec![("read", figures)];
        match self.instrument(check)? {
            Ok(Some(with)) => says.push(("with", Said::Text(with))),
            Ok(None) => println!("  no instrument named: it stays unseen"),
            Err(answer) => return Ok(answer),
        }
        if measure.correction == Some(Correction::TyreGas) && self.is_warm() {
            loop {
                match ask("The tyre's own temperature, °C, empty if not read:")? {
                    Typed::Text(given) => match self.with_unit(Kind::Temperature, &given, "°C") {
                        Ok(figure) => {
                            says.push(("tyre", Said::Text(figure)));
                            break;
                        }
                        Err(why) => println!("  {why}"),
                    },
                    Typed::Empty | Typed::Back => break,
                    Typed::Quit => return Ok(Answer::Step(Step::Quit)),
                }
            }
        }
        Ok(Answer::Says(says))
    }

    /// The figures of a reading, or what else was answered.
    fn figures(&mut self, measure: &Measure, name: &str, unit: &str) -> Result<Result<Said, Answer>> {
        let places: Vec<String> = if measure.places.is_empty() { vec![String::new()] } else { measure.places.clone() };
        let mut given: Vec<(String, String)> = Vec::new();
        while let Some(place) = places.get(given.len()) {
            let at = if place.is_empty() { String::new() } else { format!(", {place}") };
            match ask(&format!("{name}{at}, {unit}; repeats parted by ;  c WHY, back, quit:"))? {
                Typed::Text(text) => {
                    if let Some(why) = text.strip_prefix("c ").or(Some("").filter(|_| text == "c")) {
                        if why.trim().is_empty() {
                            println!("  say why: c too dark");
                            continue;
                        }
                        let says = seen(Said::Text("could not see".into()), "could not see", why.trim());
                        return Ok(Err(Answer::Says(says)));
                    }
                    let all: Result<Vec<String>, String> = text
                        .split(';')
                        .map(str::trim)
                        .filter(|text| !text.is_empty())
                        .map(|text| self.with_unit(measure.kind, text, unit))
                        .collect();
                    match all {
                        Ok(all) if all.is_empty() => println!("  a figure is needed"),
                        Ok(all) if place.is_empty() => {
                            let one = if all.len() == 1 { all.first().cloned() } else { None };
                            return Ok(Ok(one.map_or(Said::Texts(all), Said::Text)));
                        }
                        Ok(all) if all.len() > 1 => println!("  one figure a place here"),
                        Ok(all) => given.push((place.clone(), all.concat())),
                        Err(why) => println!("  {why}"),
                    }
                }
                Typed::Empty if !given.is_empty() => println!("  every place is read, or quit"),
                Typed::Back if !given.is_empty() => {
                    given.pop();
                }
                other => return Ok(Err(step(&other))),
            }
        }
        Ok(Ok(Said::Places(given)))
    }

    /// Which instrument read it: the only one there is, or the one named; empty takes the last used.
    fn instrument(&mut self, check: &Check) -> Result<Result<Option<String>, Answer>> {
        let Some(form) = self.filed().form else { return Ok(Ok(None)) };
        let context = self.site.context(&form.machine, self.site.now())?;
        let ids: Vec<&str> = fitting(&context, check).iter().map(|one| one.id.as_str()).collect();
        let usual = match ids.as_slice() {
            [] => return Ok(Ok(None)),
            [only] => return Ok(Ok(Some((*only).to_string()))),
            _ => self.last_with.iter().rev().find(|last| ids.contains(&last.as_str())).cloned(),
        };
        let offer = usual.as_ref().map(|usual| format!(", empty is {usual}")).unwrap_or_default();
        loop {
            match ask(&format!("Read with {}{offer}:", ids.join(", ")))? {
                Typed::Text(text) => match ids.iter().find(|id| id.eq_ignore_ascii_case(&text)) {
                    Some(id) => {
                        self.last_with.push((*id).to_string());
                        return Ok(Ok(Some((*id).to_string())));
                    }
                    None => println!("  no such instrument for this check"),
                },
                Typed::Empty if usual.is_some() => return Ok(Ok(usual)),
                Typed::Empty => println!("  name the instrument: without it the reading counts for nothing"),
                Typed::Back => return Ok(Err(Answer::Again)),
                Typed::Quit => return Ok(Err(Answer::Step(Step::Quit))),
            }
        }
    }

    fn day(&mut self, of: DateOf) -> Result<Answer> {
        let what = match of {
            DateOf::Made { tyre_code: true } => "Four figures as moulded, 3219",
            DateOf::Made { tyre_code: false } => "The day it was made, 2027-03-31",
            DateOf::Expires => "The day it runs out, 2027-03-31",
        };
        Ok(match ask(&format!("{what}; c WHY, back, quit:"))? {
            Typed::Text(text) => match text.strip_prefix("c ") {
                Some(why) => Answer::Says(seen(Said::Text("could not see".into()), "could not see", why.trim())),
                None => Answer::Says(vec![("read", Said::Text(text))]),
            },
            other => step(&other),
        })
    }

    /// The unit of a figure typed without one: the step of the gauge used last here, else what the yard shows.
    fn usual_unit(&self, check: &Check, measure: &Measure) -> String {
        let yard = &self.site.yard;
        let fits = |id: &&String| {
            yard.instruments
                .get(*id)
                .is_some_and(|one| one.reads == measure.kind && measure.instruments.contains(&one.kind))
        };
        let last = self.last_with.iter().rev().find(fits).and_then(|id| yard.instruments.get(id));
        let form = self.filed().form;
        let context = form.as_ref().and_then(|form| self.site.context(&form.machine, self.site.now()).ok());
        let only = context.as_ref().map(|context| fitting(context, check)).filter(|fit| fit.len() == 1);
        let instrument = last.or_else(|| only.and_then(|fit| fit.first().copied()));
        let own = instrument.filter(|one| one.reads != Kind::Temperature).map(|one| one.resolution.unit().symbol());
        let shown = if yard.units == Units::Us { measure.us } else { measure.si };
        own.unwrap_or(shown.unit.symbol()).to_string()
    }

    fn is_warm(&self) -> bool {
        let Some(form) = self.filed().form else { return false };
        let rested = self.site.catalogue.rule.tyre.rested.seconds();
        let ridden = form.ridden.is_some_and(|back| (self.site.now().seconds_since(back) as f64) < rested);
        form.found.heat != Heat::Cold || ridden
    }

    /// Closes the form if all is answered, and says what it comes to.
    fn end(&mut self, done: bool) -> Result<u8> {
        let rows = self.form.answers();
        let open = rows.iter().filter(|(_, filled)| !filled).count();
        let form = self.filed().form;
        if done && open == 0 && form.is_some_and(|form| form.closed.is_none()) {
            if let Typed::Text(text) = ask("All is answered. Close the walk-round? y or n")?
                && text.to_lowercase().starts_with('y')
            {
                self.form.set("closed", &Said::At(self.site.now()))?;
                self.form.save()?;
            }
        }
        let file = self.form.path().display().to_string();
        let left = if open == 0 { "nothing left".into() } else { format!("{open} left: muster fill {file} goes on") };
        println!("\nSaved {file}: {} of {} answered, {left}.", rows.len() - open, rows.len());
        if let Some(judgement) = self.judgement()?
            && let Some(planned) = judgement.planned()
        {
            println!("{} for {}; muster judge {file} tells why.", marked(planned.verdict).to_uppercase(), planned.one);
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

/// What a question brought.
enum Answer {
    /// Where to go, with nothing written.
    Step(Step),
    /// To be asked again.
    Again,
    /// What to write.
    Says(Vec<(&'static str, Said)>),
}

fn step(typed: &Typed) -> Answer {
    Answer::Step(match typed {
        Typed::Back => Step::Back,
        Typed::Quit => Step::Quit,
        Typed::Empty | Typed::Text(_) => Step::On,
    })
}

fn refused(why: &str) -> Answer {
    println!("  {why}");
    Answer::Again
}

/// An observation as it is written: the rest of the line is why it could not be seen, or a note.
fn seen(said: Said, word: &str, rest: &str) -> Vec<(&'static str, Said)> {
    let mut says = vec![("saw", said)];
    if !rest.is_empty() {
        let key = if word == "could not see" { "why" } else { "note" };
        says.push((key, Said::Text(rest.to_string())));
    }
    says
}

/// Reads `s`, `d what`, `x what`, `c why`, or the words themselves.
fn looked(text: &str) -> Result<(&'static str, String), String> {
    const WORDS: [(&str, &str); 4] = [("c", "could not see"), ("s", "sound"), ("d", "doubtful"), ("x", "defective")];
    let text = text.trim();
    for (letter, word) in WORDS {
        for head in [word, letter] {
            let Some(rest) = text.get(..head.len()).filter(|start| start.eq_ignore_ascii_case(head)) else { continue };
            let rest = text.get(rest.len()..).unwrap_or_default();
            if !rest.is_empty() && !rest.starts_with([' ', ':', ',']) {
                continue;
            }
            let rest = rest.trim_start_matches([' ', ':', ',']).trim();
            if letter == "c" && rest.is_empty() {
                return Err("say why: c too dark".into());
            }
            return Ok((word, rest.to_string()));
        }
    }
    Err("s sound, d doubtful, x defective, c and why: could not see".into())
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

/// Asks at the terminal; what is piped in is shown behind its question.
fn ask(question: &str) -> Result<Typed> {
    paper::print(&format!("{question} "))?;
    let mut line = Vec::new();
    let stdin = io::stdin();
    let read = stdin.lock().take(MAX_LINE).read_until(b'\n', &mut line)?;
    let Ok(text) = std::str::from_utf8(&line) else {
        println!("\n  that was not UTF-8 text: once more");
        return ask(question);
    };
    let text: String = text.chars().filter(|c| !c.is_control()).collect();
    let text = text.trim();
    if !stdin.is_terminal() {
        println!("{text}");
    }
    io::stdout().flush()?;
    Ok(match text {
        _ if read == 0 => Typed::Quit,
        "" => Typed::Empty,
        "back" => Typed::Back,
        "quit" => Typed::Quit,
        text => Typed::Text(text.to_string()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_or_the_word_and_the_rest_is_kept() {
        assert_eq!(looked("s"), Ok(("sound", String::new())));
        assert_eq!(looked("X nail by the valve"), Ok(("defective", "nail by the valve".into())));
        assert_eq!(looked("doubtful, oil on it"), Ok(("doubtful", "oil on it".into())));
        assert_eq!(looked("could not see: dark"), Ok(("could not see", "dark".into())));
        assert_eq!(looked("c too dark"), Ok(("could not see", "too dark".into())));
        for wrong in ["c", "could not see", "yes", "sx", "é"] {
            assert!(looked(wrong).is_err(), "{wrong}");
        }
    }
}
