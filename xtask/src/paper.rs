//! Paper: its crate's lints and tests, and every document of the demonstration looked at by programs that are not ours.

mod blot;

use crate::debian;
use crate::suite::CannotRun;
use crate::workspace::{Workspace, execute, read};
use anyhow::{Context, ensure};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Programs that read PDFs and codes, and the Debian packages that bring them.
const PROGRAMS: [(&str, &str); 4] =
    [("qpdf", "qpdf"), ("pdftotext", "poppler-utils"), ("pdftoppm", "poppler-utils"), ("zbarimg", "zbar-tools")];
/// What a code is read at: as a copier or a cheap camera sees it.
const DPI: u32 = 150;

/// A document of the demonstration: its name, how it is asked for, and texts that follow each other on it.
struct Document {
    name: &'static str,
    asked: &'static [&'static str],
    reads: &'static [&'static str],
    /// Whether it bears a code.
    coded: bool,
}

const DOCUMENTS: &[Document] = &[
    Document {
        name: "form",
        asked: &["form", "H-07"],
        reads: &["walk-round form", "H-07", "First:", "no hold tag on the bar", "Front tyre pressure", "Findings, in plain words", "Released for"],
        coded: true,
    },
    Document {
        name: "form-full",
        asked: &["form", "H-09", "--depth", "full", "--use", "road"],
        reads: &["walk-round form", "H-09", "Front tyre pressure", "Findings, in plain words"],
        coded: true,
    },
    Document {
        name: "walk-round",
        asked: &["walk-round", "H-07"],
        reads: &["walk-round, ", "H-07", "Reasons", "Findings", "Every answer", "What it rests on"],
        coded: true,
    },
    Document {
        name: "tag",
        asked: &["tag", "H-08"],
        reads: &["H-08", "HOLD", "Do not ride. Do not start.", "Why", "Stays until untagged by name."],
        coded: true,
    },
    Document {
        name: "tags",
        asked: &["tag", "--number", "87", "--count", "2"],
        reads: &["0087", "HOLD", "0088"],
        coded: true,
    },
    Document {
        name: "slip",
        asked: &["slip", "H-01"],
        reads: &["release slip", "H-01", "Set before it goes", "Goes out on condition", "Mind", "Signed"],
        coded: true,
    },
    Document {
        name: "dossier",
        asked: &["dossier", "H-07"],
        reads: &["machine dossier", "H-07", "Identity", "Equipment", "Sheet:", "Findings", "Workshop", "Walked round"],
        coded: true,
    },
    Document { name: "yard", asked: &["yard"], reads: &["yard sheet", "Must not go out", "walk-round form"], coded: true },
    Document { name: "sheet", asked: &["sheet"], reads: &["yard sheet", "Must not go out", "May go out"], coded: true },
    Document { name: "stickers", asked: &["stickers"], reads: &["H-01", "H-24"], coded: true },
];

/// Lints and tests paper, then prints every document on both sizes and reads it with other programs.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    programs(workspace)?;
    execute(&mut workspace.cargo(&["clippy", "--package", "muster-report", "--all-targets", "--", "-D", "warnings"]))?;
    execute(&mut workspace.cargo(&["test", "--package", "muster-report"]))?;
    execute(&mut workspace.cargo(&["build", "--quiet", "--package", "muster"]))?;
    let folder = workspace.target("paper");
    if folder.exists() {
        fs::remove_dir_all(&folder)?;
    }
    fs::create_dir_all(&folder)?;
    for document in DOCUMENTS {
        for size in ["a4", "letter"] {
            let file = printed(workspace, document, size, &folder)?;
            well_formed(workspace, document, &file)?;
        }
        println!("{}: printed on both sizes, well formed, read in order", document.name);
    }
    Ok(())
}

fn programs(workspace: &Workspace) -> anyhow::Result<()> {
    let lacks = || PROGRAMS.iter().filter(|(program, _)| !workspace.answers(program, &["--help"]) && !on_path(program));
    let packages: Vec<&str> = lacks().map(|(_, package)| *package).collect();
    if !packages.is_empty() {
        debian::install(workspace, &packages)?;
    }
    match lacks().next() {
        None => Ok(()),
        Some((program, package)) => Err(CannotRun(format!("no {program}: install it with {package}")).into()),
    }
}

/// Some of the programs end their help with an error.
fn on_path(program: &str) -> bool {
    std::env::var_os("PATH").is_some_and(|path| std::env::split_paths(&path).any(|folder| folder.join(program).exists()))
}

/// Prints a document; what it rests on is the demonstration, so each run prints the same.
fn printed(workspace: &Workspace, document: &Document, size: &str, folder: &Path) -> anyhow::Result<PathBuf> {
    let file = folder.join(format!("{}-{size}.pdf", document.name));
    let mut muster = Command::new(workspace.target("debug/muster"));
    muster.arg("paper").args(document.asked).args(["--size", size]).arg("--out").arg(&file);
    execute(&mut muster)?;
    Ok(file)
}

/// The file's structure, its standards' marks, its words in order, and its codes as a worn print shows them.
fn well_formed(workspace: &Workspace, document: &Document, file: &Path) -> anyhow::Result<()> {
    let name = file.display();
    execute(workspace.command("qpdf").arg("--check").arg(file).stdout(Stdio::null()))
        .with_context(|| format!("{name} is damaged"))?;
    let text = read(workspace.command("pdftotext").arg(file).arg("-"))?;
    let mut rest = text.as_str();
    for words in document.reads {
        let at = rest.find(words).with_context(|| format!("{name}: `{words}` is missing or comes too early"))?;
        rest = rest.get(at + words.len()..).unwrap_or_default();
    }
    if document.coded {
        let root = file.with_extension("");
        execute(workspace.command("pdftoppm").args(["-gray", "-r", &DPI.to_string(), "-l", "1"]).arg(file).arg(&root))?;
        let page = first_page(&root)?;
        let says = read(workspace.command("zbarimg").args(["--quiet", "--raw"]).arg(&page))?;
        ensure!(says.contains("https://"), "{name}: the code does not lead to a server: {says}");
        let blotted = root.with_extension("blotted.pgm");
        blot::blot(&page, &blotted)?;
        let worn = read(workspace.command("zbarimg").args(["--quiet", "--raw"]).arg(&blotted))
            .with_context(|| format!("{name}: a worn code is not read"))?;
        let lines = |text: &str| text.lines().map(str::to_owned).collect::<BTreeSet<_>>();
        ensure!(lines(&worn) == lines(&says), "{name}: a worn code reads as {worn}, not {says}");
    }
    Ok(())
}

/// The picture of a document's first page, whatever number of digits it is named with.
fn first_page(root: &Path) -> anyhow::Result<PathBuf> {
    let named = |digits: usize| PathBuf::from(format!("{}-{:0digits$}.pgm", root.display(), 1));
    (1..5).map(named).find(|path| path.exists()).context("no picture was made")
}
