//! Works an outing out, part by part, and says what it comes to.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use serde::Serialize;

use super::braking::{self, Stops};
use super::energy::{self, Reach};
use super::item::{Item, Part, When};
use super::reach::{self, Ground};
use super::work::{End, Work};
use super::{Case, Outing, axles, beam, machine, pressure, settings, stand};
use crate::judge::Verdict;
use crate::quantity::{GaugePressure, Mass};
use crate::words::{Class, Use};

/// What an outing comes to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Assessment {
    /// Version of this shape.
    pub schema: u32,
    /// Fleet number.
    pub machine: String,
    /// Its model.
    pub model: String,
    /// The rider, by name, where one is told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rider: Option<String>,
    /// The uses it is judged for.
    pub uses: Vec<Use>,
    /// When it leaves.
    pub from: String,
    /// When it is to be back.
    pub back: Option<String>,
    /// What it comes to: the gravest of the machine's verdict and of every item.
    pub verdict: Verdict,
    /// The machine's own verdict for these uses, as it was judged.
    pub machine_verdict: Verdict,
    /// Everything looked at, in the order of its parts.
    pub items: Vec<Item>,
    /// What to do before leaving.
    pub before_leaving: Vec<String>,
    /// What to do at the next stop.
    pub at_the_next_stop: Vec<String>,
    /// What was told and cannot be; the rest is worked out without it.
    pub faults: Vec<String>,
    /// The figures, for a screen.
    pub figures: Figures,
    /// SHA-256 of the catalogue it rests on.
    pub catalogue: String,
    /// SHA-256 of the yard's files it rests on.
    pub yard: String,
}

/// The figures of an outing.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Figures {
    /// Axle loads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loads: Option<LoadFigures>,
    /// What to set, front then rear.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub settings: Vec<Setting>,
    /// The dipped beam.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub beam: Option<BeamFigures>,
    /// Stops.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stops: Option<Stops>,
    /// How far it goes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<Reach>,
    /// From seat to ground.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ground: Option<Ground>,
}

/// Loads in kg, as a scale under each wheel shows them; lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LoadFigures {
    /// All up.
    pub whole_kg: f64,
    /// The most it may weigh.
    pub gross_kg: Option<f64>,
    /// Centre of gravity ahead of the rear axle.
    pub centre_ahead_mm: f64,
    /// Centre of gravity above the road.
    pub centre_height_mm: f64,
    /// The front axle, then the rear.
    pub axles: [AxleFigures; 2],
}

/// One axle, in kg.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AxleFigures {
    /// With nobody.
    pub bare_kg: f64,
    /// With all aboard.
    pub load_kg: f64,
    /// Expanded uncertainty of that, k = 2.
    pub expanded_u_kg: f64,
    /// The most it may carry.
    pub limit_kg: Option<f64>,
}

/// What to set at one wheel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Setting {
    /// `front` or `rear`.
    pub wheel: &'static str,
    /// Cold pressure, kPa.
    pub pressure_kpa: Option<f64>,
    /// The click of preload to set; none where it is fixed.
    pub click: Option<u8>,
    /// The click it stands at; none where it is fixed.
    pub from_click: Option<u8>,
    /// Sag at that click with all aboard, mm.
    pub sag_mm: Option<f64>,
    /// The range of the sag, mm.
    pub sag_range_mm: Option<[f64; 2]>,
}

/// The dipped beam: drop over distance in per cent.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BeamFigures {
    /// As aimed.
    pub aimed_percent: f64,
    /// With this load, springs as they are to be set.
    pub after_percent: f64,
    /// Nose up, degrees.
    pub pitch_degrees: f64,
    /// The least allowed.
    pub at_least_percent: Option<f64>,
    /// The most allowed.
    pub at_most_percent: Option<f64>,
    /// Turns of the screw to bring it back, lowering positive.
    pub turns: f64,
}

/// Works an outing out. A figure that is missing leaves its own item unseen and the rest as it is.
#[must_use]
pub fn assess(case: &Case<'_>, outing: &Outing) -> Assessment {
    let mut items = Vec::new();
    let mut figures = Figures::default();
    match case.context.sheet.outing.as_ref() {
        _ if has_sidecar(case) => {
            let missing = "with a sidecar its loads are no moments about two wheels: weigh it wheel by wheel";
            items.push(not_worked(missing));
        }
        Some(stated) => match Work::of(case, stated, outing) {
            Ok(work) => worked(&work, &mut items, &mut figures),
            Err(missing) => items.push(not_worked(&missing)),
        },
        None => {
            let missing =
                "its sheet states nothing for outings: write [outing] into the sheet, from handbook and plate";
            items.push(not_worked(missing));
        }
    }
    items.extend(machine::items(case, outing));
    one_pressure_a_tyre(case, &mut items);
    let told = |when: When| {
        let mut out: Vec<String> = Vec::new();
        for todo in items.iter().flat_map(|item| &item.todo).filter(|todo| todo.when == when) {
            if !out.contains(&todo.what) {
                out.push(todo.what.clone());
            }
        }
        out
    };
    let (before_leaving, at_the_next_stop) = (told(When::BeforeLeaving), told(When::NextStop));
    let machine_verdict = items.iter().find(|item| item.id == "machine").map_or(Verdict::Unseen, |item| item.verdict);
    // What was told and cannot be leaves something unknown.
    let faulty = if outing.faults.is_empty() { Verdict::Fit } else { Verdict::Unseen };
    let verdict = items.iter().map(|item| item.verdict).max().unwrap_or(Verdict::Unseen).max(faulty);
    Assessment {
        schema: 1,
        machine: case.context.machine.id.clone(),
        model: case.context.sheet.model.clone(),
        rider: outing.rider.name.clone(),
        uses: outing.uses().iter().collect(),
        from: outing.from.to_string(),
        back: outing.back.map(|back| back.to_string()),
        verdict,
        machine_verdict,
        items,
        before_leaving,
        at_the_next_stop,
        faults: outing.faults.clone(),
        figures,
        catalogue: case.judgement.catalogue.clone(),
        yard: case.judgement.yard.clone(),
    }
}

