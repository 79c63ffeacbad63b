//! The dossier of one machine: what it is, what is asked of it and by whom, what was found, done and mounted.

use std::collections::BTreeMap;

use muster_core::{
    calendar::days_between,
    check::{Check, Yields},
    equipment::Holds,
    form::Form,
    judge::{Context, Judgement},
    quantity::{Distance, Unit, convert, show},
    words::{Depth, Use},
    yard::Units,
};
use muster_draw::chart::{Chart, Point};
use muster_wire::readings::{CheckReadings, ReadingsView};
use serde_json::{Value, json};

use crate::{
    draw::Drawings,
    paper::{Leaf, Paper, Pdf, Refused, Seal},
    press, reasons, said,
};

/// Width of a chart, in px.
const CHART_PX: u32 = 340;

/// Whom a dossier is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reader {
    /// Who buys the machine: no names of the school's people.
    Buyer,
    /// Who answers a claim of warranty.
    Warranty,
    /// Who inspects the school.
    Inspector,
}

impl Reader {
    const fn says(self) -> &'static str {
        match self {
            Self::Buyer => "for a buyer",
            Self::Warranty => "for a claim of warranty",
            Self::Inspector => "for the inspector",
        }
    }
}

/// What a dossier is made of.
#[derive(Clone)]
pub struct Dossier<'a> {
    /// The machine, at the moment the dossier is made.
    pub context: &'a Context<'a>,
    /// Its forms.
    pub forms: &'a [&'a Form],
    /// It, judged.
    pub judgement: &'a Judgement,
    /// Whom it is for.
    pub reader: Reader,
    /// What it has ridden.
    pub odometer: Option<Distance>,
    /// Parts that wear or age.
    pub lives: Vec<Life>,
    /// Workshop work, newest first.
    pub works: Vec<Work>,
    /// What was read, check by check.
    pub readings: Option<&'a ReadingsView>,
    /// The name of a person a form or a finding stands under.
    pub name: &'a dyn Fn(&str) -> String,
    /// What its code says.
    pub seal: Option<Seal>,
}

/// A part's life so far.
#[derive(Clone, Debug, PartialEq)]
pub struct Life {
    /// Where it is mounted: `tyre.front`.
    pub place: String,
    /// What it says of itself.
    pub marking: Option<String>,
    /// The day it was mounted; none: before, unknown.
    pub on: Option<String>,
    /// The odometer then, as typed.
    pub odometer: Option<String>,
    /// How far it has run, where both ends are known.
    pub ridden: Option<Distance>,
    /// The day it was taken off.
    pub off: Option<String>,
}

/// One job of workshop work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Work {
    /// Its kind, in words.
    pub kind: String,
    /// What for.
    pub why: String,
    /// How far it has come.
    pub state: String,
    /// The day it was opened.
    pub opened: String,
    /// The day it was done.
    pub done: Option<String>,
}

