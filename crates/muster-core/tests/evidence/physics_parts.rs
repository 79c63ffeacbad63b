//! Computes the evidence rows on batteries, coolant and oil, for the field physics.

use super::number;
use super::physics::{celsius, mm, one_if, propagated, said, split, text, u, value_or_refused};
use muster_core::formula::battery::{
    self, BatteryRefusal, Charge, Chemistry, Drain, RestReading, RestTable, RestU, TableUse,
};
use muster_core::formula::coolant::{self, Concentration, Glycol};
use muster_core::formula::oil::{self, LeanCase, LeanU, Sump};
use muster_core::quantity::{Angle, Length, Ratio, Temperature, Time, Voltage};
use muster_core::statistics::uncertainty::StandardUncertainty;
use toml::Table;

pub(crate) fn of_battery(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    match (function, figure) {
        ("charging_voltage", figure) => {
            let result = battery::charging_voltage(
                volt(input, "volt")?,
                number(input, "cells")? as u8,
                celsius(input, "battery_c")?,
            );
            value_or_refused(result.map(Voltage::volt), figure)
        }
        ("at_reference", None) => said(
            battery::at_reference(&table(input)?, volt(input, "volt")?, celsius(input, "battery_c")?)
                .map(Voltage::volt),
        ),
        ("RestTable::built_in", Some("none")) => {
            Ok(one_if(matches!(RestTable::built_in(chemistry(input)?), Err(BatteryRefusal::NoTable))))
        }
        ("refuse_plateau", Some("refused")) => {
            let result = battery::refuse_plateau(chemistry(input)?, volt(input, "volt")?);
            Ok(one_if(matches!(result, Err(BatteryRefusal::OnPlateau { .. }))))
        }
        ("state_of_charge", figure) => {
            let charge = battery::state_of_charge(&table(input)?, reading(input, "volt")?);
            match (figure, charge) {
                (None, Ok(Charge::Share(share))) | (Some("under"), Ok(Charge::Under(share))) => Ok(share.percent()),
                (Some("flat"), charge) => Ok(one_if(charge == Ok(Charge::Flat))),
                (Some("above-full"), Ok(Charge::AboveFull { excess })) => Ok(excess.volt()),
                (Some("not-rested"), charge) => Ok(one_if(matches!(charge, Err(BatteryRefusal::NotRested { .. })))),
                (_, charge) => Err(format!("{charge:?}")),
            }
        }
        ("state_of_charge_with_u", figure) => {
            match said(battery::state_of_charge_with_u(&table(input)?, reading(input, "volt")?, rest_u(input)?))? {
                Charge::Share(share) => propagated(&share, figure, Ratio::percent),
                other => Err(format!("{other:?}")),
            }
        }
        ("drain", figure) => of_drain(figure, input),
        _ => Err(format!("unknown formula battery::{name}")),
    }
}

pub(crate) fn of_coolant(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let fraction = |key| number(input, key).and_then(|x| said(Ratio::from_one(x)));
    if function == "share_to_replace" {
        let result = coolant::share_to_replace(fraction("now")?, fraction("wanted")?, fraction("concentrate")?);
        return value_or_refused(result.map(Ratio::one), figure);
    }
    let glycol = if text(input, "glycol")? == "ethylene" { Glycol::Ethylene } else { Glycol::Propylene };
    let concentration = if input.contains_key("volume") {
        Concentration::VolumeFraction(fraction("volume")?)
    } else {
        Concentration::MassFraction(fraction("mass")?)
    };
    match function {
        "freezing_point" => {
            value_or_refused(coolant::freezing_point(glycol, concentration).map(Temperature::celsius), figure)
        }
        "freezing_point_with_u" => {
            let result = said(coolant::freezing_point_with_u(glycol, concentration, u(input, "fraction_u")?))?;
            propagated(&result, figure, Temperature::celsius)
        }
        "mass_fraction" => said(coolant::mass_fraction(glycol, concentration).map(Ratio::one)),
        _ => Err(format!("unknown formula coolant::{name}")),
    }
}

