//! Makes each document from what is known, and typesets it.

use muster_core::{
    form::Form,
    judge::{Context, Judgement, Verdict},
    record::{
        id::EventId,
        payload::{Document, PaperIssued, PaperSize},
    },
    state::{Found, State},
    walk_round,
    words::{Depth, Use},
};
use muster_report::{Blank, Leaf, Paper, Seal, Sticker, Tag, TagNumbers, YardSheet};

use super::{
    Asked, MOST_TAGS, NotPrinted, Printed, Sheet,
    desk::{Desk, Its},
    known,
};

/// How a machine may be moved under a hold tag, unless a test ride is named.
const MAY_MOVE: &str = "pushed; workshop";
/// A day, in seconds.
const DAY_S: i64 = 86_400;

/// Documents laid out, with what is to be written down of them.
pub(super) struct Laid {
    /// They, in order.
    pub(super) leaves: Vec<Leaf>,
    /// The event they rest on, where it is one.
    pub(super) event: Option<EventId>,
}

impl From<Vec<Leaf>> for Laid {
    fn from(leaves: Vec<Leaf>) -> Self {
        Self { leaves, event: None }
    }
}

/// Prints what is asked for.
///
/// # Errors
/// [`NotPrinted`] with the remedy.
pub fn print(desk: &Desk, asked: &Asked, sheet: &Sheet) -> Result<Printed, NotPrinted> {
    let machine = asked.machine.as_deref().map(|id| desk.machine(id)).transpose()?;
    let id = machine.as_ref().map(|its| its.machine.id.clone());
    let laid = laid(desk, asked, machine.as_ref(), sheet)?;
    let rests_on = laid.leaves.first().and_then(Leaf::seal).map(|seal| seal.hash.clone());
    let paper = Paper {
        size: match sheet.size {
            PaperSize::A4 => muster_report::Size::A4,
            PaperSize::Letter => muster_report::Size::Letter,
        },
        school: desk.yard.name.clone(),
        mark: sheet.mark.clone(),
        address: sheet.address.clone(),
        made: desk.now,
    };
    let tags = laid.leaves.iter().filter_map(Leaf::tag_number).map(ToString::to_string).collect();
    let pdf = muster_report::print(laid.leaves, &paper)?;
    let issued = PaperIssued {
        document: asked.document,
        sha256: pdf.sha256(),
        bytes: pdf.bytes.len() as u64,
        size: sheet.size,
        rests_on: rests_on.filter(|hash| !hash.is_empty()),
        event: laid.event,
        tags,
        machine: id,
    };
    Ok(Printed { name: named(asked, issued.machine.as_deref()), bytes: pdf.bytes, pages: pdf.pages, issued })
}

fn laid(desk: &Desk, asked: &Asked, its: Option<&Its>, sheet: &Sheet) -> Result<Laid, NotPrinted> {
    let one = || its.ok_or_else(|| NotPrinted::Field { field: "machine", what: "name the machine".into() });
    match (asked.document, asked.numbers) {
        (Document::Form, _) => Ok(vec![form(desk, one()?, asked.depth, asked.planned, asked.found)?].into()),
        (Document::WalkRound, _) => known::walked(desk, one()?, asked.event),
        (Document::Tag, Some((from, count))) if its.is_none() => numbered(from, count),
        (Document::Tag, _) => tags(desk, one()?, true),
        (Document::Slip, _) => known::slip(desk, one()?, sheet.address.as_deref()),
        (Document::Dossier, _) => Ok(vec![known::dossier(desk, one()?, asked.reader)?].into()),
        (Document::Yard, _) => morning(desk),
        (Document::Sheet, _) => Ok(vec![yard_sheet(desk, &judged(desk)?)].into()),
        (Document::Stickers, _) => {
            let own = its.map(|its| its.machine.id.clone());
            let asked: Vec<String> = own.into_iter().chain(asked.machines.iter().cloned()).collect();
            Ok(vec![stickers(desk, sheet.address.as_deref(), &asked)?].into())
        }
    }
}

/// A name for the file.
fn named(asked: &Asked, machine: Option<&str>) -> String {
    let name = match (asked.document, machine) {
        (Document::Tag, None) => "tags".into(),
        (Document::Sheet, _) => "yard-sheet".into(),
        (document, Some(machine)) => format!("{document}-{machine}"),
        (document, None) => document.to_string(),
    };
    name.to_lowercase()
}

fn numbered(from: u32, count: u32) -> Result<Laid, NotPrinted> {
    if !(1..=MOST_TAGS).contains(&count) {
        return Err(NotPrinted::Field { field: "count", what: format!("1 to {MOST_TAGS} tags at once") });
    }
    Ok(TagNumbers { from, count }.leaves().into())
}

