//! Makes each document from what is known, and writes its file.

use std::{fs, path::PathBuf};

use anyhow::{Context as _, Result, bail};
use muster_core::{
    calendar::Moment,
    form::Form,
    judge::{Context, Judgement, UseVerdict, Verdict},
    quantity::{Distance, Kind, text, text::DecimalSign},
    record::{
        id::EventId,
        machine_state::{MachineState, ReleaseState},
    },
    state::{Heat, Power, Stance, State},
    walk_round,
    words::{Depth, Use},
};
use muster_report::{
    Blank, Dossier, Leaf, Life, Paper, Pdf, Photo, Seal, Slip, Sticker, Tag, TagNumbers, Walked, Work, YardSheet, print,
};
use muster_wire::readings::ReadingsView;

use super::{
    super::{
        MAY_GO,
        arguments::Global,
        files,
        paper::{count, note},
    },
    On, Reader, Size, What,
    desk::{Desk, Its},
};

/// Where the demonstration's codes lead: a name nobody can own (RFC 2606).
const DEMO_ADDRESS: &str = "https://harrow-lane.example";
/// How a machine may be moved under a hold tag, unless a test ride is named.
const MAY_MOVE: &str = "pushed; workshop";
/// A day, in seconds.
const DAY_S: i64 = 86_400;

/// Prints what is asked for.
///
/// # Errors
/// As [`super::run`].
pub(super) fn run(global: &Global, what: &What) -> Result<u8> {
    match what {
        What::Form { machine, depth, planned, found, sheet } => {
            let desk = open(global, sheet, false)?;
            let leaf = form(&desk, machine, *depth, *planned, *found)?;
            finish(&desk, sheet, &format!("form-{machine}"), vec![leaf])
        }
        What::WalkRound { machine, event, sheet } => {
            let desk = open(global, sheet, true)?;
            let leaf = walked(&desk, machine, *event)?;
            finish(&desk, sheet, &format!("walk-round-{machine}"), vec![leaf])
        }
        What::Tag { machine: None, number, count, sheet } => {
            let desk = open(global, sheet, false)?;
            let numbers = TagNumbers { from: number.unwrap_or(1), count: *count };
            finish(&desk, sheet, "tags", numbers.leaves())
        }
        What::Tag { machine: Some(machine), sheet, .. } => {
            let desk = open(global, sheet, false)?;
            let its = desk.machine(machine)?;
            let leaves = tags(&desk, &its, true)?;
            finish(&desk, sheet, &format!("tag-{machine}"), leaves)
        }
        What::Slip { machine, sheet } => {
            let desk = open(global, sheet, true)?;
            let leaf = slip(&desk, machine)?;
            finish(&desk, sheet, &format!("slip-{machine}"), vec![leaf])
        }
        What::Dossier { machine, reader, sheet } => {
            let desk = open(global, sheet, true)?;
            let leaf = dossier(&desk, machine, *reader)?;
            finish(&desk, sheet, &format!("dossier-{machine}"), vec![leaf])
        }
        What::Yard { sheet } => {
            let desk = open(global, sheet, false)?;
            let leaves = morning(&desk)?;
            finish(&desk, sheet, "yard", leaves)
        }
        What::Sheet { sheet } => {
            let desk = open(global, sheet, false)?;
            let leaf = yard_sheet(&desk, &judged(&desk)?);
            finish(&desk, sheet, "yard-sheet", vec![leaf])
        }
        What::Stickers { machines, sheet } => {
            let desk = open(global, sheet, false)?;
            let leaf = stickers(&desk, sheet, machines)?;
            finish(&desk, sheet, "stickers", vec![leaf])
        }
    }
}

/// Opens what is printed from; a document of the record is printed from the demonstration's where no yard is named.
fn open(global: &Global, sheet: &On, of_record: bool) -> Result<Desk> {
    match (&sheet.record, &global.yard) {
        (Some(_), Some(_)) => bail!("name a record or a yard's folder, not both"),
        (Some(folder), None) => Desk::of_record(global, folder),
        (None, None) if of_record => {
            note("demo record: Harrow Lane Riding School; use --record DIR or --yard DIR for your own");
            Desk::of_demonstration(global)
        }
        (None, _) => Desk::of_yard(global),
    }
}

