//! `cargo xtask test`: the suites every change has to pass, cheapest first.

use crate::suite::{Suite, Turn, run_all};
use crate::workspace::{Workspace, is_ci};
use crate::{browser, dependencies, golden, licences, paper, rust, tidy, trust, wasm, web};
use anyhow::Context;

/// Every suite, in the order they run within their turn: those that take no compiler come first.
pub(crate) const SUITES: &[Suite] = &[
    Suite { name: "tidy", checks: "the rules about text that no compiler knows", run: tidy::check, turn: Turn::Next },
    Suite { name: "fmt", checks: "the layout of the code", run: rust::fmt, turn: Turn::Next },
    Suite {
        name: "deps",
        checks: "the core links only what docs/core-dependencies.txt lists",
        run: dependencies::check,
        turn: Turn::Next,
    },
    Suite {
        name: "licences",
        checks: "each dependency's licence is allowed by deny.toml",
        run: licences::check,
        turn: Turn::Next,
    },
    Suite { name: "clippy", checks: "lints, warnings being errors", run: rust::clippy, turn: Turn::Next },
    Suite {
        name: "tests",
        checks: "unit, golden, property and documentation tests",
        run: rust::tests,
        turn: Turn::Next,
    },
    Suite { name: "doc", checks: "the documentation builds, its links resolve", run: rust::doc, turn: Turn::Next },
    Suite { name: "wasm", checks: "the core builds for a phone", run: wasm::check, turn: Turn::Beside },
    Suite {
        name: "trust",
        checks: "a browser trusts the yard's own server once it is told to",
        run: trust::check,
        turn: Turn::Next,
    },
    Suite {
        name: "wasm-golden",
        checks: "the core's answers in wasm are byte for byte the native ones",
        run: golden::check,
        turn: Turn::Beside,
    },
    Suite {
        name: "paper",
        checks: "every document is typeset, well formed, read in order, its code legible when worn",
        run: paper::check,
        turn: Turn::Next,
    },
    Suite {
        name: "web",
        checks: "the app's lints and words, warnings being errors",
        run: web::check,
        turn: Turn::Beside,
    },
    Suite {
        name: "e2e",
        checks: "people's ways through the app, in a real browser, with signal and without",
        run: browser::check,
        turn: Turn::Last,
    },
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
