//! The fuzz targets' first inputs: the demonstration's files and the catalogue's, and a few texts as people type them.

use crate::demonstration::Demonstration;
use crate::workspace::Workspace;
use anyhow::Context;
use std::fs;

/// A package with an empty `[workspace]` of its own: it builds only with nightly.
pub(crate) const DIRECTORY: &str = "crates/muster-core/fuzz";

const FIGURES: &[&str] = &[
    "32 psi",
    "2.2 bar",
    "220kPa",
    "5/32 in",
    "1 5/32 in",
    "4.1 mm",
    "12 400 km",
    "7,700 mi",
    "−3 °C",
    "106 F",
    "90 /min",
    "80 %",
    "12.8 V",
    "3 years",
];
const VINS: &[&str] = &["11111111111111111", "ZZ9CPBA10MH002874"];
const TYRE_CODES: &[&str] = &["3219", "DOT A1B2 C3D4 3219", "319"];
const MOMENTS: &[&str] =
    &["2026-11-24T07:52:00+00:00", "2026-11-24 07:52Z", "2024-02-29", "2026-11-24T07:52:00.5-05:30"];

const EVENTS: &[&str] = &[
    concat!(
        r#"{"at":"2026-11-24T08:00:00+00:00","author":"m-okafor","device":"72cd6e8422c407fb","height":1,"#,
        r#""kind":"odometer-noted","payload":{"machine":"H-02","odometer":"30 000 km"},"previous":null,"seen":[],"#,
        r#""seq":1,"version":1}"#,
    ),
    concat!(
        r#"{"at":"2026-10-28T14:10:00+00:00","author":"i-halloran","device":"75877bb41d393b5f","height":63,"#,
        r#""kind":"reading-taken","payload":{"air":null,"check":"battery.rest","corrects":null,"machine":"H-09","#,
        r#""note":null,"odometer":null,"read":"12.62 V","tyre":null,"walk_round":"75877bb41d393b5f.1","why":null,"#,
        r#""with":"M-1"},"previous":"10796f0259773deb0f328e3bc8175c901e55a000154f3bc44d8279d15fd1b98f","#,
        r#""seen":["72cd6e8422c407fb.61"],"seq":2,"version":1}"#,
    ),
    concat!(
        r#"{"at":"2026-11-24T08:00:00+00:00","author":"m-okafor","device":"72cd6e8422c407fb","height":9,"#,
        r#""kind":"of-tomorrow","payload":{"places":{"left":["1.2 mm"]}},"previous":null,"seen":[],"seq":1,"#,
        r#""version":2}"#,
    ),
];

/// Files of the yard that the targets `form` and `yard` embed, in their order.
const YARD: &[&str] = &["yard.toml", "house.toml", "sheets/corvane-pebble.toml", "machines/h-02.toml"];

/// Writes each target's first inputs into its corpus, which git ignores.
pub(crate) fn seed(workspace: &Workspace) -> anyhow::Result<()> {
    let demonstration = Demonstration::read(workspace)?;
    let typed = [("text", FIGURES), ("vin", VINS), ("tyre_date", TYRE_CODES), ("moment", MOMENTS), ("event", EVENTS)];
    for (target, texts) in typed {
        write(workspace, target, texts.iter().map(|text| text.as_bytes().to_vec()))?;
    }
    // These embed one machine: every form is filled for it.
    let forms = demonstration.forms().map(|(machine, text)| text.replace(&machine, "H-02").into_bytes());
    write(workspace, "form", forms)?;
    let questions = demonstration.questions()?;
    write(workspace, "answer", questions.into_values().take(2).map(String::into_bytes))?;
    let yard: Vec<_> = YARD.iter().filter_map(|name| demonstration.file(name)).collect();
    write(workspace, "yard", numbered(yard))?;
    write(workspace, "catalogue", numbered(muster_core::data::FILES.iter().map(|(_, text)| *text).collect()))
}

/// The targets choose the file to replace by the first byte.
fn numbered(texts: Vec<&str>) -> impl Iterator<Item = Vec<u8>> {
    texts.into_iter().zip(0_u8..).map(|(text, number)| [&[number], text.as_bytes()].concat())
}

fn write(workspace: &Workspace, target: &str, inputs: impl Iterator<Item = Vec<u8>>) -> anyhow::Result<()> {
    let directory = workspace.path(DIRECTORY).join("corpus").join(target);
    fs::create_dir_all(&directory).with_context(|| format!("cannot make the corpus of {target}"))?;
    for (number, input) in inputs.enumerate() {
        fs::write(directory.join(format!("seed-{number}")), input).context("cannot write a first input")?;
    }
    Ok(())
}
