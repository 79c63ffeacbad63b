//! `muster record new`: the first owner, and a yard's folder taken in.

use std::path::PathBuf;

use anyhow::Result;
use clap::Args;

/// A record to make.
#[derive(Args, Debug)]
pub(crate) struct New {
    /// Its folder
    folder: PathBuf,
    /// A yard's folder to take in, as `muster start` writes it
    #[arg(long, value_name = "YARD")]
    from: Option<PathBuf>,
}

/// Makes it.
pub(crate) fn run(asked: &New) -> Result<u8> {
    let _ = (&asked.folder, &asked.from);
    anyhow::bail!("wip")
}
