//! Brakes: a stop worked out of its record, the way to standing, and the fluid.

use std::{fs, io, path::Path};

use anyhow::{Context as _, Result, bail};
use clap::{Subcommand, ValueEnum};
use jiff::{Timestamp, civil::Date, tz::TimeZone};
use muster_core::{
    calendar::Moment,
    formula::{
        brake_fluid::{self, Boils, Grade, SOURCE, USUAL_LIFE_MONTHS},
        brake_test::{self, Criterion, Stop, compare, of_times, of_ways},
        load_transfer,
    },
    quantity::{Distance, Kind, Speed, Time},
};

use super::{
    units,
    worked::{Worked, read},
};

/// A sum about a brake.
#[derive(Debug, Subcommand)]
pub(crate) enum Brake {
    /// Mean fully developed deceleration and stopping distance, from a stop's record, against the directive's row
    #[command(
        name = "brake-test",
        after_help = "The record: one line a figure, time or way then speed: \"0.10 s, 58.2 km/h\" or \"1.63 m, 58.2 km/h\".\nExample: muster figure brake-test --record stop.csv --brake motorcycle-front"
    )]
    Test {
        /// The record; - for standard input
        #[arg(long)]
        record: std::path::PathBuf,
        /// Which row of the directive: one brake alone, laden, engine disconnected
        #[arg(long)]
        brake: BrakeName,
    },
    /// Way from seeing to standing
    #[command(
        after_help = "Example: muster figure stopping-distance --speed \"50 km/h\" --reaction \"1 s\" --slowing 7"
    )]
    StoppingDistance {
        /// The speed
        #[arg(long)]
        speed: String,
        /// From seeing to braking: "1 s"
        #[arg(long)]
        reaction: String,
        /// How hard it brakes, in m/s²; or with its unit, "23 ft/s2"
        #[arg(long)]
        slowing: String,
    },
    /// Brake fluid by its grade: what it must stand, what may be topped up, what its boiling point and age say
    #[command(
        name = "brake-fluid",
        after_help = "Example: muster figure brake-fluid --cap \"DOT 4\" --bottle \"DOT 5\" --boils \"185 C\" --changed 2024-11-26 --on 2026-11-26T08:00:00+00:00"
    )]
    Fluid {
        /// The grade on the reservoir's cap
        #[arg(long)]
        cap: String,
        /// The grade on the bottle
        #[arg(long)]
        bottle: Option<String>,
        /// Where it boils, by a tester that heats it
        #[arg(long)]
        boils: Option<String>,
        /// The day it was changed
        #[arg(long)]
        changed: Option<Date>,
        /// Months it is left in, as the handbook has it
        #[arg(long, default_value_t = USUAL_LIFE_MONTHS)]
        months: u32,
    },
}

/// A row of the directive's table.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum BrakeName {
    /// A motorcycle's front brake.
    MotorcycleFront,
    /// A motorcycle's rear brake.
    MotorcycleRear,
    /// Either of a motorcycle with a sidecar.
    Sidecar,
    /// A moped's front brake.
    MopedFront,
    /// A moped's rear brake.
    MopedRear,
}

pub(super) fn worked(brake: &Brake, on: Option<Moment>) -> Result<Worked> {
    match brake {
        Brake::Test { record, brake } => stop(record, *brake),
        Brake::StoppingDistance { speed, reaction, slowing } => {
            let way = load_transfer::stopping_distance(
                read(Kind::Speed, speed)?,
                read(Kind::Time, reaction)?,
                units::slowing(slowing)?,
            )?;
            Ok(Worked::by("v t + v² / (2 a)", "kinematics").value("way to standing", metres(way), 1, "m"))
        }
        Brake::Fluid { cap, bottle, boils, changed, months } => {
            let day = || on.map_or_else(today, Moment::date);
            fluid(cap, bottle.as_deref(), boils.as_deref(), changed.map(|changed| (changed, day(), *months)))
        }
    }
}

fn today() -> Date {
    TimeZone::system().to_datetime(Timestamp::now()).date()
}

fn metres(way: Distance) -> f64 {
    1000.0 * way.km()
}

