//! `muster correct`: a warm tyre's reading taken to the air's temperature, and how far to pump now.

use anyhow::{Context as _, Result};
use muster_core::{
    formula::tyre_gas::{WarmTyreU, cold_equivalent_with_u, pump_to_now},
    quantity::{AbsolutePressure, Amount, GaugePressure, Kind, Temperature, Unit, show, text},
    statistics::{repeats, uncertainty::StandardUncertainty},
};

use super::{
    MAY_GO,
    arguments::{Correct, Global},
    paper::{Ink, Paper},
    site::{Site, hint},
};

/// Corrects one reading.
///
/// # Errors
/// Figures that cannot be read, or lie outside what the gas law covers.
pub(crate) fn run(global: &Global, asked: &Correct) -> Result<u8> {
    // The demonstration yard lends nothing but its decimal sign: no need to name it.
    let site = Site::load(global.yard.as_deref(), global)?;
    let figure = |kind, given: &str| text::read(kind, given, site.yard.sign);
    let reading = figure(Kind::GaugePressure, &asked.reading)?;
    let tyre = Temperature::try_from(figure(Kind::Temperature, &asked.tyre).context("--tyre")?)?;
    let air = Temperature::try_from(figure(Kind::Temperature, &asked.air).context("--air")?)?;
    let rule = &site.catalogue.rule.tyre;
    let barometer = match &asked.barometer {
        Some(given) => AbsolutePressure::try_from(figure(Kind::AbsolutePressure, given).context("--barometer")?)?,
        None => rule.barometer,
    };
    let near = (tyre.kelvin() - air.kelvin()).abs() <= rule.cold_within.kelvin();
    let gas_u = if near { rule.air_u } else { rule.gas_u };
    let u = WarmTyreU {
        gauge_kpa: gauge_u(&site, asked.with.as_deref(), reading)?,
        tyre_k: StandardUncertainty::new(gas_u.kelvin())?,
        air_k: StandardUncertainty::new(rule.air_u.kelvin())?,
        barometer_kpa: StandardUncertainty::new(if asked.barometer.is_some() { 0.0 } else { rule.barometer_u_kpa })?,
    };
    let gauge = GaugePressure::try_from(reading)?;
    let cold = cold_equivalent_with_u(gauge, tyre, air, barometer, u)?;
    let unit = reading.unit();
    let shown = |kpa: f64| show::rounded(unit.from_canonical(kpa), decimals(unit), unit);
    let expanded = show::rounded(cold.u().expanded() / unit.step(), decimals(unit), unit);
    let mut paper = Paper::new(global.color);
    if near {
        let text = "Tyre and air are as good as one temperature: a tyre not ridden for three hours counts as cold, and what the gauge shows stands.";
        paper.hung("", Ink::Strong, text);
    }
    paper.hung(
        "",
        Ink::Strong,
        &format!(
            "{reading} with the tyre at {} is {} ±\u{a0}{expanded} cold, in air of {}.",
            celsius(tyre),
            shown(cold.value().kpa()),
            celsius(air)
        ),
    );
    if let Some(target) = &asked.target {
        let target = GaugePressure::try_from(figure(Kind::GaugePressure, target).context("--target")?)?;
        let now = pump_to_now(target, tyre, air, barometer)?;
        let text = if now.kpa() > gauge.kpa() {
            format!(
                "To show {} cold, pump to {} on the gauge now; read again cold.",
                shown(target.kpa()),
                shown(now.kpa())
            )
        } else {
            format!("It shows {} cold or more already: let no air out; read again cold.", shown(target.kpa()))
        };
        paper.hung("", Ink::Plain, &text);
    }
    let parts = cold.components().iter().filter(|part| part.contribution().get() > 0.0);
    let parts: Vec<String> = parts
        .map(|part| {
            format!(
                "{} {}",
                part.name(),
                show::rounded(part.contribution().get() / unit.step(), decimals(unit) + 1, unit)
            )
        })
        .collect();
    paper.hung(
        "",
        Ink::Faint,
        &format!(
            "(p + pₐ) × {:.2} K / {:.2} K − pₐ, pₐ = {}; dry gas in a fixed volume; ± is k = 2, from u of: {}.",
            air.kelvin(),
            tyre.kelvin(),
            shown(barometer.kpa()),
            parts.join(", ")
        ),
    );
    if asked.with.is_none() {
        paper.hung("", Ink::Faint, "The gauge's own error is not in it: name the gauge, --with ID.");
    }
    paper.print()?;
    Ok(MAY_GO)
}

fn gauge_u(site: &Site, with: Option<&str>, reading: Amount) -> Result<StandardUncertainty> {
    let Some(id) = with else { return Ok(StandardUncertainty::ZERO) };
    let known = &site.yard.instruments;
    let instrument = known.get(id).filter(|instrument| instrument.reads == Kind::GaugePressure).with_context(|| {
        let gauges = known.values().filter(|other| other.reads == Kind::GaugePressure);
        format!("no tyre gauge `{id}` in {}{}", site.yard.name, hint(id, gauges.map(|gauge| gauge.id.as_str())))
    })?;
    let estimate = repeats::combined(&[reading.canonical()], instrument.error(Unit::Kilopascal)?, None)?;
    Ok(estimate.u())
}

fn decimals(unit: Unit) -> usize {
    match unit {
        Unit::Bar => 2,
        _ => 1,
    }
}

fn celsius(temperature: Temperature) -> String {
    show::rounded(temperature.celsius(), 0, Unit::Celsius)
}
