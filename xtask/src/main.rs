//! The project's automation: `cargo xtask --help` lists what it does.

mod browser;
mod debian;
mod demonstration;
mod dependencies;
mod doors;
mod evidence;
mod figures;
mod fuzz;
mod golden;
mod law;
mod licences;
mod long;
mod paper;
mod rust;
mod suite;
mod test;
mod tidy;
mod trust;
mod wasm;
mod web;
mod workspace;

use clap::{Parser, Subcommand};
use std::process::ExitCode;
use workspace::Workspace;

/// The project's automation.
#[derive(Parser)]
#[command(name = "cargo xtask", bin_name = "cargo xtask")]
struct Arguments {
    #[command(subcommand)]
    task: Task,
}

#[derive(Subcommand)]
enum Task {
    /// Runs every suite, or those named, and prints a summary
    ///
    /// On Debian, as root or with sudo, installs what a suite needs. Elsewhere a suite that
    /// cannot run is named and passed over, unless CI=1 is set: then it counts as a failure.
    Test {
        /// Suites to run; all of them if none is named
        suites: Vec<String>,
        /// Prints the suites' names and what each one checks
        #[arg(long)]
        list: bool,
    },
    /// Checks the rules about text that no compiler knows
    Tidy,
    /// Compares what the pure core links with docs/core-dependencies.txt
    Deps {
        /// Rewrites the list instead
        #[arg(long)]
        bless: bool,
    },
    /// Writes docs/evidence.md: every outside value beside what the formulas gave
    Evidence {
        /// Fails where the page is stale instead
        #[arg(long)]
        check: bool,
    },
    /// Writes docs/instruments.md: what each common gauge can decide
    Instruments {
        /// Fails where the page is stale instead
        #[arg(long)]
        check: bool,
    },
    /// Writes docs/law: a page for each law pack, from its file
    Law {
        /// Fails where a page is stale instead
        #[arg(long)]
        check: bool,
    },
    /// Checks each dependency's licence against deny.toml
    Licences,
    /// Builds the core for wasm, and compares its answers and size there with the native ones
    WasmGolden,
    /// Builds the app for the browser into target/web, which the server's next build embeds
    Web {
        /// Builds quickly and unoptimised: a debug server reads it from disk
        #[arg(long)]
        dev: bool,
    },
    /// Builds everything, serves the demonstration and opens it in a browser
    Demo {
        /// With a server that prints, too: typesetting takes some minutes more to build
        #[arg(long)]
        paper: bool,
    },
    /// Measures and writes docs/performance.md; criterion's figures are those of the last `long bench`
    Figures,
    /// Runs the suites too long for every change
    Long {
        /// Jobs to run; all of them if none is named
        jobs: Vec<String>,
        /// Prints the jobs' names and what each one measures
        #[arg(long)]
        list: bool,
        /// Minutes for each fuzz target, and for the doors
        #[arg(long, default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..))]
        minutes: u32,
    },
}

fn main() -> ExitCode {
    match run(Arguments::parse().task) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn run(task: Task) -> anyhow::Result<()> {
    let workspace = Workspace::locate()?;
    match task {
        Task::Test { list: true, .. } => {
            suite::print_list(test::SUITES);
            Ok(())
        }
        Task::Test { suites, .. } => test::run(&workspace, &suites),
        Task::Tidy => tidy::check(&workspace),
        Task::Deps { bless: true } => dependencies::bless(&workspace),
        Task::Deps { bless: false } => dependencies::check(&workspace),
        Task::Evidence { check } => evidence::write(&workspace, check),
        Task::Instruments { check } => evidence::written_by(&workspace, "domain::gauges", check),
        Task::Law { check } => law::write(&workspace, check),
        Task::Licences => licences::check(&workspace),
        Task::Web { dev } => web::build(&workspace, if dev { web::Build::Dev } else { web::Build::Release }),
        Task::Demo { paper } => web::demo(&workspace, paper),
        Task::Figures => figures::write(&workspace),
        Task::WasmGolden => golden::check(&workspace),
        Task::Long { list: true, .. } => {
            long::print_list();
            Ok(())
        }
        Task::Long { jobs, minutes, .. } => long::run(&workspace, &jobs, minutes),
    }
}
