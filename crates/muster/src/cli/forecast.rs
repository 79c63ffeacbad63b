//! `muster forecast`: what runs out when, learnt from the whole fleet; and what to order.

mod shown;

use std::{path::PathBuf, sync::Arc};

use anyhow::{Context as _, Result, bail};
use clap::Args;
use jiff::civil::Date;
use muster::keeper::Opened;
use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    forecast::{
        estimate::Estimate,
        falls::{Aging, Falls, Ridden, falls},
        fit::fit,
        leaks::{Leak, leaks},
        lives::{From, Gathered, Seen, gather},
        outlook::{Outlook, outlooks},
        practice::Practices,
        riding::{Trace, Within},
    },
    judge::Context,
    record::{id::PersonId, machine_state::MachineState},
    words::Use,
    yard::{Units, Yard},
};

use super::{
    MAY_GO,
    arguments::Global,
    demonstration,
    paper::{Paper, note},
    site::{self, Site, hint},
};

/// What is asked of a forecast.
#[derive(Args, Debug)]
pub(crate) struct Asked {
    /// Fleet number; without it every machine
    machine: Option<String>,
    /// Folder of a record; with --yard instead its filled forms, which know of no mountings
    #[arg(long, env = "MUSTER_RECORD", value_name = "DIR")]
    record: Option<PathBuf>,
    /// How many weeks are looked ahead
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = clap::value_parser!(u16).range(1..=260))]
    weeks: u16,
    /// The use whose limits count: range, road, passenger, dark
    #[arg(long = "use", value_name = "USE", default_value = "road")]
    one: Use,
    /// Only what to order for these weeks
    #[arg(long)]
    order: bool,
    /// Estimate wear anew and write it into the record, for verdicts on every phone
    #[arg(long, requires = "record", conflicts_with_all = ["machine", "order", "json"])]
    estimate: bool,
    /// Who writes it; without it the yard's first owner
    #[arg(long = "as", env = "MUSTER_AS", value_name = "PERSON")]
    person: Option<PersonId>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// Everything a forecast came to.
struct Told {
    name: String,
    units: Units,
    now: Moment,
    gathered: Gathered,
    all: Vec<Outlook>,
    falls: Vec<Falls>,
    leaks: Vec<Leak>,
    hash: String,
}

/// Prints it.
///
/// # Errors
/// A yard or record that cannot be opened, a machine it does not have.
pub(crate) fn run(global: &Global, asked: &Asked) -> Result<u8> {
    let told = match &asked.record {
        Some(folder) if asked.estimate => {
            return written(asked, &Opened::existing(folder)?, global.on.unwrap_or_else(site::now));
        }
        Some(folder) => of_record(asked, &Opened::existing(folder)?, global.on.unwrap_or_else(site::now))?,
        None if global.yard.is_some() => of_yard(global, asked)?,
        None => of_demonstration(global, asked)?,
    };
    let known = told.gathered.traces.keys();
    if let Some(id) = asked.machine.as_ref().filter(|id| !told.gathered.traces.contains_key(*id)) {
        bail!("no machine `{id}`{}", hint(id, known.map(String::as_str)));
    }
    let mut paper = Paper::new(global.color);
    match (asked.json, asked.order) {
        (true, _) => paper.line(&serde_json::to_string_pretty(&shown::as_json(asked, &told))?),
        (false, true) => shown::order(&mut paper, asked, &told),
        (false, false) => shown::rulers(&mut paper, asked, &told),
    }
    paper.print()?;
    Ok(MAY_GO)
}

/// Estimates anew, and writes it down.
fn written(asked: &Asked, opened: &Opened, now: Moment) -> Result<u8> {
    let person = asked.person.clone().or_else(|| opened.keeper.first_owner());
    let person = person.context("nobody owns this record: name who writes with --as")?;
    let ids = opened.keeper.note_estimate(&person, now)?;
    let known =
        opened.keeper.known().yard.forecast.clone().context("the estimate does not count: look at who wrote it")?;
    let rows: usize = known.kinds.iter().map(|kind| kind.rows.len()).sum();
    let event = ids.last().map(ToString::to_string).unwrap_or_default();
    println!("{event}\n{rows} parts of {} kinds, SHA-256 {}", known.kinds.len(), known.hash);
    Ok(MAY_GO)
}

