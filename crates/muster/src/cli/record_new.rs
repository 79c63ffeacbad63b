//! `muster record new`: the first owner, and a yard's folder taken in.

use std::{
    io::{self, BufRead as _, Write as _},
    path::{Path, PathBuf},
};

use anyhow::{Result, bail};
use clap::Args;
use muster::{
    keeper::{Opened, taken},
    people::{first, throttle::Attempts},
};
use muster_core::record::{decide::Command, id::PersonId};

use super::{
    MAY_GO,
    paper::note,
    sign_in,
    site::{self, now},
};

/// A record to make.
#[derive(Args, Debug)]
pub(crate) struct New {
    /// Its folder, made if it is not there
    folder: PathBuf,
    /// A yard's folder to take in, as `muster start` writes it; its forms stay where they are
    #[arg(long, value_name = "YARD")]
    from: Option<PathBuf>,
    /// The first owner's name; without it the terminal asks. The password is asked, or read from standard input
    #[arg(long, value_name = "NAME")]
    owner: Option<String>,
}

/// Makes it.
///
/// # Errors
/// A record that has somebody already, a yard with a fault.
pub(crate) fn run(asked: &New) -> Result<u8> {
    let texts = asked.from.as_deref().map(yard).transpose()?;
    let opened = Opened::made(&asked.folder)?;
    if !first::is_needed(&opened.keeper) {
        bail!("{} holds a record already: nothing was changed", asked.folder.display());
    }
    let person = owner(&opened, asked.owner.as_deref())?;
    if let Some(texts) = texts {
        take(&opened, &person, &texts)?;
    }
    note(&format!("{person} owns the record in {}; serve it with `muster serve --record`", asked.folder.display()));
    Ok(MAY_GO)
}

/// Makes the first owner.
///
/// # Errors
/// A name or a password that will not do.
pub(crate) fn owner(opened: &Opened, name: Option<&str>) -> Result<PersonId> {
    let owner = match name {
        Some(name) => first::Owner { name: name.to_string(), password: sign_in::password("Password: ")? },
        None => first::ask(line)?,
    };
    Ok(first::begin(&opened.keeper, &Attempts::default(), &owner, now())?)
}

fn line(prompt: &str, unseen: bool) -> io::Result<String> {
    if unseen {
        return rpassword::prompt_password(prompt);
    }
    let mut out = io::stderr();
    out.write_all(prompt.as_bytes())?;
    out.flush()?;
    let mut text = String::new();
    match io::stdin().lock().read_line(&mut text)? {
        0 => Err(io::Error::new(io::ErrorKind::UnexpectedEof, "nobody answers: give --owner NAME")),
        _ => Ok(text.trim_end_matches(['\n', '\r']).to_string()),
    }
}

/// A yard's files that have no fault.
fn yard(folder: &Path) -> Result<Vec<(String, String)>> {
    let mut problems = Vec::new();
    let (texts, _) = site::yard_files(folder, &mut problems)?;
    match problems.first() {
        Some(problem) => bail!("{problem}"),
        None => Ok(texts),
    }
}

/// Takes a yard's files in by the rules: one with a fault is refused, and the rest goes in.
fn take(opened: &Opened, person: &PersonId, texts: &[(String, String)]) -> Result<()> {
    for payload in taken(texts)? {
        opened.keeper.act(Command::Write(payload), person, now())?;
    }
    Ok(())
}
