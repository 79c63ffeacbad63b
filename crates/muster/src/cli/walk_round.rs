//! `muster walk-round`: what to look at, in which order, and how; printed, or written as a form.

use std::{collections::BTreeMap, path::PathBuf};

use anyhow::Result;
use muster_core::{
    check::{Check, Yields},
    form::Form,
    instrument::Instrument,
    judge::Context,
    quantity::{Unit, show},
    state::{Power, State},
    walk_round::{self, Ask, WalkRound},
    words::{Depth, InstrumentKind, Use},
};

use super::{
    BAD_INPUT, MAY_GO,
    arguments::{Global, WalkRound as Asked},
    blank, files,
    paper::{Ink, Paper, count, note},
    site::{Site, said},
};

/// First of every walk-round, whatever else it asks.
pub(crate) const FIRST_LINE: &str = "First: no hold tag on the bar, key on its hook.";

/// Prints a walk-round, or writes its form.
///
/// # Errors
/// A machine the yard does not have, or a form that is there already.
pub(crate) fn run(global: &Global, asked: &Asked) -> Result<u8> {
    let site = Site::open(global)?;
    let machine = site.machine(&asked.machine)?;
    let context = site.context(&machine.id, site.now())?;
    let walk = steps(&context, &site.forms_of(&machine.id), asked.depth, asked.planned, asked.found_on(&context))?;
    let problems = site.problems_of(&machine.id);
    for problem in &problems {
        note(&said(problem));
    }
    match &asked.form {
        None => {
            let mut paper = Paper::new(global.color);
            print(&mut paper, &context, asked, &walk);
            paper.print()?;
        }
        Some(path) => {
            let path = if path.as_os_str().is_empty() { named(&context) } else { path.clone() };
            let back = asked.back.unwrap_or_else(|| site.day_end(context.now));
            files::write_new(&path, blank::form(&context, asked, &walk, back).as_bytes(), asked.force)?;
            note(&format!("wrote {}: fill it by hand or with muster fill, then muster judge", path.display()));
        }
    }
    Ok(if problems.is_empty() { MAY_GO } else { BAD_INPUT })
}

/// The steps of a walk-round in order.
///
/// # Errors
/// A catalogue whose needs contradict each other.
fn steps<'c>(context: &Context<'c>, forms: &[&Form], depth: Depth, one: Use, found: State) -> Result<WalkRound<'c>> {
    Ok(walk_round::plan(context, forms, depth, one, found)?)
}

fn named(context: &Context<'_>) -> PathBuf {
    let clock = context.now.clock().replace(':', "");
    PathBuf::from(format!("{}-{}-{clock}.toml", context.machine.id.to_lowercase(), context.now.date()))
}

fn print(paper: &mut Paper, context: &Context<'_>, asked: &Asked, walk: &WalkRound<'_>) {
    let machine = context.machine;
    let title = format!("{}  {}: walk-round, {}, for {}", machine.id, context.sheet.model, asked.depth, asked.planned);
    let title = paper.ink(Ink::Strong, &title);
    paper.line(&title);
    paper.line(FIRST_LINE);
    paper.hung("", Ink::Plain, &format!("Found {}. {}", asked.found_on(context), total(walk)));
    Tools::of(context, walk).print(paper);
    if walk.steps.is_empty() && walk.evening.is_empty() {
        paper.line("");
        paper.hung(
            "",
            Ink::Plain,
            "Nothing has lapsed: every check this use asks for still has an answer that counts.",
        );
    }
    let mut number = 0;
    if !walk.evening.is_empty() {
        paper.heading("Read first: prepared the evening before");
    }
    for ask in &walk.evening {
        number += 1;
        step(paper, number, ask);
    }
    let mut station = None;
    for ask in &walk.steps {
        for change in &ask.changes {
            paper.line("");
            paper.hung(
                "=> ",
                Ink::Strong,
                &format!("{}{}", super::explain::capital(change), power_caution(ask, change)),
            );
        }
        if station != Some(ask.station) || !ask.changes.is_empty() {
            paper.heading(&super::explain::capital(&ask.station.as_str().replace('-', " ")));
            station = Some(ask.station);
        }
        number += 1;
        step(paper, number, ask);
    }
    if !walk.deferred.is_empty() {
        paper.heading("Not now, as it was found");
        for (check, why) in &walk.deferred {
            paper.hung("  - ", Ink::Plain, &format!("{}: {why}", check.name));
        }
    }
}

