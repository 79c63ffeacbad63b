//! A battery that stands: how long a draw takes to empty it, and how long it must stand for a meter to see the draw.

use super::battery::{BatteryRefusal, Charge, Drain, RestReading, RestTable, RestU, drain, state_of_charge_with_u};
use super::propagated::Propagated;
use super::refusal::{Refusal, within};
use crate::quantity::{Current, Ratio, Time, Unit};
use crate::statistics::uncertainty::StandardUncertainty;

/// What a machine at rest draws overnight, as a current, or that the meter cannot tell.
#[derive(Clone, Debug, PartialEq)]
#[must_use]
pub enum Overnight {
    /// The mean current, its uncertainty in A.
    Draw(Propagated<Current>),
    /// Not resolvable: half of what was worked out, or more, is uncertainty. The current may be anything up to this.
    NotResolvable {
        /// What was worked out and twice its uncertainty, added.
        at_most: Current,
    },
}

/// What stands in a battery and how much of it may go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// State of charge now.
    pub now: Ratio,
    /// State of charge not to go below: half, to spare a lead-acid battery (common practice).
    pub least: Ratio,
    /// Capacity, Ah.
    pub capacity_ampere_hours: f64,
}

/// Standard uncertainties of a [`Standing`] and its draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandingU {
    /// Of the state of charge, a pure number.
    pub now: StandardUncertainty,
    /// Of the capacity, Ah: an old battery holds less than its label.
    pub capacity_ampere_hours: StandardUncertainty,
    /// Of the draw, A.
    pub draw_ampere: StandardUncertainty,
}

/// The overnight draw from two rest voltages, by [`drain`].
///
/// Not resolvable where u(I) ≥ |I|/2: then zero lies within the expanded uncertainty (k = 2).
///
/// Range as for [`drain`]. Worked: 12.62 V, 14 h later 12.58 V, 12 Ah, 5 mV each: 42.86 mA; 12.55 V, 48 h later 12.54 V,
/// 8.6 Ah is 2.24 mA with u 1.58 mA: not resolvable (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// As for [`drain`].
pub fn overnight(
    table: &RestTable,
    readings: (RestReading, RestReading),
    between: Time,
    capacity_ampere_hours: f64,
    each: RestU,
) -> Result<Overnight, BatteryRefusal> {
    match drain(table, readings, between, capacity_ampere_hours, each)? {
        Drain::Current(found) => {
            let current = Current::from_milliampere(found.value()).map_err(Refusal::from)?;
            Ok(Overnight::Draw(Propagated::of(
                current,
                [("drain", 1.0, found.u().scaled(1e-3).map_err(Refusal::from)?)],
            )?))
        }
        Drain::NotResolvable(found) => {
            let at_most = Current::from_milliampere(found.value() + found.u().expanded()).map_err(Refusal::from)?;
            Ok(Overnight::NotResolvable { at_most })
        }
    }
}

/// How long a battery must stand for two rest voltages to show a draw.
///
/// t = 2 √2 · u(V) · s' · C/I     s' slope of the table at the reading in 1/V, C in Ah, I in A, t in h
///
/// At that time u(I) is half of I. Source: [`drain`]'s uncertainty of the two voltages alone, solved for t; the table's
/// slope taken to be the same at both. Valid: draw 0.1 mA to 10 A, capacity 1 to 100 Ah, a share within the table.
/// Worked: 2 mA, 8.6 Ah, 5 mV at 12.55 V flooded: 76.01 h (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`BatteryRefusal`] outside the valid range.
pub fn time_to_see(
    table: &RestTable,
    reading: RestReading,
    capacity_ampere_hours: f64,
    draw: Current,
    each_volt: StandardUncertainty,
) -> Result<Time, BatteryRefusal> {
    let ampere = drawn(draw)?;
    let capacity = capacity(capacity_ampere_hours)?;
    let alone =
        RestU { volt: StandardUncertainty::new(1.0).map_err(Refusal::from)?, battery_k: StandardUncertainty::ZERO };
    let Charge::Share(share) = state_of_charge_with_u(table, reading, alone)? else {
        return Err(BatteryRefusal::OutsideTable);
    };
    let seen = 2.0 * core::f64::consts::SQRT_2 * each_volt.get() * share.sensitivity() * capacity / ampere;
    Ok(Time::from_hours(seen).map_err(Refusal::from)?)
}

/// How long a battery stands a draw before it falls to the least state of charge.
///
/// t = (s − s_min) C/I     C in Ah, I in A, t in h
///
/// Self-discharge comes on top (some per cent a month, more in the warm: common practice). Source: definition.
/// Valid: s_min to s within 0 to 1, capacity 1 to 100 Ah, draw 0.1 mA to 10 A.
/// Worked: full to half of 12 Ah at 20 mA: 300 h (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn stands_for(standing: Standing, draw: Current) -> Result<Time, Refusal> {
    let (share, capacity, ampere) = checked(standing, draw)?;
    Ok(Time::from_hours(share * capacity / ampere)?)
}

/// [`stands_for`] with its uncertainty in h.
///
/// c(s) = C/I, c(C) = t/C, c(I) = −t/I
///
/// # Errors
/// As for [`stands_for`].
pub fn stands_for_with_u(standing: Standing, draw: Current, u: StandingU) -> Result<Propagated<Time>, Refusal> {
    let (_, capacity, ampere) = checked(standing, draw)?;
    let time = stands_for(standing, draw)?;
    let hours = time.hours();
    Propagated::of(
        time,
        [
            ("state of charge", capacity / ampere, u.now),
            ("capacity", hours / capacity, u.capacity_ampere_hours),
            ("draw", -hours / ampere, u.draw_ampere),
        ],
    )
}

fn checked(standing: Standing, draw: Current) -> Result<(f64, f64, f64), Refusal> {
    let least = within("least state of charge", standing.least.one(), Unit::One, (0.0, 1.0, "0 to 1"))?;
    let allowed = (least, 1.0, "from the least to 1");
    let now = within("state of charge", standing.now.one(), Unit::One, allowed)?;
    Ok((now - least, capacity(standing.capacity_ampere_hours)?, drawn(draw)?))
}

fn capacity(ampere_hours: f64) -> Result<f64, Refusal> {
    within("capacity in Ah", ampere_hours, Unit::One, (1.0, 100.0, "1 to 100 Ah"))
}

fn drawn(draw: Current) -> Result<f64, Refusal> {
    within("draw", draw.ampere(), Unit::Ampere, (1e-4, 10.0, "0.1 mA to 10 A"))
}
