//! `muster paper`: what can be printed, and on what.

mod asked;
#[cfg(feature = "paper")]
mod here;
mod there;
mod verify;

use std::path::PathBuf;

use anyhow::{Result, bail};
use clap::{Args, Subcommand};
use muster::printed::{Asked, Reader};
use muster_core::{
    hash,
    record::{id::EventId, payload::PaperSize},
    state::Found,
    words::{Depth, Use},
};

use super::{
    MAY_GO,
    arguments::{Global, state},
    door::Where,
    files,
    paper::note,
};

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
        #[arg(long, value_name = "STATE", default_value = "", hide_default_value = true, value_parser = state)]
        found: Found,
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
        /// Whom it is for: buyer, warranty, inspector
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
    /// The sheet's size: a4 or letter
    #[arg(long, value_name = "SIZE", default_value = "a4")]
    pub(crate) size: PaperSize,
    /// The school's mark: SVG, PNG or JPEG; a record's own without, and a server prints that always
    #[arg(long, env = "MUSTER_MARK", value_name = "FILE")]
    pub(crate) mark: Option<PathBuf>,
    /// Address of the school's own server, for the codes; without it no code is printed; a server prints its own
    #[arg(long, env = "MUSTER_ADDRESS", value_name = "URL")]
    pub(crate) address: Option<String>,
    /// Overwrite the file if it is there
    #[arg(long)]
    pub(crate) force: bool,
    /// Write nothing down in the record: the paper is not known again
    #[arg(long)]
    pub(crate) draft: bool,
    #[command(flatten)]
    pub(crate) place: Where,
}

/// A file to be known again.
#[derive(Args, Debug)]
pub(crate) struct Verify {
    /// The file, as it was printed
    file: PathBuf,
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: Where,
}

/// Prints it: at a server's door, or here from a record's folder, a yard's folder or the demonstration.
///
/// # Errors
/// A yard or a record that cannot be opened, a machine it does not have, a text the fonts cannot set.
pub(crate) fn run(global: &Global, what: &What) -> Result<u8> {
    let (asked, on) = what.read();
    match (&on.place.server, &on.place.record, &global.yard) {
        (Some(_), _, Some(_)) | (_, Some(_), Some(_)) => bail!("name a record or a yard's folder, not both"),
        (Some(_), ..) => there::run(global, &asked, on),
        _ => here(global, &asked, on),
    }
}

/// Says whether a file was printed from a record.
///
/// # Errors
/// A file that cannot be read, a record that cannot be reached.
pub(crate) fn verify(asked: &Verify) -> Result<u8> {
    verify::run(asked)
}

#[cfg(feature = "paper")]
fn here(global: &Global, asked: &Asked, on: &On) -> Result<u8> {
    here::run(global, asked, on)
}

/// Says that this build has no paper.
#[cfg(not(feature = "paper"))]
fn here(_: &Global, _: &Asked, _: &On) -> Result<u8> {
    bail!(
        "this build prints no paper: build it with the feature `paper`, which is on unless it is turned off, or ask a \
         server that prints with --server"
    )
}

/// Writes the file and says what it is.
fn written(on: &On, name: &str, bytes: &[u8], says: &str) -> Result<u8> {
    let path = on.out.clone().unwrap_or_else(|| PathBuf::from(format!("{name}.pdf")));
    files::write_new(&path, bytes, on.force)?;
    note(&format!("wrote {}: {says}SHA-256 {}", path.display(), hash::of_bytes(bytes)));
    Ok(MAY_GO)
}