/// Typesets the documents and writes their file.
fn finish(desk: &Desk, sheet: &On, name: &str, leaves: Vec<Leaf>) -> Result<u8> {
    let paper = Paper {
        size: match sheet.size {
            Size::A4 => muster_report::Size::A4,
            Size::Letter => muster_report::Size::Letter,
        },
        school: desk.yard.name.clone(),
        mark: sheet
            .mark
            .as_ref()
            .map(|path| fs::read(path).with_context(|| format!("cannot read {}", path.display())))
            .transpose()?,
        address: address(desk, sheet),
        made: desk.now,
    };
    let pdf: Pdf = print(leaves, &paper)?;
    let path = sheet.out.clone().unwrap_or_else(|| PathBuf::from(format!("{}.pdf", name.to_lowercase())));
    files::write_new(&path, &pdf.bytes, sheet.force)?;
    note(&format!("wrote {}: {}, SHA-256 {}", path.display(), count(pdf.pages, "page", "pages"), pdf.sha256()));
    Ok(MAY_GO)
}

fn address(desk: &Desk, sheet: &On) -> Option<String> {
    sheet.address.clone().or_else(|| desk.is_demo.then(|| DEMO_ADDRESS.to_string()))
}

/// The use a machine's newest form planned, else the range.
fn planned(its: &Its) -> Use {
    let newest = its.forms.iter().filter(|form| form.outing.is_some()).max_by_key(|form| form.opened);
    newest.and_then(|form| form.outing).map_or(Use::Range, |outing| outing.planned)
}

/// A blank form: what is asked now, or tomorrow at this time where nothing has lapsed yet.
fn form(desk: &Desk, machine: &str, depth: Depth, asked: Option<Use>, found: State) -> Result<Leaf> {
    let its = desk.machine(machine)?;
    let one = asked.unwrap_or_else(|| planned(&its));
    let forms: Vec<&Form> = its.forms.iter().collect();
    let mut context = desk.context(&its, desk.now)?;
    let mut walk = walk_round::plan(&context, &forms, depth, one, found)?;
    if walk.steps.is_empty() && walk.evening.is_empty() {
        context = desk.context(&its, desk.now.later_by(DAY_S))?;
        walk = walk_round::plan(&context, &forms, depth, one, found)?;
    }
    let seal = Some(desk.seal_of(&its.machine.id));
    Ok(Blank { context: &context, forms: &forms, walk: &walk, depth, planned: one, found, seal }.leaf())
}

/// Every machine judged, in the order of their numbers.
fn judged(desk: &Desk) -> Result<Vec<Judgement>> {
    let judge = |id: &String| {
        let its = desk.machine(id)?;
        let context = desk.context(&its, desk.now)?;
        Ok(desk.judgement(&its, &context))
    };
    desk.yard.machines.keys().map(judge).collect()
}

fn yard_sheet(desk: &Desk, judgements: &[Judgement]) -> Leaf {
    let seal = Seal { path: "/".into(), hash: desk.yard.hash.clone() };
    let name = |person: &str| desk.name(person);
    YardSheet { yard: &desk.yard, judgements, now: desk.now, name: &name, seal: Some(seal) }.leaf()
}

/// The morning's paper: the yard sheet, a form for each machine that may be walked round, a tag for each on hold.
fn morning(desk: &Desk) -> Result<Vec<Leaf>> {
    let judgements = judged(desk)?;
    let mut leaves = vec![yard_sheet(desk, &judgements)];
    let cold = State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand };
    for id in desk.yard.machines.keys() {
        leaves.push(form(desk, id, Depth::BeforeRide, None, cold)?);
    }
    for id in desk.yard.machines.keys() {
        let its = desk.machine(id)?;
        leaves.extend(tags(desk, &its, false)?);
    }
    Ok(leaves)
}

