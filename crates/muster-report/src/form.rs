//! The blank walk-round form of one machine: its checks in walking order, and room for what is read and seen today.

use muster_core::{
    check::{Check, DateOf, Yields},
    form::Form,
    judge::{Context, Figure, Outcome, Verdict},
    state::{State, Station},
    walk_round::{Ask, WalkRound},
    words::{Class, Depth, Layer, Use},
};
use muster_draw::{plan, ruler::Tone};
use serde_json::{Value, json};

use crate::{
    draw::Drawings,
    paper::{Leaf, Paper, Pdf, Refused, Seal},
    press, said,
};

/// Width of a ruler to mark by hand, in px.
const RULER_PX: u32 = 230;

/// What a blank form is made of.
#[derive(Clone, Debug)]
pub struct Blank<'a> {
    /// The machine, at the moment the form is for.
    pub context: &'a Context<'a>,
    /// The machine's forms: their last answers are printed.
    pub forms: &'a [&'a Form],
    /// What is asked, in walking order.
    pub walk: &'a WalkRound<'a>,
    /// How far it goes.
    pub depth: Depth,
    /// What it is to go out for.
    pub planned: Use,
    /// The state it is taken to be found in.
    pub found: State,
    /// What its code says.
    pub seal: Option<Seal>,
}

