//! What a sum came to: figures with their uncertainty, what they mean, how they were worked out and by whose word.

use muster_core::{
    quantity::{Kind, OutOfRange, show, text, text::DecimalSign},
    statistics::uncertainty::StandardUncertainty,
};
use serde_json::{Value, json};

use anyhow::Result;
use muster_core::quantity::Amount;

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
    value: f64,
    u: Option<StandardUncertainty>,
    decimals: usize,
    unit: &'static str,
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
        self.values.push(Figured { name, value, u: None, decimals, unit, check: None });
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
        self.values.push(Figured { name, value, u: Some(u), decimals, unit, check: None });
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
    pub(super) fn text(&self) -> String {
        // What a check reads stands by itself: the check is its name.
        let alone = self.values.len() == 1;
        let bare = |of: &Figured| alone && of.check.is_some();
        let line = |of: &Figured| if bare(of) { of.text() } else { format!("{}: {}", of.name, of.text()) };
        let form = self.values.iter().filter_map(|of| {
            let read = with_unit(&format!("{:.*}", of.decimals, of.value), of.unit).replace(show::UNIT_SPACE, " ");
            Some(format!("  in a form: check = \"{}\", read = \"{read}\"", of.check?))
        });
        let lines = self.values.iter().map(line).chain(self.says.iter().cloned());
        let how = [format!("  {}", self.working), format!("  source: {}", self.source)];
        lines.chain(how).chain(form).collect::<Vec<_>>().join("\n")
    }

    /// For programs: values in full, uncertainties expanded (k = 2).
    pub(super) fn json(&self) -> Value {
        let value = |of: &Figured| {
            json!({
                "name": of.name, "value": of.value, "unit": of.unit,
                "expanded_u": of.u.map(StandardUncertainty::expanded), "check": of.check,
            })
        };
        json!({
            "schema": 1, "values": self.values.iter().map(value).collect::<Vec<_>>(), "says": self.says,
            "working": self.working, "source": self.source,
        })
    }
}

impl Figured {
    fn text(&self) -> String {
        let figure = |value: f64, decimals: usize| show::grouped(&format!("{value:.decimals$}"));
        match self.u {
            Some(u) => {
                let expanded = figure(u.expanded(), self.decimals.max(1));
                format!("{} ± {}", figure(self.value, self.decimals), with_unit(&expanded, self.unit))
            }
            None => with_unit(&figure(self.value, self.decimals), self.unit),
        }
    }
}

fn with_unit(figure: &str, unit: &str) -> String {
    match unit {
        "" | "°" => format!("{figure}{unit}"),
        _ => format!("{figure}{}{unit}", show::UNIT_SPACE),
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