/// What can hurt someone when the engine is started, or an electric machine made ready.
fn power_caution(ask: &Ask<'_>, change: &str) -> &'static str {
    match change {
        _ if ask.state.power != Power::Running => "",
        _ if change.starts_with("start") => ": exhaust gas kills indoors, hands and clothes off chain and wheels",
        _ if change.starts_with("make it ready") => ": it makes no sound, hands and clothes off drive and wheels",
        _ => "",
    }
}

fn step(paper: &mut Paper, number: usize, ask: &Ask<'_>) {
    const INDENT: &str = "    ";
    let check = ask.check;
    let name = paper.ink(Ink::Strong, &check.name);
    paper.line(&format!("{number:>2}. {name}  ({} s)", check.seconds));
    for line in &ask.method {
        paper.hung(INDENT, Ink::Plain, line);
    }
    if let Some(caution) = &ask.caution {
        paper.hung(&format!("{INDENT}Caution: "), Ink::Plain, caution);
    }
    for limit in &ask.limits {
        paper.hung(&format!("{INDENT}= "), Ink::Plain, limit);
    }
    if ask.limits.is_empty() && matches!(check.yields, Yields::Read(_)) {
        paper.hung(&format!("{INDENT}= "), Ink::Plain, "limit not known: read the label or the handbook");
    }
    for cannot in &ask.cannot {
        paper.hung(&format!("{INDENT}! "), Ink::Plain, cannot);
    }
}

/// How many checks and how long, in words.
pub(crate) fn total(walk: &WalkRound<'_>) -> String {
    let checks = count(walk.steps.len() + walk.evening.len(), "check", "checks");
    let (minutes, seconds) = (walk.seconds / 60, walk.seconds % 60);
    format!("{checks}, {minutes} min {seconds:02} s with the walking.")
}

/// The yard's instruments that can read a check.
pub(crate) fn fitting<'c>(context: &Context<'c>, check: &Check) -> Vec<&'c Instrument> {
    let Yields::Read(measure) = &check.yields else { return Vec::new() };
    let reads = |instrument: &&Instrument| {
        instrument.reads == measure.kind
            && (measure.instruments.is_empty() || measure.instruments.contains(&instrument.kind))
            && instrument.is_trusted(context.now.date())
    };
    context.yard.instruments.values().filter(reads).collect()
}

/// What a walk-round's readings are taken with.
#[derive(Default)]
struct Tools<'c> {
    /// Instruments of the yard, of each set any one.
    along: Vec<Vec<&'c Instrument>>,
    /// Kinds the yard lists none of, and the checks that want one.
    unlisted: BTreeMap<String, Vec<&'c str>>,
}

impl<'c> Tools<'c> {
    fn of(context: &Context<'c>, walk: &WalkRound<'c>) -> Self {
        let by_eye = |kind: &InstrumentKind| *kind == InstrumentKind::Eye;
        let mut tools = Self::default();
        for ask in walk.evening.iter().chain(&walk.steps) {
            let Yields::Read(measure) = &ask.check.yields else { continue };
            let own = fitting(context, ask.check);
            if own.is_empty() {
                let kind = |kind: &InstrumentKind| if by_eye(kind) { "reading by eye" } else { kind.as_str() };
                let kinds: Vec<&str> = measure.instruments.iter().map(kind).collect();
                tools.unlisted.entry(kinds.join(" or ")).or_default().push(&ask.check.name);
            }
            // The eye is there without being taken along.
            let any: Vec<_> = own.into_iter().filter(|instrument| !by_eye(&instrument.kind)).collect();
            if !any.is_empty() && !tools.along.contains(&any) {
                tools.along.push(any);
            }
        }
        tools
    }

    fn print(&self, paper: &mut Paper) {
        let named = |one: &&Instrument| format!("{} {}", one.id, one.name);
        let any = |any: &Vec<&Instrument>| any.iter().map(named).collect::<Vec<_>>().join(" or ");
        if !self.along.is_empty() {
            let along: Vec<_> = self.along.iter().map(any).collect();
            paper.hung("Take along: ", Ink::Plain, &along.join("; "));
        }
        if !self.unlisted.is_empty() {
            let unlisted: Vec<_> =
                self.unlisted.iter().map(|(kinds, checks)| format!("{kinds} for {}", checks.join(", "))).collect();
            paper.hung("The yard lists no ", Ink::Plain, &unlisted.join("; no "));
        }
    }
}

/// A duration of a check, for its comment in a form.
pub(crate) fn seconds(check: &Check) -> String {
    show::plain(f64::from(check.seconds), Unit::Second)
}
