//! `muster forecast`: what runs out when, learnt from the whole fleet; and what to order.

use std::{path::PathBuf, sync::Arc};

use anyhow::{Context as _, Result, bail};
use clap::Args;
use jiff::civil::Date;
use muster::keeper::Opened;
use muster_core::{
    calendar::{Moment, days_between, days_later},
    catalogue::Catalogue,
    data,
    forecast::{
        coming::far,
        estimate::Estimate,
        falls::{Aging, Falls, Ridden, falls},
        fit::fit,
        leaks::{Leak, leaks},
        lives::{Aside, From, Gathered, Seen, gather},
        order::{NEAR, Needed, ORDERED, Wanted, likely, needed},
        outlook::{Outlook, outlooks},
        practice::{Clock, Practices},
        riding::{Trace, Within},
    },
    judge::Context,
    quantity::{Unit, convert},
    record::{id::PersonId, machine_state::MachineState},
    words::Use,
    yard::{Units, Yard},
};
use serde_json::{Value, json};

use super::{
    MAY_GO,
    arguments::Global,
    demonstration,
    paper::{Ink, Paper, note},
    site::{self, Site, hint},
};

/// Cells of a ruler.
const RULER: usize = 40;
/// No day further ahead is told.
const TEN_YEARS: i64 = 3653;

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
        (true, _) => paper.line(&serde_json::to_string_pretty(&as_json(asked, &told))?),
        (false, true) => order(&mut paper, asked, &told),
        (false, false) => rulers(&mut paper, asked, &told),
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

fn title(paper: &mut Paper, asked: &Asked, told: &Told) {
    let what = format!("{}, {}: what runs out first, by the limits for {}", told.name, told.today(), asked.one);
    paper.hung("", Ink::Strong, &what);
    paper.hung(
        "",
        Ink::Faint,
        "A forecast only adds a watch; it never makes a machine fit. The handbook and a qualified mechanic count. \
         Ruler: from today to the day at its right; met by then with less than 5 % `.`, from 5 % `+`, from 50 % `#`, \
         from 95 % `@`.",
    );
}

fn rulers(paper: &mut Paper, asked: &Asked, told: &Told) {
    title(paper, asked, told);
    let (near, later): (Vec<_>, Vec<_>) =
        told.of(asked).partition(|one| asked.machine.is_some() || told.within(one, asked.weeks) >= NEAR);
    for one in near {
        paper.line("");
        let head = format!("{}  {}", one.machine, one.name);
        let head = paper.ink(Ink::Strong, &head);
        paper.line(&head);
        paper.hung("  ", Ink::Plain, &state(one));
        let days = ruled_days(told, asked, one);
        let within = || format!("{} within {} weeks", likely(told.within(one, asked.weeks)), asked.weeks);
        let how = if one.past.is_some() { "past".to_string() } else { within() };
        paper.line(&format!("  [{}] {}  {how}", ruler(told, days, one), days_later(told.today(), days)));
        paper.hung("  ", Ink::Plain, &reach(one, told.units));
        for said in &one.said {
            paper.hung("  ! ", Ink::Plain, said);
        }
    }
    if !later.is_empty() {
        paper.line("");
        let said = format!(
            "{} other parts meet their limit within {} weeks with less than {}: name a machine, or more --weeks.",
            later.len(),
            asked.weeks,
            likely(NEAR)
        );
        paper.hung("", Ink::Faint, &said);
    }
    leaking(paper, asked, told);
    fallen(paper, asked, told);
    aside(paper, asked, told);
}

/// What was set aside, the same for the same reason told once.
fn aside(paper: &mut Paper, asked: &Asked, told: &Told) {
    let mut all: Vec<(&Aside, usize)> = Vec::new();
    for one in told.gathered.aside.iter().filter(|one| asked.machine.as_ref().is_none_or(|id| *id == one.machine)) {
        let same = |known: &Aside| (&known.machine, &known.check, &known.why) == (&one.machine, &one.check, &one.why);
        match all.iter_mut().find(|(known, _)| same(known)) {
            Some((last, times)) => (*last, *times) = (one, *times + 1),
            None => all.push((one, 1)),
        }
    }
    for (one, times) in all {
        let check = one.check.as_deref().unwrap_or("odometer");
        let times = if times > 1 { format!(" ({times} times)") } else { String::new() };
        let said = format!("{} {check}, {}{times}: {}", one.machine, one.on, one.why);
        paper.hung("set aside: ", Ink::Faint, &said);
    }
}