/// The use a machine's newest form planned, else the range.
fn planned(its: &Its) -> Use {
    let newest = its.forms.iter().filter(|form| form.outing.is_some()).max_by_key(|form| form.opened);
    newest.and_then(|form| form.outing).map_or(Use::Range, |outing| outing.planned)
}

/// A blank form: what is asked now, or tomorrow at this time where nothing has lapsed yet.
fn form(desk: &Desk, its: &Its, depth: Depth, asked: Option<Use>, found: Found) -> Result<Leaf, NotPrinted> {
    let one = asked.unwrap_or_else(|| planned(its));
    let forms: Vec<&Form> = its.forms.iter().collect();
    let mut context = desk.context(its, desk.now)?;
    let found = found.on(&its.machine.traits.equipment);
    let mut walk = plan(&context, &forms, depth, one, found)?;
    if walk.steps.is_empty() && walk.evening.is_empty() {
        context = desk.context(its, desk.now.later_by(DAY_S))?;
        walk = plan(&context, &forms, depth, one, found)?;
    }
    let seal = Some(desk.seal_of(&its.machine.id));
    Ok(Blank { context: &context, forms: &forms, walk: &walk, depth, planned: one, found, seal }.leaf())
}

fn plan<'c>(
    context: &Context<'c>,
    forms: &[&Form],
    depth: Depth,
    one: Use,
    found: State,
) -> Result<walk_round::WalkRound<'c>, NotPrinted> {
    walk_round::plan(context, forms, depth, one, found).map_err(|error| NotPrinted::Fault(error.to_string()))
}

/// Every machine judged, in the order of their numbers.
fn judged(desk: &Desk) -> Result<Vec<Judgement>, NotPrinted> {
    let judge = |id: &String| {
        let its = desk.machine(id)?;
        let context = desk.context(&its, desk.now)?;
        Ok(desk.judgement(&its, &context))
    };
    desk.yard.machines.keys().map(judge).collect()
}

fn yard_sheet(desk: &Desk, judgements: &[Judgement]) -> Leaf {
    let seal = Seal { path: "/paper".into(), hash: desk.yard.hash.clone() };
    let name = |person: &str| desk.name(person);
    YardSheet { yard: &desk.yard, judgements, now: desk.now, name: &name, seal: Some(seal) }.leaf()
}

/// The morning's paper: the yard sheet, a form for each machine that may be walked round, a tag for each on hold.
fn morning(desk: &Desk) -> Result<Laid, NotPrinted> {
    let judgements = judged(desk)?;
    let mut leaves = vec![yard_sheet(desk, &judgements)];
    for id in desk.yard.machines.keys() {
        leaves.push(form(desk, &desk.machine(id)?, Depth::BeforeRide, None, Found::default())?);
    }
    for id in desk.yard.machines.keys() {
        let its = desk.machine(id)?;
        leaves.extend(tags(desk, &its, false)?.leaves);
    }
    Ok(leaves.into())
}

/// The tags that hang on a machine; where none hangs and it is on hold for its planned use, the one to hang.
fn tags(desk: &Desk, its: &Its, asked: bool) -> Result<Laid, NotPrinted> {
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
        return Err(NotPrinted::Nothing(format!(
            "{} is not on hold for its planned use and no tag hangs: hang one, then print it",
            its.machine.id
        )));
    }
    let event = hanging.first().map(|(id, _)| *id).filter(|_| hanging.len() == 1);
    Ok(Laid { leaves, event })
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

fn stickers(desk: &Desk, address: Option<&str>, asked: &[String]) -> Result<Leaf, NotPrinted> {
    let nowhere =
        || NotPrinted::Field { field: "address", what: "a sticker leads to the school's own server: give it".into() };
    let base = address.ok_or_else(nowhere)?;
    let all: Vec<String> = if asked.is_empty() { desk.yard.machines.keys().cloned().collect() } else { asked.to_vec() };
    let sticker = |id: &String| {
        let its = desk.machine(id)?;
        let context = desk.context(&its, desk.now)?;
        Ok::<_, NotPrinted>(Sticker {
            machine: its.machine.id.clone(),
            model: context.sheet.model.clone(),
            link: format!("{}/machines/{}", base.trim_end_matches('/'), its.machine.id),
            says: "Scan before you ride".into(),
        })
    };
    let all: Vec<Sticker> = all.iter().map(sticker).collect::<Result<_, NotPrinted>>()?;
    Ok(Sticker::leaf(&all)?)
}
