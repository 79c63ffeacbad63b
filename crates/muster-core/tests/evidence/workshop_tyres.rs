//! Computes the evidence rows on tyres: index tables, marks, fit, loads.

use super::physics::{one_if, propagated, said, split, text, u, value_or_refused};
use super::{number, numbers};
use muster_core::formula::tyre_fit::{self, Mismatch};
use muster_core::formula::tyre_index::{IndexRefusal, LoadIndex, SpeedSymbol};
use muster_core::formula::tyre_load::{LoadTable, LoadTableRefusal};
use muster_core::formula::tyre_marking::{Construction, MarkingRefusal, SectionWidth, Tube, TyreMarking};
use muster_core::quantity::{GaugePressure, Length, Mass, Ratio, Speed};
use toml::Table;

pub(super) fn of_index(name: &str, input: &Table) -> Result<f64, String> {
    let symbol = || text(input, "symbol")?.chars().next().ok_or_else(|| "no symbol".to_owned());
    let least = || Ok::<_, String>(LoadIndex::least_for(said(Mass::from_kg(number(input, "kg")?))?));
    match split(name) {
        ("load", None) => said(said(LoadIndex::new(number(input, "index")? as u8))?.load().map(Mass::kg)),
        ("load", Some("refused")) => {
            let refused = LoadIndex::new(number(input, "index")? as u8);
            Ok(one_if(matches!(refused, Err(IndexRefusal::NoSuchIndex { .. }))))
        }
        ("least_for", None) => least()?.map(|index| f64::from(index.get())).ok_or_else(|| "none".into()),
        ("least_for", Some("none")) => Ok(one_if(least()?.is_none())),
        ("speed", None) => said(said(SpeedSymbol::new(symbol()?, false))?.speed().map(Speed::km_per_h)),
        ("speed", Some("refused")) => {
            Ok(one_if(matches!(SpeedSymbol::new(symbol()?, false), Err(IndexRefusal::NoSuchSymbol { .. }))))
        }
        ("in_size", Some("speed")) => said(said(SpeedSymbol::in_size(symbol()?))?.speed().map(Speed::km_per_h)),
        ("in_size", Some("above")) => Ok(one_if(said(SpeedSymbol::in_size(symbol()?))?.is_above())),
        _ => Err(format!("unknown formula tyre_index::{name}")),
    }
}

pub(super) fn of_marking(name: &str, input: &Table) -> Result<f64, String> {
    let read = TyreMarking::parse(text(input, "text")?);
    let (function, figure) = split(name);
    if let Some(part) = figure.and_then(|figure| figure.strip_prefix("refused-")) {
        return Ok(one_if(read.is_err_and(|refusal| part_of(&refusal) == part)));
    }
    let marking = said(read)?;
    match (function, figure) {
        ("parse", Some(figure)) => figure_of(&marking, figure),
        ("width_length", None) => said(marking.width_length().map(Length::mm)),
        ("aspect_ratio", None) => said(marking.aspect_ratio())?.map(Ratio::percent).ok_or_else(|| "no aspect".into()),
        _ => Err(format!("unknown formula tyre_marking::{name}")),
    }
}

fn part_of(refusal: &MarkingRefusal) -> &'static str {
    match refusal {
        MarkingRefusal::Width { .. } => "width",
        MarkingRefusal::Aspect { .. } => "aspect",
        MarkingRefusal::Construction { .. } => "construction",
        MarkingRefusal::Rim { .. } => "rim",
        MarkingRefusal::Service(IndexRefusal::NoSuchIndex { .. }) => "index",
        MarkingRefusal::Service(IndexRefusal::NoSuchSymbol { .. }) => "symbol",
        MarkingRefusal::Word { .. } => "word",
        MarkingRefusal::Twice { .. } => "twice",
    }
}

