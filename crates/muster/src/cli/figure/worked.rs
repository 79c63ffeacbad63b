//! What a sum came to: figures with their uncertainty, what they mean, how they were worked out and by whose word.

use muster_core::{
    quantity::{Kind, OutOfRange, show, text, text::DecimalSign},
    statistics::uncertainty::StandardUncertainty,
    yard::Units,
};
use serde_json::{Value, json};

use anyhow::Result;
use muster_core::quantity::Amount;

use super::units::{Figure, expanded};

/// A sum, worked out.
pub(super) struct Worked {
    values: Vec<Figured>,
    says: Vec<String>,
    working: String,
    source: &'static str,
}

/// One figure of it.
struct Figured {
    name: &'static str,
    figure: Figure,
    u: Option<StandardUncertainty>,
    /// Whether it keeps its unit on either side: what is named in it.
    is_name: bool,
    /// The check whose reading it is.
    check: Option<&'static str>,
}

impl Worked {
    /// A sum by its formula and its source.
    pub(super) fn by(working: impl Into<String>, source: &'static str) -> Self {
        Self { values: Vec::new(), says: Vec::new(), working: working.into(), source }
    }

    /// With a figure.
    pub(super) fn value(mut self, name: &'static str, value: f64, decimals: usize, unit: &'static str) -> Self {
        let figure = Figure { value, decimals, unit };
        self.values.push(Figured { name, figure, u: None, is_name: false, check: None });
        self
    }

    /// The last figure is named in its unit, whatever a yard measures in.
    pub(super) fn by_name(mut self) -> Self {
        if let Some(last) = self.values.last_mut() {
            last.is_name = true;
        }
        self
    }

    /// With a figure whose uncertainty is known.
    pub(super) fn with_u(
        mut self,
        name: &'static str,
        (value, u): (f64, StandardUncertainty),
        decimals: usize,
        unit: &'static str,
    ) -> Self {
        let figure = Figure { value, decimals, unit };
        self.values.push(Figured { name, figure, u: Some(u), is_name: false, check: None });
        self
    }

    /// The last figure is what a check reads.
    pub(super) fn in_form(mut self, check: &'static str) -> Self {
        if let Some(last) = self.values.last_mut() {
            last.check = Some(check);
        }
        self
    }

    /// With what it means.
    pub(super) fn say(mut self, says: impl Into<String>) -> Self {
        self.says.push(says.into());
        self
    }

    /// For people.
    pub(super) fn text(&self, units: Units) -> String {
        // What a check reads stands by itself: the check is its name.
        let alone = self.values.len() == 1;
        let bare = |of: &Figured| alone && of.check.is_some();
        let line = |of: &Figured| {
            if bare(of) { of.text(units) } else { format!("{}: {}", of.name, of.text(units)) }
        };
        let form = self.values.iter().filter_map(|of| {
            let told = of.told(units);
            let read = told.text().replace(show::UNIT_SPACE, " ").replace('\u{2212}', "-");
            Some(format!("  in a form: check = \"{}\", read = \"{read}\"", of.check?))
        });
        let lines = self.values.iter().map(line).chain(self.says.iter().map(|says| expanded(says, units)));
        let how = [format!("  {}", expanded(&self.working, units)), format!("  source: {}", self.source)];
        lines.chain(how).chain(form).collect::<Vec<_>>().join("\n")
    }

    /// For programs: values in full, uncertainties expanded (k = 2).
    pub(super) fn json(&self, units: Units) -> Value {
        let value = |of: &Figured| {
            let told = of.told(units);
            json!({
                "name": of.name, "value": told.value, "unit": told.unit,
                "expanded_u": of.u.map(|u| of.spread(u, units).value), "check": of.check,
            })
        };
        json!({
            "schema": 1, "values": self.values.iter().map(value).collect::<Vec<_>>(),
            "says": self.says.iter().map(|says| expanded(says, units)).collect::<Vec<_>>(),
            "working": expanded(&self.working, units), "source": self.source,
        })
    }
}

impl Figured {
    fn told(&self, units: Units) -> Figure {
        if self.is_name { self.figure } else { self.figure.told(units) }
    }

    /// Its expanded uncertainty.
    fn spread(&self, u: StandardUncertainty, units: Units) -> Figure {
        let spread = Figure { value: u.expanded(), ..self.figure };
        if self.is_name { spread } else { spread.difference(units) }
    }

    fn text(&self, units: Units) -> String {
        let told = self.told(units);
        let Some(u) = self.u else { return told.text() };
        let spread = self.spread(u, units);
        let spread = Figure { decimals: spread.decimals.max(1), ..spread };
        format!("{} ± {}", Figure { unit: "", ..told }.text(), spread.text())
    }
}

/// Reads a figure as it was typed, with its unit.
pub(super) fn read<T: TryFrom<Amount, Error = OutOfRange>>(kind: Kind, typed: &str) -> Result<T> {
    Ok(T::try_from(text::read(kind, typed, DecimalSign::Point)?)?)
}

/// The standard uncertainty of what is read by hand.
pub(super) fn u(value: f64) -> Result<StandardUncertainty> {
    Ok(StandardUncertainty::new(value)?)
}
