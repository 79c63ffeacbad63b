//! Computes the evidence rows of an outing: axle loads, springs, the lamp from masses to the beam, load transfer, stops.

use super::physics::{said, split, value_or_refused};
use super::{maybe_number, number, numbers};
use muster_core::formula::axle_load::{self, G, Loaded, Piece, PieceU};
use muster_core::formula::spring::{self, Air, Springs};
use muster_core::formula::{lamp, load_transfer};
use muster_core::quantity::{Angle, Distance, Force, Inclination, Length, Mass, Ratio, Speed, Time};
use muster_core::statistics::uncertainty::StandardUncertainty;
use toml::Table;

/// Returns what the core's `formula` gives for `input`.
pub(crate) fn compute(formula: &str, input: &Table) -> Result<f64, String> {
    let Some((module, name)) = formula.strip_prefix("formula::").and_then(|path| path.split_once("::")) else {
        return Err(format!("unknown formula {formula}"));
    };
    match module {
        "axle_load" => of_axles(name, input),
        "spring" => of_spring(name, input),
        "lamp" => end_to_end(name, input),
        "load_transfer" => of_transfer(name, input),
        _ => Err(format!("unknown formula {formula}")),
    }
}

fn length(mm: f64) -> Result<Length, String> {
    said(Length::from_mm(mm))
}

fn mm(input: &Table, key: &str) -> Result<Length, String> {
    length(number(input, key)?)
}

fn kg(of: f64) -> Result<Mass, String> {
    said(Mass::from_kg(of))
}

fn pieces(input: &Table) -> Result<Vec<Piece>, String> {
    let (masses, aheads, heights) = (numbers(input, "kg")?, numbers(input, "ahead")?, numbers(input, "height")?);
    let rows = masses.into_iter().zip(aheads).zip(heights);
    rows.map(|((mass, ahead), height)| Ok(Piece { mass: kg(mass)?, ahead: length(ahead)?, height: length(height)? }))
        .collect()
}

fn of_axles(name: &str, input: &Table) -> Result<f64, String> {
    match split(name) {
        ("loaded", Some("refused")) => {
            let of = axle_load::loaded(&pieces(input)?, mm(input, "wheelbase")?);
            value_or_refused(of.map(|of| of.mass.kg()), Some("refused"))
        }
        ("loaded", Some(figure)) => {
            let of = said(axle_load::loaded(&pieces(input)?, mm(input, "wheelbase")?))?;
            Ok(match figure {
                "mass" => of.mass.kg(),
                "ahead" => of.ahead.m(),
                "height" => of.height.m(),
                "front" => of.front.kg() * G,
                "rear" => of.rear.kg() * G,
                _ => return Err(format!("unknown figure of {name}")),
            })
        }
        ("axles_u", Some(figure)) => {
            let us = numbers(input, "kg_u")?.into_iter().zip(numbers(input, "ahead_u")?);
            let u = |of| said(StandardUncertainty::new(of));
            let with: Result<Vec<_>, String> = pieces(input)?
                .into_iter()
                .zip(us)
                .map(|(piece, (mass, ahead))| Ok((piece, PieceU { mass_kg: u(mass)?, ahead_mm: u(ahead)? })))
                .collect();
            let (front, rear) = said(axle_load::axles_u(&with?, mm(input, "wheelbase")?))?;
            Ok(if figure == "front" { front.get() } else { rear.get() })
        }
        ("centre_height", figure) => {
            let newton = |key| number(input, key).and_then(|of| said(Force::from_newton(of)));
            let of = axle_load::centre_height(
                (kg(number(input, "kg")?)?, mm(input, "wheelbase")?),
                mm(input, "axle")?,
                (newton("level")?, newton("tilted")?),
                said(Angle::from_degrees(number(input, "tilt")?))?,
            );
            value_or_refused(of.map(Length::m), figure)
        }
        _ => Err(format!("unknown formula axle_load::{name}")),
    }
}

fn springs(input: &Table) -> Result<Springs, String> {
    let optional = |key| maybe_number(input, key)?.map(length).transpose();
    Ok(Springs {
        rate_n_per_mm: number(input, "rate")?,
        then: optional("then_from")?.zip(maybe_number(input, "then")?),
        motion: number(input, "motion")?,
        motion_per_m: number(input, "per_m")?,
        air: optional("bore")?.zip(optional("gap")?).map(|(bore, gap)| Air { bore, gap }),
        unsprung: kg(0.0)?,
        travel: mm(input, "travel")?,
    })
}

