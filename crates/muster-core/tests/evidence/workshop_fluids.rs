//! Computes the evidence rows on brake fluid, coolant and batteries of the workshop.

use super::number;
use super::physics::{celsius, one_if, propagated, said, split, text, u, value_or_refused};
use super::physics_parts::{reading, rest_u, table, volt};
use muster_core::formula::battery::BatteryRefusal;
use muster_core::formula::brake_fluid::{self, Boils, Grade, TopUp};
use muster_core::formula::charging::{self, Charging, Window};
use muster_core::formula::coolant::{self, Glycol};
use muster_core::formula::standing::{self, Overnight, Standing, StandingU};
use muster_core::quantity::{Current, Ratio, Temperature, Time, Voltage};
use muster_core::statistics::uncertainty::StandardUncertainty;
use toml::Table;

pub(super) fn of_brake_fluid(name: &str, input: &Table) -> Result<f64, String> {
    let grade = |key| Grade::find(text(input, key)?).ok_or_else(|| format!("no grade {key}"));
    match split(name) {
        ("dry", None) => said(grade("grade")?.dry().map(Temperature::celsius)),
        ("wet", None) => said(grade("grade")?.wet().map(Temperature::celsius)),
        ("find", Some("none")) => Ok(one_if(Grade::find(text(input, "grade")?).is_none())),
        ("top_up", Some(kind)) => {
            let said = match brake_fluid::top_up(grade("cap")?, grade("bottle")?) {
                TopUp::Same => "same",
                TopUp::Higher => "higher",
                TopUp::Lower => "lower",
                TopUp::OtherBase => "other-base",
            };
            Ok(one_if(said == kind))
        }
        ("boils", figure) => {
            let boils = brake_fluid::boils(grade("grade")?, celsius(input, "celsius")?);
            match (figure, boils) {
                (Some("share"), Ok(Boils::Between(share))) => Ok(share.one()),
                (Some("below"), Ok(Boils::BelowWet(by))) => Ok(by.kelvin()),
                (Some("as-new"), boils) => Ok(one_if(boils == Ok(Boils::AsNew))),
                (figure, boils) => value_or_refused(boils.map(|_| 0.0), figure),
            }
        }
        ("age", figure) => {
            let day = |key| said(text(input, key)?.parse::<jiff::civil::Date>());
            let age = brake_fluid::age(day("changed")?, day("on")?, number(input, "life")? as u32);
            match figure {
                Some("over") => Ok(one_if(said(age)?.is_over)),
                Some("months") => Ok(f64::from(said(age)?.age.whole_months())),
                _ => Ok(one_if(age.is_err())),
            }
        }
        _ => Err(format!("unknown formula brake_fluid::{name}")),
    }
}

pub(super) fn of_coolant(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let fraction = |key| number(input, key).and_then(|x| said(Ratio::from_one(x)));
    let glycol =
        |key| Ok::<_, String>(if text(input, key)? == "ethylene" { Glycol::Ethylene } else { Glycol::Propylene });
    match function {
        "litres_to_replace" => {
            let (now, wanted, concentrate) = (fraction("now")?, fraction("wanted")?, fraction("concentrate")?);
            value_or_refused(coolant::litres_to_replace(number(input, "system")?, now, wanted, concentrate), figure)
        }
        "mix_to_top_up" => {
            let (system, missing) = (number(input, "system")?, number(input, "missing")?);
            let mix = coolant::mix_to_top_up(system, missing, fraction("now")?, fraction("wanted")?);
            value_or_refused(mix.map(Ratio::one), figure)
        }
        "mass_fraction_freezing_at" => {
            let fraction = coolant::mass_fraction_freezing_at(glycol("glycol")?, celsius(input, "celsius")?);
            value_or_refused(fraction.map(Ratio::one), figure)
        }
        "read_on_scale" => {
            let fraction = coolant::read_on_scale(glycol("scale")?, glycol("glycol")?, celsius(input, "celsius")?);
            value_or_refused(fraction.map(Ratio::one), figure)
        }
        _ => Err(format!("unknown formula coolant::{name}")),
    }
}

