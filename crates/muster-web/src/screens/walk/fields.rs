//! What is typed at a reading: one well for each place, and the temperatures where its correction needs them.

use std::{collections::BTreeMap, time::Duration};

use js_sys::Promise;
use leptos::prelude::*;
use muster_core::{
    check::{Correction, Measure},
    form::Form,
    instrument::Instrument,
    judge::Context,
    quantity::{Kind, Unit},
    record::payload::Typed,
    state::Heat,
    yard::Units,
};
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;

use crate::{
    ui::{Column, Pressed},
    words::t,
};

/// Longest figure typed: more digits than any gauge shows.
const DIGITS: usize = 9;

/// What follows from a change runs in so many steps at most.
const SETTLES: usize = 16;

/// What a well holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Of {
    /// A figure, at a place if places are told apart.
    Reading(Option<String>),
    /// The tyre's own temperature.
    Tyre,
    /// The air there and then.
    Air,
}

/// One well.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Well {
    /// What it holds.
    pub(super) of: Of,
    /// Its name.
    pub(super) label: String,
    /// What was typed, with a point; empty: nothing.
    pub(super) typed: String,
    /// What stands there while nothing is typed.
    pub(super) standing: String,
    /// Units it may be typed in.
    units: Vec<Unit>,
    /// Which of them.
    chosen: usize,
    below_zero: bool,
}

impl Well {
    fn new(of: Of, label: String, kind: Kind, units: Vec<Unit>) -> Self {
        let below_zero = matches!(kind, Kind::Temperature | Kind::Angle | Kind::Inclination);
        Self { of, label, typed: String::new(), standing: String::new(), units, chosen: 0, below_zero }
    }

    /// Symbol of the unit it is typed in.
    pub(super) fn unit(&self) -> &'static str {
        self.units.get(self.chosen).map_or("", |unit| unit.symbol())
    }

    /// What was typed with its unit, as the record keeps it; none where nothing was.
    fn written(&self, comma: bool) -> Option<String> {
        let typed = self.typed.trim_end_matches('.');
        let typed = if comma { typed.replace('.', ",") } else { typed.to_owned() };
        (!typed.is_empty() && typed != "-").then(|| format!("{typed} {}", self.unit()))
    }

    fn press(&mut self, pressed: Pressed) {
        match pressed {
            Pressed::Digit(digit) if self.typed.len() < DIGITS => self.typed.push(digit),
            Pressed::Sign if !self.typed.contains('.') => {
                if self.typed.is_empty() || self.typed == "-" {
                    self.typed.push('0');
                }
                self.typed.push('.');
            }
            Pressed::Minus if self.below_zero => match self.typed.strip_prefix('-') {
                Some(rest) => self.typed = rest.to_owned(),
                None => self.typed.insert(0, '-'),
            },
            Pressed::Delete => _ = self.typed.pop(),
            Pressed::Unit(index) if index < self.units.len() => self.chosen = index,
            _ => {}
        }
    }

    fn choose(&mut self, unit: Unit) {
        if let Some(index) = self.units.iter().position(|of| *of == unit) {
            self.chosen = index;
        }
    }
}

/// The wells of a check, and which of them the keys go to.
#[derive(Clone, Copy)]
pub(super) struct Fields {
    /// The wells.
    pub(super) wells: RwSignal<Vec<Well>>,
    /// The same as they were last painted.
    painted: RwSignal<Vec<Well>>,
    /// Which one.
    pub(super) at: RwSignal<usize>,
    comma: bool,
}

