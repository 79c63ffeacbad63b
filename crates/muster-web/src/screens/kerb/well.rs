//! A well of a round: one place where one figure is read or one look is said.

use muster_core::{
    check::{Correction, Yields},
    form::Said,
    judge::{Figure, Outcome, Verdict},
    quantity::{Unit, convert},
    record::provisional,
    state::Heat,
    words::Use,
};
use muster_draw::{
    draw,
    merge::is_to_set,
    number::figure_text,
    ruler::{Ruler, Tone},
};

use super::{
    asked::{answer_word, applies, in_context},
    round::Once,
    row::Going,
};
use crate::{words::t, yard::Yard};

/// Most wells a machine has in one round.
pub(super) const SLOTS: usize = 8;

/// What is said at a well.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A figure of the check.
    Figure,
    /// The tyre's own temperature.
    Tyre,
    /// A look.
    Look,
}

/// A well.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Well {
    /// Its number.
    pub(super) slot: usize,
    /// The machine.
    pub(super) machine: String,
    /// The check.
    pub(super) check: String,
    /// The place, where places are told apart.
    pub(super) place: Option<String>,
    /// What stands over it.
    pub(super) label: String,
    /// What is said at it.
    pub(super) kind: Kind,
    /// Its unit, where it is no choice.
    pub(super) fixed_unit: Option<&'static str>,
}

/// How a well stands before anything is typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Stands {
    /// The figure that counts.
    pub(super) figure: String,
    /// Its unit.
    pub(super) unit: &'static str,
    /// The last answer, or what it came to.
    pub(super) says: String,
}

/// The wells of a machine.
pub(super) fn wells(yard: Yard, machine: &str, once: &Once) -> Vec<Well> {
    let made = in_context(yard, machine, |context, _| {
        let checks = once.checks.iter().filter_map(|id| context.check(id));
        let mut out: Vec<Well> = Vec::new();
        for check in checks.filter(|check| applies(context, check)) {
            let wheel = match &check.id {
                id if once.checks.len() < 2 => (id, String::new()),
                id if id.contains(".front.") => (id, t!("front")),
                id => (id, t!("rear")),
            };
            let (places, kind) = match &check.yields {
                Yields::Read(measure) => (&measure.places, Kind::Figure),
                Yields::Look(look) => (&look.places, Kind::Look),
                Yields::Date(_) => continue,
            };
            let at = |place: Option<&String>| {
                let parts = [Some(wheel.1.clone()), place.cloned()];
                let label = parts.into_iter().flatten().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
                let label = if label.is_empty() { check.name.clone() } else { label };
                Well {
                    slot: 0,
                    machine: machine.to_owned(),
                    check: check.id.clone(),
                    place: place.cloned(),
                    label,
                    kind,
                    fixed_unit: (kind == Kind::Look).then_some(""),
                }
            };
            if places.is_empty() {
                out.push(at(None));
            } else {
                out.extend(places.iter().map(|place| at(Some(place))));
            }
            let gas = matches!(&check.yields, Yields::Read(of) if of.correction == Some(Correction::TyreGas));
            if gas && once.heat != Heat::Cold {
                let tyre = t!("kerb-tyre-temperature");
                let label = format!("{} {tyre}", wheel.1).trim().to_owned();
                out.push(Well { label, kind: Kind::Tyre, fixed_unit: Some("°C"), ..at(None) });
            }
        }
        out.truncate(SLOTS);
        out.iter_mut().enumerate().for_each(|(slot, well)| well.slot = slot);
        out
    });
    made.unwrap_or_default()
}

/// The outcome a check has now in the planned use, and that use.
pub(super) fn outcome(yard: Yard, machine: &str, check: &str) -> (Option<Outcome>, Use) {
    let Some(seen) = yard.machine(machine) else { return (None, Use::Range) };
    let Some(planned) = seen.judgement.planned() else { return (None, Use::Range) };
    (planned.outcomes.iter().find(|of| of.check == check).cloned(), planned.one)
}

/// Whether a reading waits to be set and read again.
pub(super) fn waits(outcome: &Outcome) -> bool {
    is_to_set(outcome)
}

impl Well {
    /// How it stands.
    pub(super) fn stands(&self, going: Going) -> Stands {
        let (outcome, _) = outcome(going.yard, &self.machine, &self.check);
        let said = match &outcome {
            Some(of) if of.set.is_some() => {
                of.set.as_ref().map(|set| t!("set-found", found = set.found.as_str(), now = set.now.as_str()))
            }
            _ => self.last(going),
        };
        let says = said.unwrap_or_else(|| t!("never-read"));
        let figure = outcome.as_ref().and_then(|of| of.figure.as_ref()).filter(|_| self.kind == Kind::Figure);
        match figure {
            Some(figure) => {
                let own = figure.places.iter().find(|of| Some(&of.place) == self.place.as_ref()).map(|of| of.value);
                let value = own.or(figure.gauge).unwrap_or(figure.value);
                Stands { figure: figure_text(value, figure.decimals), unit: figure.unit, says }
            }
            None => Stands { figure: "–".to_owned(), unit: "", says },
        }
    }

