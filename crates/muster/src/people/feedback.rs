//! What riders say by the QR code on a machine, without sign-in: a finding, doubtful at most until somebody looks.

use muster_core::{
    calendar::Moment,
    record::{
        decide::Command,
        id::PersonId,
        payload::{FindingRaised, Role},
    },
    words::{Class, Use},
};

use super::{NotLet, names};
use crate::keeper::{Keeper, hex, random};

/// What the person is called that riders' feedback is written by.
pub const NAME: &str = "a rider, by the QR code";
/// What stands between a server's address and a code in the link that is printed.
pub const PATH: &str = "/feedback#";
/// The longest text, in characters.
pub const MAX_CHARS: usize = 500;
/// Texts taken for one machine in an hour.
pub const MOST_OF_MACHINE: u32 = 6;
/// Texts taken from one address in an hour: a whole class may stand behind one.
pub const MOST_OF_ADDRESS: u32 = 30;
/// The time in which they are counted, in seconds.
const COUNTED_S: i64 = 3600;

/// The person that riders' feedback is written by. Nobody signs in as them: they have no password, and no door gives one.
#[must_use]
pub fn person() -> PersonId {
    "rider-feedback".parse().expect("lower-case letters and a hyphen make an id")
}

/// The code of a machine's feedback, drawn at first use. The person it is written by is added then too, if the record
/// began without: by whoever asks, who must have the right to.
///
/// # Errors
/// [`NotLet`] if there is no such machine, or the record refuses.
pub fn code_of(keeper: &Keeper, machine: &str, by: &PersonId, now: Moment) -> Result<String, NotLet> {
    if !keeper.known().yard.machines.contains_key(machine) {
        return Err(NotLet::NoMachine(machine.into()));
    }
    if !keeper.known().state.people.contains_key(&person()) {
        let fresh = names::Fresh { name: NAME.into(), role: Role::Rider, rights: Vec::new() };
        names::add_as(keeper, &person(), fresh, by, now)?;
    }
    // One that leads nowhere was taken back, and its successor not yet drawn.
    match keeper.store().setting(&kept(machine))? {
        Some(code) if keeper.store().setting(&leads(&code))?.is_some() => Ok(code),
        _ => draw(keeper, machine),
    }
}

/// Draws a new code for a machine's feedback: the one before leads nowhere from then on, wherever it is printed.
///
/// # Errors
/// As for [`code_of`].
pub fn code_anew(keeper: &Keeper, machine: &str, by: &PersonId, now: Moment) -> Result<String, NotLet> {
    let before = code_of(keeper, machine, by, now)?;
    // The old one first: were it left by a crash between the two, nobody would know that it still works.
    keeper.store().put_setting(&leads(&before), None)?;
    draw(keeper, machine)
}

fn draw(keeper: &Keeper, machine: &str) -> Result<String, NotLet> {
    let code = hex(&random::<16>()?);
    keeper.store().put_setting(&leads(&code), Some(machine))?;
    keeper.store().put_setting(&kept(machine), Some(&code))?;
    Ok(code)
}

/// The setting that says which code a machine has.
fn kept(machine: &str) -> String {
    format!("feedback code of {machine}")
}

/// The setting that says which machine a code leads to.
fn leads(code: &str) -> String {
    format!("feedback {code}")
}

/// The machine of a code.
///
/// # Errors
/// [`NotLet::NoCode`] if there is none.
pub fn machine_of(keeper: &Keeper, code: &str) -> Result<String, NotLet> {
    let machine = keeper.store().setting(&leads(code))?;
    machine.filter(|machine| keeper.known().yard.machines.contains_key(machine)).ok_or(NotLet::NoCode)
}

/// Takes a rider's text. Whether the same was said before shows in no answer.
///
/// # Errors
/// [`NotLet::NoCode`], [`NotLet::Wait`] after too many, [`NotLet::Field`] for a text that is empty or too long.
pub fn take(keeper: &Keeper, code: &str, text: &str, address: &str, now: Moment) -> Result<(), NotLet> {
    let machine = machine_of(keeper, code)?;
    let text = fit(text)?;
    counted(keeper, &format!("feedback from {address}"), MOST_OF_ADDRESS, now)?;
    counted(keeper, &format!("feedback about {machine}"), MOST_OF_MACHINE, now)?;
    let state = keeper.machine(&machine)?.ok_or(NotLet::NoCode)?;
    let said = |of: &&muster_core::record::machine_state::FindingState| {
        of.raised.feedback && of.closed.is_none() && of.raised.what == text
    };
    if state.findings.values().any(|of| said(&of)) {
        return Ok(());
    }
    let raised = FindingRaised {
        machine,
        walk_round: None,
        check: None,
        what: text,
        class: Class::Minor,
        defect: None,
        uses: Use::ALL.to_vec(),
        feedback: true,
    };
    keeper.act(Command::Write(raised.into()), &person(), now)?;
    Ok(())
}

fn fit(text: &str) -> Result<String, NotLet> {
    // Line ends and tabs become spaces: it is shown among others in one line.
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain = !text.is_empty() && text.chars().count() <= MAX_CHARS && !text.chars().any(char::is_control);
    if plain {
        return Ok(text);
    }
    Err(NotLet::Field { field: "text", what: format!("say it in 1 to {MAX_CHARS} characters") })
}

fn counted(keeper: &Keeper, who: &str, most: u32, now: Moment) -> Result<(), NotLet> {
    let from = now.later_by(-COUNTED_S).timestamp();
    let acts = keeper.store().count_act(who, now.timestamp(), from)?;
    if acts > most { Err(NotLet::Wait(COUNTED_S)) } else { Ok(()) }
}