impl Fields {
    /// The wells a measure asks for on this machine, as the form's head has it.
    pub(super) fn of(context: &Context<'_>, measure: &Measure, form: &Form, comma: bool) -> Self {
        let units = units(measure);
        let reading = |place: Option<String>| {
            let label = place.clone().unwrap_or_else(|| t!("gauge-reads"));
            Well::new(Of::Reading(place), label, measure.kind, units.clone())
        };
        let mut wells: Vec<Well> = match measure.places.is_empty() {
            true => vec![reading(None)],
            false => measure.places.iter().map(|place| reading(Some(place.clone()))).collect(),
        };
        if measure.correction == Some(Correction::TyreGas) && is_warm(context, form) {
            let degrees = vec![Unit::Celsius, Unit::Fahrenheit];
            let well = |of, label| Well::new(of, label, Kind::Temperature, degrees.clone());
            wells.push(well(Of::Tyre, t!("tyre-temperature")));
            let standing = form.air.map(|air| format!("{:.0}", air.celsius())).unwrap_or_default();
            wells.push(Well { standing, ..well(Of::Air, t!("air-now")) });
        }
        Self { painted: RwSignal::new(wells.clone()), wells: RwSignal::new(wells), at: RwSignal::new(0), comma }
    }

    /// The wells as they were last painted: what a digit comes to is worked out behind its own paint, which is not to wait
    /// for it.
    pub(super) const fn painted(self) -> Self {
        Self { wells: self.painted, ..self }
    }

    /// Keeps `painted` one paint behind, however many digits come before it.
    pub(super) fn follow(self) {
        let waits = StoredValue::new(false);
        let paint = move || {
            // Whoever went on meanwhile has taken the wells along.
            let Some(now) = self.wells.try_get_untracked() else { return };
            waits.try_set_value(false);
            if self.painted.try_with_untracked(|painted| *painted != now) == Some(true) {
                self.painted.try_set(now);
            }
        };
        // What was chosen before anything is shown.
        paint();
        Effect::new(move || {
            self.wells.track();
            if !waits.get_value() {
                waits.set_value(true);
                request_animation_frame(move || set_timeout(paint, Duration::ZERO));
            }
        });
    }

    /// The decimal sign shown.
    pub(super) const fn sign(self) -> char {
        if self.comma { ',' } else { '.' }
    }

    /// Takes what was pressed.
    pub(super) fn press(self, pressed: Pressed) {
        let at = self.at.get_untracked();
        match pressed {
            Pressed::Next => self.at.update(|at| *at = (*at + 1) % self.wells.with_untracked(Vec::len).max(1)),
            // All places are read with one gauge, in one unit.
            Pressed::Unit(index) => self.wells.update(|wells| {
                let of = wells.get(at).map(|well| matches!(well.of, Of::Reading(_)));
                let same = wells.iter_mut().filter(|well| Some(matches!(well.of, Of::Reading(_))) == of);
                same.for_each(|well| well.press(Pressed::Unit(index)));
            }),
            other => self.wells.update(|wells| wells.iter_mut().skip(at).take(1).for_each(|well| well.press(other))),
        }
    }

    /// The unit of an instrument, where the check may be typed in it.
    pub(super) fn read_with(self, instrument: &Instrument) {
        let unit = instrument.resolution.unit();
        self.wells.update(|wells| {
            let readings = wells.iter_mut().filter(|well| matches!(well.of, Of::Reading(_)) && well.typed.is_empty());
            readings.for_each(|well| well.choose(unit));
        });
    }

    /// Nothing typed.
    pub(super) fn clear(self) {
        let clear = |wells: &mut Vec<Well>| wells.iter_mut().for_each(|well| well.typed.clear());
        self.wells.update(clear);
        self.painted.update(clear);
        self.at.set(0);
    }

    /// The side of units its readings are typed in; the yard's own for a unit of neither.
    pub(super) fn units(self, measure: &Measure, own: Units) -> Units {
        let symbol = self.wells.with(|wells| wells.first().map_or("", Well::unit));
        match symbol {
            _ if measure.si.unit == measure.us.unit => own,
            of if of == measure.si.unit.symbol() => Units::Si,
            of if of == measure.us.unit.symbol() => Units::Us,
            _ => own,
        }
    }

    /// Whether any figure is typed.
    pub(super) fn is_typed(self) -> bool {
        self.wells
            .with(|wells| wells.iter().any(|well| matches!(well.of, Of::Reading(_)) && well.written(false).is_some()))
    }

