//! The rules about text that no compiler knows: `cargo xtask tidy`.

mod rules;

use crate::workspace::Workspace;
use anyhow::{Context, ensure};
use std::fs;
use std::path::Path;

/// Files people write; binaries, lock files and licence texts are none of ours.
const EXTENSIONS: &[&str] = &[
    "css",
    "csv",
    "html",
    "js",
    "json",
    "md",
    "mjs",
    "rs",
    "sh",
    "sql",
    "svg",
    "toml",
    "typ",
    "webmanifest",
    "yaml",
    "yml",
];

const SKIPPED_DIRECTORIES: &[&str] = &[".git", "node_modules", "target"];
const SKIPPED_FILES: &[&str] = &["package-lock.json"];

/// Fails with every breach of the rules in the repository.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    let root = workspace.path("");
    let mut files = Vec::new();
    collect(&root, "", &mut files)?;
    files.sort();
    let mut complaints = Vec::new();
    for file in &files {
        let text = fs::read_to_string(root.join(file)).with_context(|| format!("cannot read {file}"))?;
        complaints.extend(rules::complaints(file, &text));
    }
    ensure!(complaints.is_empty(), "{} breaches:\n{}", complaints.len(), complaints.join("\n"));
    println!("{} files are tidy", files.len());
    Ok(())
}

/// Collects the paths of the files to read, relative to the root.
fn collect(root: &Path, relative: &str, files: &mut Vec<String>) -> anyhow::Result<()> {
    let directory = root.join(relative);
    for entry in fs::read_dir(&directory).with_context(|| format!("cannot list {}", directory.display()))? {
        let entry = entry?;
        let name = entry.file_name().into_string().ok().context("a file's name is not UTF-8")?;
        let path = if relative.is_empty() { name.clone() } else { format!("{relative}/{name}") };
        if entry.file_type()?.is_dir() {
            if !SKIPPED_DIRECTORIES.contains(&name.as_str()) {
                collect(root, &path, files)?;
            }
        } else if is_ours(&name) {
            files.push(path);
        }
    }
    Ok(())
}

fn is_ours(name: &str) -> bool {
    let extension = Path::new(name).extension().and_then(|extension| extension.to_str());
    extension.is_some_and(|extension| EXTENSIONS.contains(&extension)) && !SKIPPED_FILES.contains(&name)
}