/// The last reading, what one is expected to show today, the limit.
fn state(one: &Outlook) -> String {
    let figure = |value: f64| one.shown.text(value, one.unit);
    let read = one
        .last
        .as_ref()
        .map_or_else(|| "never read".to_string(), |last| format!("read {} on {}", figure(last.value), last.on));
    let [low, middle, high] = one.today.map(figure);
    let practice = if one.limit_is_practice { " (practice)" } else { "" };
    // What is past counts as it was read, whatever was expected.
    let today = if one.past.is_some() { String::new() } else { format!(" today about {middle} ({low} to {high});") };
    format!("{read};{today} limit {}{practice}", figure(one.limit))
}

/// How far, and till when.
fn reach(one: &Outlook, units: Units) -> String {
    let (unit, factor) = match (one.clock, units) {
        (Clock::Days, _) => ("days", 1.0),
        (Clock::Distance, Units::Si) => ("km", 1.0),
        (Clock::Distance, Units::Us) => ("mi", convert(1.0, Unit::Kilometre, Unit::Mile)),
    };
    let far = |left: Option<f64>| far(left.map(|left| left * factor));
    let day = |day: Option<Date>| day.map_or_else(|| "after ten years".to_string(), |day| day.to_string());
    let [early, middle, late] = one.left.map(far);
    let [first, usual, last] = one.days.map(day);
    let alone = match (one.practice_alone, one.readings) {
        (true, _) => " Not learnt yet: general practice only, never a watch.",
        (false, 0) => " No reading of this machine: by its fellows alone, never a watch.",
        _ => "",
    };
    if let Some(on) = one.past {
        return format!("Past its limit now: read so on {on}, which counts till it is read again.");
    }
    let now = if one.met_now > NEAR { format!(" Met already with {}.", likely(one.met_now)) } else { String::new() };
    format!("{unit} left {middle} ({early} to {late}); met by {usual} ({first} to {last}).{now}{alone}")
}

/// Days a ruler spans: the weeks asked for; of a machine that was named till each part is worn with 95 %.
fn ruled_days(told: &Told, asked: &Asked, one: &Outlook) -> i32 {
    let weeks = i32::from(asked.weeks) * 7;
    if asked.machine.is_none() || one.past.is_some() {
        return weeks;
    }
    let late = one.days[2].map_or(TEN_YEARS, |late| days_between(told.today(), late));
    i32::try_from(late).unwrap_or(weeks).max(weeks)
}

/// The days ahead as a band that fades in: what is met by then, how likely.
fn ruler(told: &Told, days: i32, one: &Outlook) -> String {
    let cell = |index: usize| {
        let days = f64::from(days) * (index + 1) as f64 / RULER as f64;
        match one.meets(&told.gathered.season, told.today(), Within { km: None, days: Some(days) }) {
            p if p >= 0.95 => '@',
            p if p >= 0.5 => '#',
            p if p >= NEAR => '+',
            _ => '.',
        }
    };
    (0..RULER).map(cell).collect()
}

/// Tyres that lose air: those of the machine that was named, else those that are low within the weeks.
fn leaking(paper: &mut Paper, asked: &Asked, told: &Told) {
    let until = days_later(told.today(), i32::from(asked.weeks) * 7);
    let its = told.leaks.iter().filter(|one| match &asked.machine {
        Some(id) => *id == one.machine,
        None => one.is_faster || one.days[1].is_some_and(|day| day <= until),
    });
    for (index, one) in its.enumerate() {
        if index == 0 {
            paper.line("");
            let head = paper.ink(Ink::Strong, "Air, cold, by readings between pumpings");
            paper.line(&head);
        }
        paper.hung(&format!("{}  {:<22} ", one.machine, one.name), Ink::Plain, &one.said());
    }
}

/// What is due by age or distance within the weeks, or of the machine that was named.
fn fallen(paper: &mut Paper, asked: &Asked, told: &Told) {
    let its = told.falls.iter().filter(|one| match &asked.machine {
        Some(id) => *id == one.machine,
        None => told.falls_within(one, asked.weeks) >= NEAR,
    });
    for (index, one) in its.enumerate() {
        if index == 0 {
            paper.line("");
            let head = paper.ink(Ink::Strong, "Due by age or distance, whichever comes first");
            paper.line(&head);
        }
        let practice = if one.age_is_practice { ", by practice" } else { "" };
        let age = one.by_age.map(|day| format!("good until {day} by age{practice}"));
        let distance = one.by_distance[1].map(|day| format!("its distance about {day}"));
        let said: Vec<String> = age.into_iter().chain(distance).collect();
        let past = if one.first.is_some_and(|first| first < told.today()) { "past: " } else { "" };
        let said = format!("{past}{}, since {}", said.join(", "), one.since);
        paper.hung(&format!("{}  {:<22} ", one.machine, one.name), Ink::Plain, &said);
    }
}

