//! `muster explain`: a check as the catalogue has it, and which limits count for a machine.

use anyhow::Result;
use muster_core::{
    check::{Check, Correction, DateOf, Measure, Yields},
    equipment::Holds,
    judge::Context,
    limit::Limit,
    quantity::{Unit, show},
    state::{Needs, Station},
    walk_round,
    words::{Use, Uses},
};

use super::{
    MAY_GO,
    arguments::Global,
    paper::{Ink, Paper},
    site::{self, Site},
};

/// Where labels end.
const LABEL_WIDTH: usize = 14;

/// Explains a check, or lists them.
///
/// # Errors
/// An unknown check or machine.
pub(crate) fn run(global: &Global, check: Option<&str>, machine: Option<&str>) -> Result<u8> {
    let mut paper = Paper::new(global.color);
    let site = Site::open(global)?;
    let machine = machine.map(|id| site.machine(id)).transpose()?;
    let context = machine.map(|machine| site.context(&machine.id, site.now())).transpose()?;
    match check {
        None => list(&mut paper, &site, context.as_ref()),
        Some(id) => {
            let check = site::check(&site.catalogue, id)?;
            explain(&mut paper, &site, context.as_ref(), check);
            if let Some(context) = &context {
                on_machine(&mut paper, context, check);
            }
        }
    }
    paper.print()?;
    Ok(MAY_GO)
}

/// A labelled paragraph.
pub(crate) fn field(paper: &mut Paper, label: &str, text: &str) {
    paper.hung(&format!("{label:<LABEL_WIDTH$}"), Ink::Plain, text);
}

fn list(paper: &mut Paper, site: &Site, context: Option<&Context<'_>>) {
    for station in Station::ALL {
        paper.heading(&capital(&station.as_str().replace('-', " ")));
        for check in site.catalogue.checks.iter().filter(|check| own(context, check).station == *station) {
            let applies =
                context.is_none_or(|context| check.applies.holds(&context.machine.traits.equipment) != Holds::No);
            if applies {
                paper.hung(
                    &format!("  {:<25}", check.id),
                    Ink::Plain,
                    &format!("{} ({})", check.name, uses(check.uses)),
                );
            }
        }
    }
}

fn uses(uses: Uses) -> String {
    if uses.count() == 0 { "full walk-round only".into() } else { uses.to_string() }
}

fn explain(paper: &mut Paper, site: &Site, context: Option<&Context<'_>>, check: &Check) {
    let check = own(context, check);
    let title = paper.ink(Ink::Strong, &format!("{}  {}", check.name, check.id));
    paper.line(&title);
    field(paper, "where", &format!("{}, about {} s", check.station.as_str().replace('-', " "), check.seconds));
    field(paper, "state", &needs(check.needs));
    field(paper, "method", &check.method.join(" "));
    if let Some(caution) = &check.caution {
        field(paper, "CAUTION", caution);
    }
    if let Some(practice) = &check.practice {
        field(paper, "practice", &format!("{practice} (common practice)"));
    }
    match &check.yields {
        Yields::Look(look) => {
            field(paper, "sound", &look.sound);
            field(paper, "doubtful", &look.doubtful);
            field(paper, "defective", &look.defective);
            if !look.places.is_empty() {
                field(paper, "places", &look.places.join(", "));
            }
        }
        Yields::Read(measure) => reads(paper, site, measure),
        Yields::Date(DateOf::Expires) => field(paper, "read", "the day it runs out, judged at the planned return"),
        Yields::Date(DateOf::Made { tyre_code: true }) => {
            field(paper, "read", "week and year as moulded on the tyre, judged by its age");
        }
        Yields::Date(DateOf::Made { tyre_code: false }) => {
            field(paper, "read", "the day it was made, judged by its age");
        }
    }
    field(paper, "binds", &uses(check.uses));
    let lives: Vec<String> = Use::ALL
        .iter()
        .filter(|one| check.uses.contains(**one))
        .map(|one| format!("{one}: {}", check.life.of(*one)))
        .collect();
    let lives = if lives.is_empty() { check.life.other.to_string() } else { lives.join("; ") };
    field(paper, "counts for", &lives);
    if !check.ends_with.is_empty() {
        let ends: Vec<String> = check.ends_with.iter().map(|end| end.as_str().replace('-', " ")).collect();
        field(paper, "ended by", &ends.join(", "));
    }
    class(paper, site, context, check);
}

/// As the machine named is asked it, else in general.
fn own<'c>(context: Option<&Context<'_>>, check: &'c Check) -> &'c Check {
    context.map_or(check, |context| context.own(check))
}

