//! Checks each dependency's licence against the list in `deny.toml`, with nothing to download.

use crate::workspace::{Workspace, execute, read};
use anyhow::{Context, ensure};
use serde_json::Value;
use spdx::{Expression, Licensee, ParseMode};
use std::fs;

/// Fails if a dependency has no licence, or one that is not allowed.
///
/// Where cargo-deny is installed it runs too: it also looks at sources and duplicates. Its
/// advisories are left out, since they need the network.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    let allowed = allowed(&fs::read_to_string(workspace.path("deny.toml")).context("cannot read deny.toml")?)?;
    let metadata = read(&mut workspace.cargo(&["metadata", "--format-version", "1"]))?;
    let packages = dependencies(&serde_json::from_str(&metadata).context("cargo metadata is not JSON")?)?;
    let complaints: Vec<_> = packages
        .iter()
        .filter_map(|package| {
            complaint(package.licence.as_deref(), &allowed).map(|why| format!("{}: {why}", package.name))
        })
        .collect();
    ensure!(
        complaints.is_empty(),
        "{} of {} dependencies:\n{}",
        complaints.len(),
        packages.len(),
        complaints.join("\n")
    );
    println!("the licences of {} dependencies are allowed", packages.len());
    if workspace.has_subcommand("deny") {
        execute(&mut workspace.cargo(&["deny", "check", "licenses", "bans", "sources"]))?;
    }
    Ok(())
}

struct Dependency {
    /// Name and version.
    name: String,
    licence: Option<String>,
}

fn allowed(deny: &str) -> anyhow::Result<Vec<Licensee>> {
    let table: toml::Table = deny.parse().context("deny.toml does not parse")?;
    let list = table.get("licenses").and_then(|licences| licences.get("allow")).and_then(toml::Value::as_array);
    list.context("deny.toml has no licenses.allow")?
        .iter()
        .map(|entry| {
            let name = entry.as_str().context("deny.toml: licenses.allow holds something other than text")?;
            Licensee::parse(name).with_context(|| format!("deny.toml: {name} is no SPDX licence"))
        })
        .collect()
}

/// Returns the packages that are not ours: those that come from somewhere.
fn dependencies(metadata: &Value) -> anyhow::Result<Vec<Dependency>> {
    let packages = metadata.get("packages").and_then(Value::as_array).context("cargo metadata lists no packages")?;
    let foreign = packages.iter().filter(|package| package.get("source").is_some_and(|source| !source.is_null()));
    foreign
        .map(|package| {
            let text = |key| package.get(key).and_then(Value::as_str);
            let name = text("name").context("cargo metadata has a package without a name")?;
            let version = text("version").unwrap_or_default();
            Ok(Dependency { name: format!("{name} {version}"), licence: text("license").map(str::to_owned) })
        })
        .collect()
}

/// Says what is wrong with a licence expression, if anything.
fn complaint(licence: Option<&str>, allowed: &[Licensee]) -> Option<String> {
    let Some(text) = licence else {
        return Some("names no licence".to_owned());
    };
    // lax: older crates write MIT/Apache-2.0
    match Expression::parse_mode(text, ParseMode::LAX) {
        Err(error) => Some(format!("{text} is no licence expression: {}", error.reason)),
        Ok(expression) if expression.evaluate(|term| allowed.iter().any(|licensee| licensee.satisfies(term))) => None,
        Ok(_) => Some(format!("{text} is not allowed by deny.toml")),
    }
}

#[cfg(test)]
mod tests {
    use super::{allowed, complaint};

    fn check(licence: Option<&str>, expected: Option<&str>) {
        let list = allowed("[licenses]\nallow = [\"MIT\", \"Apache-2.0 WITH LLVM-exception\"]").unwrap();
        assert_eq!(complaint(licence, &list).as_deref(), expected, "{licence:?}");
    }

    #[test]
    fn one_allowed_alternative_is_enough() {
        check(Some("MIT"), None);
        check(Some("GPL-3.0-only OR MIT"), None);
        check(Some("MIT/Apache-2.0"), None);
        check(Some("Apache-2.0 WITH LLVM-exception"), None);
    }

    #[test]
    fn every_part_of_a_conjunction_is_needed() {
        check(Some("MIT AND GPL-3.0-only"), Some("MIT AND GPL-3.0-only is not allowed by deny.toml"));
        check(Some("Apache-2.0"), Some("Apache-2.0 is not allowed by deny.toml"));
    }

    #[test]
    fn no_licence_and_no_expression_are_refused() {
        check(None, Some("names no licence"));
        assert!(
            complaint(Some("as you like"), &[])
                .is_some_and(|why| why.starts_with("as you like is no licence expression"))
        );
    }
}