    /// The last answer, with its day.
    fn last(&self, going: Going) -> Option<String> {
        if self.kind == Kind::Tyre {
            return Some(String::new());
        }
        in_context(going.yard, &self.machine, |context, state| {
            let check = context.check(&self.check)?;
            let forms = state.forms();
            let own = |said: &Option<String>| said.is_none() || self.place.is_none() || *said == self.place;
            let answers = forms.iter().flat_map(|form| &form.answers).filter(|of| of.check == self.check);
            let last = answers.max_by_key(|of| of.at)?;
            let what = match (&last.said, &check.yields) {
                (Said::Read(figures), Yields::Read(measure)) => {
                    let (_, amount) = figures.iter().find(|(place, _)| own(place))?;
                    context.shown(measure).text(amount.value(), amount.unit())
                }
                (Said::Saw(seen), _) => answer_word(seen.iter().find(|(place, _)| own(place))?.1).to_lowercase(),
                _ => return None,
            };
            let today = last.at.date() == context.now.date();
            let when = if today { last.at.clock() } else { last.at.date().to_string() };
            Some(t!("last-said", what = what, when = when))
        })?
    }

    /// The limits of its check in the unit shown, nothing read; none where there are none.
    fn blank(&self, going: Going) -> Option<(Figure, Unit)> {
        let (_, one) = outcome(going.yard, &self.machine, &self.check);
        in_context(going.yard, &self.machine, |context, _| {
            let check = context.check(&self.check)?;
            let Yields::Read(measure) = &check.yields else { return None };
            let (shown, figure) =
                (context.shown(measure), provisional::blank(context, check, self.place.as_deref(), one)?.figure?);
            Some((figure, shown.unit))
        })?
    }

    /// Its mini ruler: what counts now, or where what is typed would stand, in ink only.
    pub(super) fn ruler(&self, going: Going, typed: &str) -> Option<String> {
        if self.kind != Kind::Figure {
            return None;
        }
        let (outcome, _) = outcome(going.yard, &self.machine, &self.check);
        let counts = outcome.as_ref().and_then(|of| Some((of.figure.as_ref()?, of)));
        if let (true, Some((figure, of))) = (typed.is_empty(), counts) {
            let tone = if is_to_set(of) { Tone::Set } else { Tone::Judged(of.verdict) };
            return Some(draw::mini(&Ruler::of(figure, tone, "")?));
        }
        let (mut figure, shown) = self.blank(going)?;
        let tone = match typed.parse::<f64>() {
            Ok(value) => {
                let unit =
                    self.units(going).into_iter().find(|unit| unit.symbol() == going.unit_now()).unwrap_or(shown);
                (figure.value, figure.expanded_u) = (convert(value, unit, shown), 0.0);
                Tone::Set
            }
            Err(_) => Tone::Judged(Verdict::Unseen),
        };
        Some(draw::mini(&Ruler::of(&figure, tone, "")?))
    }

    /// The limits in words.
    pub(super) fn limits(&self, going: Going) -> (String, String) {
        let Some((figure, _)) = self.blank(going).filter(|_| self.kind == Kind::Figure) else {
            return (String::new(), String::new());
        };
        let text = |value: f64| figure_text(value, figure.decimals);
        let low = figure.at_least.map(|least| t!("low", figure = text(least))).unwrap_or_default();
        (low, figure.at_most.map(|most| t!("high", figure = text(most))).unwrap_or_default())
    }

    /// The units it may be typed in: those of the gauges there are, the yard's own first.
    pub(super) fn units(&self, going: Going) -> Vec<Unit> {
        let units = in_context(going.yard, &self.machine, |context, _| {
            let check = context.check(&self.check)?;
            let Yields::Read(measure) = &check.yields else { return None };
            let mut units = Vec::from([context.shown(measure).unit]);
            let more: &[Unit] = match measure.kind {
                muster_core::quantity::Kind::GaugePressure => &[Unit::Psi, Unit::Kilopascal, Unit::Bar],
                _ => &[measure.si.unit, measure.us.unit],
            };
            for unit in more {
                if !units.contains(unit) {
                    units.push(*unit);
                }
            }
            Some(units)
        });
        units.flatten().filter(|_| self.kind == Kind::Figure).unwrap_or_default()
    }
}

impl Going {
    /// The unit typed in: the one chosen, else the yard's own for the check.
    pub(super) fn unit_now(self) -> &'static str {
        use leptos::prelude::{Get, GetUntracked, With};
        let units: Vec<&str> = self.wells.with(|wells| {
            let figure = wells.iter().find(|well| well.kind == Kind::Figure);
            figure.map(|well| well.units(self).iter().map(|unit| unit.symbol()).collect()).unwrap_or_default()
        });
        let chosen = self.unit.get();
        let _ = self.active.get_untracked();
        units.iter().copied().find(|unit| *unit == chosen).or(units.first().copied()).unwrap_or("")
    }
}
