//! What a check is answered with: a look, a reading with its instrument, a day.

use anyhow::Result;
use muster_core::{
    check::{Check, Correction, DateOf, Measure},
    quantity::{Kind, text},
    state::Heat,
    words::Use,
    yard::Units,
};

use super::{
    super::{explain::capital, form_file::Said, walk_round::fitting},
    Filling, Step,
    typed::{Typed, ask, looked, say},
};

/// What a question brought.
pub(super) enum Answer {
    /// Where to go, with nothing written.
    Step(Step),
    /// To be asked again.
    Again,
    /// What to write.
    Says(Vec<(&'static str, Said)>),
}

impl Filling<'_> {
    /// A figure as it is written down: one without a unit in the unit named.
    pub(super) fn with_unit(&self, kind: Kind, given: &str, unit: &str) -> Result<String, String> {
        if !given.contains(|c: char| c.is_ascii_digit()) {
            return Err(format!("a figure is needed, in {unit}"));
        }
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

    /// Asks for an observation, place by place.
    pub(super) fn look(&mut self, places: &[String]) -> Result<Answer> {
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
                    Err(why) => say(&format!("  {why}")),
                },
                Typed::Empty if !given.is_empty() => say("  every place is answered, or quit"),
                Typed::Back if !given.is_empty() => {
                    given.pop();
                }
                other => return Ok(step(&other)),
            }
        }
        Ok(Answer::Says(seen(Said::Places(given), worst, &rests.join("; "))))
    }

    /// Asks which of the law pack's defects it is, where something is not sound and their classes differ.
    pub(super) fn defect(
        &mut self,
        check: &Check,
        says: &[(&'static str, Said)],
    ) -> Result<Option<(&'static str, Said)>> {
        let bad = |word: &str| word == "doubtful" || word == "defective";
        let not_sound = says.iter().any(|(key, said)| match said {
            Said::Text(word) => *key == "saw" && bad(word),
            Said::Places(places) => *key == "saw" && places.iter().any(|(_, word)| bad(word)),
            _ => false,
        });
        let Some(form) = self.filed().form.filter(|_| not_sound) else { return Ok(None) };
        let context = self.site.context(&form.machine, self.site.now())?;
        let rows = context.defects(check);
        if rows.iter().all(|row| row.class == context.class(check, Use::Road).0) {
            return Ok(None);
        }
        for (number, row) in rows.iter().enumerate() {
            say(&format!("  {} {}: {}", number + 1, row.class, row.when));
        }
        loop {
            match ask("Which of these is it? A number; empty if none is sure, and the gravest counts:")? {
                Typed::Text(text) => match text.parse::<usize>().ok().and_then(|at| rows.get(at.checked_sub(1)?)) {
                    Some(row) => return Ok(Some(("defect", Said::Text(row.key.clone())))),
                    None => say(&format!("  a number from 1 to {}", rows.len())),
                },
                Typed::Empty | Typed::Back | Typed::Quit => return Ok(None),
            }
        }
    }

    /// Asks for a reading, its instrument, and the tyre's temperature where it is warm.
    pub(super) fn reading(&mut self, check: &Check, measure: &Measure, name: &str) -> Result<Answer> {
        let unit = self.usual_unit(check, measure);
        let figures = match self.figures(measure, name, &unit)? {
            Ok(figures) => figures,
            Err(answer) => return Ok(answer),
        };
        let mut says = vec![("read", figures)];
        match self.instrument(check)? {
            Ok(Some(with)) => says.push(("with", Said::Text(with))),
            Ok(None) => say("  no instrument named: it stays unseen"),
            Err(answer) => return Ok(answer),
        }
        if measure.correction == Some(Correction::TyreGas) && self.is_warm() {
            let unit = if self.site.yard.units == Units::Us { "°F" } else { "°C" };
            loop {
                match ask(&format!("The tyre's own temperature, {unit}, empty if not read:"))? {
                    Typed::Text(given) => match self.with_unit(Kind::Temperature, &given, unit) {
                        Ok(figure) => {
                            says.push(("tyre", Said::Text(figure)));
                            break;
                        }
                        Err(why) => say(&format!("  {why}")),
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
                            say("  say why: c too dark");
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
                        Ok(all) if all.is_empty() => say("  a figure is needed"),
                        Ok(all) if place.is_empty() => {
                            let one = if all.len() == 1 { all.first().cloned() } else { None };
                            return Ok(Ok(one.map_or(Said::Texts(all), Said::Text)));
                        }
                        Ok(all) if all.len() > 1 => say("  one figure a place here"),
                        Ok(all) => given.push((place.clone(), all.concat())),
                        Err(why) => say(&format!("  {why}")),
                    }
                }
                Typed::Empty if !given.is_empty() => say("  every place is read, or quit"),
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
                    None => say("  no such instrument for this check"),
                },
                Typed::Empty if usual.is_some() => return Ok(Ok(usual)),
                Typed::Empty => say("  name the instrument: without it the reading counts for nothing"),
                Typed::Back => return Ok(Err(Answer::Again)),
                Typed::Quit => return Ok(Err(Answer::Step(Step::Quit))),
            }
        }
    }

    /// Asks for a day.
    pub(super) fn day(&mut self, of: DateOf) -> Result<Answer> {
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
}

fn step(typed: &Typed) -> Answer {
    Answer::Step(match typed {
        Typed::Back => Step::Back,
        Typed::Quit => Step::Quit,
        Typed::Empty | Typed::Text(_) => Step::On,
    })
}

fn refused(why: &str) -> Answer {
    say(&format!("  {why}"));
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
