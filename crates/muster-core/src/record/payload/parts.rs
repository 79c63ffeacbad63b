//! What the fields of payloads are made of.

use alloc::{collections::BTreeMap, string::String, vec::Vec};

use crate::{
    calendar::Moment,
    judge::Verdict,
    named::named,
    record::id::PersonId,
    words::{Seen, Use},
};

/// What a signed decision rests on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RestsOn {
    /// The judgement's bytes.
    pub judgement: String,
    /// SHA-256 of the catalogue, the law packs in it included.
    pub catalogue: String,
    /// SHA-256 of the yard's files: sheets, machines, house rules.
    pub yard: String,
    /// SHA-256 of the forecast, where one was used.
    pub forecast: Option<String>,
}

/// The outing a release was worked out for, as it was known then.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WorkedOut {
    /// What it came to, the gravest of its riders'.
    pub verdict: Verdict,
    /// What was to be done before leaving and was ticked.
    pub done: Vec<String>,
    /// What was to be done before leaving and was not.
    pub left: Vec<String>,
    /// What is to be done at the next stop.
    pub next: Vec<String>,
    /// What was worked out, as JSON ([`crate::outing::Kept`]): verdicts, settings, what to do; nobody's name or mass.
    pub outing: String,
}

/// What a machine is to go out for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planned {
    /// The use.
    pub one: Use,
    /// When it is to be back.
    pub back: Moment,
    /// How far, as typed.
    pub distance: Option<String>,
}

/// One row of a roster.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RosterRow {
    /// The machine.
    pub machine: String,
    /// The rider.
    pub rider: Option<PersonId>,
    /// From when.
    pub from: Moment,
    /// Till when.
    pub to: Moment,
}

/// Figures as they were typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Typed {
    /// One.
    One(String),
    /// Several at no place in particular.
    Several(Vec<String>),
    /// One or more at each place.
    Places(BTreeMap<String, Vec<String>>),
}

/// What was seen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Saw {
    /// Everywhere.
    One(Seen),
    /// At each place.
    Places(BTreeMap<String, Seen>),
}

named! {
    /// How far workshop work has come.
    JobState, "state of a job", "open, waiting for parts, in hand, done, proven":
    /// Asked for.
    Open = "open",
    /// Cannot go on yet.
    Waiting = "waiting for parts",
    /// Being done.
    InHand = "in hand",
    /// Done, not proven.
    Done = "done",
    /// Its readings are there.
    Proven = "proven",
}

named! {
    /// What a person does here.
    Role, "role", "owner, workshop, instructor, rider, auditor":
    /// Answers for the yard.
    Owner = "owner",
    /// Puts right what is wrong.
    Workshop = "workshop",
    /// Walks round, lets out, takes back.
    Instructor = "instructor",
    /// Rides, and says what they noticed.
    Rider = "rider",
    /// Reads everything, changes nothing.
    Auditor = "auditor",
}

named! {
    /// A right beyond the role's.
    Right, "right", "release against the verdict, lower a class, loosen a limit":
    /// Signs a release against a hold or an unseen.
    Override = "release against the verdict",
    /// Lowers a finding's class below the law pack's.
    LowerClass = "lower a class",
    /// Attaches an approval that loosens a limit.
    LoosenLimit = "loosen a limit",
}

named! {
    /// What a paper is.
    Document, "paper", "form, walk-round, tag, slip, dossier, yard, sheet, stickers":
    /// The blank form of a walk-round.
    Form = "form",
    /// A walk-round, completed.
    WalkRound = "walk-round",
    /// Hold tags: a machine's, or numbered ones that are bound when they are hung.
    Tag = "tag",
    /// What a machine goes out with.
    Slip = "slip",
    /// All about a machine, for somebody outside.
    Dossier = "dossier",
    /// The morning's paper: the yard sheet, forms, tags.
    Yard = "yard",
    /// Every machine on one sheet.
    Sheet = "sheet",
    /// Codes to stick on machines.
    Stickers = "stickers",
}

named! {
    /// The sheet a paper lies on.
    PaperSize, "size of paper", "a4, letter":
    /// 210 × 297 mm.
    A4 = "a4",
    /// 8.5 × 11 in.
    Letter = "letter",
}
