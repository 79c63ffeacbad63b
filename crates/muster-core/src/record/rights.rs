//! Who may write what and see what, by role: a table, tested row by row.

use super::payload::{Document, Kind, Payload, Role};
use crate::named::named;

named! {
    /// What can be seen.
    View, "view", "yard, machine, record, people, devices, export":
    /// All machines with their verdicts.
    Yard = "yard",
    /// One machine: answers, findings, jobs, parts.
    Machine = "machine",
    /// The log itself, with who wrote what and what was set aside.
    Record = "record",
    /// People's names and rights.
    People = "people",
    /// Devices and when they last wrote.
    Devices = "devices",
    /// The whole, to take away.
    Export = "export",
}

/// Whether a role writes events of a kind. What a command asks beyond that is decided with it.
#[must_use]
pub const fn may_write(role: Role, kind: Kind) -> bool {
    match role {
        Role::Owner => true,
        Role::Workshop => !matches!(
            kind,
            Kind::YardDescribed
                | Kind::LawAttached
                | Kind::HouseRuleAttached
                | Kind::PersonAdded
                | Kind::PersonChanged
                | Kind::PersonErased
                | Kind::DeviceAdded
                | Kind::DeviceRevoked
                | Kind::RosterSet
                | Kind::Released
                | Kind::PhotoRemoved
        ),
        Role::Instructor => matches!(
            kind,
            Kind::OdometerNoted
                | Kind::WalkRoundOpened
                | Kind::WalkRoundClosed
                | Kind::ReadingTaken
                | Kind::ObservationMade
                | Kind::ThingSet
                | Kind::FindingRaised
                | Kind::FindingClassed
                | Kind::FindingClosed
                | Kind::FallNoted
                | Kind::JobOpened
                | Kind::OutingPlanned
                | Kind::RosterSet
                | Kind::YardSettled
                | Kind::Released
                | Kind::Returned
                | Kind::Tagged
                | Kind::Untagged
                | Kind::CallNoted
                | Kind::Impounded
                | Kind::Settled
                | Kind::Withdrawn
                | Kind::PhotoAttached
                | Kind::PaperIssued
        ),
        Role::Rider => matches!(kind, Kind::FindingRaised | Kind::FallNoted | Kind::PhotoAttached),
        // Reads everything, on paper too: that it was printed is written down.
        Role::Auditor => matches!(kind, Kind::PaperIssued),
    }
}

/// Whether a role sees a view.
#[must_use]
pub const fn may_view(role: Role, view: View) -> bool {
    match role {
        Role::Owner | Role::Auditor => true,
        Role::Workshop => matches!(view, View::Yard | View::Machine | View::Record | View::People),
        Role::Instructor => matches!(view, View::Yard | View::Machine | View::People),
        Role::Rider => false,
    }
}

/// What whoever prints a paper must see: nobody prints what they may not read.
#[must_use]
pub const fn shows(document: Document) -> View {
    match document {
        Document::Yard | Document::Sheet => View::Yard,
        Document::Form
        | Document::WalkRound
        | Document::Tag
        | Document::Slip
        | Document::Dossier
        | Document::Stickers => View::Machine,
    }
}

/// Whether a role may draw an address at which others read what is due: who sees the yard and acts in it. An auditor looks
/// and opens no door to others.
#[must_use]
pub const fn may_draw_calendar(role: Role) -> bool {
    matches!(role, Role::Owner | Role::Workshop | Role::Instructor)
}

/// Whether an event says who may do what: on a phone people share, whoever holds it could write it in the owner's name.
#[must_use]
pub const fn is_about_people(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::PersonAdded | Kind::PersonChanged | Kind::PersonErased | Kind::DeviceAdded | Kind::DeviceRevoked
    )
}

/// Whether an event only ever makes a machine's verdict worse: such a one counts even where its author or device is in
/// doubt, for leaving it out might let a bad machine go.
#[must_use]
pub const fn only_worsens(kind: Kind) -> bool {
    matches!(kind, Kind::Tagged | Kind::FindingRaised | Kind::FallNoted | Kind::Impounded)
}

/// Whether an event repairs, corrects, lets out or removes: what an impounded machine does not allow. Looking at it is allowed.
#[must_use]
pub fn touches(payload: &Payload) -> bool {
    match payload {
        Payload::ReadingTaken(of) => of.corrects.is_some(),
        Payload::ObservationMade(of) => of.corrects.is_some(),
        _ => touching(payload.kind()),
    }
}

/// Whether every event of a kind does what [`touches`] asks of one.
pub(crate) const fn touching(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::Withdrawn
            | Kind::PartMounted
            | Kind::PartRemoved
            | Kind::ThingSet
            | Kind::FindingClassed
            | Kind::FindingClosed
            | Kind::JobMoved
            | Kind::JobProven
            | Kind::Released
            | Kind::Untagged
            | Kind::PhotoRemoved
    )
}

/// Whether an event of a kind can be taken back as written in error. What was read, seen, signed or hung stands: it is
/// answered by another act.
#[must_use]
pub const fn can_be_withdrawn(kind: Kind) -> bool {
    matches!(kind, Kind::OdometerNoted | Kind::PartMounted | Kind::PartRemoved | Kind::JobOpened | Kind::PhotoAttached)
}
