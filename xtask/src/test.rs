//! `cargo xtask test`: the suites every change has to pass, cheapest first.

use crate::suite::{Suite, Turn, run_all};
use crate::workspace::{Workspace, is_ci};
use crate::{browser, dependencies, golden, licences, paper, rust, tidy, trust, wasm, web};
use anyhow::Context;

/// Every suite, in the order they run within their turn: those that take no compiler come first.
pub(crate) const SUITES: &[Suite] = &[
    Suite::new(Turn::Next, "tidy", "the rules about text that no compiler knows", tidy::check),
    Suite::new(Turn::Next, "fmt", "the layout of the code", rust::fmt),
    Suite::new(Turn::Next, "deps", "the core links only what docs/core-dependencies.txt lists", dependencies::check),
    Suite::new(Turn::Next, "licences", "each dependency's licence is allowed by deny.toml", licences::check),
    Suite::new(Turn::Next, "clippy", "lints, warnings being errors", rust::clippy),
    Suite::new(Turn::Next, "tests", "unit, golden, property and documentation tests", rust::tests),
    Suite::new(Turn::Next, "doc", "the documentation builds, its links resolve", rust::doc),
    Suite::new(Turn::Beside, "wasm", "the core builds for a phone", wasm::check),
    Suite::new(Turn::Next, "trust", "a browser trusts the yard's own server once it is told to", trust::check),
    Suite::new(
        Turn::Beside,
        "wasm-golden",
        "the core's answers in wasm are byte for byte the native ones",
        golden::check,
    ),
    Suite::new(
        Turn::Next,
        "paper",
        "every document is typeset, well formed, read in order, its code legible when worn",
        paper::check,
    ),
    Suite::new(Turn::Beside, "web", "the app's lints and words, warnings being errors; that it builds", web::check),
    Suite::new(
        Turn::Last,
        "e2e",
        "people's ways through the app, in a real browser, with signal and without",
        browser::check,
    ),
];

/// Runs the suites named, or all of them.
pub(crate) fn run(workspace: &Workspace, names: &[String]) -> anyhow::Result<()> {
    run_all(workspace, &chosen(names)?, is_ci())
}

fn chosen(names: &[String]) -> anyhow::Result<Vec<&'static Suite>> {
    if names.is_empty() {
        return Ok(SUITES.iter().collect());
    }
    names
        .iter()
        .map(|name| {
            SUITES.iter().find(|suite| suite.name == name).with_context(|| {
                let known: Vec<_> = SUITES.iter().map(|suite| suite.name).collect();
                format!("no suite is called {name}; there are {}", known.join(", "))
            })
        })
        .collect()
}
