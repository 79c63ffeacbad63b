//! A completed walk-round: verdicts, reasons, every answer as read and as it counts, findings with photos, hashes.

use muster_core::{
    form::{Answer, Finding, Form},
    hash,
    judge::{Context, Judgement},
};
use muster_draw::{gauge::margin_words, number::with_unit, ruler::value_and_u};
use serde_json::{Value, json};

use crate::{
    draw::Drawings,
    paper::{Leaf, Paper, Pdf, Refused, Seal},
    press, reasons, said,
};

/// Width of a ruler in the table of answers, in px.
const MINI_PX: u32 = 110;

/// What a completed walk-round is made of.
#[derive(Clone)]
pub struct Walked<'a> {
    /// The machine, at the moment of closing.
    pub context: &'a Context<'a>,
    /// The walk-round.
    pub form: &'a Form,
    /// The machine, judged as known when the walk-round was closed.
    pub judgement: &'a Judgement,
    /// Photos of its findings.
    pub photos: &'a [Photo],
    /// The name of a person an answer or a finding stands under.
    pub name: &'a dyn Fn(&str) -> String,
    /// The event that opened it, as the record numbers it; none for a form of a yard's folder.
    pub event: Option<String>,
    /// What its code says.
    pub seal: Option<Seal>,
}

/// A photo of a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photo {
    /// The finding it shows; none: it shows the machine.
    pub finding: Option<String>,
    /// SHA-256 of its bytes, 64 hexadecimal digits.
    pub sha256: String,
    /// Its bytes, PNG, JPEG or WebP; none where they are missing, and why.
    pub bytes: Result<Vec<u8>, String>,
}

impl Walked<'_> {
    /// The walk-round alone.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn print(&self, paper: &Paper) -> Result<Pdf, Refused> {
        press::print(vec![self.leaf()], paper)
    }

    /// The walk-round, to be printed with others.
    #[must_use]
    pub fn leaf(&self) -> Leaf {
        let (context, form) = (self.context, self.form);
        let mut drawings = Drawings::default();
        let mut photos = Vec::new();
        let reasons = reasons::told(self.judgement, &mut drawings, self.name);
        let answers: Vec<Value> = form.answers.iter().map(|answer| self.answer(answer, &mut drawings)).collect();
        let findings: Vec<Value> = form.findings.iter().map(|finding| self.finding(finding, &mut photos)).collect();
        let beside = self.shown(None, &mut photos);
        let bytes = self.judgement.to_json().unwrap_or_default();
        let data = json!({
            "machine": context.machine.id,
            "model": context.sheet.model,
            "frame": context.machine.vin,
            "plate": context.machine.plate,
            "handbook": context.sheet.handbook,
            "depth": form.depth.as_str(),
            "by": (self.name)(&form.by),
            "opened": said::moment(form.opened),
            "closed": form.closed.map(said::moment),
            "odometer": form.odometer.map(|at| said::distance(at, context.units)),
            "air": form.air.map(|air| said::temperature(air, context.units)),
            "found": form.found.to_string(),
            "no_hold_tag": form.no_hold_tag,
            "key_on_hook": form.key_on_hook,
            "known_at": self.judgement.known_at.as_deref().map(said::stored),
            "judged_at": said::stored(&self.judgement.judged_at),
            "back": self.judgement.back.as_deref().map(said::stored),
            "planned": self.judgement.planned.unwrap_or(muster_core::words::Use::Range).as_str(),
            "uses": reasons::uses(self.judgement),
            "reasons": reasons,
            "answers": answers,
            "findings": findings,
            "photos": beside,
            "event": self.event,
            "hashes": [
                { "of": "this judgement", "hash": hash::of_text(&bytes) },
                { "of": "catalogue and law", "hash": self.judgement.catalogue },
                { "of": "yard: sheets, machines, house rules", "hash": self.judgement.yard },
            ],
        });
        Leaf {
            kind: "walk-round",
            title: format!("Walk-round {}, {}, {}", context.machine.id, form.depth, form.opened.date()),
            whose: format!("the walk-round of {} on {}", context.machine.id, form.opened.date()),
            data,
            drawings: drawings.0,
            photos,
            seal: self.seal.clone(),
        }
    }

    fn answer(&self, answer: &Answer, drawings: &mut Drawings) -> Value {
        let context = self.context;
        let check = context.check(&answer.check);
        // The outcome rests on the last answer of the check: what came before it is told as read alone.
        let later = self.form.answers.iter().skip_while(|other| !std::ptr::eq(*other, answer)).skip(1);
        let is_last = !later.into_iter().any(|other| other.check == answer.check);
        let outcome = if is_last { reasons::outcome(self.judgement, &answer.check) } else { None };
        let figure = outcome.and_then(|outcome| outcome.figure.as_ref()).filter(|figure| figure.value.is_finite());
        let class = outcome.map(|outcome| outcome.class.as_str());
        json!({
            "name": check.map_or(answer.check.as_str(), |check| &check.name),
            "read": said::as_read(answer),
            "with": answer.with,
            "tyre": answer.tyre.map(|tyre| said::temperature(tyre, context.units)),
            "after": answer.after,
            "slip": answer.slip,
            "why": answer.why,
            "note": answer.note,
            "by": (self.name)(&answer.by),
            "at": answer.at.clock(),
            "counts": figure.map(|figure| with_unit(&value_and_u(figure), figure.unit)),
            "margin": figure.filter(|figure| figure.margin.is_finite()).map(margin_words),
            "mini": outcome.and_then(|outcome| drawings.mini(outcome, MINI_PX)),
            "verdict": outcome.map(|outcome| outcome.verdict.as_str()),
            "class": class,
            "source": outcome.and_then(|outcome| outcome.source.clone()),
        })
    }

    fn finding(&self, finding: &Finding, photos: &mut Vec<Vec<u8>>) -> Value {
        let check = finding.check.as_deref().and_then(|id| self.context.check(id));
        json!({
            "id": finding.id,
            "check": check.map(|check| check.name.clone()),
            "what": finding.what,
            "class": finding.class.as_str(),
            "uses": finding.uses.to_string(),
            "by": (self.name)(&finding.by),
            "at": said::moment(finding.at),
            "photos": self.shown(Some(&finding.id), photos),
        })
    }

    /// The photos of a finding, or those of none; a missing one says why it is missing.
    fn shown(&self, finding: Option<&str>, photos: &mut Vec<Vec<u8>>) -> Vec<Value> {
        let its = self.photos.iter().filter(|photo| photo.finding.as_deref() == finding);
        its.map(|photo| {
            let index = photo.bytes.as_ref().ok().filter(|bytes| said::is_picture(bytes)).map(|bytes| {
                photos.push(bytes.clone());
                photos.len() - 1
            });
            let missing = photo.bytes.as_ref().err().cloned().or_else(|| index.is_none().then(|| "damaged".into()));
            json!({ "index": index, "sha256": photo.sha256, "missing": missing })
        })
        .collect()
    }
}