fn stop(record: &Path, brake: BrakeName) -> Result<Worked> {
    let text = match record.to_str() {
        Some("-") => io::read_to_string(io::stdin()).context("standard input cannot be read")?,
        _ => fs::read_to_string(record).with_context(|| format!("{} cannot be read", record.display()))?,
    };
    let stop = read_stop(&text)?;
    let brake = match brake {
        BrakeName::MotorcycleFront => brake_test::Brake::MotorcycleFront,
        BrakeName::MotorcycleRear => brake_test::Brake::MotorcycleRear,
        BrakeName::Sidecar => brake_test::Brake::Sidecar,
        BrakeName::MopedFront => brake_test::Brake::MopedFront,
        BrakeName::MopedRear => brake_test::Brake::MopedRear,
    };
    let compared = compare(&stop, brake)?;
    let test = brake.test_speed()?.km_per_h();
    let said = |what: &str, of: Criterion, unit: &str, bound: &str| {
        let met = if of.is_met { "met" } else { "not met" };
        format!("{what} at {{{test} km/h}}: {{{:.2} {unit}}}, {bound} {{{:.2} {unit}}}: {met}", of.reached, of.required)
    };
    let worked = Worked::by(
        "(V80² − V10²) / (25.92 (S10 − S80)), V in km/h at 80 and 10 % of the first speed, S the way in m",
        "UN R78 and UN GTR 3 (formula from memory); Directive 93/14/EEC annex, appendix 1, 2.1 (read)",
    );
    Ok(worked
        .value("mean fully developed deceleration", stop.mfdd_m_per_s2, 2, "m/s²")
        .value("stopped after", metres(stop.stopped_after), 2, "m")
        .value("from", stop.from.km_per_h(), 1, "km/h")
        .say(said("distance", compared.distance_m, "m", "at most"))
        .say(said("deceleration", compared.mfdd_m_per_s2, "m/s²", "at least"))
        .say("a stop in a yard is no type approval: load, surface and the free engine are the rider's word"))
}

/// Reads a record by its lines: times or ways, then speeds.
fn read_stop(text: &str) -> Result<Stop> {
    let lines = || text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let mut times: Vec<(Time, Speed)> = Vec::new();
    let mut ways: Vec<(Distance, Speed)> = Vec::new();
    for (number, line) in lines() {
        let at =
            || format!("line {}: `{}`: write \"0.10 s, 58.2 km/h\" or \"1.63 m, 58.2 km/h\"", number + 1, line.trim());
        let (first, speed) = line.split_once([',', ';', '\t']).with_context(at)?;
        let speed = read(Kind::Speed, speed.trim()).with_context(at)?;
        match read::<Time>(Kind::Time, first.trim()) {
            Ok(time) => times.push((time, speed)),
            Err(_) => ways.push((read(Kind::Distance, first.trim()).with_context(at)?, speed)),
        }
    }
    match (times.as_slice(), ways.as_slice()) {
        ([_, ..], [_, ..]) => bail!("the record mixes times and ways: give one of them"),
        (_, []) => Ok(of_times(&times)?),
        ([], _) => Ok(of_ways(&ways)?),
    }
}

fn fluid(cap: &str, bottle: Option<&str>, boils: Option<&str>, age: Option<(Date, Date, u32)>) -> Result<Worked> {
    let grade = |text: &str| {
        Grade::find(text).with_context(|| {
            format!(
                "`{text}` is no grade: DOT 3, DOT 4, DOT 5 or DOT 5.1; mineral oil is none of them and never mixed in"
            )
        })
    };
    let cap = grade(cap)?;
    let mut worked = Worked::by("least boiling points of the grade, new and with water in it", SOURCE)
        .value("new, boils at least at", cap.dry()?.celsius(), 0, "°C")
        .value("with water, at least at", cap.wet()?.celsius(), 0, "°C");
    if let Some(bottle) = bottle {
        let bottle = grade(bottle)?;
        worked = worked.say(format!("{bottle} into {cap}: {}", brake_fluid::top_up(cap, bottle)));
    }
    if let Some(boils) = boils {
        worked = worked.say(match brake_fluid::boils(cap, read(Kind::Temperature, boils)?)? {
            Boils::AsNew => "boils as new fluid must".into(),
            Boils::Between(share) => {
                format!("{:.0} % of the way from new to as much water as it may hold", share.percent())
            }
            Boils::BelowWet(by) => {
                format!("change it: boils {{{:.0} K}} below what it must with water in it", by.kelvin())
            }
        });
    }
    if let Some((changed, on, months)) = age {
        let found = brake_fluid::age(changed, on, months)?;
        let (years, rest) = (found.age.whole_years(), found.age.months_of_year());
        let over = if found.is_over { "change it" } else { "not yet" };
        worked = worked.say(format!("{years} years and {rest} months in, of {months} months: {over}"));
    }
    Ok(worked.say("fluid harms eyes, skin and paint; never from an open or unnamed bottle"))
}
