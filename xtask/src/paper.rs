//! Paper: every document of the demonstration looked at by programs that are not ours.

mod blot;

use crate::debian;
use crate::rust;
use crate::suite::CannotRun;
use crate::workspace::{Workspace, execute, read};
use anyhow::{Context, ensure};
use blot::{Edge, Place};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Programs that read PDFs and codes, and the Debian packages that bring them.
const PROGRAMS: [(&str, &str); 4] =
    [("qpdf", "qpdf"), ("pdfinfo", "poppler-utils"), ("pdftoppm", "poppler-utils"), ("zbarimg", "zbar-tools")];
/// What a code is read at: as a copier or a cheap camera sees it.
const DPI: u32 = 150;

/// Ways a code is worn, a tenth of it each time, and how many of them are to be read: the decoder loses some codes by where
/// a patch lies, and a camera looks many times a second.
const WEARS: u32 = 3;
const ENOUGH: u32 = 2;

/// A document of the demonstration: its name, how it is asked for, texts that follow each other on it, where its code is.
struct Document {
    name: &'static str,
    asked: &'static [&'static str],
    /// Printed from the demonstration's record, which takes long to tell: on one size only.
    of_record: bool,
    reads: &'static [&'static str],
    code: Place,
}

const CORNER: Place = Place { from: Edge::Right(12.0), top: 10.0, side: 34.0 };
const FORM: Place = Place { from: Edge::Right(12.0), top: 10.0, side: 31.0 };
const YARD: Place = Place { from: Edge::Right(12.0), top: 10.0, side: 30.0 };
const TAG: Place = Place { from: Edge::Left(18.0), top: 150.0, side: 30.0 };
const STICKER: Place = Place { from: Edge::Left(15.0), top: 19.8, side: 35.0 };

const DOCUMENTS: &[Document] = &[
    Document {
        name: "form",
        asked: &["form", "H-07"],
        of_record: false,
        reads: &[
            "walk-round form",
            "H-07",
            "no hold tag on the bar",
            "Front tyre pressure",
            "Findings",
            "Released for",
        ],
        code: FORM,
    },
    Document {
        name: "form-full",
        asked: &["form", "H-09", "--depth", "full", "--use", "road"],
        of_record: false,
        reads: &["walk-round form", "H-09", "Front tyre pressure", "Findings, in plain words"],
        code: FORM,
    },
    Document {
        name: "walk-round",
        asked: &["walk-round", "H-07"],
        of_record: false,
        reads: &["walk-round, before-ride", "H-07", "Reasons", "Findings", "Every answer", "What it rests on"],
        code: CORNER,
    },
    Document {
        name: "tag",
        asked: &["tag", "H-08"],
        of_record: false,
        reads: &["H-08", "HOLD", "Do not ride. Do not start.", "Why", "Stays until untagged"],
        code: TAG,
    },
    Document {
        name: "tags",
        asked: &["tag", "--number", "87", "--count", "2"],
        of_record: false,
        reads: &["0087", "HOLD", "0088"],
        code: TAG,
    },
    Document {
        name: "slip",
        asked: &["slip", "H-01"],
        of_record: false,
        reads: &["release slip", "H-01", "Set before it goes", "Goes out on condition", "Mind", "Signed"],
        code: CORNER,
    },
    Document {
        name: "dossier",
        asked: &["dossier", "H-07"],
        of_record: true,
        reads: &["machine dossier", "H-07", "Identity", "Equipment", "Sheet:", "Findings", "Workshop", "Walked round"],
        code: CORNER,
    },
    Document {
        name: "sheet",
        asked: &["sheet"],
        of_record: false,
        reads: &["Yard sheet", "Must not go out", "Walk round first", "May go out"],
        code: YARD,
    },
    // The whole morning: the sheet, a form a machine, a tag for each on hold.
    Document {
        name: "yard",
        asked: &["yard"],
        of_record: false,
        reads: &["Yard sheet", "Must not go out", "H-01", "walk-round form", "H-24", "Released for", "Do not ride"],
        code: YARD,
    },
    Document { name: "stickers", asked: &["stickers"], of_record: false, reads: &["H-01", "H-24"], code: STICKER },
];

/// Prints every document on both sizes and reads it with other programs.
pub(crate) fn check(workspace: &Workspace) -> anyhow::Result<()> {
    programs(workspace)?;
    let muster = rust::program(workspace)?;
    let folder = workspace.target("paper");
    if folder.exists() {
        fs::remove_dir_all(&folder)?;
    }
    fs::create_dir_all(&folder)?;
    let (some, others) = DOCUMENTS.split_at(DOCUMENTS.len() / 2);
    std::thread::scope(|scope| {
        let beside = scope.spawn(|| looked_at(workspace, &muster, some, &folder));
        let here = looked_at(workspace, &muster, others, &folder);
        beside.join().map_err(|_| anyhow::anyhow!("looking at the documents broke off"))?.and(here)
    })
}

