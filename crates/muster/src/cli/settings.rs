//! What the owner sets for the server: the code riders give feedback by, the school's mark, how many servers stand before it.

use std::{
    fs,
    path::{Path, PathBuf},
};

use anyhow::{Context as _, Result, bail};
use clap::Subcommand;
use muster::people::{feedback, qr};
use serde_json::{Value, json};

use super::{
    MAY_GO,
    door::{Answer, Where},
    paper::note,
};

/// One setting.
#[derive(Debug, Subcommand)]
pub(crate) enum Setting {
    /// Draw a new feedback code for a machine: the one printed before leads nowhere from then on
    #[command(after_help = "Example: muster do --record /srv/yard feedback-code H-07 --at https://yard.local:7070 \
        --svg h-07.svg")]
    FeedbackCode {
        /// Fleet number
        machine: String,
        /// The address riders reach the server at; without it the one asked
        #[arg(long, value_name = "URL")]
        at: Option<String>,
        /// Also write the QR code to print
        #[arg(long, value_name = "FILE")]
        svg: Option<PathBuf>,
    },
    /// Take a file as the school's mark on every paper printed from the record; without a file none from then on
    #[command(after_help = "Example: muster do --record /srv/yard mark harrow-lane.svg")]
    Mark {
        /// SVG, PNG or JPEG, at most 256 KiB
        file: Option<PathBuf>,
    },
    /// Say how many servers of your own stand before this one; 0: none is believed
    #[command(after_help = "Example: muster do --record /srv/yard proxies 1\n\n\
        Too many let anybody choose the address they are counted by.")]
    Proxies {
        /// How many
        count: usize,
    },
}

/// Sets one.
///
/// # Errors
/// What the record refuses, with the remedy; a file that cannot be written.
pub(crate) fn run(place: &Where, what: &Setting) -> Result<u8> {
    match what {
        Setting::FeedbackCode { machine, at, svg } => code(place, machine, at.as_deref(), svg.as_deref()),
        Setting::Mark { file } => mark(place, file.as_deref()),
        Setting::Proxies { count } => proxies(place, *count),
    }
}

fn code(place: &Where, machine: &str, at: Option<&str>, svg: Option<&Path>) -> Result<u8> {
    let Some(base) = at.or(place.server.as_deref()) else {
        bail!("say at which address riders reach the server: --at https://yard.local:7070");
    };
    let drawn = place.open()?.ask("POST", &format!("/api/v1/machines/{machine}/feedback"), None)?.json()?;
    let code = drawn.get("code").and_then(Value::as_str).context("the answer names no code")?;
    let link = format!("{}{}{code}", base.trim_end_matches('/'), feedback::PATH);
    println!("{link}");
    if let Some(path) = svg {
        let picture = qr::svg(&link).context("the link is too long for a QR code")?;
        fs::write(path, picture).with_context(|| format!("cannot write {}", path.display()))?;
    }
    note(&format!("the code printed before for {machine} leads nowhere now: print this one"));
    Ok(MAY_GO)
}

fn mark(place: &Where, file: Option<&Path>) -> Result<u8> {
    let (method, bytes) = match file {
        Some(path) => ("PUT", fs::read(path).with_context(|| format!("cannot read {}", path.display()))?),
        None => ("DELETE", Vec::new()),
    };
    let (status, body) = place.open()?.fetch((method, "/api/v1/settings/mark"), ("application/octet-stream", bytes))?;
    let set = Answer { status, body: String::from_utf8_lossy(&body).into_owned() }.json()?;
    note(&match set.pointer("/mark/sha256").and_then(Value::as_str) {
        Some(sha256) => format!("the mark stands on every paper from now on: SHA-256 {sha256}"),
        None => "papers have no mark from now on".to_string(),
    });
    Ok(MAY_GO)
}

fn proxies(place: &Where, count: usize) -> Result<u8> {
    let set = place.open()?.ask("PATCH", "/api/v1/settings", Some(&json!({ "proxies": count })))?.json()?;
    let count = set.get("proxies").and_then(Value::as_u64).context("the answer says nothing")?;
    note(&match count {
        0 => "nobody is believed who says that a request comes from elsewhere".to_string(),
        1 => "one server of your own stands before this one and is believed".to_string(),
        count => format!("{count} servers of your own stand before this one and are believed"),
    });
    Ok(MAY_GO)
}
