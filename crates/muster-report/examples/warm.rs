//! How long typesetting takes once fonts and templates are read: a form, 30 pages, the morning's forms in one file.
//!
//! `cargo run --release --package muster-report --example warm`

#[path = "../tests/paper/demo.rs"]
mod demo;

use std::time::{Duration, Instant};

use demo::{COLD, Demo, walk};
use muster_core::words::{Depth, Use};
use muster_report::{Blank, Dossier, Leaf, Pdf, Reader, Seal, Size, print};

const DAY_S: i64 = 86_400;

fn main() {
    let demo = Demo::load();
    let forms: Vec<Leaf> = demo.yard.machines.keys().map(|id| form(demo, id)).collect();
    let dossiers: Vec<Leaf> = demo.yard.machines.keys().map(|id| dossier(demo, id)).collect();
    let of = |leaves: &[Leaf]| print(leaves.to_vec(), &demo.paper(Size::A4)).expect("the demonstration is set");
    let timed = |leaves: &[Leaf]| {
        let start = Instant::now();
        let pdf = of(leaves);
        (start.elapsed(), pdf)
    };
    let (cold, _) = timed(&forms[..1]);
    println!("the first form, fonts and templates not yet read: {}", milliseconds(cold));
    // Each form is another machine's, so that nothing is set from memory but what all of them share.
    let warm: Vec<(Duration, Pdf)> = forms.iter().skip(1).map(|leaf| timed(std::slice::from_ref(leaf))).collect();
    let median = middle(warm.iter().map(|of| of.0).collect());
    let most = warm.iter().map(|of| of.0).max().unwrap_or_default();
    let pages = warm.iter().map(|of| of.1.pages).max().unwrap_or_default();
    println!("a form: {}, slowest {}, at most {pages} pages", milliseconds(median), milliseconds(most));
    let enough = (1..=dossiers.len()).find(|count| of(&dossiers[..*count]).pages >= 30).unwrap_or(dossiers.len());
    let (long, pdf) = timed(&dossiers[..enough]);
    println!("{enough} dossiers in one file, {} pages: {}", pdf.pages, milliseconds(long));
    // Nothing is left of the forms above.
    typst::comemo::evict(0);
    let (morning, pdf) = timed(&forms);
    println!("{} forms in one file, {} pages: {}", forms.len(), pdf.pages, milliseconds(morning));
}

fn middle(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times.get(times.len() / 2).copied().unwrap_or_default()
}

fn milliseconds(time: Duration) -> String {
    format!("{:.0} ms", time.as_secs_f64() * 1e3)
}

fn seal(machine: &str) -> Option<Seal> {
    Some(Seal { path: format!("/machines/{machine}"), hash: "7c2e91d4".repeat(8) })
}

fn form(demo: &Demo, machine: &str) -> Leaf {
    let (context, forms) = (demo.context(machine, demo.now().later_by(DAY_S)), demo.forms_of(machine));
    let walk = walk(&context, &forms, Use::Range);
    let blank = Blank {
        context: &context,
        forms: &forms,
        walk: &walk,
        depth: Depth::BeforeRide,
        planned: Use::Range,
        found: COLD,
        seal: seal(machine),
    };
    blank.leaf()
}

fn dossier(demo: &Demo, machine: &str) -> Leaf {
    let (context, forms) = (demo.context(machine, demo.now()), demo.forms_of(machine));
    let dossier = Dossier {
        context: &context,
        forms: &forms,
        judgement: &demo.judgement(machine),
        reader: Reader::Inspector,
        odometer: None,
        lives: Vec::new(),
        works: Vec::new(),
        readings: None,
        name: &|person| person.to_string(),
        seal: seal(machine),
    };
    dossier.leaf()
}
