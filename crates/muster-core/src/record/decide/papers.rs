//! Papers: what is written down of one that was printed.

use alloc::string::ToString;

use super::{Asked, Refusal};
use crate::record::{
    payload::{Document, Kind, PaperIssued, Payload},
    rights,
};

/// Digits of a SHA-256.
const DIGITS: usize = 64;

/// Nobody prints what they may not read; what it rests on must be of its machine.
pub(super) fn issue(asked: &Asked<'_>, of: PaperIssued) -> Result<Payload, Refusal> {
    let role = asked.standing.role;
    if !rights::may_view(role, rights::shows(of.document)) {
        return Err(Refusal::NoRight { role, kind: Kind::PaperIssued });
    }
    hash("sha256", Some(&of.sha256))?;
    hash("rests_on", of.rests_on.as_deref())?;
    let of_one = matches!(of.document, Document::Form | Document::WalkRound | Document::Slip | Document::Dossier);
    if of_one && of.machine.is_none() {
        return Err(Refusal::Field { field: "machine", what: "name the machine it is about".into() });
    }
    if let (Some(event), Some(machine)) = (of.event, &of.machine) {
        let state = asked.machine(machine)?;
        let known = state.walk_rounds.contains_key(&event)
            || state.tags.contains_key(&event)
            || state.releases.contains_key(&event);
        if !known {
            let name = event.to_string();
            return Err(Refusal::NotHere { what: "event to rest a paper on", name, remedy: "print it anew" });
        }
    }
    Ok(of.into())
}

fn hash(field: &'static str, text: Option<&str>) -> Result<(), Refusal> {
    let is_hash = |text: &str| text.len() == DIGITS && text.bytes().all(|of| matches!(of, b'0'..=b'9' | b'a'..=b'f'));
    if text.is_none_or(is_hash) {
        return Ok(());
    }
    Err(Refusal::Field { field, what: "a SHA-256 is 64 hexadecimal digits, small ones".into() })
}
