//! The rules themselves, as functions of a file's path and text.
//!
//! What is forbidden is spelled in two halves here, or this file would breach its own rules.

/// What no Rust file holds, and what to do instead.
const FORBIDDEN_IN_RUST: &[(&str, &str)] = &[
    (concat!("#[", "ignore"), "a test that does not run proves nothing: mend or delete it"),
    (concat!("#[", "should_panic"), "return a value and compare it"),
    (concat!("to", "do!"), "finish it"),
    (concat!("unimpl", "emented!"), "finish it"),
    (concat!("TO", "DO"), "finish it"),
    (concat!("FIX", "ME"), "finish it"),
    ("\t", "indent with spaces"),
];

/// What no file holds: hosts of package registries.
const FORBIDDEN_EVERYWHERE: &[(&str, &str)] = &[
    (concat!("crates", ".io"), "names the host of a package registry"),
    (concat!("npmjs", ".org"), "names the host of a package registry"),
    (concat!("npmjs", ".com"), "names the host of a package registry"),
    (concat!("pypi", ".org"), "names the host of a package registry"),
    (concat!("pythonhosted", ".org"), "names the host of a package registry"),
    (concat!("rubygems", ".org"), "names the host of a package registry"),
    (concat!("proxy.golang", ".org"), "names the host of a package registry"),
    (concat!("deb.debian", ".org"), "names the host of a package registry"),
];

/// Where people keep their files: a path that starts so exists on one machine only.
const HOME_DIRECTORIES: &[&str] = &["/home/", "/root/", "/Users/"];

/// File names that say nothing about what is in the file.
const EMPTY_NAMES: &[&str] = &["util", "utils", "helper", "helpers", "misc"];

/// Domains nobody can own (RFC 2606, RFC 6761).
const RESERVED_DOMAINS: &[&str] =
    &["example", "example.com", "example.net", "example.org", "invalid", "localhost", "test"];

/// Longer, and nobody reads it to the end.
const MAX_ARCHITECTURE_LINES: usize = 150;

/// Returns each breach in a file as `path:line: what`; `path` is relative to the root.
pub(super) fn complaints(path: &str, text: &str) -> Vec<String> {
    let mut found = about_the_file(path, text);
    for (index, line) in text.lines().enumerate() {
        for what in about_the_line(path, line) {
            found.push(format!("{path}:{}: {what}", index + 1));
        }
    }
    found
}

fn about_the_file(path: &str, text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let name = path.rsplit('/').next().unwrap_or(path);
    let stem = name.split('.').next().unwrap_or(name);
    if EMPTY_NAMES.contains(&stem) {
        found.push(format!("{path}: is named {stem}: name it after what is in it"));
    }
    if is_rust(path) && !text.starts_with("//! ") {
        found.push(format!("{path}:1: does not open with a `//!` sentence that says what it is for"));
    }
    if !text.is_empty() && !text.ends_with('\n') {
        found.push(format!("{path}: does not end with a line feed"));
    }
    let lines = text.lines().count();
    if path == "ARCHITECTURE.md" && lines > MAX_ARCHITECTURE_LINES {
        found.push(format!("{path}: must be at most {MAX_ARCHITECTURE_LINES} lines, has {lines}"));
    }
    found
}

fn about_the_line(path: &str, line: &str) -> Vec<String> {
    let in_rust: &[_] = if is_rust(path) { FORBIDDEN_IN_RUST } else { &[] };
    let mut found: Vec<_> = [in_rust, FORBIDDEN_EVERYWHERE]
        .concat()
        .iter()
        .filter(|(text, _)| line.contains(text))
        .map(|(text, why)| format!("{text:?}: {why}"))
        .collect();
    if line.ends_with([' ', '\t', '\r']) {
        found.push("white space at the end of the line".to_owned());
    }
    found.extend(home_directory(line).map(|text| format!("{text:?}: names a directory of one machine")));
    found.extend(addresses(line).map(|address| format!("{address} may be someone's address: use example.org")));
    found
}

fn is_rust(path: &str) -> bool {
    path.ends_with(".rs")
}

/// Returns the home directory a line names, if any; the same letters inside a URL's path are none.
fn home_directory(line: &str) -> Option<&'static str> {
    HOME_DIRECTORIES.iter().copied().find(|directory| {
        line.match_indices(directory).any(|(at, _)| {
            let before = line[..at].chars().next_back();
            let after = line[at + directory.len()..].chars().next();
            !before.is_some_and(is_address_character) && after.is_some_and(char::is_alphanumeric)
        })
    })
}

