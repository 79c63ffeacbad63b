//! Documents of what was done with one machine: a walk-round, a release, all about it.

use muster_core::{
    calendar::Moment,
    form::Form,
    judge::{Judgement, UseVerdict, Verdict},
    quantity::{Distance, Kind, text, text::DecimalSign},
    record::{
        id::{EventId, PersonId},
        machine_state::{MachineState, ReleaseState},
    },
    words::Use,
};
use muster_report::{Dossier, Leaf, Life, Photo, Slip, Walked, Work, WorkedOut};
use muster_wire::readings::ReadingsView;

use super::{
    NotPrinted, Reader,
    desk::{Desk, Its},
    make::Laid,
};

/// A completed walk-round: the one asked for, or the newest closed.
pub(super) fn walked(desk: &Desk, its: &Its, event: Option<EventId>) -> Result<Laid, NotPrinted> {
    let none = || NotPrinted::Nothing(format!("{} has no walk-round that was closed", its.machine.id));
    let (form, opened) = match (&its.state, event) {
        (Some(state), _) => of_record(state, event)?,
        (None, Some(_)) => {
            return Err(NotPrinted::Field {
                field: "event",
                what: "a yard's folder has no events: leave it away".into(),
            });
        }
        (None, None) => {
            let closed = its.forms.iter().filter(|form| form.closed.is_some_and(|at| at <= desk.now));
            let newest = closed.max_by_key(|form| form.opened);
            (newest.cloned().ok_or_else(none)?, None)
        }
    };
    let at = form.closed.unwrap_or(form.opened);
    let context = desk.context(its, at)?;
    let judgement = desk.judgement(its, &context);
    let photos = photos(desk, its, &form, opened);
    let name = |person: &str| desk.name(person);
    let seal = match opened {
        Some(event) => desk.seal(event)?,
        None => Some(desk.seal_of(&its.machine.id)),
    };
    let event = opened.map(|event| event.to_string());
    let walked =
        Walked { context: &context, form: &form, judgement: &judgement, photos: &photos, name: &name, event, seal };
    Ok(Laid { leaves: vec![walked.leaf()], event: opened })
}

/// A walk-round of a record with the findings raised in it.
fn of_record(state: &MachineState, event: Option<EventId>) -> Result<(Form, Option<EventId>), NotPrinted> {
    let closed = state.walk_rounds.iter().filter(|(_, walk)| walk.form.closed.is_some());
    let found = match event {
        Some(event) => state.walk_rounds.get_key_value(&event),
        None => closed.max_by_key(|(_, walk)| walk.form.opened),
    };
    let none = || NotPrinted::Nothing(format!("{} has no such walk-round that was closed", state.machine));
    let (id, walk) = found.ok_or_else(none)?;
    let mut form = walk.form.clone();
    let raised = |finding: &str| {
        state.findings.iter().any(|(event, of)| event.to_string() == finding && of.raised.walk_round == Some(*id))
    };
    let all = state.forms().into_iter().flat_map(|form| form.findings.clone());
    form.findings = all.filter(|finding| raised(&finding.id)).collect();
    Ok((form, Some(*id)))
}

/// The photos of a walk-round's findings, and those of the walk-round itself.
fn photos(desk: &Desk, its: &Its, form: &Form, opened: Option<EventId>) -> Vec<Photo> {
    let Some(state) = &its.state else { return Vec::new() };
    let shown = state.photos.iter().filter_map(|(id, photo)| {
        let of = photo.of?;
        let finding = form.findings.iter().find(|finding| finding.id == of.to_string());
        if finding.is_none() && Some(of) != opened {
            return None;
        }
        let removed = state.photos_removed.get(id).map(|(at, why)| format!("removed on {}: {why}", at.date()));
        let bytes = removed.map_or_else(|| desk.photo(&photo.sha256), Err);
        Some(Photo { finding: finding.map(|finding| finding.id.clone()), sha256: photo.sha256.clone(), bytes })
    });
    shown.collect()
}