pub(super) fn of_charging(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let cells = number(input, "cells")? as u8;
    if function == "charging_voltage_with_u" {
        let battery = (celsius(input, "celsius")?, u(input, "celsius_u")?);
        let result = said(charging::charging_voltage_with_u(volt(input, "volt")?, cells, battery))?;
        return propagated(&result, figure, Voltage::volt);
    }
    let window = Window::new(volt(input, "low")?, volt(input, "high")?)
        .and_then(|window| window.at(cells, Temperature::from_celsius(number(input, "celsius").unwrap_or(25.0))?));
    match (function, figure) {
        ("at", Some("low")) => Ok(said(window)?.low().volt()),
        ("at", Some("high")) => Ok(said(window)?.high().volt()),
        ("at", figure) => value_or_refused(window.map(|window| window.low().volt()), figure),
        ("compare", figure) => match (figure, said(said(window)?.compare(volt(input, "volt")?))?) {
            (Some("under"), Charging::Under(by)) | (Some("over"), Charging::Over(by)) => Ok(by.volt()),
            (Some("within"), charging) => Ok(one_if(charging == Charging::Within)),
            (_, charging) => Err(format!("{charging:?}")),
        },
        _ => Err(format!("unknown formula charging::{name}")),
    }
}

pub(super) fn of_standing(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let draw = || number(input, "milliampere").and_then(|of| said(Current::from_milliampere(of)));
    match function {
        "overnight" => of_overnight(figure, input),
        "time_to_see" => {
            let ampere_hours = number(input, "ampere_hours")?;
            let time = standing::time_to_see(
                &table(input)?,
                reading(input, "volt")?,
                ampere_hours,
                draw()?,
                u(input, "volt_u")?,
            );
            match (figure, time) {
                (None, time) => said(time.map(Time::hours)),
                (Some("outside"), time) => Ok(one_if(time == Err(BatteryRefusal::OutsideTable))),
                (figure, Err(BatteryRefusal::Formula(refusal))) => value_or_refused(Err(refusal), figure),
                (_, time) => Err(format!("{time:?}")),
            }
        }
        "stands_for" => value_or_refused(standing::stands_for(stands(input)?, draw()?).map(Time::hours), figure),
        "stands_for_with_u" => {
            let u = StandingU {
                now: u(input, "now_u")?,
                capacity_ampere_hours: u(input, "ampere_hours_u")?,
                draw_ampere: said(StandardUncertainty::new(number(input, "milliampere_u")? / 1000.0))?,
            };
            propagated(&said(standing::stands_for_with_u(stands(input)?, draw()?, u))?, figure, Time::hours)
        }
        _ => Err(format!("unknown formula standing::{name}")),
    }
}

fn stands(input: &Table) -> Result<Standing, String> {
    Ok(Standing {
        now: said(Ratio::from_one(number(input, "now")?))?,
        least: said(Ratio::from_one(number(input, "least")?))?,
        capacity_ampere_hours: number(input, "ampere_hours")?,
    })
}

fn of_overnight(figure: Option<&str>, input: &Table) -> Result<f64, String> {
    let readings = (reading(input, "before")?, reading(input, "after")?);
    let between = said(Time::from_hours(number(input, "hours")?))?;
    let found = standing::overnight(&table(input)?, readings, between, number(input, "ampere_hours")?, rest_u(input)?);
    match (figure, found) {
        (Some("outside"), found) => Ok(one_if(found == Err(BatteryRefusal::OutsideTable))),
        (Some("not-resolvable"), found) => Ok(one_if(matches!(said(found)?, Overnight::NotResolvable { .. }))),
        (Some("at-most"), Ok(Overnight::NotResolvable { at_most })) => Ok(at_most.milliampere()),
        (figure, Ok(Overnight::Draw(draw))) => propagated(&draw, figure, Current::milliampere),
        (_, found) => Err(format!("{found:?}")),
    }
}
