//! The pieces of docs/extending.md, put where the page says: they are read without a fault, and what the page says is
//! caught is caught.

use std::{
    fs,
    path::{Path, PathBuf},
};

use super::program::{Folder, Ran, fed};

const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/extending.md");
const DATA: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data");
const YARD: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/yard");

/// The pieces of the page, each with the file it belongs to.
fn pieces() -> Vec<(String, String)> {
    let page = fs::read_to_string(PAGE).expect("the page");
    let mut out = Vec::new();
    let mut file = None;
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        if line.starts_with("In ") && line.ends_with(':') {
            file = line.split('`').nth(1).map(str::to_owned);
        } else if line == "```toml" {
            let piece: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            out.push((file.take().expect("a piece says where it belongs"), piece.join("\n") + "\n"));
        }
    }
    out
}

fn copied(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder") {
        let entry = entry.expect("an entry").path();
        let to = to.join(entry.file_name().expect("a name"));
        if entry.is_dir() {
            copied(&entry, &to);
        } else {
            fs::copy(&entry, &to).expect("a copy");
        }
    }
}

/// Catalogue and yard with every piece of the page in its place, one text in them changed.
struct Extended {
    folder: Folder,
}

impl Extended {
    fn new(change: Option<(&str, &str)>) -> Self {
        let folder = Folder::new();
        copied(Path::new(DATA), &folder.path("data"));
        copied(Path::new(YARD), &folder.path("yard"));
        for (file, piece) in pieces() {
            let path = if file.starts_with("data/") { folder.path(&file) } else { folder.path("yard").join(&file) };
            let before = fs::read_to_string(&path).unwrap_or_default();
            let piece = match change {
                Some((from, to)) => piece.replace(from, to),
                None => piece,
            };
            fs::write(&path, before + &piece).expect("a file");
        }
        Self { folder }
    }

    fn read(&self, what: &str) -> Ran {
        let path: PathBuf = self.folder.path(what);
        fed(&["data", &path.display().to_string()], None, b"")
    }
}

#[test]
fn what_the_page_shows_is_read_without_fault() {
    assert_eq!(pieces().len(), 4);
    let extended = Extended::new(None);
    for what in ["data", "yard", "data/law/xx.toml", "yard/sheets/fjord-150.toml"] {
        let ran = extended.read(what);
        assert_eq!(ran.code, 0, "{what}: {}", ran.out);
    }
}

#[test]
fn what_the_page_says_is_caught_is_caught_by_line() {
    let page = fs::read_to_string(PAGE).expect("the page");
    for (what, from, to, said) in [
        ("data", "station = \"under\"", "station = \"below\"", "unknown station"),
        ("data", "stands = [\"side\"] }", "stands = [\"paddock\"] }", "stands cannot be `paddock`"),
        ("data", "life = \"90 days\"", "life = \"often\"", "often"),
        ("data", "on = { engine = [\"electric\"] }", "on = { engine = [\"steam\"] }", "engine cannot be `steam`"),
        (
            "yard",
            "check = \"chain.slack\"\nneeds = { power = [\"off\"], stance = [\"rear-raised\"] }",
            "check = \"chain.slack\"\nneeds = { stance = [\"front-raised\"] }",
            "raise the other wheel",
        ),
        (
            "yard",
            "caution = \"Pushed forward it comes off its stand: nobody leans on it.\"",
            "caution = \"\"",
            "adds nothing",
        ),
        ("data", "on = { engine = [\"electric\"] }", "on = {}", "holds for every machine"),
        (
            "data",
            "on = { engine = [\"electric\"] }, caution = \"Never lift a machine by a bobbin that turns; lift nothing by what is orange.\"",
            "on = { engine = [\"electric\"] }, caution = \"Never lift a machine by a bobbin that turns.\"",
            "changes nothing",
        ),
        ("data", "stands = [\"side\"] }\n", "engine = [\"air-cooled\"] }\n", "never counts"),
        ("data", "caution = ", "cautoin = ", "unknown key"),
        ("yard", "check = \"chain.slack\"", "check = \"chain.slak\"", "unknown check"),
        ("yard", "target = \"175 kPa\"", "target = \"175 mm\"", "kPa"),
        ("yard", "[\"165 kPa\", \"190 kPa\"]", "[\"190 kPa\", \"165 kPa\"]", "no figure lies between these two bounds"),
        ("data", "source = \"xx-rules\"", "source = \"yy-rules\"", "in sources.toml"),
        ("data", "class = \"dangerous\"", "class = \"severe\"", "unknown class"),
        ("data", "check = \"horn\"\nclass = \"major\"", "check = \"horn\"", "class has no"),
        ("data", "clause = \"s. 40\"\n", "", "needs its `clause`"),
        ("data", "\"1.6 mm\"", "\"1.6\"", "has no unit"),
        ("data", "\"1.6 mm\"", "1.6", "a figure with its unit"),
    ] {
        assert!(page.contains(said), "the page does not say {said}");
        let ran = Extended::new(Some((from, to))).read(what);
        assert_eq!(ran.code, 2, "{to}: {}", ran.out);
        let line = ran.out.lines().find(|line| line.contains(said));
        let line = line.unwrap_or_else(|| panic!("{to}: {}", ran.out));
        let number = line.split(".toml:").nth(1).and_then(|rest| rest.split(':').next()?.parse::<usize>().ok());
        assert!(number.is_some_and(|number| number > 0), "{line}");
    }
}
