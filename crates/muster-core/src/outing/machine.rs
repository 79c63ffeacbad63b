//! Last: the machine's own verdict for this outing, what of it weighs more on this way, papers, licence and level.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::Case;
use super::input::{Level, Licence, Outing, Road};
use super::item::{Item, Part};
use super::say::{Say, number};
use crate::check::{DateOf, Yields};
use crate::form::Said;
use crate::judge::{Figure, Outcome, Verdict, living};
use crate::quantity::Unit;
use crate::words::Class;

/// What pads lose in 1000 km where the sheet does not say, mm: hard use, two up. An estimate, common practice.
const PADS_MM: f64 = 0.5;

/// The machine itself among the items of an outing: its own judgement.
pub(super) const MACHINE: &str = "machine";

/// Everything of the machine and the rider's right to it.
pub(super) fn items(case: &Case<'_>, outing: &Outing) -> Vec<Item> {
    let mut out: Vec<Item> = [machine(case, outing)].into();
    out.extend(graver(case, outing));
    out.extend(papers(case, outing));
    out.extend(licence(case, outing));
    out.extend(level(outing));
    out
}

/// The outcomes wanted of the outing's uses, each check once, with its worst.
fn outcomes<'c>(case: &Case<'c>, outing: &Outing, wanted: impl Fn(&Outcome) -> bool) -> Vec<&'c Outcome> {
    let mut out: Vec<&Outcome> = Vec::new();
    let uses = outing.uses();
    let all = case.judgement.uses.iter().filter(|of| uses.contains(of.one)).flat_map(|of| &of.outcomes);
    for outcome in all.filter(|outcome| wanted(outcome)) {
        match out.iter_mut().find(|other| other.check == outcome.check) {
            Some(other) if outcome.verdict > other.verdict => *other = outcome,
            Some(_) => {}
            None => out.push(outcome),
        }
    }
    out
}

/// The judgement of the machine, unchanged.
fn machine(case: &Case<'_>, outing: &Outing) -> Item {
    let uses = outing.uses();
    let judged = || case.judgement.uses.iter().filter(|of| uses.contains(of.one));
    let verdict = judged().map(|of| of.verdict).max().unwrap_or(Verdict::Unseen);
    let each: Vec<String> = judged().map(|of| format!("{}: {}", of.one, of.verdict)).collect();
    let worst = outcomes(case, outing, |outcome| outcome.verdict == verdict && verdict != Verdict::Fit);
    let mut says = each.join(", ");
    if verdict != Verdict::Fit {
        let reasons: Vec<String> = worst.iter().take(3).map(|of| format!("{} ({})", of.name, of.reason)).collect();
        says = format!("{says}. {}", reasons.join("; "));
        if worst.len() > 3 {
            says = format!("{says}; and {} more", worst.len() - 3);
        }
    }
    // Its own checks carry their classes: what they stop, a release is told by them.
    let mut item = Item::new(Part::Rider, MACHINE, "The machine itself", says).verdict(verdict).class(Class::Minor);
    item.source = Some("its walk-rounds: muster judge".into());
    let mut todo: Vec<String> = judged().flat_map(|of| of.conditions.iter().cloned()).collect();
    if verdict >= Verdict::Unseen {
        todo.extend(worst.iter().filter_map(|of| of.todo.as_ref().map(|todo| format!("{}: {todo}", of.name))));
    }
    for what in todo {
        if !item.todo.iter().any(|other| other.what == what) {
            item = item.before(what);
        }
    }
    item
}

/// What is a watch in general and a hold for this way: tread in rain, lamps in the dark, pads for the distance.
fn graver(case: &Case<'_>, outing: &Outing) -> Vec<Item> {
    let mut out = Vec::new();
    let graver = |of: &Outcome| {
        ["tyre.", "lamp.", "brake."].iter().any(|head| of.check.starts_with(head))
            && (of.verdict == Verdict::Watch || of.check.ends_with(".pads"))
    };
    for outcome in outcomes(case, outing, graver) {
        let id = outcome.check.as_str();
        let watched = outcome.verdict == Verdict::Watch;
        let hold = |says: String, todo: &str| {
            let item = Item::new(Part::Rider, format!("graver.{id}"), outcome.name.clone(), says);
            item.verdict(Verdict::Hold).class(outcome.class).before(todo)
        };
        if watched && outing.weather.rain && matches!(id, "tyre.front.tread" | "tyre.rear.tread") {
            let says = format!("a watch when dry, a hold in the wet: {}", outcome.reason);
            out.push(hold(says, "Take another machine, or wait till the road is dry"));
        } else if watched && outing.dark && id.starts_with("lamp.") {
            let says = format!("a watch by day, a hold in the dark: {}", outcome.reason);
            out.push(hold(says, "Mend it, or be back before dark"));
        } else if matches!(id, "brake.front.pads" | "brake.rear.pads") && outcome.verdict < Verdict::Unseen {
            out.extend(pads(case, outing, outcome).map(|says| hold(says, "Fit new pads, or go less far")));
        }
    }
    out
}

