//! `muster calendar`: what is due as iCalendar, and the secret addresses it is read at.

use anyhow::{Context as _, Result};
use clap::{Args, Subcommand};
use muster::people::calendar::PATH;
use serde_json::{Value, json};

use super::{
    MAY_GO,
    door::{Door, Where, in_path},
    paper::note,
};

/// The calendar, or something about its addresses.
#[derive(Args, Debug)]
pub(crate) struct Asked {
    #[command(flatten)]
    place: Where,
    /// What; without it the calendar is printed
    #[command(subcommand)]
    what: Option<Address>,
}

/// About an address.
#[derive(Debug, Subcommand)]
enum Address {
    /// Draw a secret address: whoever knows it reads the calendar, without sign-in
    Draw {
        /// Where it is read; no names
        #[arg(long, default_value = "")]
        label: String,
        /// The address people reach the server at; without it the one asked
        #[arg(long, value_name = "URL")]
        at: Option<String>,
    },
    /// List the addresses that are open
    List,
    /// Take an address back: it leads nowhere from then on
    Revoke {
        /// What names it in the list
        id: String,
    },
}

/// Does it.
///
/// # Errors
/// A record that cannot be reached, what it refuses.
pub(crate) fn run(asked: &Asked) -> Result<u8> {
    let door = asked.place.open()?;
    match &asked.what {
        None => print!("{}", door.text("/api/v1/calendar")?),
        Some(Address::Draw { label, at }) => draw(&door, label, at.as_deref().or(asked.place.server.as_deref()))?,
        Some(Address::List) => list(&door)?,
        Some(Address::Revoke { id }) => {
            door.ask("DELETE", &format!("/api/v1/calendars/{}", in_path(id)), None)?.json()?;
            note("the address leads nowhere now");
        }
    }
    Ok(MAY_GO)
}

fn draw(door: &Door, label: &str, at: Option<&str>) -> Result<()> {
    let drawn = door.ask("POST", "/api/v1/calendars", Some(&json!({ "label": label })))?.json()?;
    let text = |key: &str| drawn.get(key).and_then(Value::as_str).with_context(|| format!("the answer has no `{key}`"));
    let (id, link) = (text("id")?, text("link")?);
    let link = match at.zip(link.split_once(PATH)) {
        Some((base, (_, secret))) => format!("{}{PATH}{secret}", base.trim_end_matches('/')),
        None => link.to_string(),
    };
    println!("{link}");
    note(&format!("told this once; whoever knows it reads what is due; `muster calendar revoke {id}` takes it back"));
    Ok(())
}

fn list(door: &Door) -> Result<()> {
    let all = door.get("/api/v1/calendars")?;
    for row in all.as_array().into_iter().flatten() {
        let text = |key: &str| row.get(key).and_then(Value::as_str).unwrap_or_default();
        println!("{}  {}  {}  {}", text("id"), text("drawn"), text("person"), text("label"));
    }
    Ok(())
}
