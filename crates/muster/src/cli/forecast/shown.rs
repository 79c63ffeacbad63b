//! What `muster forecast` prints: rulers, what to order, JSON.

use jiff::civil::Date;
use muster_core::{
    calendar::{days_between, days_later},
    forecast::{
        coming::far,
        lives::Aside,
        order::{NEAR, Needed, ORDERED, Wanted, likely, needed},
        outlook::Outlook,
        practice::Clock,
        riding::Within,
    },
    quantity::{Unit, convert},
    yard::Units,
};
use serde_json::{Value, json};

use super::{Asked, Told};
use crate::cli::paper::{Ink, Paper};

/// Cells of a ruler.
const RULER: usize = 40;
/// No day further ahead is told.
const TEN_YEARS: i64 = 3653;

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

/// What runs out first, each part with its ruler.
pub(super) fn rulers(paper: &mut Paper, asked: &Asked, told: &Told) {
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
        let within = || format!("{} within {}", likely(told.within(one, asked.weeks)), weeks(asked));
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
            "{} other parts meet their limit within {} with less than {}: name a machine, or more --weeks.",
            later.len(),
            weeks(asked),
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

/// The time asked for, in words.
fn weeks(asked: &Asked) -> String {
    if asked.weeks == 1 { "1 week".to_owned() } else { format!("{} weeks", asked.weeks) }
}

/// What to order.
pub(super) fn order(paper: &mut Paper, asked: &Asked, told: &Told) {
    let needed = ordered(asked, told);
    let what = format!("{}: parts for {} from {}", told.name, weeks(asked), told.today());
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

/// All of it as JSON.
pub(super) fn as_json(asked: &Asked, told: &Told) -> Value {
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