/// Prints documents and looks at each.
fn looked_at(workspace: &Workspace, muster: &Path, documents: &[Document], folder: &Path) -> anyhow::Result<()> {
    for document in documents {
        // The morning takes as long as all others together.
        let takes_long = document.of_record || document.name == "yard";
        let sizes: &[&str] = if takes_long { &["a4"] } else { &["a4", "letter"] };
        for size in sizes {
            let file = folder.join(format!("{}-{size}.pdf", document.name));
            printed(workspace, muster, document, size, &file)?;
            well_formed(workspace, document, &file)?;
        }
        println!(
            "{}: printed on {}, well formed, read in order, its code read worn",
            document.name,
            sizes.join(" and ")
        );
    }
    Ok(())
}

fn programs(workspace: &Workspace) -> anyhow::Result<()> {
    let lacks = || PROGRAMS.iter().filter(|(program, _)| !on_path(program));
    let packages: Vec<&str> = lacks().map(|(_, package)| *package).collect();
    if !packages.is_empty() {
        debian::install(workspace, &packages)?;
    }
    match lacks().next() {
        None => Ok(()),
        Some((program, package)) => Err(CannotRun(format!("no {program}: install it with {package}")).into()),
    }
}

/// Looked for by name: some of the programs end even their help with an error.
fn on_path(program: &str) -> bool {
    std::env::var_os("PATH")
        .is_some_and(|path| std::env::split_paths(&path).any(|folder| folder.join(program).exists()))
}

/// Prints a document; what it rests on is the demonstration, so each run prints the same.
fn printed(workspace: &Workspace, muster: &Path, document: &Document, size: &str, file: &Path) -> anyhow::Result<()> {
    let mut muster = Command::new(muster);
    muster.arg("paper").args(document.asked).args(["--size", size, "--address", "https://harrow-lane.example"]);
    if !document.of_record {
        muster.arg("--yard").arg(workspace.path("data/demo/harrow-lane"));
    }
    execute(muster.arg("--out").arg(file))
}

/// The file's structure, its standards' marks, its words in the order they are read out, and its code as worn.
fn well_formed(workspace: &Workspace, document: &Document, file: &Path) -> anyhow::Result<()> {
    let name = file.display();
    execute(workspace.command("qpdf").arg("--check").arg(file).stdout(Stdio::null()))
        .with_context(|| format!("{name} is damaged"))?;
    let tagged = read(workspace.command("pdfinfo").arg(file))?;
    ensure!(tagged.lines().any(|line| line.starts_with("Tagged:") && line.ends_with("yes")), "{name} is not tagged");
    // What it prints beside the text is not always UTF-8.
    let text =
        workspace.command("pdfinfo").arg("-struct-text").arg(file).output().context("cannot run pdfinfo")?.stdout;
    let text = String::from_utf8_lossy(&text);
    let mut rest: &str = &text;
    for words in document.reads {
        let at = rest.find(words).with_context(|| format!("{name}: `{words}` is missing or read too early"))?;
        rest = rest.get(at + words.len()..).unwrap_or_default();
    }
    let root = file.with_extension("");
    execute(workspace.command("pdftoppm").args(["-gray", "-r", &DPI.to_string(), "-l", "1"]).arg(file).arg(&root))?;
    let (page, worn) = (first_page(&root)?, root.with_extension("worn.pgm"));
    let codes = |picture: &Path| -> anyhow::Result<BTreeSet<String>> {
        let says = read(workspace.command("zbarimg").args(["--quiet", "--raw"]).arg(picture).stderr(Stdio::null()))?;
        Ok(says.lines().map(str::to_owned).collect())
    };
    let says = codes(&page).with_context(|| format!("{name}: no code is read"))?;
    ensure!(says.iter().all(|says| says.starts_with("https://harrow-lane.example/")), "{name}: a code says {says:?}");
    let mut read_worn = 0;
    for way in 1..=WEARS {
        blot::blot(&page, &worn, document.code, (DPI, way))?;
        // One that is not read at all ends with an error; one that reads otherwise must not be.
        let Ok(worn) = codes(&worn) else { continue };
        ensure!(worn.is_subset(&says), "{name}: a worn code reads as {worn:?}, not {says:?}");
        read_worn += u32::from(worn == says);
    }
    ensure!(read_worn >= ENOUGH, "{name}: of {WEARS} ways to wear its code {read_worn} were read");
    Ok(())
}

/// The picture of a document's first page, whatever number of digits it is named with.
fn first_page(root: &Path) -> anyhow::Result<PathBuf> {
    let named = |digits: usize| PathBuf::from(format!("{}-{:0digits$}.pgm", root.display(), 1));
    (1..5).map(named).find(|path| path.exists()).context("no picture was made")
}