fn class(paper: &mut Paper, site: &Site, context: Option<&Context<'_>>, check: &Check) {
    let item = check.item.as_ref();
    let model =
        item.map(|item| format!(" (item {item} of the model classes, 2014/45/EU Annex I: a model, not law here)"));
    field(paper, "class", &format!("{}{}", check.class, model.unwrap_or_default()));
    let law = site.yard.law.as_ref().and_then(|law| site.catalogue.laws.get(law));
    let all = || law.into_iter().flat_map(|law| &law.classes).filter(|row| row.checks.contains(&check.id)).collect();
    let rows: Vec<_> = context.map_or_else(all, |context| context.defects(check));
    for row in rows {
        field(paper, "by law", &format!("{}, `{}`: {} ({})", row.class, row.key, row.when, row.provenance));
    }
}

fn needs(needs: Needs) -> String {
    use muster_core::state::{Heat, Power, Stance};
    let heats: Vec<&str> =
        Heat::ALL.iter().filter(|heat| needs.allows_heat(**heat)).map(|heat| heat.as_str()).collect();
    let stances: Vec<String> = Stance::ALL
        .iter()
        .filter(|stance| needs.allows_stance(**stance))
        .map(|stance| stance.as_str().replace('-', " "))
        .collect();
    let with = |power: Power| {
        Heat::ALL.iter().any(|heat| {
            Stance::ALL
                .iter()
                .any(|stance| needs.allows(muster_core::state::State { heat: *heat, power, stance: *stance }))
        })
    };
    let powers: Vec<&str> = Power::ALL.iter().filter(|power| with(**power)).map(|power| power.as_str()).collect();
    let told = |what: &str, words: Vec<String>, all: usize| {
        if words.len() == all { None } else { Some(format!("{what} {}", words.join(" or "))) }
    };
    let owned = |words: Vec<&str>| words.into_iter().map(str::to_string).collect::<Vec<_>>();
    let parts = [
        told("machine", owned(heats), Heat::ALL.len()),
        told("key", owned(powers), Power::ALL.len()),
        told("stands", stances, Stance::ALL.len()),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() { "any".into() } else { parts.join("; ") }
}

fn reads(paper: &mut Paper, site: &Site, measure: &Measure) {
    let kinds: Vec<&str> = measure.instruments.iter().map(|kind| kind.as_str()).collect();
    let kinds = if kinds.is_empty() { "any".to_string() } else { kinds.join(", ") };
    field(paper, "read", &format!("a {}, with: {kinds}", measure.kind));
    let own = site.yard.instruments.values().filter(|instrument| {
        instrument.reads == measure.kind
            && (measure.instruments.is_empty() || measure.instruments.contains(&instrument.kind))
    });
    let own: Vec<String> = own.map(|instrument| format!("{} {}", instrument.id, instrument.name)).collect();
    if !own.is_empty() {
        field(paper, "in the yard", &own.join("; "));
    }
    if !measure.places.is_empty() {
        field(paper, "places", &format!("{}; the worst counts", measure.places.join(", ")));
    }
    if let Some(across) = measure.across {
        field(paper, "uneven", &format!("more than {across} between places is worth saying"));
    }
    if let Some(scatter) = &measure.repeatability {
        field(paper, "by hand", &format!("one reading scatters by {} ({})", scatter.deviation, scatter.provenance));
    }
    if let Some(settable) = &measure.settable {
        let text = format!(
            "being off is a step: it is {} and read again. Off by more than {}: {}",
            settable.act, settable.far_off, settable.why
        );
        field(paper, "to set", &text);
    }
    let formula = match measure.correction {
        Some(Correction::TyreGas) => {
            "p_cold = (p + pₐ) × T_air / T_tyre − pₐ: gas law, dry gas in a fixed volume (Gay-Lussac). Exact; a warm \
             reading says how far to pump up, never to let air out."
        }
        Some(Correction::OilLean) => {
            "Oil under lean, modelled from the sheet's sump and stand: it may turn fit into watch, never a miss into fit."
        }
        None => return,
    };
    field(paper, "correction", formula);
}

fn on_machine(paper: &mut Paper, context: &Context<'_>, check: &Check) {
    let machine = context.machine;
    paper.heading(&format!("For {}, {}", machine.id, context.sheet.model));
    match check.applies.holds(&machine.traits.equipment) {
        Holds::No => {
            field(paper, "applies", "no: it has nothing this check is about");
            return;
        }
        Holds::Unknown(keys) => field(paper, "applies", &format!("yes, as {} not stated", told(&keys))),
        Holds::Yes => {}
    }
    let lacking = check.requires.lacking(&machine.traits.equipment);
    if !lacking.is_empty() {
        field(paper, "lacks", &format!("{}: on hold for {}", lacking.join(", "), uses(check.uses)));
    }
    if let Some(procedure) = context.procedure(check) {
        let page =
            procedure.page.as_ref().map(|page| format!(" ({}, {page})", context.sheet.handbook)).unwrap_or_default();
        if !procedure.method.is_empty() {
            field(paper, "its way", &format!("{}{page}", procedure.method.join(" ")));
        }
        if let Some(caution) = &procedure.caution {
            field(paper, "CAUTION", caution);
        }
        if procedure.needs.is_some() {
            field(paper, "its state", &needs(context.needs(check)));
        }
    }
    let mut told: Vec<(Vec<String>, Vec<Use>)> = Vec::new();
    for one in Use::ALL.iter().copied().filter(|one| check.uses.count() == 0 || check.uses.contains(*one)) {
        let lines = counting(context, check, one);
        match told.iter_mut().find(|(other, _)| *other == lines) {
            Some((_, uses)) => uses.push(one),
            None => told.push((lines, vec![one])),
        }
    }
    for (lines, uses) in told {
        let uses: Uses = uses.into_iter().collect();
        paper.line(&format!("{uses}:"));
        for line in lines {
            paper.hung("  - ", Ink::Plain, &line);
        }
    }
}

fn told(keys: &[String]) -> String {
    let verb = if keys.len() == 1 { "is" } else { "are" };
    format!("{} {verb}", keys.join(", ").replace('_', " "))
}

/// What counts for a use: the limits, the class, and what was set aside and why.
pub(crate) fn counting(context: &Context<'_>, check: &Check, one: Use) -> Vec<String> {
    let counting = context.limits(check, one);
    let mut lines = match &check.yields {
        Yields::Read(measure) => walk_round::limits(context, measure, &counting),
        Yields::Date(DateOf::Made { .. }) => counting.bounds.iter().filter_map(|row| age(row)).collect(),
        _ => Vec::new(),
    };
    if lines.is_empty() && !matches!(check.yields, Yields::Look(_) | Yields::Date(DateOf::Expires)) {
        lines.push("limit not known: read the label or the handbook and add it to the machine's file".into());
    }
    lines.extend(aside(context, check, one, &counting.bounds));
    lines.extend(counting.notes.iter().cloned());
    lines.extend(counting.empty.iter().map(|empty| format!("the data contradict themselves: {empty}")));
    let (class, row) = context.class(check, one);
    let by = row.map(|row| format!(" ({})", row.provenance)).unwrap_or_default();
    lines.push(format!("a miss or defect is {class}{by}"));
    lines
}

/// An age limit in years.
fn age(row: &Limit) -> Option<String> {
    let years = show::figure(row.at_most?.in_unit(Unit::Year));
    Some(format!("at most {years} years ({}: {})", row.layer, row.provenance))
}

/// Rows that bound the check for this use and do not count, each with the reason.
fn aside(context: &Context<'_>, check: &Check, one: Use, counted: &[&Limit]) -> Vec<String> {
    let law = context.law.into_iter().flat_map(|law| &law.limits);
    let rows = context.catalogue.practice.iter().chain(&context.sheet.limits).chain(&context.machine.limits);
    let rows = rows.chain(law).chain(&context.yard.house).filter(|row| row.check == check.id && row.bounds());
    let mut out = Vec::new();
    for row in rows.filter(|row| !counted.iter().any(|other| std::ptr::eq(*other, *row))) {
        let why = if !row.uses.contains(one) {
            continue;
        } else if row.only_if.binds(&context.machine.traits) == Holds::No {
            "it does not bind this machine"
        } else {
            "a more specific row counts"
        };
        let bound = match (row.at_least, row.at_most) {
            (Some(least), Some(most)) => format!("{least} to {most}"),
            (Some(least), None) => format!("at least {least}"),
            (None, Some(most)) => format!("at most {most}"),
            (None, None) => continue,
        };
        out.push(format!("set aside: {bound} ({}: {}), as {why}", row.layer, row.provenance));
    }
    out
}

/// A text with a capital.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let head: String = letters.next().map(|first| first.to_uppercase().collect()).unwrap_or_default();
    format!("{head}{}", letters.as_str())
}