fn of_yard(global: &Global, asked: &Asked) -> Result<Told> {
    let site = Site::open(global)?;
    for problem in site.all_problems() {
        note(&site::said(problem));
    }
    let forms: Vec<_> = site.yard.machines.keys().map(|id| (id.as_str(), site.forms_of(id))).collect();
    let seen: Vec<Seen<'_>> =
        forms.into_iter().map(|(machine, forms)| Seen { machine, forms, parts: Vec::new() }).collect();
    told((&site.catalogue, &site.yard), asked, &seen, site.now())
}

/// The demonstration's whole record: its forms alone would be one morning.
fn of_demonstration(global: &Global, asked: &Asked) -> Result<Told> {
    note("demo yard: fourteen months told anew, which takes a while; use --record DIR for your own");
    let folder = tempfile::tempdir()?;
    let demonstration = demonstration::begin(folder.path())?;
    of_record(asked, &demonstration.opened, global.on.unwrap_or(demonstration.on))
}

fn of_record(asked: &Asked, opened: &Opened, now: Moment) -> Result<Told> {
    let known = opened.keeper.known();
    let mut states: Vec<Arc<MachineState>> = Vec::new();
    for id in known.yard.machines.keys() {
        states.extend(opened.keeper.machine(id)?);
    }
    let seen: Vec<Seen<'_>> = states.iter().map(|state| Seen::of(state)).collect();
    told((opened.keeper.catalogue(), &known.yard), asked, &seen, now)
}

fn told((catalogue, yard): (&Catalogue, &Yard), asked: &Asked, seen: &[Seen<'_>], now: Moment) -> Result<Told> {
    let practices = practices(catalogue)?;
    let from = From { catalogue, yard, practices: &practices, one: asked.one, now };
    let gathered = gather(from, seen);
    let fitted = fit(&gathered.fleet, None);
    let hash = Estimate::of(&gathered, &practices, &fitted, now).hashed().0.hash;
    let all = outlooks(&gathered, &practices, &fitted, now.date());
    let of = |one: &Seen<'_>| {
        let context = Context::of(catalogue, yard, one.machine, now)?;
        let aging = Aging {
            forms: one.forms.clone(),
            parts: one.parts.iter().filter(|(_, there)| *there).map(|(part, _)| *part).collect(),
        };
        Some(falls(&context, &practices, (&aging, ridden(&gathered, one.machine, now)), asked.one))
    };
    let mut falls: Vec<Falls> = seen.iter().filter_map(of).flatten().collect();
    falls.sort_by(|a, b| (a.first, &a.machine, &a.name).cmp(&(b.first, &b.machine, &b.name)));
    let lost =
        |one: &Seen<'_>| Some(leaks(&Context::of(catalogue, yard, one.machine, now)?, &practices, one, asked.one));
    let mut leaks: Vec<Leak> = seen.iter().filter_map(lost).flatten().collect();
    leaks.sort_by(|a, b| {
        (a.days[1].is_none(), a.days[1], &a.machine, &a.check).cmp(&(
            b.days[1].is_none(),
            b.days[1],
            &b.machine,
            &b.check,
        ))
    });
    Ok(Told { name: yard.name.clone(), units: yard.units, now, gathered, all, falls, leaks, hash })
}

fn ridden<'g>(gathered: &'g Gathered, machine: &str, now: Moment) -> Ridden<'g> {
    static NONE: Trace = Trace::new();
    let trace = gathered.traces.get(machine).unwrap_or(&NONE);
    Ridden { season: &gathered.season, riding: gathered.season.riding(trace, now.date()), trace }
}

fn practices(catalogue: &Catalogue) -> Result<Practices> {
    data::practices(catalogue).map_err(|problems| {
        let said: Vec<String> = problems.iter().map(ToString::to_string).collect();
        anyhow::anyhow!("{}", said.join("\n"))
    })
}

impl Told {
    fn today(&self) -> Date {
        self.now.date()
    }

    fn within(&self, one: &Outlook, weeks: u16) -> f64 {
        one.meets(&self.gathered.season, self.today(), Within { km: None, days: Some(f64::from(weeks) * 7.0) })
    }

    fn falls_within(&self, one: &Falls, weeks: u16) -> f64 {
        one.within(ridden(&self.gathered, &one.machine, self.now), (self.today(), i32::from(weeks) * 7))
    }

    fn of<'t>(&'t self, asked: &'t Asked) -> impl Iterator<Item = &'t Outlook> {
        self.all.iter().filter(|one| asked.machine.as_ref().is_none_or(|id| *id == one.machine))
    }
}
