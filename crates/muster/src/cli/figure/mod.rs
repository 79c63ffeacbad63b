//! `muster figure`: works out the figure a check asks for, and what else a workshop works out, from what was counted,
//! weighed or measured.

mod battery;
mod brake;
mod coolant;
mod drive;
mod geometry;
mod tyre;
mod units;
mod worked;

use anyhow::Result;
use clap::Subcommand;

use muster_core::{calendar::Moment, yard::Units};

use super::{MAY_GO, arguments::Global, paper, site::Site};
use worked::Worked;

/// What is to be worked out.
#[derive(Debug, Subcommand)]
pub(crate) enum Figure {
    /// With rule, dial and wall.
    #[command(flatten)]
    Geometry(geometry::Geometry),
    /// Of the final drive.
    #[command(flatten)]
    Drive(drive::Drive),
    /// Of a tyre.
    #[command(flatten)]
    Tyre(tyre::Tyre),
    /// Of a brake.
    #[command(flatten)]
    Brake(brake::Brake),
    /// Of the battery.
    #[command(flatten)]
    Battery(battery::Battery),
    /// Of coolant.
    #[command(flatten)]
    Coolant(coolant::Coolant),
}

/// Works it out and prints it, for people or as JSON.
///
/// # Errors
/// A figure that cannot be read, or lies outside what its formula covers.
pub(crate) fn run(global: &Global, figure: &Figure, as_json: bool) -> Result<u8> {
    let units = units_of(global)?;
    let worked = worked(figure, global.on)?;
    let text = if as_json { serde_json::to_string_pretty(&worked.json(units))? } else { worked.text(units) };
    paper::print(&format!("{text}\n"))?;
    Ok(MAY_GO)
}

/// The units asked for; else those of the yard that is named; else SI.
fn units_of(global: &Global) -> Result<Units> {
    match (global.units, &global.yard) {
        (Some(units), _) => Ok(units),
        (None, Some(_)) => Ok(Site::open(global)?.yard.units),
        (None, None) => Ok(Units::Si),
    }
}

fn worked(figure: &Figure, on: Option<Moment>) -> Result<Worked> {
    match figure {
        Figure::Geometry(of) => geometry::worked(of),
        Figure::Drive(of) => drive::worked(of),
        Figure::Tyre(of) => tyre::worked(of),
        Figure::Brake(of) => brake::worked(of, on),
        Figure::Battery(of) => battery::worked(of),
        Figure::Coolant(of) => coolant::worked(of),
    }
}