impl Dossier<'_> {
    /// The dossier alone.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn print(&self, paper: &Paper) -> Result<Pdf, Refused> {
        press::print(vec![self.leaf()], paper)
    }

    /// The dossier, to be printed with others.
    #[must_use]
    pub fn leaf(&self) -> Leaf {
        let context = self.context;
        let machine = context.machine;
        let mut drawings = Drawings::default();
        let reasons = reasons::told(self.judgement, &mut drawings, self.name);
        let charts = self.charts(&mut drawings);
        let data = json!({
            "machine": machine.id,
            "model": context.sheet.model,
            "reader": self.reader.says(),
            "now": said::moment(context.now),
            "facts": self.facts(),
            "equipment": self.equipment(),
            "modified": machine.modifications.iter().map(|change| self.modified(change)).collect::<Vec<_>>(),
            "uses": reasons::uses(self.judgement),
            "reasons": reasons,
            "limits": self.limits(),
            "lives": self.lives.iter().map(|life| self.life(life)).collect::<Vec<_>>(),
            "charts": charts,
            "findings": self.findings(),
            "works": self.works.iter().map(|work| json!({
                "kind": work.kind, "why": work.why, "state": work.state, "opened": work.opened, "done": work.done,
            })).collect::<Vec<_>>(),
            "walked": self.walked(),
            "hashes": [
                { "of": "catalogue and law", "hash": self.judgement.catalogue },
                { "of": "yard: sheets, machines, house rules", "hash": self.judgement.yard },
            ],
        });
        Leaf {
            kind: "dossier",
            title: format!("Dossier {}, {}", machine.id, context.sheet.model),
            whose: format!("machine {}", machine.id),
            data,
            drawings: drawings.0,
            photos: Vec::new(),
            seal: self.seal.clone(),
        }
    }

    fn facts(&self) -> Vec<Value> {
        let (context, machine) = (self.context, self.context.machine);
        let missing = || "not stated: the stricter limit counts".to_string();
        let cc = machine.traits.displacement_cc.map(|cc| format!("{cc} cm³"));
        let facts = [
            ("Frame (VIN)", machine.vin.clone().unwrap_or_else(|| "not stated".into())),
            ("Plate", machine.plate.clone().unwrap_or_else(|| "none".into())),
            ("Category", machine.traits.category.clone().unwrap_or_else(missing)),
            ("Displacement", cc.unwrap_or_else(missing)),
            ("Power", context.sheet.power_kw.map_or_else(|| "not stated".into(), |power| format!("{power} kW"))),
            ("First use", machine.traits.first_use.map_or_else(missing, |day| day.to_string())),
            ("Odometer", self.odometer.map_or_else(|| "not noted".into(), |at| said::distance(at, context.units))),
            ("Service state", machine.service.as_str().to_string()),
            ("Handbook", context.sheet.handbook.clone()),
            ("Law", context.law.map_or_else(|| "no law pack".into(), |law| law.title.clone())),
        ];
        facts.into_iter().map(|(name, value)| json!({ "name": name, "value": value })).collect()
    }

    fn equipment(&self) -> Vec<Value> {
        let has = &self.context.machine.traits.equipment;
        let value = |key: &str| match has.get(key) {
            None => "not stated".to_string(),
            Some([]) => "none".to_string(),
            Some(values) => values.join(", "),
        };
        let keys = self.context.catalogue.equipment.iter();
        keys.map(|key| json!({ "name": key.name, "value": value(&key.key) })).collect()
    }

    fn modified(&self, change: &muster_core::machine::Modification) -> String {
        let height = change
            .ride_height
            .map(|height| format!(", ride height {}", show::rounded(height.mm(), 0, Unit::Millimetre)));
        let by = change.by.as_ref().filter(|_| self.reader != Reader::Buyer).map(|by| format!(", by {by}"));
        let on = change.on.map(|on| format!(", {on}"));
        [Some(change.what.clone()), height, by, on].into_iter().flatten().collect()
    }

    /// Every check with a limit on this machine, by the uses that share it.
    fn limits(&self) -> Vec<Value> {
        let context = self.context;
        let applies = |check: &&Check| check.applies.holds(&context.machine.traits.equipment) != Holds::No;
        context.checks().filter(applies).filter_map(|check| self.limit(check)).collect()
    }

    fn limit(&self, check: &Check) -> Option<Value> {
        let context = self.context;
        let mut told: Vec<(Vec<Value>, Vec<&str>)> = Vec::new();
        for one in Use::ALL.iter().copied().filter(|one| check.uses.count() == 0 || check.uses.contains(*one)) {
            let limits = said::limits(context, check, &context.limits(check, one));
            match told.iter_mut().find(|(other, _)| *other == limits) {
                Some((_, uses)) => uses.push(one.as_str()),
                None => told.push((limits, vec![one.as_str()])),
            }
        }
        told.retain(|(limits, _)| !limits.is_empty());
        let single = told.len() == 1;
        let groups: Vec<Value> = told
            .into_iter()
            .map(|(limits, uses)| json!({ "uses": (!single).then(|| uses.join(", ")), "limits": limits }))
            .collect();
        let last = said::last(self.forms, check, context.now);
        (!groups.is_empty()).then(|| {
            json!({
                "name": check.name,
                "groups": groups,
                "last": last.map(|answer| said::answer(context, check, answer)),
                "on": last.map(|answer| answer.at.date().to_string()),
            })
        })
    }

    fn life(&self, life: &Life) -> Value {
        let until = life.off.as_deref().and_then(muster_core::calendar::date);
        let until = until.unwrap_or_else(|| self.context.now.date());
        let days = life.on.as_deref().and_then(muster_core::calendar::date).map(|on| days_between(on, until));
        json!({
            "place": muster_draw::number::capital(&life.place.replace(['.', '-'], " ")),
            "marking": life.marking,
            "on": life.on,
            "odometer": life.odometer,
            "ridden": life.ridden.map(|way| said::distance(way, self.context.units)),
            "days": days,
            "off": life.off,
        })
    }

    /// A chart for each check read often enough to show anything.
    fn charts(&self, drawings: &mut Drawings) -> Vec<Value> {
        let checks = self.readings.iter().flat_map(|view| &view.checks);
        let drawn = checks.filter_map(|of| {
            let chart = self.chart(of)?;
            let (svg, says) = (chart.draw()?, chart.said()?);
            Some(json!({ "name": of.name, "drawing": drawings.chart(&svg, CHART_PX, &says) }))
        });
        drawn.collect()
    }

    fn chart(&self, of: &CheckReadings) -> Option<Chart> {
        let check = self.context.check(&of.check)?;
        let Yields::Read(measure) = &check.yields else { return None };
        let unit = self.context.shown(measure).unit;
        let counting = self.context.limits(check, self.judgement.planned.unwrap_or(Use::Range));
        let in_unit = |amount: muster_core::quantity::Amount| convert(amount.value(), amount.unit(), unit);
        let low = counting.bounds.iter().filter_map(|row| row.at_least.map(in_unit)).reduce(f64::max);
        let high = counting.bounds.iter().filter_map(|row| row.at_most.map(in_unit)).reduce(f64::min);
        let mut places: BTreeMap<Option<String>, Vec<Point>> = BTreeMap::new();
        for reading in &of.readings {
            let Some(km) = reading.odometer_km else { continue };
            let point = Point { km, value: reading.value, set: reading.after.is_some() };
            places.entry(reading.place.clone()).or_default().push(point);
        }
        Some(Chart {
            name: of.name.clone(),
            unit: unit.symbol(),
            decimals: of.decimals,
            at_least: low,
            at_most: high,
            way: if self.context.units == Units::Us { Unit::Mile } else { Unit::Kilometre },
            places: places.into_iter().collect(),
        })
    }

    /// Findings, open ones first, then the newest.
    fn findings(&self) -> Vec<Value> {
        let closes: BTreeMap<&str, &muster_core::form::Close> =
            self.forms.iter().flat_map(|form| &form.closes).map(|close| (close.finding.as_str(), close)).collect();
        let mut all: Vec<_> = self.forms.iter().flat_map(|form| &form.findings).collect();
        all.sort_by_key(|finding| (closes.contains_key(finding.id.as_str()), std::cmp::Reverse(finding.at)));
        let told = all.into_iter().map(|finding| {
            let closed = closes.get(finding.id.as_str());
            json!({
                "id": finding.id,
                "what": finding.what,
                "class": finding.class.as_str(),
                "uses": finding.uses.to_string(),
                "by": self.who(&finding.by),
                "on": finding.at.date().to_string(),
                "closed": closed.map(|close| format!("{}, {}", close.at.date(), close.how)),
            })
        });
        told.collect()
    }

    /// The walk-rounds beyond the daily ones, and how many of those there were.
    fn walked(&self) -> Value {
        let mut forms: Vec<&&Form> = self.forms.iter().filter(|form| !form.answers.is_empty()).collect();
        forms.sort_by_key(|form| std::cmp::Reverse(form.opened));
        let daily = forms.iter().filter(|form| form.depth == Depth::BeforeRide).count();
        let rows: Vec<Value> = forms
            .iter()
            .filter(|form| form.depth != Depth::BeforeRide)
            .map(|form| {
                json!({
                    "on": said::moment(form.opened),
                    "depth": form.depth.as_str(),
                    "by": self.who(&form.by),
                    "odometer": form.odometer.map(|at| said::distance(at, self.context.units)),
                    "answers": form.answers.len(),
                })
            })
            .collect();
        json!({ "daily": daily, "rows": rows })
    }

    fn who(&self, person: &str) -> Option<String> {
        (self.reader != Reader::Buyer).then(|| (self.name)(person))
    }
}
