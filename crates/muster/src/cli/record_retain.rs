//! `muster record retain`: what the house rule on names and photos lets go, said or done.

use anyhow::{Context as _, Result};
use serde_json::Value;

use super::{
    BAD_INPUT, MAY_GO,
    door::Where,
    paper::{count, note},
};

/// Says what would go, or lets it go. Ends with 2 if the record refused any of it.
///
/// # Errors
/// A record that cannot be reached, or what it refuses.
pub(crate) fn run(place: &Where, dry_run: bool) -> Result<u8> {
    let door = place.open()?;
    let method = if dry_run { "GET" } else { "POST" };
    let view = door.ask(method, "/api/v1/retention", None)?.json()?;
    let goes = if dry_run { "would go" } else { "gone" };
    for what in ["names", "photos"] {
        let kept = view.get(what).and_then(Value::as_str);
        println!(
            "{what}: kept {}",
            kept.map_or("for good: house.toml has no rule".into(), |kept| format!("for {kept}"))
        );
        for row in list(&view, &format!("{what}_go")) {
            println!("  {goes}  {}", gone(row)?);
        }
        let mut young = 0;
        for row in list(&view, &format!("{what}_stay")) {
            if row.get("by_rule").and_then(Value::as_bool) == Some(true) {
                young += 1;
            } else {
                println!("  stays  {}: {}", text(row, "what")?, text(row, "why")?);
            }
        }
        if kept.is_some() {
            println!("  {} not old enough", count(young, "is", "are"));
        }
    }
    let refused: Vec<&str> = list(&view, "refused").filter_map(Value::as_str).collect();
    for why in &refused {
        println!("refused  {why}");
    }
    if dry_run {
        note("nothing was changed");
    } else {
        note("backups made before still hold what went: docs/record.md says what to do");
    }
    Ok(if refused.is_empty() { MAY_GO } else { BAD_INPUT })
}

/// A person or a photo that goes, in one line.
fn gone(row: &Value) -> Result<String> {
    let last = text(row, "last")?;
    let day = last.get(..10).unwrap_or(last);
    if let Ok(person) = text(row, "person") {
        let name = row.get("name").and_then(Value::as_str).map(|name| format!(" ({name})")).unwrap_or_default();
        return Ok(format!("{person}{name}, last event {day}"));
    }
    let machines: Vec<&str> = list(row, "machines").filter_map(Value::as_str).collect();
    Ok(format!("photo {} of {}, last event {day}", text(row, "sha256")?, machines.join(", ")))
}

fn text<'v>(row: &'v Value, key: &str) -> Result<&'v str> {
    row.get(key).and_then(Value::as_str).with_context(|| format!("the answer has no `{key}`"))
}

fn list<'v>(view: &'v Value, key: &str) -> impl Iterator<Item = &'v Value> {
    view.get(key).and_then(Value::as_array).into_iter().flatten()
}