/// The tags that hang on a machine; where none hangs and it is on hold for its planned use, the one to hang.
fn tags(desk: &Desk, its: &Its, asked: bool) -> Result<Vec<Leaf>> {
    let context = desk.context(its, desk.now)?;
    let hanging: Vec<_> = its.state.iter().flat_map(|state| state.hanging()).collect();
    let mut leaves = Vec::new();
    for (id, tag) in &hanging {
        let tag = Tag {
            machine: its.machine.id.clone(),
            model: context.sheet.model.clone(),
            why: tag.hung.why.clone(),
            since: tag.by.1,
            by: Some(desk.name(tag.by.0.as_str())),
            may_move: MAY_MOVE.into(),
            clears: "untagging by name, after what is named here was put right and walked round".into(),
            number: tag.hung.number.clone(),
            seal: desk.seal(*id)?,
        };
        leaves.push(tag.leaf());
    }
    if leaves.is_empty() {
        leaves.extend(tag_to_hang(desk, its, &context, asked).map(|tag| tag.leaf()));
    }
    if leaves.is_empty() && asked {
        bail!(
            "{} is not on hold for its planned use and no tag hangs: hang one with `muster do tag`, then print it",
            its.machine.id
        );
    }
    Ok(leaves)
}

fn tag_to_hang(desk: &Desk, its: &Its, context: &Context<'_>, asked: bool) -> Option<Tag> {
    let judgement = desk.judgement(its, context);
    let of_use = judgement.planned().filter(|of| of.verdict == Verdict::Hold);
    // Asked for by name, a hold for any use is enough: it says which.
    let any = || judgement.uses.iter().find(|of| of.verdict == Verdict::Hold).filter(|_| asked);
    let of_use = of_use.or_else(any)?;
    let worst = of_use.reasons().next()?;
    Some(Tag {
        machine: its.machine.id.clone(),
        model: context.sheet.model.clone(),
        why: desk.named(&format!("{} ({}): {}", worst.name, of_use.one, worst.reason), worst),
        since: desk.now,
        by: None,
        may_move: MAY_MOVE.into(),
        clears: cleared(worst.todo.as_deref()),
        number: None,
        seal: Some(desk.seal_of(&its.machine.id)),
    })
}

/// What clears a hold, as it stands on the tag that was hung for it.
fn cleared(todo: Option<&str>) -> String {
    let todo = todo.unwrap_or("A walk-round that is not on hold");
    let rest = todo.strip_prefix("Hang a hold tag; ").unwrap_or(todo);
    muster_draw::number::capital(rest)
}

fn stickers(desk: &Desk, sheet: &On, asked: &[String]) -> Result<Leaf> {
    let base = address(desk, sheet).context("a sticker leads to the school's own server: give --address URL")?;
    let all: Vec<String> = if asked.is_empty() { desk.yard.machines.keys().cloned().collect() } else { asked.to_vec() };
    let sticker = |id: &String| {
        let its = desk.machine(id)?;
        let context = desk.context(&its, desk.now)?;
        Ok(Sticker {
            machine: its.machine.id.clone(),
            model: context.sheet.model.clone(),
            link: format!("{}/machines/{}", base.trim_end_matches('/'), its.machine.id),
            says: "Scan before you ride".into(),
        })
    };
    let all: Vec<Sticker> = all.iter().map(sticker).collect::<Result<_>>()?;
    Ok(Sticker::leaf(&all)?)
}

/// A completed walk-round: the one asked for, or the newest closed.
fn walked(desk: &Desk, machine: &str, event: Option<EventId>) -> Result<Leaf> {
    let its = desk.machine(machine)?;
    let (form, opened) = match (&its.state, event) {
        (Some(state), _) => of_record(state, event)?,
        (None, Some(_)) => bail!("a yard's folder has no events: leave --event away"),
        (None, None) => {
            let closed = its.forms.iter().filter(|form| form.closed.is_some_and(|at| at <= desk.now));
            let newest = closed.max_by_key(|form| form.opened);
            (newest.cloned().with_context(|| format!("{machine} has no walk-round that was closed"))?, None)
        }
    };
    let at = form.closed.unwrap_or(form.opened);
    let context = desk.context(&its, at)?;
    let judgement = desk.judgement(&its, &context);
    let photos = photos(desk, &its, &form, opened);
    let name = |person: &str| desk.name(person);
    let seal = match opened {
        Some(event) => desk.seal(event)?,
        None => Some(desk.seal_of(&its.machine.id)),
    };
    let event = opened.map(|event| event.to_string());
    Ok(Walked { context: &context, form: &form, judgement: &judgement, photos: &photos, name: &name, event, seal }
        .leaf())
}

