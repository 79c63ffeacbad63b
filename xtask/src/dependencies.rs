//! Proves that the core depends on no crate with effects: what it links is a list a person reads.

use crate::wasm::TARGET;
use crate::workspace::{Workspace, read};
use anyhow::{Context, ensure};
use std::collections::BTreeSet;
use std::fs;

const LIST: &str = "docs/core-dependencies.txt";

const PREAMBLE: &str = "\
# Every crate that muster-core links, itself included. None of them reads a clock, a file, the network
# or a source of randomness. `cargo xtask deps` compares this list with the build's, and
# `cargo xtask deps --bless` rewrites it: read what a new crate does before you bless it.
";

/// Fails if the core links a crate that is not listed, or no longer links one that is.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    let path = workspace.path(LIST);
    let text = fs::read_to_string(&path)
        .with_context(|| format!("cannot read {LIST}; `cargo xtask deps --bless` writes it"))?;
    let listed = names(text.lines().filter(|line| !line.starts_with('#')));
    let linked = linked(workspace)?;
    let added: Vec<_> = linked.difference(&listed).map(|name| format!("+{name}")).collect();
    let gone: Vec<_> = listed.difference(&linked).map(|name| format!("-{name}")).collect();
    ensure!(
        added.is_empty() && gone.is_empty(),
        "muster-core links other crates than {LIST} says: {}; if none of them has effects, `cargo xtask deps --bless`",
        [added, gone].concat().join(" ")
    );
    println!("muster-core links {} crates, all listed", linked.len());
    Ok(())
}

/// Writes the list anew.
pub(crate) fn bless(workspace: &Workspace) -> anyhow::Result<()> {
    let linked = linked(workspace)?;
    let lines: String = linked.iter().map(|name| format!("{name}\n")).collect();
    fs::write(workspace.path(LIST), format!("{PREAMBLE}{lines}")).with_context(|| format!("cannot write {LIST}"))?;
    println!("{LIST}: {} crates", linked.len());
    Ok(())
}

/// Returns the names of the crates in the core's build for a browser.
///
/// Derive macros are left out: they run in the compiler and are not part of the core.
fn linked(workspace: &Workspace) -> anyhow::Result<BTreeSet<String>> {
    let edges = ["-e", "normal,no-proc-macro", "--prefix", "none", "--format", "{p}"];
    let tree = read(workspace.cargo(&["tree", "-p", "muster-core", "--target", TARGET]).args(edges))?;
    Ok(names(tree.lines()))
}

/// Returns the first word of each line: `{p}` is `name v1.2.3 (path)`.
fn names<'a>(lines: impl Iterator<Item = &'a str>) -> BTreeSet<String> {
    lines.filter_map(|line| line.split_whitespace().next()).map(str::to_owned).collect()
}
