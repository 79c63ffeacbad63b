//! A named suite, how it ended, and the table printed after all of them.

use crate::workspace::{Log, Workspace};
use anyhow::{bail, ensure};
use std::fmt;
use std::panic::resume_unwind;
use std::thread;
use std::time::{Duration, Instant};

/// A named check that runs on its own.
pub(crate) struct Suite {
    pub(crate) name: &'static str,
    /// What it checks, as a phrase.
    checks: &'static str,
    /// Runs it; [`CannotRun`] as its error means that the machine lacks something.
    run: fn(&Workspace) -> anyhow::Result<()>,
    turn: Turn,
}

impl Suite {
    pub(crate) const fn new(
        turn: Turn,
        name: &'static str,
        checks: &'static str,
        run: fn(&Workspace) -> anyhow::Result<()>,
    ) -> Self {
        Self { name, checks, run, turn }
    }
}

/// When a suite runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Turn {
    /// After the one before it.
    Next,
    /// Beside those that run next: it builds in a folder of its own, and linking leaves a processor idle.
    Beside,
    /// When all others have ended: it takes what they built.
    Last,
}

/// The error of a suite which found nothing wrong, because it could not look.
#[derive(Debug)]
pub(crate) struct CannotRun(
    /// What is missing, and how to get it.
    pub(crate) String,
);

impl fmt::Display for CannotRun {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.0)
    }
}

impl std::error::Error for CannotRun {}

/// How a suite ended.
enum Outcome {
    Passed,
    Failed(String),
    NotRun(String),
}

struct Finished {
    name: &'static str,
    outcome: Outcome,
    time: Duration,
}

/// Prints each suite's name and what it checks.
pub(crate) fn print_list(suites: &[Suite]) {
    for suite in suites {
        println!("{:14} {}", suite.name, suite.checks);
    }
}

/// Runs every suite to its end, prints a summary, and fails if any of them failed.
///
/// `strict` makes a suite that could not run a failure as well.
pub(crate) fn run_all(workspace: &Workspace, suites: &[&Suite], strict: bool) -> anyhow::Result<()> {
    let start = Instant::now();
    // With nothing to run beside, what they print is better seen at once.
    let alone = suites.iter().all(|suite| suite.turn != Turn::Next);
    let when = move |suite: &Suite| if alone && suite.turn == Turn::Beside { Turn::Next } else { suite.turn };
    let of = |turn| suites.iter().copied().filter(move |suite| when(suite) == turn);
    let mut finished: Vec<Finished> = thread::scope(|scope| {
        let beside: Vec<_> = of(Turn::Beside).collect();
        let beside = scope.spawn(|| beside.into_iter().map(|suite| run_beside(workspace, suite)).collect::<Vec<_>>());
        let mut finished: Vec<_> = of(Turn::Next).map(|suite| run_one(workspace, suite)).collect();
        finished.extend(beside.join().unwrap_or_else(|broken| resume_unwind(broken)));
        finished
    });
    finished.extend(of(Turn::Last).map(|suite| run_one(workspace, suite)));
    print_summary(&finished, start.elapsed());
    verdict(&finished, strict)
}

fn run_one(workspace: &Workspace, suite: &Suite) -> Finished {
    println!("\n── {}: {}", suite.name, suite.checks);
    ended(workspace, suite).told("")
}

/// Runs a suite whose commands print to a file, which is shown when it has ended.
fn run_beside(workspace: &Workspace, suite: &Suite) -> Finished {
    println!("── {}, beside: {}", suite.name, suite.checks);
    match Log::of_this_thread(&workspace.target("suites"), suite.name) {
        Err(error) => {
            Finished { name: suite.name, outcome: Outcome::Failed(format!("{error:#}")), time: Duration::ZERO }.told("")
        }
        Ok(log) => ended(workspace, suite).told(&log.read()),
    }
}

fn ended(workspace: &Workspace, suite: &Suite) -> Finished {
    let start = Instant::now();
    let outcome = match (suite.run)(workspace) {
        Ok(()) => Outcome::Passed,
        Err(error) if error.is::<CannotRun>() => Outcome::NotRun(format!("{error:#}")),
        Err(error) => Outcome::Failed(format!("{error:#}")),
    };
    Finished { name: suite.name, outcome, time: start.elapsed() }
}

impl Finished {
    /// Says how it ended, at once with what it had printed, so that nothing comes between.
    fn told(self, printed: &str) -> Self {
        let reason = match &self.outcome {
            Outcome::Passed => String::new(),
            Outcome::Failed(text) | Outcome::NotRun(text) => format!("{text}\n"),
        };
        print!("{printed}── {}: {}, {}\n{reason}", self.name, self.outcome.word(), seconds(self.time));
        self
    }
}

fn print_summary(finished: &[Finished], total: Duration) {
    println!("\n── summary");
    for suite in finished {
        let reason = match &suite.outcome {
            Outcome::Passed => "",
            Outcome::Failed(text) | Outcome::NotRun(text) => text.lines().next().unwrap_or_default(),
        };
        let line = format!("{:14} {:8} {:>9}  {reason}", suite.name, suite.outcome.word(), seconds(suite.time));
        println!("{}", line.trim_end());
    }
    println!("{:14} {:8} {:>9}", "all", "", seconds(total));
}

fn verdict(finished: &[Finished], strict: bool) -> anyhow::Result<()> {
    let failed = names(finished, |outcome| matches!(outcome, Outcome::Failed(_)));
    let not_run = names(finished, |outcome| matches!(outcome, Outcome::NotRun(_)));
    if !failed.is_empty() {
        bail!("failed: {}", failed.join(", "));
    }
    ensure!(not_run.is_empty() || !strict, "could not run, and CI is set: {}", not_run.join(", "));
    if !not_run.is_empty() {
        println!("could not run: {}", not_run.join(", "));
    }
    Ok(())
}

fn names(finished: &[Finished], wanted: fn(&Outcome) -> bool) -> Vec<&'static str> {
    finished.iter().filter(|suite| wanted(&suite.outcome)).map(|suite| suite.name).collect()
}

/// Prints a duration in seconds to a tenth.
pub(crate) fn seconds(time: Duration) -> String {
    format!("{:.1}\u{a0}s", time.as_secs_f64())
}

impl Outcome {
    fn word(&self) -> &'static str {
        match self {
            Self::Passed => "passed",
            Self::Failed(_) => "FAILED",
            Self::NotRun(_) => "NOT RUN",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Finished, Outcome, verdict};
    use std::time::Duration;

    fn check(outcomes: Vec<Outcome>, strict: bool, expected: Result<(), &str>) {
        let finished: Vec<_> =
            outcomes.into_iter().map(|outcome| Finished { name: "suite", outcome, time: Duration::ZERO }).collect();
        let got = verdict(&finished, strict).map_err(|error| error.to_string());
        assert_eq!(got, expected.map_err(str::to_owned));
    }

    #[test]
    fn a_suite_that_could_not_run_fails_only_where_ci_is_set() {
        let lacking = || Outcome::NotRun("no compiler".to_owned());
        check(vec![Outcome::Passed, lacking()], false, Ok(()));
        check(vec![Outcome::Passed, lacking()], true, Err("could not run, and CI is set: suite"));
    }

    #[test]
    fn a_failure_is_a_failure_everywhere() {
        for strict in [false, true] {
            check(vec![Outcome::Failed("wrong".to_owned()), Outcome::Passed], strict, Err("failed: suite"));
            check(vec![Outcome::Passed], strict, Ok(()));
        }
    }
}
