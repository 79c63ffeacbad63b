//! What happened, as the record keeps it: one struct a kind, figures as they were typed.
//!
//! Fields that name an event name what the author knew and replaces or ends: two events that name the same one are a
//! contradiction for a person to settle, whatever order they arrived in.

#[macro_use]
mod define;
mod parts;

use alloc::{
    boxed::Box,
    collections::BTreeMap,
    string::{String, ToString},
    vec::Vec,
};

use serde_json::Value;

pub use super::field::WrongField;
use super::{
    canonical::{Write, Writing},
    field::Fields,
    id::{DeviceId, EventId, PersonId},
    json::Json,
    private::Private,
};
use crate::{
    calendar::Moment,
    judge::Verdict,
    named::named,
    state::State,
    words::{Class, Depth, Ending, Service, Use},
};
pub use parts::{Document, JobState, PaperSize, Planned, RestsOn, Right, Role, RosterRow, Saw, Typed, WorkedOut};

/// What an event is about: it is folded with the others of its subject alone.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    /// The yard: its sheets, rules, instruments, people, devices, outings.
    Yard,
    /// One machine, by its fleet number.
    Machine(String),
}

payloads! {
    /// The yard's own file: name, time zone, units, law.
    YardDescribed = "yard-described" on yard {
        /// Text of `yard.toml`, without instruments.
        text: String,
    }
    /// A model's sheet, new or in place of an earlier one.
    SheetAttached = "sheet-attached" on yard {
        /// Its name: `corvane-pebble`.
        sheet: String,
        /// Text of its file.
        text: String,
        /// The event it replaces.
        replaces: Option<EventId>,
    }
    /// The law pack the yard is under.
    LawAttached = "law-attached" on yard {
        /// The pack's name; none lifts it.
        pack: Option<String>,
    }
    /// The house rules, in place of the earlier ones.
    HouseRuleAttached = "house-rule-attached" on yard {
        /// Text of `house.toml`.
        text: String,
        /// The event it replaces.
        replaces: Option<EventId>,
    }
    /// A machine came into the yard's books.
    MachineRegistered = "machine-registered" on yard {
        /// Fleet number.
        machine: String,
        /// Text of its file.
        text: String,
    }
    /// A machine's file was changed.
    MachineChanged = "machine-changed" on yard {
        /// Fleet number.
        machine: String,
        /// Text of its file now.
        text: String,
        /// The event it replaces.
        replaces: EventId,
    }
    /// An instrument came into use.
    InstrumentRegistered = "instrument-registered" on yard {
        /// Its number.
        instrument: String,
        /// Text of its row, as in `yard.toml`.
        text: String,
    }
    /// An instrument was compared with a better one.
    InstrumentCompared = "instrument-compared" on yard {
        /// Its number.
        instrument: String,
        /// The day, ISO 8601.
        on: String,
        /// Whether it was true within its stated accuracy.
        good: bool,
        /// What was found.
        note: Option<String>,
    }
    /// A person who acts in the record, or rides.
    PersonAdded = "person-added" on yard {
        /// The person.
        person: PersonId,
        /// Name, under the person's own key.
        name: Private,
        /// What they do here.
        role: Role,
        /// Rights beyond the role's.
        rights: Vec<Right>,
    }
    /// A person's role, rights or name changed.
    PersonChanged = "person-changed" on yard {
        /// The person.
        person: PersonId,
        /// Name, if it changed.
        name: Option<Private>,
        /// Role now.
        role: Role,
        /// Rights now.
        rights: Vec<Right>,
        /// Whether they may act at all.
        active: bool,
    }
    /// A person's key was destroyed: what it sealed is gone, the hashes stand.
    PersonErased = "person-erased" on yard {
        /// The person.
        person: PersonId,
        /// On whose wish.
        why: String,
    }
    /// A device that may write a series.
    DeviceAdded = "device-added" on yard {
        /// The device.
        device: DeviceId,
        /// Its Ed25519 public key, 64 hexadecimal digits.
        key: String,
        /// What people call it.
        label: String,
        /// Whose it is, if it is one person's.
        person: Option<PersonId>,
    }
    /// A device whose later events are kept and not trusted.
    DeviceRevoked = "device-revoked" on yard {
        /// The device.
        device: DeviceId,
        /// The last of its events that counts.
        last: u64,
        /// Why.
        why: String,
    }
    /// An outing, or a session of one for a class.
    OutingPlanned = "outing-planned" on yard {
        /// What people call it.
        name: String,
        /// The uses it needs.
        uses: Vec<Use>,
        /// Who rides.
        riders: Vec<PersonId>,
        /// From when.
        from: Moment,
        /// Till when.
        to: Moment,
        /// How far, as typed.
        distance: Option<String>,
        /// The machine it was worked out for, where it was.
        machine: Option<String>,
        /// What that came to, for whoever lets the machine out: all of it is still to be done.
        worked_out: Option<WorkedOut>,
    }
    /// Who has which machine when, for a day.
    RosterSet = "roster-set" on yard {
        /// The day, ISO 8601.
        day: String,
        /// Its rows.
        rows: Vec<RosterRow>,
        /// The event it replaces.
        replaces: Option<EventId>,
    }
    /// Contradicting events of the yard were looked at and settled by a person.
    YardSettled = "yard-settled" on yard {
        /// The events.
        events: Vec<EventId>,
        /// How.
        how: String,
    }
    /// A forecast of wear was estimated from the fleet.
    ForecastEstimated = "forecast-estimated" on yard {
        /// Its parameters, as JSON.
        parameters: String,
        /// SHA-256 of them.
        hash: String,
    }
    /// An event written in error, taken out of the reckoning by naming it; it stays in the record.
    Withdrawn = "withdrawn" on machine {
        /// The machine it is about.
        machine: String,
        /// The event.
        event: EventId,
        /// Why.
        why: String,
    }
    /// Whether a machine is asked for at all.
    ServiceChanged = "service-changed" on machine {
        /// The machine.
        machine: String,
        /// From now on.
        state: Service,
        /// Why.
        why: Option<String>,
        /// The event that set the state before.
        replaces: Option<EventId>,
    }
    /// A part was mounted that wears or ages.
    PartMounted = "part-mounted" on machine {
        /// The machine.
        machine: String,
        /// Where, as in the catalogue: `tyre.front`.
        place: String,
        /// What it says of itself.
        marking: Option<String>,
        /// The odometer then, as typed; none where it was before and is unknown.
        odometer: Option<String>,
        /// The day, ISO 8601; none where it was before and is unknown.
        on: Option<String>,
        /// What the work has ended.
        ended: Vec<Ending>,
        /// The mounting it replaces.
        replaces: Option<EventId>,
    }
    /// A part was taken off and none put in its place.
    PartRemoved = "part-removed" on machine {
        /// The machine.
        machine: String,
        /// Its mounting.
        mounted: EventId,
        /// The odometer then, as typed.
        odometer: Option<String>,
        /// Why.
        why: String,
    }
    /// What the odometer showed.
    OdometerNoted = "odometer-noted" on machine {
        /// The machine.
        machine: String,
        /// As typed.
        odometer: String,
    }
    /// Somebody began to walk round.
    WalkRoundOpened = "walk-round-opened" on machine {
        /// The machine.
        machine: String,
        /// How far it goes.
        depth: Depth,
        /// The state it was found in.
        found: State,
        /// No hold tag on the bar.
        no_hold_tag: Option<bool>,
        /// The key on its hook.
        key_on_hook: Option<bool>,
        /// The odometer, as typed.
        odometer: Option<String>,
        /// The air, as typed.
        air: Option<String>,
        /// The barometer, as typed.
        barometer: Option<String>,
        /// When it last came back.
        ridden: Option<Moment>,
        /// What it is to go out for.
        planned: Option<Planned>,
        /// Whether figures were typed with a decimal comma.
        comma: bool,
    }
    /// Somebody finished walking round.
    WalkRoundClosed = "walk-round-closed" on machine {
        /// The machine.
        machine: String,
        /// Its opening.
        walk_round: EventId,
    }
    /// Figures read at a check.
    ReadingTaken = "reading-taken" on machine {
        /// The machine.
        machine: String,
        /// The walk-round's opening.
        walk_round: EventId,
        /// The check.
        check: String,
        /// As typed: one figure, a list, or lists by place.
        read: Typed,
        /// The instrument.
        with: Option<String>,
        /// The tyre's own temperature, as typed.
        tyre: Option<String>,
        /// The air there and then, as typed.
        air: Option<String>,
        /// The odometer, as typed.
        odometer: Option<String>,
        /// Why it was far off.
        why: Option<String>,
        /// Anything else.
        note: Option<String>,
        /// The author's own answer this corrects: a slip of the keys.
        corrects: Option<EventId>,
    }
    /// What was seen at a check.
    ObservationMade = "observation-made" on machine {
        /// The machine.
        machine: String,
        /// The walk-round's opening.
        walk_round: EventId,
        /// The check.
        check: String,
        /// What was seen, at each place if places are told apart.
        saw: Saw,
        /// A class raised by the finder.
        class: Option<Class>,
        /// Which defect it is: key of a class row of the law pack.
        defect: Option<String>,
        /// Why it could not be seen.
        why: Option<String>,
        /// Anything else.
        note: Option<String>,
        /// The author's own answer this corrects: a slip of the keys.
        corrects: Option<EventId>,
    }
    /// An act between two readings: pumped, adjusted.
    ThingSet = "set" on machine {
        /// The machine.
        machine: String,
        /// The walk-round's opening.
        walk_round: EventId,
        /// The check.
        check: String,
        /// What was done.
        act: String,
    }
    /// A defect was found.
    FindingRaised = "finding-raised" on machine {
        /// The machine.
        machine: String,
        /// The walk-round it was found in.
        walk_round: Option<EventId>,
        /// The check it was found at.
        check: Option<String>,
        /// What.
        what: String,
        /// How grave.
        class: Class,
        /// Which defect it is: key of a class row of the law pack.
        defect: Option<String>,
        /// The uses it binds.
        uses: Vec<Use>,
        /// From a rider who is not signed in: doubtful at most until somebody looks.
        feedback: bool,
    }
    /// A finding's class was changed, up or down.
    FindingClassed = "finding-classed" on machine {
        /// The machine.
        machine: String,
        /// The finding.
        finding: EventId,
        /// How grave now.
        class: Class,
        /// Which defect it is after all: key of a class row of the law pack; none: as named before.
        defect: Option<String>,
        /// Why.
        why: String,
    }
    /// A finding was closed by a look.
    FindingClosed = "finding-closed" on machine {
        /// The machine.
        machine: String,
        /// The finding.
        finding: EventId,
        /// How.
        how: String,
    }
    /// A machine fell.
    FallNoted = "fall-noted" on machine {
        /// The machine.
        machine: String,
        /// How, in words that name nobody.
        how: String,
        /// Who rode.
        rider: Option<PersonId>,
        /// What concerns the rider, under the rider's own key.
        about_rider: Option<Private>,
        /// The odometer, as typed.
        odometer: Option<String>,
    }
    /// Workshop work was asked for.
    JobOpened = "job-opened" on machine {
        /// The machine.
        machine: String,
        /// Its kind, as in the data: which answers prove it.
        job: String,
        /// What for.
        why: String,
        /// The findings it puts right.
        findings: Vec<EventId>,
        /// The hold tags it lifts when proven.
        tags: Vec<EventId>,
        /// The day it is planned for, ISO 8601; none where nobody has said.
        planned: Option<String>,
    }
    /// Workshop work moved on, was planned for a day, or both.
    JobMoved = "job-moved" on machine {
        /// The machine.
        machine: String,
        /// Its opening.
        job: EventId,
        /// The event that set the state before.
        from: EventId,
        /// The state now.
        to: JobState,
        /// Anything to say.
        note: Option<String>,
        /// What the work has ended.
        ended: Vec<Ending>,
        /// The day it is planned for from now on; none leaves it as it was.
        planned: Option<String>,
    }
    /// Workshop work was proven by its readings.
    JobProven = "job-proven" on machine {
        /// The machine.
        machine: String,
        /// Its opening.
        job: EventId,
        /// The event that set the state before.
        from: EventId,
        /// The answers that prove it.
        answers: Vec<EventId>,
        /// The last tagging or untagging known, where it lifts tags.
        knew: Option<EventId>,
    }
    /// A machine was let out.
    Released = "released" on machine {
        /// The machine.
        machine: String,
        /// The outing, by its name.
        outing: String,
        /// Its planning, where there is one.
        planned: Option<EventId>,
        /// Who rides.
        riders: Vec<PersonId>,
        /// From when.
        from: Moment,
        /// Till when.
        to: Moment,
        /// Each use with its verdict.
        verdicts: BTreeMap<Use, Verdict>,
        /// Conditions it goes out on.
        conditions: Vec<String>,
        /// The checks it is signed against.
        against: Vec<String>,
        /// Why, where there are any.
        reason: Option<String>,
        /// What it rests on.
        rests_on: RestsOn,
        /// The outing it was worked out for, where it was.
        worked_out: Option<WorkedOut>,
        /// The release or return known before.
        replaces: Option<EventId>,
    }
    /// A machine came back.
    Returned = "returned" on machine {
        /// The machine.
        machine: String,
        /// The release it ends.
        release: EventId,
        /// The odometer, as typed.
        odometer: Option<String>,
        /// Fuel, in words.
        fuel: Option<String>,
        /// Damage, in words; none: none was seen.
        damage: Option<String>,
        /// The key back on its hook.
        key_back: bool,
    }
    /// A hold tag was hung.
    Tagged = "tagged" on machine {
        /// The machine.
        machine: String,
        /// Why.
        why: String,
        /// Number printed on the tag.
        number: Option<String>,
        /// What it rests on, where a judgement was made.
        rests_on: Option<RestsOn>,
        /// The last tagging or untagging known.
        knew: Option<EventId>,
    }
    /// Hold tags were lifted: those named, no other.
    Untagged = "untagged" on machine {
        /// The machine.
        machine: String,
        /// The taggings.
        lifts: Vec<EventId>,
        /// Why.
        reason: String,
        /// The last tagging or untagging known.
        knew: Option<EventId>,
    }
    /// A machine was out against a tag: the rider was called.
    CallNoted = "call-noted" on machine {
        /// The machine.
        machine: String,
        /// The tagging.
        tag: EventId,
        /// The release.
        release: EventId,
        /// What was answered, in words that name nobody.
        answer: String,
    }
    /// A machine is kept as it is, after a crash.
    Impounded = "impounded" on machine {
        /// The machine.
        machine: String,
        /// Why.
        why: String,
        /// What was known then.
        rests_on: RestsOn,
    }
    /// Contradicting events were looked at and settled by a person.
    Settled = "settled" on machine {
        /// The machine.
        machine: String,
        /// The events.
        events: Vec<EventId>,
        /// How.
        how: String,
    }
    /// A photo, by the hash of its bytes.
    PhotoAttached = "photo-attached" on machine {
        /// The machine.
        machine: String,
        /// The event it shows.
        of: Option<EventId>,
        /// SHA-256, 64 hexadecimal digits.
        sha256: String,
        /// Size in bytes.
        bytes: u64,
    }
    /// A photo's bytes were removed by the house rule on how long they are kept; its hash stays.
    PhotoRemoved = "photo-removed" on machine {
        /// The machine.
        machine: String,
        /// Its attaching.
        photo: EventId,
        /// By which rule.
        why: String,
    }
    /// A paper was printed from the record, to be known again by the hash of its file.
    PaperIssued = "paper-issued" on either {
        /// The machine it is about; none for one over many, or over none yet.
        machine: Option<String>,
        /// What it is.
        document: Document,
        /// SHA-256 of the file, 64 hexadecimal digits.
        sha256: String,
        /// Size of the file in bytes.
        bytes: u64,
        /// The sheet it lies on.
        size: PaperSize,
        /// The hash it rests on, which its code says: of an event, or of the yard's files.
        rests_on: Option<String>,
        /// The event of that hash.
        event: Option<EventId>,
        /// Numbers of the hold tags printed.
        tags: Vec<String>,
    }
}
