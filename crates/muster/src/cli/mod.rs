//! The command line: arguments in, one text and an exit code out.

mod act;
mod api;
mod arguments;
mod blank;
mod calendar;
mod correct;
mod data;
mod decode;
mod demonstration;
mod door;
mod embedded;
mod explain;
mod figure;
mod files;
mod fill;
mod forecast;
mod form_file;
mod going;
mod import;
mod judge;
mod list;
mod machine;
mod outing;
mod paper;
mod printed;
mod record;
mod record_new;
mod record_retain;
mod report;
mod schema;
mod serve;
mod settings;
mod shell;
mod sign_in;
mod site;
mod start;
mod told;
mod walk_round;
mod yard;

use std::ffi::OsString;

use anyhow::{Result, bail};
use arguments::{Command, Global};
use muster_core::judge::Verdict;

pub(crate) use arguments::Arguments;

/// It may go out, or there was nothing to judge.
pub(crate) const MAY_GO: u8 = 0;
/// On hold.
pub(crate) const HOLD: u8 = 1;
/// What was given cannot be used, or not all of it.
pub(crate) const BAD_INPUT: u8 = 2;
/// Not everything that is asked for was seen.
pub(crate) const UNSEEN: u8 = 3;

/// The arguments with the minus of a figure written as one, `-0.08 mm`: no switch begins with a digit, and a figure may then
/// stand anywhere among switches.
pub(crate) fn figures(arguments: impl Iterator<Item = OsString>) -> impl Iterator<Item = OsString> {
    arguments.map(|argument| match argument.to_str().and_then(|text| text.strip_prefix('-')) {
        Some(rest) if rest.starts_with(|first: char| first.is_ascii_digit() || first == '.') => {
            format!("\u{2212}{rest}").into()
        }
        _ => argument,
    })
}

/// Runs one command and returns its exit code.
///
/// # Errors
/// Whatever keeps it from an answer; printed once by the caller.
pub(crate) fn run(arguments: &Arguments) -> Result<u8> {
    let global = &arguments.global;
    refuse_idle(global, &arguments.command)?;
    match &arguments.command {
        Command::Yard { json } => yard::run(global, *json),
        Command::Machine { id } => machine::run(global, id.as_deref()),
        Command::WalkRound(asked) => walk_round::run(global, asked),
        Command::Fill { file, by } => fill::run(global, file, by.as_deref()),
        Command::Judge(asked) => judge::run(global, asked),
        Command::Outing(told) => outing::run(global, told),
        Command::Explain { check, machine } => explain::run(global, check.as_deref(), machine.as_deref()),
        Command::Data { paths, schema } => match schema {
            Some(of) => data::print_schema(*of),
            None => data::run(global, paths),
        },
        Command::Decode { what } => decode::run(global, what),
        Command::Correct(asked) => correct::run(global, asked),
        Command::Figure { json, what } => figure::run(global, what, *json),
        Command::Start { folder } => start::run(folder),
        Command::Paper { what } => printed::run(global, what),
        Command::Verify(asked) => printed::verify(asked),
        Command::Serve(asked) => serve::run(asked),
        Command::Record { what } => record::run(what),
        Command::Do { place, act: act::Do::Act(act) } => act::run(place, act),
        Command::Do { place, act: act::Do::Set(what) } => settings::run(place, what),
        Command::List(asked) => list::run(asked),
        Command::Forecast(asked) => forecast::run(global, asked),
        Command::Import { what } => import::run(what),
        Command::Calendar(asked) => calendar::run(asked),
        Command::SignIn(asked) => sign_in::run(asked),
        Command::Api(asked) => api::run(asked),
        Command::Completions { shell } => shell::completions(*shell),
        Command::Man => shell::man(),
    }
}

/// Refuses a switch that would do nothing: a record's doors judge by its own law, in its own units.
fn refuse_idle(global: &Global, command: &Command) -> Result<()> {
    let of_the_record = matches!(
        command,
        Command::Serve(_)
            | Command::Record { .. }
            | Command::Do { .. }
            | Command::List(_)
            | Command::Import { .. }
            | Command::Calendar(_)
            | Command::SignIn(_)
            | Command::Verify(_)
            | Command::Api(_)
    );
    let idle = [("--units", global.units.is_some()), ("--law", global.law.is_some()), ("--on", global.on.is_some())];
    match idle.into_iter().find(|(_, given)| of_the_record && *given) {
        Some((switch, _)) => bail!("{switch} is for a yard's folder; a record judges by its own, `api` takes ?on="),
        None => Ok(()),
    }
}

/// The exit code of a verdict.
fn code(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Fit | Verdict::Watch => MAY_GO,
        Verdict::Hold => HOLD,
        Verdict::Unseen => UNSEEN,
    }
}

/// The graver of two exit codes: bad input, then hold, then unseen.
fn graver(a: u8, b: u8) -> u8 {
    let rank = |code: u8| match code {
        BAD_INPUT => 3,
        HOLD => 2,
        UNSEEN => 1,
        _ => 0,
    };
    if rank(b) > rank(a) { b } else { a }
}