fn of_spring(name: &str, input: &Table) -> Result<f64, String> {
    let mut of = springs(input)?;
    if of.air.is_some() {
        of.travel = length(155.0)?;
    }
    let load = kg(number(input, "load_n")? / G)?;
    let (function, figure) = split(name);
    let gives = match function {
        "sag" => spring::sag(&of, mm(input, "preload")?, load),
        "preload_for" => spring::preload_for(&of, mm(input, "wanted")?, load),
        _ => return Err(format!("unknown formula spring::{name}")),
    };
    value_or_refused(gives.map(Length::mm), figure)
}

/// From the masses aboard to the beam: the load of each axle, its sag, the pitch against a rider alone, the aim.
fn end_to_end(name: &str, input: &Table) -> Result<f64, String> {
    let base = length(1450.0)?;
    let plain = |rate_n_per_mm, motion, motion_per_m, unsprung| {
        Ok::<_, String>(Springs {
            rate_n_per_mm,
            then: None,
            motion,
            motion_per_m,
            air: None,
            unsprung: kg(unsprung)?,
            travel: length(150.0)?,
        })
    };
    let (front, rear) = (plain(18.0, 1.0, 0.0, 18.0)?, plain(95.0, 0.46, 0.9, 22.0)?);
    let sags = |of: &Loaded| {
        let front = said(spring::sag(&front, length(20.0)?, of.front))?;
        Ok::<_, String>((front, said(spring::sag(&rear, length(12.0)?, of.rear))?))
    };
    let all = pieces(input)?;
    let loaded = said(axle_load::loaded(&all, base))?;
    let alone = said(axle_load::loaded(all.get(..2).unwrap_or_default(), base))?;
    let ((front, rear), (front_then, rear_then)) = (sags(&loaded)?, sags(&alone)?);
    let more = |now: Length, then: Length| length(now.mm() - then.mm());
    let pitch = said(lamp::pitch(more(front, front_then)?, more(rear, rear_then)?, base))?;
    match split(name).1 {
        Some("front-sag") => Ok(front.mm()),
        Some("rear-sag") => Ok(rear.mm()),
        Some("pitch") => Ok(pitch.degrees()),
        Some("aim") => {
            let aimed = said(Inclination::from_percent(number(input, "aim")?))?;
            said(lamp::after_pitch(aimed, pitch)).map(Inclination::percent)
        }
        Some("rear-lifts") => said(load_transfer::rear_lifts_at(&loaded, base)),
        _ => Err(format!("unknown figure of lamp::{name}")),
    }
}

fn of_transfer(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let speed = || number(input, "km_h").and_then(|of| said(Speed::from_km_per_h(of)));
    let grip = || number(input, "grip").and_then(|of| said(Ratio::from_one(of)));
    if function == "stopping_distance" {
        let reaction = said(Time::from_seconds(number(input, "reaction")?))?;
        let way = load_transfer::stopping_distance(speed()?, reaction, number(input, "a")?);
        return value_or_refused(way.map(metres), figure);
    }
    if function == "by_grip" {
        let slope = said(Ratio::from_percent(number(input, "slope")?))?;
        let rate = said(load_transfer::by_grip(grip()?, slope))?;
        return said(load_transfer::stopping_distance(speed()?, said(Time::from_seconds(0.0))?, rate)).map(metres);
    }
    let base = mm(input, "wheelbase")?;
    let piece = Piece { mass: kg(number(input, "kg")?)?, ahead: mm(input, "ahead")?, height: mm(input, "height")? };
    let of = said(axle_load::loaded(&[piece], base))?;
    let one = |(front, rear): (f64, f64)| if figure == Some("rear") { rear } else { front };
    match function {
        "under_braking" => {
            let loads = load_transfer::under_braking(&of, base, number(input, "a")?);
            let loads = loads.map(|(front, rear)| one((front.newton(), rear.newton())));
            value_or_refused(loads, figure.filter(|figure| *figure == "refused"))
        }
        "rear_lifts_at" => said(load_transfer::rear_lifts_at(&of, base)),
        "front_lifts_at" => said(load_transfer::front_lifts_at(&of, base)),
        "one_brake_alone" => said(load_transfer::one_brake_alone(&of, base, grip()?)).map(one),
        _ => Err(format!("unknown formula load_transfer::{name}")),
    }
}

fn metres(of: Distance) -> f64 {
    1000.0 * of.km()
}
