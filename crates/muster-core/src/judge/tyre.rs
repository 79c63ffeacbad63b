//! Whether a tyre is cold, what a warm one would show cold, and how far to pump it up now.

use alloc::{format, string::String};

use super::{Context, living::Given};
use crate::{
    calendar::Moment,
    form::Form,
    formula::tyre_gas::{WarmTyreU, cold_equivalent_with_u, pump_to_now},
    limit::Limit,
    quantity::{AbsolutePressure, GaugePressure, Temperature, TemperatureDifference, Unit, show},
    rule::TyreRule,
    state::Heat,
    statistics::{repeats::Estimate, uncertainty::StandardUncertainty},
};

/// What is known of a tyre when it was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Tyre {
    /// Cold: what the gauge shows is what the limit is given for.
    Cold,
    /// To be taken from one temperature to another at one barometer.
    Moved {
        /// Of the gas.
        from: Temperature,
        /// Of the air now, or what the sheet names.
        to: Temperature,
        /// The air's pressure.
        barometer: AbsolutePressure,
        /// The tyre was ridden or stood in the sun, rather than cold and its limit given for another temperature.
        warm: bool,
    },
    /// Warm, and how warm is not known.
    Unknown,
}

/// When a machine is cold again: so long after it came back; none where nobody said when that was.
pub(super) fn cold_at(rule: &TyreRule, form: &Form) -> Option<Moment> {
    // A cast of a float saturates; the rule's rest is hours.
    form.ridden.map(|back| back.later_by(rule.rested.seconds() as i64))
}

/// How warm the machine was when an answer was given: as it was found, till it has stood long enough since.
pub(super) fn heat(rule: &TyreRule, given: &Given<'_>) -> Heat {
    let cooled = cold_at(rule, given.form).is_some_and(|cold| given.form.opened < cold && cold <= given.answer.at);
    if cooled { Heat::Cold } else { given.form.found.heat }
}

/// Decides which, by the rule's data: cold within 3 K of the air and not ridden for 3 h, as it stands.
pub(super) fn state(context: &Context<'_>, given: &Given<'_>, limit: &Limit) -> Tyre {
    let rule = &context.catalogue.rule.tyre;
    let (answer, form) = (given.answer, given.form);
    let air = answer.air.or(form.air);
    let barometer = form.barometer.and_then(|amount| AbsolutePressure::try_from(amount).ok()).unwrap_or(rule.barometer);
    let rested = form.ridden.is_none_or(|back| answer.at.seconds_since(back) as f64 >= rule.rested.seconds());
    let near =
        answer.tyre.zip(air).map(|(tyre, air)| libm::fabs(tyre.kelvin() - air.kelvin()) <= rule.cold_within.kelvin());
    let cold = rested && heat(rule, given) == Heat::Cold && near != Some(false);
    let named = limit.at.and_then(|at| Temperature::try_from(at).ok());
    match (cold, named, answer.tyre, air) {
        (true, None, _, _) => Tyre::Cold,
        (true, Some(to), tyre, air) => match tyre.or(air) {
            Some(from) => Tyre::Moved { from, to, barometer, warm: false },
            None => Tyre::Unknown,
        },
        (false, named, Some(from), Some(air)) => Tyre::Moved { from, to: named.unwrap_or(air), barometer, warm: true },
        (false, ..) => Tyre::Unknown,
    }
}

/// How well the gas's temperature is known: a tyre as cold as the air is known as well as the air is.
fn gas_u(rule: &TyreRule, warm: bool) -> TemperatureDifference {
    if warm { rule.gas_u } else { rule.air_u }
}

/// Takes an estimate to the limit's conditions.
pub(super) fn corrected(estimate: &Estimate, unit: Unit, tyre: Tyre, rule: &TyreRule) -> Option<Estimate> {
    let Tyre::Moved { from, to, barometer, warm } = tyre else { return Some(estimate.clone()) };
    let kelvin = |value: f64| StandardUncertainty::new(value).ok();
    let u = WarmTyreU {
        gauge_kpa: StandardUncertainty::ZERO,
        tyre_k: kelvin(gas_u(rule, warm).kelvin())?,
        air_k: kelvin(rule.air_u.kelvin())?,
        barometer_kpa: StandardUncertainty::new(rule.barometer_u_kpa).ok()?,
    };
    let gauge = GaugePressure::from_kpa(unit.to_canonical(estimate.value())).ok()?;
    let cold = cold_equivalent_with_u(gauge, from, to, barometer, u).ok()?;
    let value = unit.from_canonical(cold.value().kpa());
    let own = cold.u().scaled(1.0 / unit.step()).ok()?;
    estimate.corrected(value, to.kelvin() / from.kelvin(), own).ok()
}

/// How an estimate was taken to the limit's conditions, in words; nothing where it was not.
pub(super) fn working(cold: &Estimate, unit: Unit, tyre: Tyre, rule: &TyreRule) -> Option<String> {
    let Tyre::Moved { from, to, barometer, warm } = tyre else { return None };
    Some(format!(
        "(p + {air}) × {to:.2} K / {from:.2} K − {air} = {value}: gas law, tyre {t}, u of the gas {u} K",
        air = show::rounded(unit.from_canonical(barometer.kpa()), 1, unit),
        to = to.kelvin(),
        from = from.kelvin(),
        value = show::rounded(cold.value(), 1, unit),
        t = show::rounded(from.celsius(), 0, Unit::Celsius),
        u = show::figure(gas_u(rule, warm).kelvin()),
    ))
}

/// What the gauge must show now, so that the tyre shows the target once cold; in the target's unit.
pub(super) fn pump_to(target: f64, unit: Unit, tyre: Tyre) -> Option<f64> {
    match tyre {
        Tyre::Cold => Some(target),
        Tyre::Unknown => None,
        Tyre::Moved { from, to, barometer, .. } => {
            let target = GaugePressure::from_kpa(unit.to_canonical(target)).ok()?;
            let now = pump_to_now(target, from, to, barometer).ok()?;
            Some(unit.from_canonical(now.kpa()))
        }
    }
}
