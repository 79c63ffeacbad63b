//! Every word a person reads stands in a Fluent file: each message asked for is written once, each written is asked for,
//! and no view holds a text of its own.

use crate::workspace::Workspace;
use anyhow::{Context, ensure};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

const SOURCE: &str = "crates/muster-web/src";
/// What is read before the app is there: `{{t:name}}` stands for a message.
const PAGE: &str = "crates/muster-web/static/index.html";
const MARK: &str = "{{t:";
const WORDS: &str = "crates/muster-web/words/en";
/// The name of the thing itself, and marks no language changes.
const ITSELF: &[&str] = &["Muster", "·", " · ", "–", "±", ":", ", ", "−", "/", " / ", "…", "0", ".", ",", " "];

/// Fails with every message missing, unused or written twice, and every text that stands in code.
pub(super) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    let mut complaints = Vec::new();
    let written = written(&workspace.path(WORDS), &mut complaints)?;
    let mut asked = BTreeSet::new();
    asked.extend(marked(&fs::read_to_string(workspace.path(PAGE))?).map(str::to_owned));
    for (path, text) in rust(&workspace.path(SOURCE))? {
        asked.extend(named(&text));
        complaints
            .extend(stray(&text).map(|stray| format!("{path}: `{stray}` stands in the code: write it in {WORDS}")));
    }
    complaints.extend(asked.difference(&written).map(|name| format!("{name} is asked for and not written")));
    complaints.extend(written.difference(&asked).map(|name| format!("{name} is written and not asked for")));
    ensure!(complaints.is_empty(), "{} faults in the app's words:\n{}", complaints.len(), complaints.join("\n"));
    println!("{} messages, each written once and asked for", written.len());
    Ok(())
}

/// A page with its messages in the place of their names.
pub(super) fn spoken(workspace: &Workspace, page: &str) -> anyhow::Result<String> {
    let common = fs::read_to_string(workspace.path(WORDS).join("common.ftl"))?;
    let mut said = page.to_owned();
    for name in marked(page) {
        let message = common.lines().find_map(|line| line.strip_prefix(name)?.strip_prefix(" = "));
        let message = message.with_context(|| format!("{WORDS}/common.ftl has no {name} on one line"))?;
        said = said.replace(&format!("{MARK}{name}}}}}"), message);
    }
    Ok(said)
}

/// The messages a page asks for.
fn marked(page: &str) -> impl Iterator<Item = &str> {
    page.split(MARK).skip(1).filter_map(|rest| Some(rest.split_once("}}")?.0))
}

/// The names of the messages in a folder's files.
fn written(folder: &Path, complaints: &mut Vec<String>) -> anyhow::Result<BTreeSet<String>> {
    let mut names = BTreeSet::new();
    for entry in fs::read_dir(folder).with_context(|| format!("cannot list {}", folder.display()))? {
        let text = fs::read_to_string(entry?.path())?;
        for line in text.lines() {
            let Some((name, _)) = line.split_once(" =") else { continue };
            let is_name = name.starts_with(|first: char| first.is_ascii_lowercase())
                && name.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-');
            if is_name && !names.insert(name.to_owned()) {
                complaints.push(format!("{name} is written twice"));
            }
        }
    }
    Ok(names)
}

fn rust(folder: &Path) -> anyhow::Result<BTreeMap<String, String>> {
    let mut texts = BTreeMap::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            texts.extend(rust(&path)?);
        } else {
            texts.insert(path.display().to_string(), fs::read_to_string(&path)?);
        }
    }
    Ok(texts)
}

/// The messages a text asks for.
fn named(text: &str) -> impl Iterator<Item = String> {
    // The name may stand on the line after.
    let own = |at: usize| {
        !text.get(..at).unwrap_or_default().ends_with(|before: char| before.is_alphanumeric() || before == '_')
    };
    text.match_indices("t!(").filter(move |(at, _)| own(*at)).filter_map(|(at, _)| {
        let name = text.get(at + 3..)?.trim_start().strip_prefix('"')?;
        Some(name.split('"').next()?.to_owned())
    })
}

/// Texts in a view that people read: a line that is one quoted text, or one between two tags.
fn stray(text: &str) -> impl Iterator<Item = &str> {
    text.lines().filter_map(|line| {
        let trimmed = line.trim();
        let whole =
            trimmed.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).filter(|inside| !inside.is_empty());
        let between =
            || trimmed.split_once(">\"").and_then(|(_, rest)| rest.split_once("\"<")).map(|(inside, _)| inside);
        let quoted = whole.or_else(between)?;
        let is_words = !quoted.contains('"') && quoted.contains(char::is_alphabetic) && !ITSELF.contains(&quoted);
        is_words.then_some(quoted)
    })
}

#[cfg(test)]
mod tests {
    use super::{named, stray};

    #[test]
    fn a_text_in_a_view_is_found_and_a_message_is_not() {
        let view = "view! {\n  <b>\"Hello\"</b>\n  \"Look here\"\n  <b>{t!(\"name\")}</b>\n  \"Muster\"\n}";
        assert_eq!(stray(view).collect::<Vec<_>>(), ["Hello", "Look here"]);
        assert_eq!(named(view).collect::<Vec<_>>(), ["name"]);
    }
}
