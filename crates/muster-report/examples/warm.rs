//! How long typesetting takes once fonts and templates are read: a form, 30 pages, the morning's forms in one file.
//!
//! `cargo run --release --package muster-report --example warm`

#[path = "../tests/paper/demo.rs"]
#[expect(dead_code, clippy::unwrap_used, reason = "it is of the tests, which need more of it")]
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
    let start = Instant::now();
    let _first = of(&forms[..1]);
    println!("the first form, fonts and templates not yet read: {}", milliseconds(start.elapsed()));
    // Each form is another machine's, so that nothing is set from memory but what all of them share.
    let (mut times, mut pages, before) = (Vec::new(), Vec::new(), worked());
    for leaf in forms.iter().skip(1) {
        let start = Instant::now();
        pages.push(of(std::slice::from_ref(leaf)).pages);
        times.push(start.elapsed());
    }
    let each = worked().saturating_sub(before) / u32::try_from(times.len()).unwrap_or(1);
    times.sort_unstable();
    let (median, most) = (times.get(times.len() / 2).copied(), times.last().copied());
    println!(
        "a form: median {}, slowest {}, {} of processors; {} of {} on one page",
        milliseconds(median.unwrap_or_default()),
        milliseconds(most.unwrap_or_default()),
        milliseconds(each),
        pages.iter().filter(|pages| **pages == 1).count(),
        pages.len()
    );
    several("dossiers", &dossiers[..15], of);
    several("forms", &forms, of);
}

/// Sets documents in one file, nothing remembered of those before.
fn several(what: &str, leaves: &[Leaf], of: impl Fn(&[Leaf]) -> Pdf) {
    typst::comemo::evict(0);
    let (start, before) = (Instant::now(), worked());
    let pdf = of(leaves);
    let (took, worked) = (milliseconds(start.elapsed()), milliseconds(worked().saturating_sub(before)));
    println!("{} {what} in one file, {} pages: {took}, {worked} of processors", leaves.len(), pdf.pages);
}

/// What all processors have worked for this program, where the system tells: on a busy machine it says more than a clock.
fn worked() -> Duration {
    /// Linux counts in these.
    const TICK: Duration = Duration::from_millis(10);
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields = stat.rsplit(')').next().unwrap_or_default().split_whitespace();
    // User and system time: fields 14 and 15 of proc_pid_stat(5), the name in brackets being the second.
    let ticks: u32 = fields.skip(11).take(2).filter_map(|field| field.parse::<u32>().ok()).sum();
    TICK * ticks
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
