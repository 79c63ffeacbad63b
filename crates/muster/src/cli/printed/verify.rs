//! `muster verify`: whether a file is a paper that was printed from a record.

use std::fs;

use anyhow::{Context as _, Result};
use muster_core::hash;
use muster_wire::paper::{IssuedView, PaperVerdict};

use super::{
    super::{
        HOLD, MAY_GO,
        paper::{count, note},
    },
    Verify,
};

/// Asks the record and tells what it knows.
///
/// # Errors
/// A file that cannot be read, a record that cannot be reached.
pub(super) fn run(asked: &Verify) -> Result<u8> {
    let bytes = fs::read(&asked.file).with_context(|| format!("cannot read {}", asked.file.display()))?;
    let path = format!("/api/v1/paper/issued/{}", hash::of_bytes(&bytes));
    let answer = asked.place.open()?.get(&path)?;
    if asked.json {
        println!("{answer}");
    }
    let verdict: PaperVerdict = serde_json::from_value(answer).context("the answer is no verdict on a paper")?;
    if !asked.json {
        told(asked, &verdict);
    }
    Ok(if verdict.genuine { MAY_GO } else { HOLD })
}

fn told(asked: &Verify, verdict: &PaperVerdict) {
    let file = asked.file.display();
    if verdict.genuine {
        println!("genuine: exactly the bytes of {file} were printed from this record");
    } else {
        println!("not known: this record printed no such file as {file}");
        println!("  it was changed since, printed elsewhere, or as a draft; one changed byte is enough");
    }
    println!("  SHA-256 {}", verdict.sha256);
    verdict.issued.iter().for_each(one);
    if verdict.genuine {
        verdict.proves_not.iter().for_each(|says| note(says));
    }
}

fn one(of: &IssuedView) {
    let about = of.machine.as_ref().map(|machine| format!(" of {machine}")).unwrap_or_default();
    let tags = if of.tags.is_empty() { String::new() } else { format!(", tags {}", of.tags.join(", ")) };
    println!("\n{}{about}{tags}, {}, {}", of.document, of.size, count_bytes(of.bytes));
    println!("  printed     {} by {}", of.at, of.name.as_ref().unwrap_or(&of.person));
    println!("  written     as {} on {}", of.event, of.device);
    match (&of.rests_on, &of.rests_on_event) {
        (Some(hash), Some(event)) => println!("  rests on    event {event}, {hash}"),
        (Some(hash), None) => println!("  rests on    the yard's files, {hash}"),
        (None, _) => {}
    }
    of.since.iter().for_each(|since| println!("  since then  {since}"));
}

fn count_bytes(bytes: u64) -> String {
    count(usize::try_from(bytes).unwrap_or(usize::MAX), "byte", "bytes")
}