    /// The next well that still wants a figure, with its name; what stands there already wants none.
    pub(super) fn wants(self) -> Option<(usize, String)> {
        let at = self.at.get();
        self.wells.with(|wells| {
            let behind = wells.iter().enumerate().skip(at + 1);
            let mut wants = behind.filter(|(_, well)| well.typed.is_empty() && well.standing.is_empty());
            wants.next().map(|(index, well)| (index, well.label.clone()))
        })
    }

    /// The figures as the record keeps them; none where nothing is typed.
    pub(super) fn figures(self) -> Option<Typed> {
        self.wells.with(|wells| self.written(wells))
    }

    /// Types a figure and takes it back before the browser paints: all that a key sets going has run once then, and the first
    /// key of a thumb does not wait for code to be made ready. Not while somebody types or stands at a button that the figure
    /// would change.
    pub(super) async fn rehearse(self, figure: &str) {
        let busy = document().active_element().is_some_and(|of| matches!(of.closest(".dock"), Ok(Some(_))));
        let Some(false) = untrack(|| self.wells.try_with(|wells| wells.iter().any(|well| !well.typed.is_empty())))
        else {
            return;
        };
        let type_in = |text: &str| {
            let into =
                |wells: &mut Vec<Well>| wells.iter_mut().take(1).for_each(|well| text.clone_into(&mut well.typed));
            self.wells.try_update(into).and_then(|()| self.painted.try_update(into))
        };
        if busy || type_in(figure).is_none() {
            return;
        }
        settled().await;
        // Laid out too, which is the greater half.
        let _ = document().body().map(|body| body.offset_height());
        type_in("");
        settled().await;
    }

    /// The same as if a figure had been typed everywhere.
    pub(super) fn supposed(self, figure: &str) -> Option<Typed> {
        let mut wells = self.wells.get_untracked();
        wells.iter_mut().for_each(|well| figure.clone_into(&mut well.typed));
        self.written(&wells)
    }

    fn written(self, wells: &[Well]) -> Option<Typed> {
        let mut places: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for well in wells {
            match (&well.of, well.written(self.comma)) {
                (Of::Reading(None), Some(written)) => return Some(Typed::One(written)),
                (Of::Reading(Some(place)), Some(written)) => places.entry(place.clone()).or_default().push(written),
                _ => {}
            }
        }
        (!places.is_empty()).then_some(Typed::Places(places))
    }

    /// A temperature as typed.
    pub(super) fn temperature(self, of: &Of) -> Option<String> {
        self.wells.with(|wells| wells.iter().find(|well| well.of == *of)?.written(self.comma))
    }

    /// The keypad's fourth column.
    pub(super) fn column(self) -> Column {
        let at = self.at.get();
        self.wells.with(|wells| {
            let Some(well) = wells.get(at) else { return Column::default() };
            let next = wells.get((at + 1) % wells.len()).filter(|_| wells.len() > 1).map(|well| well.label.clone());
            let units = well.units.iter().map(|unit| unit.symbol().to_owned()).collect();
            Column { units, chosen: well.chosen, minus: well.below_zero, next }
        })
    }
}

/// The units a check may be typed in: its own two, and bar, which gauges show.
fn units(measure: &Measure) -> Vec<Unit> {
    let mut units = vec![measure.si.unit, measure.us.unit];
    units.dedup();
    if measure.kind == Kind::GaugePressure && !units.contains(&Unit::Bar) {
        units.push(Unit::Bar);
    }
    units
}

/// Whether the tyres may be warmer than the air.
fn is_warm(context: &Context<'_>, form: &Form) -> bool {
    let rested = context.catalogue.rule.tyre.rested.seconds();
    let ridden = form.ridden.is_some_and(|back| (context.now.seconds_since(back) as f64) < rested);
    form.found.heat != Heat::Cold || ridden
}

/// Waits till what a change sets going has run, within this turn of the browser: no key comes between, and nothing is painted.
async fn settled() {
    for _ in 0..SETTLES {
        // A promise that is kept already is never refused.
        let _ = JsFuture::from(Promise::resolve(&JsValue::UNDEFINED)).await;
    }
}
