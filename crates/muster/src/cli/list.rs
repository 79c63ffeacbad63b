//! `muster list`: a list of the record, as CSV or as JSON.

use anyhow::Result;
use clap::Args;
use muster::list::List;
use muster_core::calendar::Moment;

use super::{
    MAY_GO,
    door::{Where, in_path},
};

/// Which list, as what.
#[derive(Args, Debug)]
pub(crate) struct Asked {
    #[command(flatten)]
    place: Where,
    /// yard, readings, findings, jobs, instruments, people or record
    list: List,
    /// Of this machine alone
    #[arg(long, value_name = "ID")]
    machine: Option<String>,
    /// JSON in place of CSV: an object a row
    #[arg(long)]
    json: bool,
    /// The moment machines are judged at; without it now
    #[arg(long, value_name = "TIME", value_parser = Moment::parse)]
    at: Option<Moment>,
    /// Of the record: behind this number
    #[arg(long, default_value_t = 0)]
    after: u64,
}

/// Prints it.
///
/// # Errors
/// A record that cannot be reached, what whoever asks does not see.
pub(crate) fn run(asked: &Asked) -> Result<u8> {
    let format = if asked.json { "json" } else { "csv" };
    let mut path = format!("/api/v1/lists/{}?format={format}&after={}", asked.list, asked.after);
    for (name, value) in [("machine", asked.machine.clone()), ("on", asked.at.map(|at| at.to_string()))] {
        if let Some(value) = value {
            path.push_str(&format!("&{name}={}", in_path(&value)));
        }
    }
    let text = asked.place.open()?.text(&path)?;
    print!("{text}{}", if asked.json { "\n" } else { "" });
    Ok(MAY_GO)
}