/// What the walk-round asked of a tyre's pressure counts no more where the outing sets it: one figure a tyre.
fn one_pressure_a_tyre(case: &Case<'_>, items: &mut [Item]) {
    for end in End::BOTH {
        let sets = alloc::format!("pressure.{end}");
        let is_set = items.iter().any(|item| item.id == sets && !item.todo.is_empty());
        let name = case.context.check(pressure::check(end)).map(|check| alloc::format!("{}: ", check.name));
        let (Some(name), true) = (name, is_set) else { continue };
        for item in items.iter_mut().filter(|item| item.id == machine::MACHINE) {
            item.todo.retain(|todo| !todo.what.starts_with(&name));
        }
    }
}

/// No load is worked out. Nothing says that it is too much: somebody with the right decides by handbook and plate.
fn not_worked(missing: &str) -> Item {
    Item::unseen(Part::Loads, "loads", "Loads", missing).class(Class::Major)
}

fn has_sidecar(case: &Case<'_>) -> bool {
    case.context.machine.traits.equipment.has_sidecar()
}

fn worked(work: &Work<'_>, items: &mut Vec<Item>, figures: &mut Figures) {
    items.extend(axles::items(work));
    items.extend(pressure::items(work));
    items.extend(settings::items(work));
    let (item, beam) = beam::item(work);
    items.push(item);
    let (item, stops) = braking::item(work);
    items.push(item);
    items.extend(stand::item(work));
    let (item, range) = energy::item(work);
    items.push(item);
    let ground = match reach::item(work) {
        Some((item, ground)) => {
            items.push(item);
            ground
        }
        None => None,
    };
    *figures = Figures {
        loads: Some(loads(work)),
        settings: End::BOTH.into_iter().map(|end| setting(work, end)).collect(),
        beam: beam.map(|beam| BeamFigures {
            aimed_percent: beam.aimed.percent(),
            after_percent: beam.after.percent(),
            pitch_degrees: beam.pitch_degrees,
            at_least_percent: beam.window.0,
            at_most_percent: beam.window.1,
            turns: beam.turns,
        }),
        stops,
        range,
        ground,
    };
}

fn loads(work: &Work<'_>) -> LoadFigures {
    let axle = |end: End| AxleFigures {
        bare_kg: end.carries(&work.bare).kg(),
        load_kg: end.carries(&work.all).kg(),
        expanded_u_kg: end.u(work).expanded(),
        limit_kg: end.limit(work.stated).map(Mass::kg),
    };
    LoadFigures {
        whole_kg: work.all.mass.kg(),
        gross_kg: work.stated.gross.map(Mass::kg),
        centre_ahead_mm: work.all.ahead.mm(),
        centre_height_mm: work.all.height.mm(),
        axles: End::BOTH.map(axle),
    }
}

fn setting(work: &Work<'_>, end: End) -> Setting {
    let spring = work.settings.of_end(end).and_then(|of| of.as_ref().ok());
    let suspension = end.wheel(work.stated).suspension.as_ref();
    let range = suspension.map(|of| [of.sag.0.mm(), of.sag.1.mm()]);
    let turned = spring.filter(|_| suspension.is_some_and(|of| of.clicks > 0));
    Setting {
        wheel: end.name(),
        pressure_kpa: end.set(work).map(GaugePressure::kpa),
        click: turned.map(|of| of.to),
        from_click: turned.map(|of| of.from),
        sag_mm: spring.map(|of| of.after.mm()),
        sag_range_mm: range,
    }
}

impl Assessment {
    /// The one byte form: JSON, the same on every machine.
    ///
    /// # Errors
    /// None can occur: every value is a text, a number or a list of them.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string(self)
    }

    /// The items that are not fit, worst first.
    #[must_use]
    pub fn reasons(&self) -> Vec<&Item> {
        let mut out: Vec<&Item> = self.items.iter().filter(|item| item.verdict != Verdict::Fit).collect();
        crate::sorted::sort_by(&mut out, |a, b| b.verdict.cmp(&a.verdict));
        out
    }
}
