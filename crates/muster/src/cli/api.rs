//! `muster api`: any door of the record, by its method and path; what the others do not spell out is asked so.

use std::{fs, io::Read as _, path::PathBuf};

use anyhow::{Context as _, Result};
use clap::Args;

use super::{BAD_INPUT, MAY_GO, door::Where};

/// A question.
#[derive(Args, Debug)]
pub(crate) struct Api {
    #[command(flatten)]
    place: Where,
    /// GET, POST, PATCH or DELETE
    method: String,
    /// Path, such as /api/v1/yard; /api/v1/openapi.json lists them all
    path: String,
    /// JSON to send; - is standard input
    #[arg(long, value_name = "FILE")]
    body: Option<PathBuf>,
}

/// Asks, and prints what was answered. Ends with 2 if it was refused.
///
/// # Errors
/// A record that cannot be reached, a body that is no JSON.
pub(crate) fn run(asked: &Api) -> Result<u8> {
    let body = match &asked.body {
        None => None,
        Some(path) if path.as_os_str() == "-" => {
            let mut text = String::new();
            std::io::stdin().read_to_string(&mut text)?;
            Some(serde_json::from_str(&text).context("standard input is no JSON")?)
        }
        Some(path) => {
            let text = fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()))?;
            Some(serde_json::from_str(&text).with_context(|| format!("{} is no JSON", path.display()))?)
        }
    };
    let answer = asked.place.open()?.ask(&asked.method.to_uppercase(), &asked.path, body.as_ref())?;
    println!("{}", answer.body);
    Ok(if answer.status < 400 { MAY_GO } else { BAD_INPUT })
}