pub(crate) fn of_oil(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let sump = || Ok::<_, String>(Sump { width: mm(input, "width")?, depth: mm(input, "depth")? });
    if function == "stick_reading" {
        let lean = said(Angle::from_degrees(number(input, "lean_degrees")?))?;
        let result = oil::stick_reading(sump()?, mm(input, "stick_offset")?, lean);
        return value_or_refused(result.map(Length::mm), figure);
    }
    let case = LeanCase {
        sheet_lean: said(Angle::from_degrees(number(input, "lean_degrees")?))?,
        ride_height_change: mm(input, "change")?,
        foot_offset: mm(input, "foot_offset")?,
        stick_offset: mm(input, "stick_offset")?,
    };
    match function {
        "lean_after" => value_or_refused(oil::lean_after(&case).map(Angle::degrees), figure),
        "shift" => {
            let u = LeanU {
                ride_height_change_mm: u(input, "change_u")?,
                foot_offset_mm: u(input, "foot_u")?,
                stick_offset_mm: u(input, "stick_u")?,
            };
            let result = oil::shift(&case, sump()?, u);
            match figure {
                Some("refused") => value_or_refused(result.map(|shift| shift.value().mm()), figure),
                figure => propagated(&said(result)?, figure, Length::mm),
            }
        }
        _ => Err(format!("unknown formula oil::{name}")),
    }
}

fn of_drain(figure: Option<&str>, input: &Table) -> Result<f64, String> {
    let readings = (reading(input, "before")?, reading(input, "after")?);
    let between = said(Time::from_hours(number(input, "hours")?))?;
    let drain = battery::drain(&table(input)?, readings, between, number(input, "ampere_hours")?, rest_u(input)?);
    match (figure, drain) {
        (Some("outside"), drain) => Ok(one_if(drain == Err(BatteryRefusal::OutsideTable))),
        (Some("not-resolvable"), drain) => Ok(one_if(matches!(said(drain)?, Drain::NotResolvable(_)))),
        (Some("not-resolvable-u"), Ok(Drain::NotResolvable(current))) => Ok(current.u().get()),
        (figure, Ok(Drain::Current(current))) => propagated(&current, figure, |milliampere| milliampere),
        (_, drain) => Err(format!("{drain:?}")),
    }
}

pub(super) fn rest_u(input: &Table) -> Result<RestU, String> {
    Ok(RestU { volt: u(input, "volt_u")?, battery_k: u(input, "battery_u")? })
}

pub(super) fn reading(input: &Table, volts: &str) -> Result<RestReading, String> {
    Ok(RestReading {
        voltage: volt(input, volts)?,
        battery: celsius(input, "battery_c")?,
        rested: said(Time::from_hours(number(input, "rested_h")?))?,
    })
}

pub(super) fn volt(input: &Table, key: &str) -> Result<Voltage, String> {
    said(Voltage::from_volt(number(input, key)?))
}

fn chemistry(input: &Table) -> Result<Chemistry, String> {
    match text(input, "chemistry")? {
        "flooded" => Ok(Chemistry::LeadAcidFlooded),
        "glass-mat" => Ok(Chemistry::AbsorbedGlassMat),
        "lithium-iron-phosphate" => Ok(Chemistry::LithiumIronPhosphate),
        other => Err(format!("chemistry {other}")),
    }
}

/// Returns the built-in table, or the same rows with the slope the row names.
pub(super) fn table(input: &Table) -> Result<RestTable, String> {
    if !input.contains_key("volt_per_kelvin") {
        return said(RestTable::built_in(chemistry(input)?));
    }
    let row = |volts, share| Ok::<_, String>((said(Voltage::from_volt(volts))?, said(Ratio::from_one(share))?));
    let with = TableUse {
        reference: said(Temperature::from_fahrenheit(80.0))?,
        volt_per_kelvin: number(input, "volt_per_kelvin")?,
        volt_per_kelvin_u: StandardUncertainty::ZERO,
        table_volt: StandardUncertainty::ZERO,
        least_rest: said(Time::from_hours(6.0))?,
    };
    said(RestTable::new(chemistry(input)?, &[row(11.89, 0.0)?, row(12.65, 1.0)?], with))
}