/// What is likely to be needed.
fn ordered(asked: &Asked, told: &Told) -> Vec<Needed> {
    let worn = told.of(asked).filter_map(|one| {
        let (name, part, p) = (one.order.as_deref()?, one.part.as_str(), told.within(one, asked.weeks));
        Some(Wanted { name, machine: &one.machine, part, p })
    });
    let falls = told.falls.iter().filter(|one| asked.machine.as_ref().is_none_or(|id| *id == one.machine));
    let due = falls.filter_map(|one| {
        let (name, p) = (one.order.as_deref()?, told.falls_within(one, asked.weeks));
        Some(Wanted { name, machine: &one.machine, part: &one.part, p })
    });
    needed(worn.chain(due))
}

fn order(paper: &mut Paper, asked: &Asked, told: &Told) {
    let needed = ordered(asked, told);
    let what = format!("{}: parts for the next {} weeks from {}", told.name, asked.weeks, told.today());
    paper.hung("", Ink::Strong, &what);
    if needed.is_empty() {
        return paper.line(&format!("Nothing is likely to run out: no part reaches {}.", likely(ORDERED)));
    }
    paper.hung(
        "",
        Ink::Faint,
        "How many are expected, and where: each with the probability that its limit is met by then.",
    );
    for Needed { name, expected, machines } in needed {
        let where_ = machines.iter().map(|(machine, p)| format!("{machine} {}", likely(*p))).collect::<Vec<_>>();
        paper.hung(&format!("{expected:>5.1}  {name:<26} "), Ink::Plain, &where_.join(", "));
    }
}

fn as_json(asked: &Asked, told: &Told) -> Value {
    let day = |day: Option<Date>| day.map(|day| day.to_string());
    let parts = told.of(asked).map(|one| {
        json!({
            "machine": one.machine, "check": one.check, "name": one.name, "unit": one.unit.symbol(),
            "limit": one.limit, "limit_is_practice": one.limit_is_practice, "new": one.new, "readings": one.readings,
            "last": one.last.as_ref().map(|last| json!({ "value": last.value, "on": last.on.to_string(), "with": last.with })),
            "today": one.today, "counted_in": if one.clock == Clock::Days { "days" } else { "km" },
            "left": one.left, "days": one.days.map(day), "past_since": day(one.past), "met_now": one.met_now,
            "within_weeks": told.within(one, asked.weeks), "practice_alone": one.practice_alone, "said": one.said,
        })
    });
    let falls = told.falls.iter().filter(|one| asked.machine.as_ref().is_none_or(|id| *id == one.machine));
    let falls = falls.map(|one| {
        json!({ "machine": one.machine, "check": one.check, "name": one.name, "since": one.since.to_string(),
                "by_age": day(one.by_age), "age_is_practice": one.age_is_practice,
                "by_distance": one.by_distance.map(day), "first": day(one.first),
                "within_weeks": told.falls_within(one, asked.weeks) })
    });
    let its = told.leaks.iter().filter(|one| asked.machine.as_ref().is_none_or(|id| *id == one.machine));
    let air = its.map(|one| {
        json!({ "machine": one.machine, "check": one.check, "name": one.name, "week_kpa": one.week_kpa,
                "now_kpa": one.now_kpa, "limit_kpa": one.limit_kpa, "air_celsius": one.celsius,
                "days": one.days.map(day), "is_low": one.is_low, "is_faster": one.is_faster, "readings": one.readings })
    });
    let order = ordered(asked, told).into_iter().map(|Needed { name, expected, machines }| {
        let machines = machines.into_iter().map(|(machine, p)| json!({ "machine": machine, "probability": p }));
        json!({ "order": name, "expected": expected, "machines": machines.collect::<Vec<_>>() })
    });
    let aside = told.gathered.aside.iter().filter(|one| asked.machine.as_ref().is_none_or(|id| *id == one.machine));
    let aside = aside
        .map(|one| json!({ "machine": one.machine, "check": one.check, "on": one.on.to_string(), "why": one.why }));
    json!({
        "yard": told.name, "on": told.now.to_string(), "weeks": asked.weeks, "use": asked.one.as_str(), "fit": told.hash,
        "parts": parts.collect::<Vec<_>>(), "due": falls.collect::<Vec<_>>(), "air": air.collect::<Vec<_>>(), "order": order.collect::<Vec<_>>(),
        "set_aside": aside.collect::<Vec<_>>(),
    })
}