/// The slip of a machine's release: the one it is out on, or its last; without a record, the one to sign.
pub(super) fn slip(desk: &Desk, its: &Its, address: Option<&str>) -> Result<Laid, NotPrinted> {
    let released = its.state.as_ref().and_then(|state| {
        let newest = |of: &(&EventId, &ReleaseState)| of.1.released.from;
        let out = state.releases.iter().filter(|(_, release)| release.returned.is_none()).max_by_key(newest);
        out.or_else(|| state.releases.iter().max_by_key(newest))
    });
    let feedback = desk.feedback(&its.machine.id, address)?;
    let Some((id, release)) = released else { return to_sign(desk, its, feedback) };
    let of = &release.released;
    let context = desk.context(its, of.from)?;
    let worked: Option<serde_json::Value> =
        of.worked_out.as_ref().and_then(|worked| serde_json::from_str(&worked.outing).ok());
    let name = |check: &String| {
        let of_outing = || item_name(worked.as_ref()?, check.strip_prefix("outing.")?);
        let known = context.check(check).map(|check| check.name.clone());
        known.or_else(of_outing).unwrap_or_else(|| check.clone())
    };
    let judgement: Option<serde_json::Value> = serde_json::from_str(&of.rests_on.judgement).ok();
    let known = judgement.as_ref().and_then(|of| of.get("known_at")?.as_str()).and_then(|at| Moment::parse(at).ok());
    // What one rider alone has to do bears an id in the record.
    let told = |says: &String| {
        let own = |rider: &PersonId| {
            let rest = says.strip_prefix(rider.as_str())?.strip_prefix(": ")?;
            Some(format!("{}: {rest}", desk.name(rider.as_str())))
        };
        of.riders.iter().find_map(own).unwrap_or_else(|| says.clone())
    };
    let slip = Slip {
        context: &context,
        outing: of.outing.clone(),
        riders: of.riders.iter().map(|rider| desk.name(rider.as_str())).collect(),
        from: of.from,
        to: of.to,
        verdicts: of.verdicts.iter().map(|(one, verdict)| (*one, *verdict)).collect(),
        conditions: of.conditions.iter().map(told).collect(),
        worked_out: of
            .worked_out
            .as_ref()
            .map(|worked| WorkedOut { done: worked.done.iter().map(told).collect(), next: worked.next.clone() }),
        cautions: cautions(desk, &desk.judgement(its, &context), of.verdicts.keys().copied()),
        against: of.against.iter().map(name).collect(),
        reason: of.reason.clone(),
        by: Some(desk.name(release.by.0.as_str())),
        known_at: known,
        feedback,
        seal: desk.seal(*id)?,
    };
    Ok(Laid { leaves: vec![slip.leaf()?], event: Some(*id) })
}

/// The name of an item of an outing as it was kept.
fn item_name(worked: &serde_json::Value, id: &str) -> Option<String> {
    let outings = worked.get("outings")?.as_array()?;
    let items = outings.iter().filter_map(|of| of.get("items")?.as_array()).flatten();
    let mut named = items.filter(|item| item.get("id").and_then(serde_json::Value::as_str) == Some(id));
    Some(named.next()?.get("name")?.as_str()?.to_owned())
}

/// A slip to be signed by hand: for the use and the return the machine is planned for, if it may go out.
fn to_sign(desk: &Desk, its: &Its, feedback: Option<String>) -> Result<Laid, NotPrinted> {
    let context = desk.context(its, desk.now)?;
    let judgement = desk.judgement(its, &context);
    let of_use = judgement.planned().ok_or_else(|| NotPrinted::Nothing("nothing was judged".into()))?;
    if matches!(of_use.verdict, Verdict::Hold | Verdict::Unseen) {
        return Err(NotPrinted::Nothing(format!(
            "{} is {} for {}: no slip is printed for what does not go out",
            its.machine.id, of_use.verdict, of_use.one
        )));
    }
    let back = judgement.back.as_deref().and_then(|back| Moment::parse(back).ok());
    let slip = Slip {
        context: &context,
        outing: format!("Outing, {}", of_use.one),
        riders: Vec::new(),
        from: desk.now,
        to: back.unwrap_or(desk.now),
        verdicts: vec![(of_use.one, of_use.verdict)],
        conditions: of_use.conditions.clone(),
        worked_out: None,
        cautions: cautions(desk, &judgement, [of_use.one]),
        against: Vec::new(),
        reason: None,
        by: None,
        known_at: judgement.known_at.as_deref().and_then(|at| Moment::parse(at).ok()),
        feedback,
        seal: Some(desk.seal_of(&its.machine.id)),
    };
    Ok(vec![slip.leaf()?].into())
}

