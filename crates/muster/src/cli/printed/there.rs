//! Prints at a server's door.

use anyhow::{Result, bail};
use muster::printed::Asked;
use muster_core::state::Found;

use super::{
    super::{arguments::Global, door::Answer},
    On, asked, written,
};

/// Asks the door and writes the file.
///
/// # Errors
/// A server that cannot be reached, what it refuses, a switch that it does not take.
pub(super) fn run(global: &Global, of: &Asked, on: &On) -> Result<u8> {
    let idle =
        [("--on", global.on.is_some()), ("--law", global.law.is_some()), ("--found", of.found != Found::default())];
    if let Some((switch, _)) = idle.into_iter().find(|(_, given)| *given) {
        bail!("{switch} is for paper printed here; a server prints as of now, cold, by its record's law");
    }
    let door = on.place.open()?;
    let body = serde_json::to_string(&asked::body(of, on, global.units))?;
    let path = format!("/api/v1/paper/{}", of.document);
    let (status, bytes) = door.fetch(("POST", &path), ("application/json", body.into_bytes()))?;
    if status >= 400 {
        let problem = Answer { status, body: String::from_utf8_lossy(&bytes).into_owned() };
        return problem.json().map(|_| 0);
    }
    let machine = of.machine.as_ref().map(|machine| format!("-{}", machine.to_lowercase()));
    written(on, &format!("{}{}", of.document, machine.unwrap_or_default()), &bytes, "")
}
