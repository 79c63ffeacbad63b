//! `cargo xtask long`: what takes too long for every change, each with the date and machine of its figures.

use crate::suite::{CannotRun, seconds};
use crate::workspace::{Workspace, execute, read};
use crate::{browser, debian, doors, fuzz};
use anyhow::{Context, bail};
use std::thread;
use std::time::Instant;

struct Job {
    name: &'static str,
    /// What its figures say, as a phrase.
    measures: &'static str,
    run: fn(&Workspace, minutes: u32) -> anyhow::Result<()>,
}

const JOBS: &[Job] = &[
    Job { name: "mutants", measures: "how many changes of judging and correcting no test notices", run: mutants },
    Job { name: "bench", measures: "how long the core takes", run: bench },
    Job {
        name: "reliability",
        measures: "kills, ingest beside bare SQLite, opening a million events, phones and desks at once",
        run: reliability,
    },
    Job {
        name: "doors",
        measures: "whether a made-up request makes the server fail or break its word",
        run: doors::ask,
    },
    Job {
        name: "app",
        measures: "Lighthouse, from a key to its paint, scrolling two thousand machines",
        run: |workspace, _| browser::measure(workspace),
    },
    Job {
        name: "forecast",
        measures: "fitting and forecasting 10 000 machines beside lme4, how often intervals hold, what other rules cost",
        run: forecast,
    },
    Job { name: "fuzz", measures: "whether any input makes a parser of the core panic", run: fuzz_targets },
];

/// Prints each job's name and what its figures say.
pub(crate) fn print_list() {
    for job in JOBS {
        println!("{:14} {}", job.name, job.measures);
    }
}

/// Runs the jobs named, or all of them, and fails after the last if any of them failed.
pub(crate) fn run(workspace: &Workspace, names: &[String], minutes: u32) -> anyhow::Result<()> {
    let unknown: Vec<_> = names.iter().filter(|name| JOBS.iter().all(|job| job.name != *name)).cloned().collect();
    if !unknown.is_empty() {
        bail!("no job is called {}; `--list` names them", unknown.join(", "));
    }
    let mut failed = Vec::new();
    for job in JOBS.iter().filter(|job| names.is_empty() || names.iter().any(|name| name == job.name)) {
        if !run_one(workspace, job, minutes)? {
            failed.push(job.name);
        }
    }
    if !failed.is_empty() {
        bail!("failed: {}", failed.join(", "));
    }
    Ok(())
}

/// Runs a job and says whether it succeeded; one that cannot run here has not failed.
fn run_one(workspace: &Workspace, job: &Job, minutes: u32) -> anyhow::Result<bool> {
    println!("\n── {}: {}\n   {}", job.name, job.measures, circumstances(workspace)?);
    let start = Instant::now();
    let (word, why) = match (job.run)(workspace, minutes) {
        Ok(()) => ("passed", String::new()),
        Err(error) if error.is::<CannotRun>() => ("NOT RUN", format!(": {error:#}")),
        Err(error) => ("FAILED", format!(": {error:#}")),
    };
    println!("── {}: {word}, {}{why}", job.name, seconds(start.elapsed()));
    Ok(word != "FAILED")
}

/// Returns what a figure means nothing without: when, which code, which compiler, which machine.
fn circumstances(workspace: &Workspace) -> anyhow::Result<String> {
    let now = jiff::Timestamp::now().strftime("%Y-%m-%d %H:%M UTC").to_string();
    let commit = read(workspace.command("git").args(["describe", "--always", "--dirty"])).unwrap_or_default();
    let compiler = read(workspace.command("rustc").arg("--version"))?;
    let processors = thread::available_parallelism().context("cannot count the processors")?;
    Ok(format!("{now}, commit {}, {}, {processors} processors", commit.trim(), compiler.trim()))
}

fn mutants(workspace: &Workspace, _minutes: u32) -> anyhow::Result<()> {
    need(workspace, "mutants")?;
    let output = workspace.target("mutants");
    execute(workspace.cargo(&["mutants", "--package", "muster-core", "--output"]).arg(output))
}

fn bench(workspace: &Workspace, _minutes: u32) -> anyhow::Result<()> {
    execute(&mut workspace.cargo(&["bench", "--package", "muster-core", "--benches"]))
}

fn reliability(workspace: &Workspace, _minutes: u32) -> anyhow::Result<()> {
    let mut kills =
        workspace.cargo(&["test", "--release", "--package", "muster", "--no-default-features", "--test", "main"]);
    kills.args(["--", "--nocapture", "faults"]).env("MUSTER_KILLS", "200").env("MUSTER_WRITES", "10000");
    execute(&mut kills)?;
    for figure in ["ingest", "open", "load"] {
        let run = [
            "run",
            "--release",
            "--package",
            "muster",
            "--no-default-features",
            "--example",
            "reliability",
            "--",
            figure,
        ];
        execute(&mut workspace.cargo(&run))?;
    }
    Ok(())
}

fn forecast(workspace: &Workspace, _minutes: u32) -> anyhow::Result<()> {
    let has_lme4 = || workspace.answers("Rscript", &["-e", "library(lme4)"]);
    if !has_lme4() {
        debian::install(workspace, &["r-cran-lme4"])?;
    }
    for (example, arguments) in [("forecast_speed", &["reference"][..]), ("coverage", &[]), ("policies", &[])] {
        let run = ["run", "--release", "--package", "muster-core", "--example", example, "--"];
        execute(workspace.cargo(&run).args(arguments))?;
    }
    Ok(())
}

fn fuzz_targets(workspace: &Workspace, minutes: u32) -> anyhow::Result<()> {
    need(workspace, "fuzz")?;
    // libFuzzer's instrumentation is for nightly only
    if !workspace.answers("rustup", &["run", "nightly", "rustc", "--version"]) {
        return Err(CannotRun("no nightly compiler: run `rustup toolchain install nightly`".to_owned()).into());
    }
    fuzz::seed(workspace)?;
    let fuzz = |arguments: &[&str]| {
        let mut command = workspace.command("rustup");
        command.args(["run", "nightly", "cargo", "fuzz"]).args(arguments).args(["--fuzz-dir", fuzz::DIRECTORY]);
        command
    };
    let limit = format!("-max_total_time={}", u64::from(minutes) * 60);
    for target in read(&mut fuzz(&["list"]))?.lines() {
        execute(fuzz(&["run", target]).args(["--", &limit]))?;
    }
    Ok(())
}

/// Needs a subcommand of cargo that comes in a package of its own.
fn need(workspace: &Workspace, subcommand: &str) -> anyhow::Result<()> {
    if workspace.has_subcommand(subcommand) {
        return Ok(());
    }
    let remedy = format!("run `cargo install --locked cargo-{subcommand}`");
    Err(CannotRun(format!("no cargo-{subcommand}: {remedy}")).into())
}