impl Blank<'_> {
    /// The form alone.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn print(&self, paper: &Paper) -> Result<Pdf, Refused> {
        press::print(vec![self.leaf()], paper)
    }

    /// The form, to be printed with others.
    #[must_use]
    pub fn leaf(&self) -> Leaf {
        let context = self.context;
        let machine = context.machine;
        let mut drawings = Drawings::default();
        let asked = |station: Station| self.walk.steps.iter().any(|ask| ask.station == station);
        let plan = drawings.plan(asked);
        let total = self.walk.evening.len() + self.walk.steps.len();
        let ruler = self.ruler(&mut drawings);
        let data = json!({
            "machine": machine.id,
            "model": context.sheet.model,
            "frame": machine.vin,
            "plate": machine.plate,
            "handbook": context.sheet.handbook,
            "depth": self.depth.as_str(),
            "use": self.planned.as_str(),
            "day": context.now.date().to_string(),
            "found": self.found.to_string(),
            "minutes": self.walk.seconds.div_ceil(60),
            "total": total,
            "plan": plan,
            "ruler": ruler,
            "groups": self.groups(),
            "deferred": self.walk.deferred.iter()
                .map(|(check, why)| format!("{}: {why}", check.name)).collect::<Vec<_>>(),
        });
        Leaf {
            kind: "form",
            title: format!("Walk-round form {}", machine.id),
            whose: format!("machine {}", machine.id),
            data,
            drawings: drawings.0,
            photos: Vec::new(),
            seal: self.seal.clone(),
        }
    }

    /// The rows, a group wherever the station or the state changes.
    fn groups(&self) -> Vec<Value> {
        let mut groups: Vec<(Value, Vec<Value>)> = Vec::new();
        let mut number = 0;
        let mut at: Option<Station> = None;
        if !self.walk.evening.is_empty() {
            groups.push((json!({ "name": "Read first: prepared the evening before" }), Vec::new()));
        }
        for ask in &self.walk.evening {
            number += 1;
            groups.last_mut().into_iter().for_each(|group| group.1.push(self.row(ask, number)));
        }
        for ask in &self.walk.steps {
            number += 1;
            let station = ask.station;
            if at != Some(station) || !ask.changes.is_empty() {
                let changes: Vec<String> =
                    ask.changes.iter().map(|change| muster_draw::number::capital(change)).collect();
                let name = said::station(station);
                groups.push((json!({ "stop": plan::number(station), "name": name, "changes": changes }), Vec::new()));
                at = Some(station);
            }
            groups.last_mut().into_iter().for_each(|group| group.1.push(self.row(ask, number)));
        }
        groups.into_iter().map(|(head, rows)| json!({ "head": head, "rows": rows })).collect()
    }

    fn row(&self, ask: &Ask<'_>, number: usize) -> Value {
        let (context, check) = (self.context, ask.check);
        let last = said::last(self.forms, check, context.now);
        let counting = context.limits(check, self.planned);
        let (places, unit, with) = self.asked(check);
        let limits = said::limits(context, check, &counting);
        let unknown = matches!(check.yields, Yields::Read(_)) && limits.is_empty();
        json!({
            "n": number,
            "name": check.name,
            "method": ask.method,
            "caution": ask.caution,
            "class": context.class(check, self.planned).0.as_str(),
            "last": last.map(|answer| said::answer(context, check, answer)),
            "last_on": last.map(|answer| answer.at.date().to_string()),
            "limits": limits,
            "unknown": unknown,
            "sound": match &check.yields { Yields::Look(look) => Some(&look.sound), _ => None },
            "places": places,
            "unit": unit,
            "with": with,
            "cannot": ask.cannot,
            "boxes": boxes(check, context.class(check, self.planned).0),
        })
    }

    /// The places a check names, the unit its figures are written in, and the yard's instruments for it.
    fn asked<'c>(&self, check: &'c Check) -> (&'c [String], Option<&'static str>, Vec<&str>) {
        match &check.yields {
            Yields::Look(look) => (&look.places, None, Vec::new()),
            Yields::Read(measure) => {
                let reads = |instrument: &&muster_core::instrument::Instrument| {
                    instrument.reads == measure.kind
                        && (measure.instruments.is_empty() || measure.instruments.contains(&instrument.kind))
                        && instrument.is_trusted(self.context.now.date())
                };
                let own = self.context.yard.instruments.values().filter(reads);
                (
                    &measure.places,
                    Some(self.context.shown(measure).unit.symbol()),
                    own.map(|own| own.id.as_str()).collect(),
                )
            }
            Yields::Date(DateOf::Made { tyre_code: true }) => (&[], Some("week and year, 4 figures"), Vec::new()),
            Yields::Date(_) => (&[], Some("day"), Vec::new()),
        }
    }

    /// The ruler to mark by hand, of the first thing asked that can be set: found, set, marked again.
    fn ruler(&self, drawings: &mut Drawings) -> Option<Value> {
        let context = self.context;
        let settable =
            |ask: &&Ask<'_>| matches!(&ask.check.yields, Yields::Read(measure) if measure.settable.is_some());
        let ask = self.walk.steps.iter().find(settable)?;
        let Yields::Read(measure) = &ask.check.yields else { return None };
        let shown = context.shown(measure);
        let counting = context.limits(ask.check, self.planned);
        let own = counting.bounds.iter().find(|row| row.layer != Layer::Law && row.places.is_empty())?;
        let in_unit = |amount: muster_core::quantity::Amount| amount.in_unit(shown.unit);
        let figure = Figure {
            unit: shown.unit.symbol(),
            decimals: shown.decimals,
            value: f64::NAN,
            expanded_u: 0.0,
            gauge: None,
            at_least: own.at_least.map(in_unit),
            at_most: own.at_most.map(in_unit),
            target: counting.target.and_then(|row| row.target).map(in_unit),
            new: counting.new.map(in_unit),
            margin: f64::NAN,
            places: Vec::new(),
        };
        let outcome = Outcome::new(&ask.check.id, &ask.check.name, self.planned, Verdict::Unseen, "");
        let drawn = drawings.ruler_in(&outcome, &figure, Tone::Set, RULER_PX)?;
        Some(json!({ "name": ask.check.name, "unit": figure.unit, "drawing": drawn }))
    }
}

/// The boxes of a row: an answer's word, or for a figure the verdict's; each with the glyph of the verdict it leads to.
fn boxes(check: &Check, class: Class) -> Vec<Value> {
    let one = |glyph: Verdict, word: &str| json!({ "glyph": glyph.as_str(), "word": word });
    if !matches!(check.yields, Yields::Look(_)) {
        return [Verdict::Fit, Verdict::Watch, Verdict::Hold, Verdict::Unseen].map(|of| one(of, of.as_str())).into();
    }
    let doubtful = if class == Class::Dangerous { Verdict::Hold } else { Verdict::Watch };
    let defective = if class == Class::Minor { Verdict::Watch } else { Verdict::Hold };
    vec![
        one(Verdict::Fit, "sound"),
        one(doubtful, "doubtful"),
        one(defective, "defective"),
        one(Verdict::Unseen, "could not see"),
    ]
}