/// What the watches of the uses ask for.
fn cautions(desk: &Desk, judgement: &Judgement, uses: impl IntoIterator<Item = Use>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for one in uses {
        let of_use = judgement.uses.iter().filter(|of| of.one == one).flat_map(UseVerdict::reasons);
        for outcome in of_use.filter(|outcome| outcome.verdict == Verdict::Watch) {
            let text = desk.named(&format!("{}: {}", outcome.name, outcome.reason), outcome);
            if !out.contains(&text) {
                out.push(text);
            }
        }
    }
    out
}

/// All about it.
pub(super) fn dossier(desk: &Desk, its: &Its, reader: Reader) -> Result<Leaf, NotPrinted> {
    let context = desk.context(its, desk.now)?;
    let judgement = desk.judgement(its, &context);
    let forms: Vec<&Form> = its.forms.iter().collect();
    let readings = its.state.as_ref().map(|state| ReadingsView::of(state, &desk.catalogue, desk.yard.units));
    let name = |person: &str| desk.name(person);
    let odometer = forms.iter().filter_map(|form| form.odometer).max_by(|a, b| a.km().total_cmp(&b.km()));
    let dossier = Dossier {
        context: &context,
        forms: &forms,
        judgement: &judgement,
        reader: match reader {
            Reader::Buyer => muster_report::Reader::Buyer,
            Reader::Warranty => muster_report::Reader::Warranty,
            Reader::Inspector => muster_report::Reader::Inspector,
        },
        odometer,
        lives: its.state.as_ref().map(|state| lives(state, odometer)).unwrap_or_default(),
        works: its.state.as_ref().map(|state| works(desk, state)).transpose()?.unwrap_or_default(),
        readings: readings.as_ref(),
        name: &name,
        seal: Some(desk.seal_of(&its.machine.id)),
    };
    Ok(dossier.leaf())
}

/// Parts, those mounted now first, by place.
fn lives(state: &MachineState, odometer: Option<Distance>) -> Vec<Life> {
    let mut parts: Vec<_> = state.parts.values().collect();
    parts.sort_by(|a, b| (a.removed.is_some(), &a.mounted.place).cmp(&(b.removed.is_some(), &b.mounted.place)));
    let life = |part: &muster_core::record::machine_state::Part| {
        let of = &part.mounted;
        let then = of.odometer.as_deref().and_then(|typed| text::read(Kind::Distance, typed, DecimalSign::Point).ok());
        let then = then.and_then(|amount| Distance::try_from(amount).ok());
        let ridden = then.zip(odometer).filter(|_| part.removed.is_none());
        Life {
            place: of.place.clone(),
            marking: of.marking.clone(),
            on: of.on.clone(),
            odometer: of.odometer.clone(),
            ridden: ridden.and_then(|(then, now)| Distance::from_km(now.km() - then.km()).ok()),
            off: None,
        }
    };
    parts.into_iter().filter(|part| part.removed.is_none()).map(life).collect()
}

/// Jobs, newest first.
fn works(desk: &Desk, state: &MachineState) -> Result<Vec<Work>, NotPrinted> {
    let mut out = Vec::new();
    for (id, job) in &state.jobs {
        let at = desk.entry(*id)?.and_then(|entry| entry.event).map(|event| event.at);
        let work = Work {
            kind: desk.job(&job.opened.job).into(),
            why: job.opened.why.clone(),
            state: job.state.0.to_string(),
            opened: at.map_or_else(String::new, |at| at.date().to_string()),
            done: job.done.map(|(_, at)| at.date().to_string()),
        };
        out.push((at, work));
    }
    out.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
    Ok(out.into_iter().map(|(_, work)| work).collect())
}
