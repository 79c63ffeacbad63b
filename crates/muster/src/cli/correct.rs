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
    // Without a gauge the yard lends nothing but its decimal sign: no need to name it.
    let site = match asked.with {
        Some(_) => Site::open(global)?,
        None => Site::load(global.yard.as_deref(), global)?,
    };
    let given = given(&site, asked)?;
    let cold = cold_equivalent_with_u(given.gauge, given.tyre, given.air, given.barometer, given.u)?;
    let unit = given.reading.unit();
    let shown = |kpa: f64, more: usize| show::rounded(unit.from_canonical(kpa), decimals(unit) + more, unit);
    // A difference is no temperature: it converts by the step alone.
    let spread = |kpa: f64, more: usize| show::rounded(kpa / unit.step(), decimals(unit) + more, unit);
    let mut paper = Paper::new(global.color);
    if given.near {
        let text = "Tyre and air are as good as one temperature: not ridden for three hours it counts as cold, and what \
                    the gauge shows stands.";
        paper.hung("", Ink::Strong, text);
    }
    let text = format!(
        "{} with the tyre at {} is {} ±\u{a0}{} cold, in air of {}.",
        given.reading,
        celsius(given.tyre),
        shown(cold.value().kpa(), 0),
        spread(cold.u().expanded(), 0),
        celsius(given.air)
    );
    paper.hung("", Ink::Strong, &text);
    if let Some(target) = &asked.target {
        let target = text::read(Kind::GaugePressure, target, site.yard.sign).context("--target")?;
        let target = GaugePressure::try_from(target)?;
        let now = pump_to_now(target, given.tyre, given.air, given.barometer)?;
        let target = shown(target.kpa(), 0);
        let text = if now.kpa() > given.gauge.kpa() {
            format!("To show {target} cold, pump to {} on the gauge now; read again cold.", shown(now.kpa(), 0))
        } else {
            format!("It shows {target} cold or more already: let no air out; read again cold.")
        };
        paper.hung("", Ink::Plain, &text);
    }
    let parts = cold.components().iter().filter(|part| part.contribution().get() > 0.0);
    let parts: Vec<String> =
        parts.map(|part| format!("{} {}", part.name(), spread(part.contribution().get(), 1))).collect();
    let text = format!(
        "(p + pₐ) × {:.2} K / {:.2} K − pₐ, pₐ = {}; dry gas in a fixed volume; ± is k = 2, from u of: {}.",
        given.air.kelvin(),
        given.tyre.kelvin(),
        shown(given.barometer.kpa(), 1),
        parts.join(", ")
    );
    paper.hung("", Ink::Faint, &text);
    if asked.with.is_none() {
        paper.hung("", Ink::Faint, "The gauge's own error is not in it: name the gauge, --with ID.");
    }
    paper.print()?;
    Ok(MAY_GO)
}

/// What was asked, as quantities.
struct Given {
    reading: Amount,
    gauge: GaugePressure,
    tyre: Temperature,
    air: Temperature,
    barometer: AbsolutePressure,
    u: WarmTyreU,
    /// Tyre and air count as one temperature.
    near: bool,
}

fn given(site: &Site, asked: &Correct) -> Result<Given> {
    let figure = |kind, given: &str| text::read(kind, given, site.yard.sign);
    let reading = figure(Kind::GaugePressure, &asked.reading)?;
    let tyre = Temperature::try_from(figure(Kind::Temperature, &asked.tyre).context("--tyre")?)?;
    let air = Temperature::try_from(figure(Kind::Temperature, &asked.air).context("--air")?)?;
    let rule = &site.catalogue.rule.tyre;
    let (barometer, barometer_u) = match &asked.barometer {
        Some(given) => {
            let read = figure(Kind::AbsolutePressure, given).context("--barometer")?;
            // Read to a tenth of a kilopascal, as barometers show it (common practice).
            (AbsolutePressure::try_from(read)?, 0.1)
        }
        None => (rule.barometer, rule.barometer_u_kpa),
    };
    let near = (tyre.kelvin() - air.kelvin()).abs() <= rule.cold_within.kelvin();
    let gas_u = if near { rule.air_u } else { rule.gas_u };
    let u = WarmTyreU {
        gauge_kpa: gauge_u(site, asked.with.as_deref(), reading)?,
        tyre_k: StandardUncertainty::new(gas_u.kelvin())?,
        air_k: StandardUncertainty::new(rule.air_u.kelvin())?,
        barometer_kpa: StandardUncertainty::new(barometer_u)?,
    };
    Ok(Given { reading, gauge: GaugePressure::try_from(reading)?, tyre, air, barometer, u, near })
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