/// Why pads do not last the way, if they do not: what is left above the limit, less its uncertainty, against what is used.
fn pads(case: &Case<'_>, outing: &Outing, outcome: &Outcome) -> Option<String> {
    let (figure, distance) = (outcome.figure.as_ref()?, outing.distance?);
    let per_1000 = case.context.sheet.outing.as_ref().and_then(|of| of.pads_mm_per_1000km).unwrap_or(PADS_MM);
    let uses = per_1000 * distance.get().km() / 1000.0;
    let left = mm(figure, figure.margin - figure.expanded_u)?;
    let say = Say(case.context.units);
    (uses > left).then(|| {
        let (left, km) = (say.mm_finely(left.max(0.0)), say.km(distance.get().km()));
        format!("{left} surely left above the limit, {} used in {km}: it does not last the way", say.mm_finely(uses))
    })
}

/// A figure's value in mm, whatever unit it is shown in.
fn mm(figure: &Figure, value: f64) -> Option<f64> {
    let unit = [Unit::Millimetre, Unit::Inch].into_iter().find(|unit| unit.symbol() == figure.unit)?;
    Some(crate::quantity::convert(value, unit, Unit::Millimetre))
}

/// Papers at the planned return.
fn papers(case: &Case<'_>, outing: &Outing) -> Vec<Item> {
    let context = case.context;
    let bound = |check: &&crate::check::Check| {
        matches!(check.yields, Yields::Date(DateOf::Expires))
            && outing.uses().iter().any(|one| check.uses.contains(one))
    };
    let mut out = Vec::new();
    for check in context.checks().filter(bound) {
        let one = outing.uses().iter().find(|one| check.uses.contains(*one));
        let Some(one) = one else { continue };
        let Ok(living) = living(check, case.forms, one, context.now) else { continue };
        let last = living.groups.last().and_then(|group| group.last());
        let Some(Said::Day(day, _)) = last.map(|given| &given.answer.said) else { continue };
        let item = |says: String| Item::new(Part::Rider, check.id.clone(), check.name.clone(), says);
        out.push(match outing.back {
            Some(back) if *day < back.date() => {
                let says = format!("runs out on {day}, back on {}", back.date());
                item(says).verdict(Verdict::Hold).by_law().before("Renew it, or be back before")
            }
            Some(back) => item(format!("good until {day}, back on {}", back.date())),
            None => {
                let says = format!("good until {day}; when it is to be back was not told");
                item(says).verdict(Verdict::Unseen).before("Say when it is to be back")
            }
        });
    }
    out
}

/// A licence against the machine's category; none is needed off the road.
fn licence(case: &Case<'_>, outing: &Outing) -> Option<Item> {
    let licence = outing.rider.licence.filter(|_| outing.road != Road::Range)?;
    let (id, name) = ("licence", "Licence");
    let machine = case.context.machine;
    let Some(needs) = machine.traits.category.as_deref().and_then(needed) else {
        let missing = "its category is not stated: read the registration";
        return Some(Item::unseen(Part::Rider, id, name, missing));
    };
    let category = machine.traits.category.as_deref().unwrap_or_default();
    let source = Some("Directive 2006/126/EC art. 4(3) (from memory); the law of the place counts".to_string());
    let item = |says: String| Item::new(Part::Rider, id, name, says).from(source.clone());
    if licence < needs {
        let says = format!("{licence} told, {needs} needed for {category}");
        return Some(item(says).verdict(Verdict::Hold).by_law().before("Take a machine of the licence's class"));
    }
    Some(power(case, licence, item(format!("{licence} told, {category} asks for {needs}"))))
}

/// The class a category asks for.
fn needed(category: &str) -> Option<Licence> {
    Some(match category {
        "L1e" | "L1e-A" | "L1e-B" => Licence::Am,
        "L3e-A1" => Licence::A1,
        "L3e-A2" => Licence::A2,
        "L3e-A3" | "L3e" | "L4e" => Licence::A,
        _ => return None,
    })
}

/// The power a class allows for the mass: A1 0.1 kW/kg, A2 0.2 kW/kg.
fn power(case: &Case<'_>, licence: Licence, item: Item) -> Item {
    let most = match licence {
        Licence::A1 => 0.1,
        Licence::A2 => 0.2,
        Licence::Am | Licence::A => return item,
    };
    let mass = case.context.sheet.outing.as_ref().map(|of| of.mass.kg());
    let Some((kw, kg)) = case.context.sheet.power_kw.zip(mass) else { return item };
    let ratio = kw / kg;
    let item =
        item.work(format!("{} kW / {} kg = {} kW/kg, at most {most}", number(kw, 1), number(kg, 0), number(ratio, 3)));
    if ratio > most {
        let says = format!("{}; {} kW/kg, at most {most} for {licence}", item.says, number(ratio, 3));
        return Item { says, ..item }.verdict(Verdict::Hold).by_law().before("Take a machine of the licence's class");
    }
    item
}

/// Who learns carries nobody on the road.
fn level(outing: &Outing) -> Option<Item> {
    let level = outing.rider.level?;
    let item = |says: &str| Item::new(Part::Rider, "level", "Level", says).from(Some("common practice".to_string()));
    if level == Level::Learner && outing.passenger.is_some() {
        let says = "a learner carries nobody";
        return Some(item(says).verdict(Verdict::Hold).before("Go alone"));
    }
    if level <= Level::Novice && (outing.passenger.is_some() || (outing.weather.rain && outing.dark)) {
        let says = format!("{level}: a passenger, or rain in the dark, is much for a first time");
        return Some(
            item(&says)
                .verdict(Verdict::Watch)
                .class(Class::Minor)
                .before("A short way round the yard first, loaded as it will be"),
        );
    }
    Some(item(level.as_str()))
}
