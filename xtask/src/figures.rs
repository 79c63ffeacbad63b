//! `cargo xtask figures`: measures what can be measured here and writes docs/performance.md, goals beside results.

use crate::golden::{self, MAX_BROTLI_BYTES, Size};
use crate::workspace::{Workspace, execute, read};
use anyhow::{Context, ensure};
use serde_json::Value;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};
use std::{env, fs, thread};

const PAGE: &str = "docs/performance.md";
const YARD: &str = "data/demo/harrow-lane";
const FULL_FORM: &str = "data/demo/harrow-lane/forms/h-15-2026-11-12-full.toml";
const RUNS: usize = 20;

/// The groups of benches that stand for many machines: the slowest is told.
const WALK_ROUNDS: &[&str] =
    &["walk-round before a ride, range/", "walk-round before a ride, road/", "walk-round in full/"];

/// One line of the page.
struct Figure {
    what: String,
    goal: &'static str,
    got: String,
}

/// Measures, and writes the page.
pub(crate) fn write(workspace: &Workspace) -> anyhow::Result<()> {
    let benches = benches(workspace)?;
    ensure!(!benches.is_empty(), "no figures of criterion: run `cargo xtask long bench` first");
    let mut figures: Vec<Figure> = reading(&benches).into_iter().collect();
    figures.extend(walk_rounds(&benches));
    figures.extend(verdict(workspace)?);
    let size = Size::of(&golden::module(workspace)?)?;
    figures.push(Figure {
        what: "the core as wasm, with its catalogue and both doors, compressed with brotli".into(),
        goal: "at most 245 kB",
        got: format!("{} ({} as it is)", kilobytes(size.brotli), kilobytes(size.raw)),
    });
    ensure!(size.brotli <= MAX_BROTLI_BYTES, "the module is {} compressed", kilobytes(size.brotli));
    let text = page(workspace, &figures, &benches)?;
    fs::write(workspace.path(PAGE), &text).with_context(|| format!("cannot write {PAGE}"))?;
    print!("{text}");
    Ok(())
}

fn page(workspace: &Workspace, figures: &[Figure], benches: &[(String, f64)]) -> anyhow::Result<String> {
    let now = jiff::Timestamp::now().strftime("%Y-%m-%d").to_string();
    let compiler = read(workspace.command("rustc").arg("--version"))?;
    let cores = thread::available_parallelism().context("cannot count the processors")?;
    let mut out = format!(
        "# Performance\n\nWritten by `cargo xtask figures` on {now}, on {} ({cores} cores), {}.\n\
         Other machines give other figures; the goals are for any of the last ten years.\n\n\
         | what | goal | measured |\n| --- | --- | --- |\n",
        processor(),
        compiler.trim()
    );
    for Figure { what, goal, got } in figures {
        writeln!(out, "| {what} | {goal} | {got} |")?;
    }
    out.push_str("\nEach bench by its median:\n\n| bench | time |\n| --- | --- |\n");
    for (name, nanoseconds) in benches {
        writeln!(out, "| {name} | {} |", time(*nanoseconds))?;
    }
    Ok(out)
}

fn processor() -> String {
    let text = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = text.lines().find_map(|line| line.strip_prefix("model name")?.split_once(':'));
    model.map_or_else(
        || format!("a processor that does not tell ({})", env::consts::ARCH),
        |(_, name)| name.trim().into(),
    )
}

/// Each bench with its median in nanoseconds, as criterion left it, by name.
fn benches(workspace: &Workspace) -> anyhow::Result<Vec<(String, f64)>> {
    let mut found = Vec::new();
    let root = workspace.target("criterion");
    if root.is_dir() {
        collect(&root, &mut found)?;
    }
    found.sort_by(|a: &(String, f64), b| a.0.cmp(&b.0));
    Ok(found)
}

