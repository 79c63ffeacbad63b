//! `muster sign-in`: a session with a server, kept in the person's own configuration.

use std::{
    collections::BTreeMap,
    fs::{self, OpenOptions},
    io::{self, BufRead as _, IsTerminal as _, Write as _},
    path::PathBuf,
};

use anyhow::{Context as _, Result, bail};
use clap::Args;
use serde_json::{Value, json};

use super::{
    MAY_GO,
    door::{Door, Where, config_folder},
    paper::note,
};

/// With whom, as whom.
#[derive(Args, Debug)]
pub(crate) struct SignIn {
    #[command(flatten)]
    place: Where,
    /// Your name, or your id
    #[arg(value_name = "PERSON")]
    name: String,
    /// Become the first owner of a record that has nobody, by the code its server showed
    #[arg(long, value_name = "CODE", conflicts_with = "out")]
    first: Option<String>,
    /// End the session instead
    #[arg(long)]
    out: bool,
}

/// Signs in, or out.
///
/// # Errors
/// A server that cannot be reached or refuses.
pub(crate) fn run(asked: &SignIn) -> Result<u8> {
    let door = asked.place.open()?;
    let Door::There { base, .. } = &door else { bail!("a folder's record is opened, not signed in to: use --as") };
    if asked.out {
        door.ask("DELETE", "/api/v1/sign-in", None)?.json()?;
        keep(base, None)?;
        return Ok(MAY_GO);
    }
    let password = password("Password: ")?;
    let (path, asks) = match &asked.first {
        Some(code) => ("/api/v1/first", json!({ "code": code, "name": asked.name, "password": password })),
        None => ("/api/v1/sign-in", json!({ "person": asked.name, "password": password })),
    };
    let answer = door.ask("POST", path, Some(&asks))?.json()?;
    let Some(token) = answer.get("token").and_then(Value::as_str) else { bail!("the server answered no token") };
    keep(base, Some(token))?;
    note(&format!("signed in at {base}"));
    Ok(MAY_GO)
}

/// The token kept for a server.
///
/// # Errors
/// A file that cannot be read.
pub(crate) fn token(base: &str) -> Result<Option<String>> {
    if let Ok(token) = std::env::var("MUSTER_TOKEN") {
        return Ok(Some(token));
    }
    Ok(sessions()?.remove(base))
}

/// Reads a password: from the terminal unseen, else one line of standard input.
///
/// # Errors
/// Nothing to read.
pub(crate) fn password(prompt: &str) -> Result<String> {
    if io::stdin().is_terminal() {
        return rpassword::prompt_password(prompt).context("no password");
    }
    let mut line = String::new();
    io::stdin().lock().read_line(&mut line).context("no password")?;
    let password = line.trim_end_matches(['\n', '\r']).to_string();
    if password.is_empty() { bail!("no password: give it on standard input, or at a terminal") } else { Ok(password) }
}

fn file() -> Result<PathBuf> {
    config_folder().map(|folder| folder.join("sessions.json")).context("no home folder to keep a session in")
}

fn sessions() -> Result<BTreeMap<String, String>> {
    let Ok(path) = file() else { return Ok(BTreeMap::new()) };
    match fs::read_to_string(&path) {
        Ok(text) => serde_json::from_str(&text).with_context(|| format!("{} is damaged: delete it", path.display())),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(BTreeMap::new()),
        Err(error) => Err(error).with_context(|| format!("cannot read {}", path.display())),
    }
}

fn keep(base: &str, token: Option<&str>) -> Result<()> {
    let path = file()?;
    let mut sessions = sessions()?;
    match token {
        Some(token) => _ = sessions.insert(base.into(), token.into()),
        None => _ = sessions.remove(base),
    }
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&path).with_context(|| format!("cannot write {}", path.display()))?;
    file.write_all(serde_json::to_string(&sessions)?.as_bytes())?;
    Ok(())
}
