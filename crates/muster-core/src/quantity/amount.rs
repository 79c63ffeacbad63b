//! A figure as it was written: value, unit, kind; checked once against what can be.

use alloc::{format, string::String};
use core::cmp::Ordering;

use super::{Kind, Unit, show};

/// A figure with the unit it was read in.
///
/// Invariant: finite, its unit belongs to its kind, within [`Kind::range`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Amount {
    kind: Kind,
    value: f64,
    unit: Unit,
}

impl Amount {
    /// Takes a figure as read.
    ///
    /// # Errors
    /// [`OutOfRange`] if the figure is not finite or outside what the kind allows, with the likely
    /// mix-up where one is seen.
    pub fn new(kind: Kind, value: f64, unit: Unit) -> Result<Self, OutOfRange> {
        let (min, max) = kind.range();
        Self::within(kind, value, unit, Bounds { min, max, unit: kind.range_unit() })
    }

    /// Takes a figure that must lie in a narrower range than its kind's, as a check states it.
    ///
    /// # Errors
    /// [`OutOfRange`] as for [`Self::new`].
    pub fn within(kind: Kind, value: f64, unit: Unit, bounds: Bounds) -> Result<Self, OutOfRange> {
        let inside = |value: f64| {
            let seen = convert(value, unit, bounds.unit);
            // A bound written in one unit and met in another may miss by a rounding of the factor.
            let slack = 1e-12 * bounds.max.abs().max(bounds.min.abs());
            (bounds.min - slack..=bounds.max + slack).contains(&seen)
        };
        if kind.units().contains(&unit) && inside(value) {
            return Ok(Self { kind, value, unit });
        }
        let slips = [0.1, 0.01, 0.001, 10.0, 100.0];
        let decimal = slips.into_iter().map(|slip| value * slip).find(|value| inside(*value));
        let other = kind.units().iter().copied().filter(|other| *other != unit).find(|other| {
            let seen = convert(value, *other, bounds.unit);
            (bounds.min..=bounds.max).contains(&seen)
        });
        // A figure ten or a hundred times too large is a slipped decimal sign; one that would be right
        // in another unit is a wrong unit. Where both could be, the decimal is offered: it is commoner
        // on a keypad that remembers the unit.
        let hint = match (decimal, other) {
            (Some(value), _) if value != 0.0 => Some(show::plain(value, unit)),
            (_, Some(other)) => Some(show::plain(value, other)),
            _ => None,
        };
        Err(OutOfRange { kind, got: show::plain(value, unit), bounds, hint })
    }

    /// The kind of quantity.
    #[must_use]
    pub fn kind(self) -> Kind {
        self.kind
    }

    /// The figure in the unit it was written in.
    #[must_use]
    pub fn value(self) -> f64 {
        self.value
    }

    /// The unit it was written in.
    #[must_use]
    pub fn unit(self) -> Unit {
        self.unit
    }

    /// The figure in another unit of the same kind; exactly itself in its own.
    #[must_use]
    pub fn in_unit(self, unit: Unit) -> f64 {
        convert(self.value, self.unit, unit)
    }

    /// The figure in the kind's canonical unit.
    #[must_use]
    pub fn canonical(self) -> f64 {
        self.unit.to_canonical(self.value)
    }
}

impl PartialOrd for Amount {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        (self.kind == other.kind).then(|| self.in_unit(other.unit).partial_cmp(&other.value)).flatten()
    }
}

impl core::fmt::Display for Amount {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(&show::plain(self.value, self.unit))
    }
}

/// Takes a figure from one unit to another of the same kind, in one step and without loss within a unit.
#[must_use]
pub fn convert(value: f64, from: Unit, to: Unit) -> f64 {
    if from == to { value } else { to.from_canonical(from.to_canonical(value)) }
}

/// The least and the most a figure may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// The least, in `unit`.
    pub min: f64,
    /// The most, in `unit`.
    pub max: f64,
    /// The unit both are in.
    pub unit: Unit,
}

/// A figure that cannot be: past physics, or in a unit of another kind.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{kind} must be {allowed}, got {got}{}", .hint.as_deref().map(|h| format!(": did you mean {h}?")).unwrap_or_default(), allowed = self.allowed())]
pub struct OutOfRange {
    kind: Kind,
    got: String,
    bounds: Bounds,
    hint: Option<String>,
}

impl OutOfRange {
    /// What is allowed, in words: `0 to 600 kPa`.
    #[must_use]
    pub fn allowed(&self) -> String {
        let Bounds { min, max, unit } = self.bounds;
        format!("{} to {}", show::figure(min), show::plain(max, unit))
    }
}