fn collect(directory: &Path, found: &mut Vec<(String, f64)>) -> anyhow::Result<()> {
    let json = |name: &str| -> anyhow::Result<Value> {
        let path = directory.join("new").join(name);
        let text = fs::read_to_string(&path).with_context(|| format!("cannot read {}", path.display()))?;
        serde_json::from_str(&text).with_context(|| format!("{} is not JSON", path.display()))
    };
    if directory.join("new/estimates.json").is_file() {
        let name = json("benchmark.json")?["full_id"].as_str().context("a bench has no name")?.to_owned();
        let median = json("estimates.json")?["median"]["point_estimate"].as_f64().context("a bench has no median")?;
        found.push((name, median));
        return Ok(());
    }
    for entry in fs::read_dir(directory).with_context(|| format!("cannot list {}", directory.display()))? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, found)?;
        }
    }
    Ok(())
}

fn reading(benches: &[(String, f64)]) -> Option<Figure> {
    let slowest = benches.iter().filter(|(name, _)| name.starts_with("reading/")).map(|(_, time)| *time);
    let slowest = slowest.max_by(f64::total_cmp)?;
    Some(Figure {
        what: "readings judged on one core (three repeats, two bounds)".into(),
        goal: "at least 1 million a second",
        got: format!("{:.1} million a second", 1e3 / slowest),
    })
}

fn walk_rounds(benches: &[(String, f64)]) -> Vec<Figure> {
    let slowest = |prefix: &&str| {
        let ones = benches.iter().filter(|(name, _)| name.starts_with(prefix));
        let (name, slowest) = ones.max_by(|a, b| a.1.total_cmp(&b.1))?;
        Some(Figure {
            what: format!(
                "{}, nothing answered yet; slowest: {}",
                prefix.trim_end_matches('/'),
                name.trim_start_matches(prefix)
            ),
            goal: "below 2 ms",
            got: time(*slowest),
        })
    };
    WALK_ROUNDS.iter().filter_map(slowest).collect()
}

/// From the start of the command to the verdict of a full form.
fn verdict(workspace: &Workspace) -> anyhow::Result<Vec<Figure>> {
    execute(&mut workspace.cargo(&["build", "--release", "--locked", "--package", "muster", "--no-default-features"]))?;
    let binary = workspace.target("release").join("muster").display().to_string();
    if !workspace.answers(&binary, &["judge", "--help"]) {
        println!("muster has no `judge`: its figures are left out");
        return Ok(Vec::new());
    }
    let arguments = ["judge", FULL_FORM, "--yard", YARD, "--json"];
    let mut times = Vec::new();
    for _ in 0..RUNS {
        let start = Instant::now();
        let output = workspace.command(&binary).args(arguments).stderr(Stdio::null()).output()?;
        times.push(start.elapsed());
        ensure!(output.stdout.starts_with(b"{"), "{FULL_FORM} is not judged");
    }
    times.sort();
    let median = times.get(RUNS / 2).copied().unwrap_or(Duration::MAX);
    let what = "from the start of the command to the verdict on a full form".to_owned();
    let mut figures = vec![Figure { what, goal: "below 30 ms", got: time(median.as_secs_f64() * 1e9) }];
    // GNU time tells the peak of a child; no other program here does without unsafe code.
    let mut peak = workspace.command("/usr/bin/time");
    if let Ok(output) = peak.args(["-f", "%M", &binary]).args(arguments).stdout(Stdio::null()).output() {
        let text = String::from_utf8_lossy(&output.stderr).into_owned();
        if let Some(kibibytes) = text.lines().last().and_then(|line| line.trim().parse::<usize>().ok()) {
            let what = "memory at its most, meanwhile".to_owned();
            figures.push(Figure { what, goal: "at most 20 MB", got: format!("{:.1} MB", kibibytes as f64 * 1.024e-3) });
        }
    }
    Ok(figures)
}

fn kilobytes(bytes: usize) -> String {
    format!("{:.1} kB", bytes as f64 / 1e3)
}

fn time(nanoseconds: f64) -> String {
    match nanoseconds {
        ns if ns < 1e3 => format!("{ns:.0} ns"),
        ns if ns < 1e6 => format!("{:.1} µs", ns / 1e3),
        ns => format!("{:.2} ms", ns / 1e6),
    }
}