/// A walk-round of a record with the findings raised in it.
fn of_record(state: &MachineState, event: Option<EventId>) -> Result<(Form, Option<EventId>)> {
    let closed = state.walk_rounds.iter().filter(|(_, walk)| walk.form.closed.is_some());
    let found = match event {
        Some(event) => state.walk_rounds.get_key_value(&event),
        None => closed.max_by_key(|(_, walk)| walk.form.opened),
    };
    let (id, walk) = found.with_context(|| format!("{} has no such walk-round", state.machine))?;
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
fn slip(desk: &Desk, machine: &str) -> Result<Leaf> {
    let its = desk.machine(machine)?;
    let released = its.state.as_ref().and_then(|state| {
        let newest = |of: &(&EventId, &ReleaseState)| of.1.released.from;
        let out = state.releases.iter().filter(|(_, release)| release.returned.is_none()).max_by_key(newest);
        out.or_else(|| state.releases.iter().max_by_key(newest))
    });
    let Some((id, release)) = released else { return to_sign(desk, &its) };
    let of = &release.released;
    let context = desk.context(&its, of.from)?;
    let name =
        |check: &String| context.catalogue.check(check).map_or_else(|| check.clone(), |check| check.name.clone());
    let judgement: Option<serde_json::Value> = serde_json::from_str(&of.rests_on.judgement).ok();
    let known = judgement.as_ref().and_then(|of| of.get("known_at")?.as_str()).and_then(|at| Moment::parse(at).ok());
    let slip = Slip {
        context: &context,
        outing: of.outing.clone(),
        riders: of.riders.iter().map(|rider| desk.name(rider.as_str())).collect(),
        from: of.from,
        to: of.to,
        verdicts: of.verdicts.iter().map(|(one, verdict)| (*one, *verdict)).collect(),
        conditions: of.conditions.clone(),
        cautions: cautions(desk, &desk.judgement(&its, &context), of.verdicts.keys().copied()),
        against: of.against.iter().map(name).collect(),
        reason: of.reason.clone(),
        by: Some(desk.name(release.by.0.as_str())),
        known_at: known,
        feedback: None,
        seal: desk.seal(*id)?,
    };
    Ok(slip.leaf()?)
}

/// A slip to be signed by hand: for the use and the return the machine is planned for, if it may go out.
fn to_sign(desk: &Desk, its: &Its) -> Result<Leaf> {
    let context = desk.context(its, desk.now)?;
    let judgement = desk.judgement(its, &context);
    let of_use = judgement.planned().context("nothing was judged")?;
    if matches!(of_use.verdict, Verdict::Hold | Verdict::Unseen) {
        bail!(
            "{} is {} for {}: no slip is printed for what does not go out",
            its.machine.id,
            of_use.verdict,
            of_use.one
        );
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
        cautions: cautions(desk, &judgement, [of_use.one]),
        against: Vec::new(),
        reason: None,
        by: None,
        known_at: judgement.known_at.as_deref().and_then(|at| Moment::parse(at).ok()),
        feedback: None,
        seal: Some(desk.seal_of(&its.machine.id)),
    };
    Ok(slip.leaf()?)
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

fn dossier(desk: &Desk, machine: &str, reader: Reader) -> Result<Leaf> {
    let its = desk.machine(machine)?;
    let context = desk.context(&its, desk.now)?;
    let judgement = desk.judgement(&its, &context);
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
fn works(desk: &Desk, state: &MachineState) -> Result<Vec<Work>> {
    let Some(record) = &desk.record else { return Ok(Vec::new()) };
    let kinds = record.keeper.jobs();
    let mut out = Vec::new();
    for (id, job) in &state.jobs {
        let opened = muster::store::Store::event(&*record.store, *id)?;
        let entry = opened.and_then(|stored| muster_core::record::event::Entry::read(&stored.signed.event).ok());
        let at = entry.and_then(|entry| entry.event).map(|event| event.at);
        let kind = kinds.iter().find(|kind| kind.id == job.opened.job).map_or(&job.opened.job, |kind| &kind.name);
        let work = Work {
            kind: kind.clone(),
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