fn figure_of(marking: &TyreMarking, figure: &str) -> Result<f64, String> {
    let none = || format!("no {figure} in {marking:?}");
    match figure {
        "width" => match marking.width {
            SectionWidth::Millimetre(mm) | SectionWidth::Code(_, mm) => Ok(f64::from(mm)),
            SectionWidth::InchHundredths(_) => Err(none()),
        },
        "width-inch" => match marking.width {
            SectionWidth::InchHundredths(hundredths) => Ok(f64::from(hundredths) / 100.0),
            _ => Err(none()),
        },
        "aspect" => marking.aspect.map(f64::from).ok_or_else(none),
        "aspect-none" => Ok(one_if(marking.aspect.is_none())),
        "construction" => Ok(match marking.construction {
            Construction::Bias => 0.0,
            Construction::Belted => 1.0,
            Construction::Radial => 2.0,
        }),
        "rim" => Ok(f64::from(marking.rim_code)),
        "motorcycle" => Ok(one_if(marking.motorcycle)),
        "load" => marking.load.map(|index| f64::from(index.get())).ok_or_else(none),
        "load-kg" => said(marking.load.ok_or_else(none)?.load().map(Mass::kg)),
        "load-none" => Ok(one_if(marking.load.is_none())),
        "speed" => said(marking.speed.ok_or_else(none)?.speed().map(Speed::km_per_h)),
        "above" => Ok(one_if(marking.speed.ok_or_else(none)?.is_above())),
        "tube" => Ok(match marking.tube {
            None => 0.0,
            Some(Tube::Tubeless) => 1.0,
            Some(Tube::Tubed) => 2.0,
        }),
        "reinforced" => Ok(one_if(marking.reinforced)),
        "ply" => marking.ply_rating.map(f64::from).ok_or_else(none),
        _ => Err(format!("unknown figure {figure}")),
    }
}

pub(super) fn of_fit(name: &str, input: &Table) -> Result<f64, String> {
    let ("mismatches", Some(kind)) = split(name) else { return Err(format!("unknown formula tyre_fit::{name}")) };
    let fitted = TyreMarking::parse(text(input, "fitted")?);
    if kind == "parse" {
        return Ok(one_if(fitted.is_ok()));
    }
    let found = tyre_fit::mismatches(&said(fitted)?, &said(TyreMarking::parse(text(input, "asked")?))?);
    Ok(if kind == "count" {
        found.len() as f64
    } else {
        one_if(found.len() == 1 && found.iter().all(|mismatch| kind_of(mismatch) == kind))
    })
}

fn kind_of(mismatch: &Mismatch) -> &'static str {
    match mismatch {
        Mismatch::Width { .. } => "width",
        Mismatch::Aspect { .. } => "aspect",
        Mismatch::Rim { .. } => "rim",
        Mismatch::Construction { .. } => "construction",
        Mismatch::Load { .. } => "load",
        Mismatch::LoadNotMarked { .. } => "load-not-marked",
        Mismatch::Speed { .. } => "speed",
        Mismatch::SpeedNotMarked { .. } => "speed-not-marked",
        Mismatch::NotMotorcycle => "not-motorcycle",
        Mismatch::Tube { .. } => "tube",
        Mismatch::NotReinforced => "not-reinforced",
    }
}

pub(super) fn of_load(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let table = match (load_table(input)?, figure) {
        (Err(_), Some("refused")) => return Ok(1.0),
        (table, _) => said(table)?,
    };
    let pressure = || number(input, "kpa").and_then(|kpa| said(GaugePressure::from_kpa(kpa)));
    match function {
        "load_at" => value_or_refused(table.load_at(pressure()?).map(Mass::kg), figure),
        "load_at_with_u" => {
            propagated(&said(table.load_at_with_u((pressure()?, u(input, "kpa_u")?)))?, figure, Mass::kg)
        }
        "pressure_for" => {
            let load = said(Mass::from_kg(number(input, "kg")?))?;
            value_or_refused(table.pressure_for(load).map(GaugePressure::kpa), figure)
        }
        _ => Err(format!("unknown formula tyre_load::{name}")),
    }
}

/// Returns the table of the row's own rows, or of its law.
fn load_table(input: &Table) -> Result<Result<LoadTable, LoadTableRefusal>, String> {
    let kpa = |of| said(GaugePressure::from_kpa(of));
    let kg = |of| said(Mass::from_kg(of));
    if input.contains_key("rows_kpa") {
        let pairs = numbers(input, "rows_kpa")?.into_iter().zip(numbers(input, "rows_kg")?);
        let rows = pairs.map(|(pressure, load)| Ok((kpa(pressure)?, kg(load)?))).collect::<Result<Vec<_>, String>>()?;
        return Ok(LoadTable::new(&rows));
    }
    Ok(LoadTable::of_law(
        kg(number(input, "at_reference")?)?,
        kpa(number(input, "reference")?)?,
        number(input, "exponent")?,
        kpa(number(input, "lowest")?)?,
    ))
}
