//! `muster paper`: what can be printed, and on what.

#[cfg(feature = "paper")]
mod desk;
#[cfg(feature = "paper")]
mod make;

use std::path::PathBuf;

use anyhow::Result;
use clap::{Args, Subcommand, ValueEnum};
use muster_core::{
    record::id::EventId,
    state::State,
    words::{Depth, Use},
};

use super::arguments::{Global, state};

/// What is printed.
#[derive(Debug, Subcommand)]
pub(crate) enum What {
    /// The blank walk-round form of one machine: what has lapsed, or will have by tomorrow
    #[command(after_help = "Example: muster paper form H-07 --out h-07.pdf")]
    Form {
        /// Fleet number
        machine: String,
        /// How far: before-ride, full, intake, handover, after-a-fall, back-in-service
        #[arg(long, default_value = "before-ride")]
        depth: Depth,
        /// What it is to go out for: range, road, passenger, dark; without it as its last walk-round planned
        #[arg(long = "use", value_name = "USE")]
        planned: Option<Use>,
        /// The state it is taken to be found in; what is not named is cold, off, on its side stand
        #[arg(long, value_name = "STATE", default_value = "heat=cold,power=off,stance=side-stand", value_parser = state)]
        found: State,
        /// On what
        #[command(flatten)]
        sheet: On,
    },
    /// A completed walk-round: verdicts, reasons, every answer, findings with photos, hashes
    #[command(after_help = "Example: muster paper walk-round H-07 --record /srv/yard")]
    WalkRound {
        /// Fleet number
        machine: String,
        /// The event that opened it; without it the newest one closed
        #[arg(long, value_name = "EVENT")]
        event: Option<EventId>,
        /// On what
        #[command(flatten)]
        sheet: On,
    },
    /// Hold tags: of a machine, or numbered ones to be bound when they are hung
    #[command(after_help = "Examples:\n  muster paper tag H-08\n  muster paper tag --number 87 --count 20")]
    Tag {
        /// Fleet number
        #[arg(required_unless_present = "number")]
        machine: Option<String>,
        /// The first number of tags without a machine
        #[arg(long, value_name = "N", conflicts_with = "machine")]
        number: Option<u32>,
        /// How many of them
        #[arg(long, value_name = "N", default_value_t = 1, requires = "number", value_parser = clap::value_parser!(u32).range(1..=200))]
        count: u32,
        /// On what
        #[command(flatten)]
        sheet: On,
    },
    /// The release slip of a machine: pressures to set, conditions, cautions, room to sign
    #[command(after_help = "Example: muster paper slip H-02 --record /srv/yard")]
    Slip {
        /// Fleet number
        machine: String,
        /// On what
        #[command(flatten)]
        sheet: On,
    },
    /// The dossier of a machine: identity, sheet with sources, parts and lives, findings, jobs
    #[command(after_help = "Example: muster paper dossier H-07 --reader buyer")]
    Dossier {
        /// Fleet number
        machine: String,
        /// Whom it is for
        #[arg(long, value_name = "WHOM", default_value = "inspector")]
        reader: Reader,
        /// On what
        #[command(flatten)]
        sheet: On,
    },
    /// The whole morning's paper: the yard sheet, a form a machine, a tag for each on hold
    #[command(after_help = "Example: muster paper yard --size letter --out morning.pdf")]
    Yard {
        /// On what
        #[command(flatten)]
        sheet: On,
    },
    /// The yard sheet alone: every machine by what is to be done with it
    #[command(after_help = "Example: muster paper sheet")]
    Sheet {
        /// On what
        #[command(flatten)]
        sheet: On,
    },
    /// Stickers with the code that opens a machine's page
    #[command(after_help = "Example: muster paper stickers --address https://muster.local:8443")]
    Stickers {
        /// Fleet numbers; without any all machines
        machines: Vec<String>,
        /// On what
        #[command(flatten)]
        sheet: On,
    },
}

/// On what it is printed, and from which record.
#[derive(Args, Clone, Debug)]
pub(crate) struct On {
    /// The file; without it one named after the document, in this folder
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
    /// The sheet's size
    #[arg(long, value_name = "SIZE", default_value = "a4")]
    pub(crate) size: Size,
    /// The school's mark: SVG, PNG or JPEG
    #[arg(long, env = "MUSTER_MARK", value_name = "FILE")]
    pub(crate) mark: Option<PathBuf>,
    /// Address of the school's own server, for the codes; without it no code is printed
    #[arg(long, env = "MUSTER_ADDRESS", value_name = "URL")]
    pub(crate) address: Option<String>,
    /// Folder of a record to print from, instead of a yard's folder
    #[arg(long, env = "MUSTER_RECORD", value_name = "DIR")]
    pub(crate) record: Option<PathBuf>,
    /// Overwrite the file if it is there
    #[arg(long)]
    pub(crate) force: bool,
}

/// The size of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Size {
    /// 210 × 297 mm.
    A4,
    /// 8.5 × 11 in.
    Letter,
}

/// Whom a dossier is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Reader {
    /// Who buys the machine: no names of people.
    Buyer,
    /// Who answers a claim of warranty.
    Warranty,
    /// Who inspects the school.
    Inspector,
}

/// Prints it.
///
/// # Errors
/// A yard or a record that cannot be opened, a machine it does not have, a text the fonts cannot set.
#[cfg(feature = "paper")]
pub(crate) fn run(global: &Global, what: &What) -> Result<u8> {
    make::run(global, what)
}

/// Says that this build has no paper.
///
/// # Errors
/// Always.
#[cfg(not(feature = "paper"))]
pub(crate) fn run(_: &Global, _: &What) -> Result<u8> {
    anyhow::bail!("this build prints no paper: build it with the feature `paper`, which is on unless it is turned off")
}