/// Returns the e-mail addresses in a line, but for those in a domain nobody can own.
fn addresses(line: &str) -> impl Iterator<Item = &str> {
    line.match_indices('@').filter_map(|(at, _)| {
        let before = &line[..at];
        let local = before.len() - before.trim_end_matches(is_address_character).len();
        let after = &line[at + 1..];
        let domain = after.len() - after.trim_start_matches(is_address_character).len();
        let domain = after[..domain].trim_end_matches('.');
        let (_, top) = domain.rsplit_once('.')?;
        // a version, as in name@1.2.3, has no top-level domain
        let is_domain = top.len() >= 2 && top.chars().all(|letter| letter.is_ascii_alphabetic());
        (local > 0 && is_domain && !is_reserved(domain)).then(|| &line[at - local..=at + domain.len()])
    })
}

fn is_address_character(character: char) -> bool {
    character.is_ascii_alphanumeric() || "._%+-".contains(character)
}

fn is_reserved(domain: &str) -> bool {
    RESERVED_DOMAINS
        .iter()
        .any(|reserved| domain.strip_suffix(reserved).is_some_and(|rest| rest.is_empty() || rest.ends_with('.')))
}

#[cfg(test)]
mod tests {
    use super::complaints;

    /// Checks how many breaches a file has, and what the first one says.
    fn check(path: &str, text: &str, count: usize, first: &str) {
        let found = complaints(path, text);
        assert_eq!(found.len(), count, "{path}: {found:?}");
        assert!(found.first().is_none_or(|what| what.contains(first)), "{path}: {found:?}");
    }

    #[test]
    fn a_tidy_file_has_no_breach() {
        check("crates/a/src/chain.rs", "//! The chain.\n\nfn slack() {}\n", 0, "");
        check("README.md", "# Muster\n\nWrite to rider@harrow-lane.example or to a@example.org.\n", 0, "");
        check("data/empty.csv", "", 0, "");
    }

    #[test]
    fn a_rust_file_opens_with_its_sentence() {
        check("a.rs", "fn slack() {}\n", 1, "a.rs:1: does not open");
        check("a.rs", "// The chain.\n", 1, "does not open");
        check("a.rs", "//!\n", 1, "does not open");
    }

    #[test]
    fn white_space_is_seen_at_its_line() {
        check("a.rs", "//! A.\nfn a() {} \n", 1, "a.rs:2: white space");
        check("a.md", "one\ntwo\t\n", 1, "a.md:2: white space");
        check("a.md", "one\r\n", 0, "");
        check("a.rs", "//! A.\n\tfn a() {}\n", 1, "a.rs:2: \"\\t\"");
        check("a.md", "one", 1, "line feed");
    }

    #[test]
    fn unfinished_work_is_refused() {
        for (head, tail) in [
            ("#[ign", "ore]"),
            ("#[ign", "ore = \"slow\"]"),
            ("#[should", "_panic]"),
            ("to", "do!()"),
            ("// TO", "DO: more"),
        ] {
            check("a.rs", &format!("//! A.\n{head}{tail}\n"), 1, "a.rs:2: ");
            check("a.md", &format!("{head}{tail}\n"), 0, "");
        }
    }

    #[test]
    fn names_say_what_is_inside() {
        check("src/utils.rs", "//! A.\n", 1, "is named utils");
        check("src/helpers.rs", "//! A.\n", 1, "is named helpers");
        check("src/helpful.rs", "//! A.\n", 0, "");
    }

    #[test]
    fn paths_of_one_machine_are_refused() {
        let home = "/home";
        check("a.md", &format!("see {home}/jo/notes\n"), 1, "names a directory of one machine");
        check("a.toml", &format!("path = \"{home}/jo\"\n"), 1, "names a directory of one machine");
        check("a.toml", &format!("url = \"https://www.example.org{home}/jo\"\n"), 0, "");
        check("a.rs", &format!("//! A.\nconst A: &str = \"{home}/\";\n"), 0, "");
    }

    #[test]
    fn addresses_are_refused_unless_nobody_can_own_them() {
        let at = '@';
        check("a.md", &format!("jo{at}somewhere.net\n"), 1, &format!("jo{at}somewhere.net may be"));
        check("a.md", &format!("(jo.b{at}mail.a-b.net).\n"), 1, &format!(" jo.b{at}mail.a-b.net may be"));
        check("a.md", &format!("a{at}b.example, jo{at}notexample.org\n"), 1, "notexample");
        check("a.css", "@media print { }\n", 0, "");
        check("a.md", &format!("cargo add toml{at}1.2.2\n"), 0, "");
    }

    #[test]
    fn the_architecture_stays_short() {
        check("ARCHITECTURE.md", &"line\n".repeat(150), 0, "");
        check("ARCHITECTURE.md", &"line\n".repeat(151), 1, "at most 150 lines, has 151");
        check("docs/long.md", &"line\n".repeat(151), 0, "");
    }
}
