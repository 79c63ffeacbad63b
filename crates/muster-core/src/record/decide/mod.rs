//! Decides a command against what is known: the events it becomes, or why not. Pure: the shell appends what it returns.

mod books;
mod looks;
mod out;
mod outings;
mod papers;
mod workshop;

use alloc::{
    collections::BTreeSet,
    string::{String, ToString},
    vec::Vec,
};

use super::{
    fold::Aside,
    id::{EventId, PersonId},
    job::{JobKind, Lack, Lacking},
    judged,
    machine_state::MachineState,
    payload::{JobState, Kind, PaperIssued, Payload, RestsOn, Returned, Right, Role, Subject},
    rights,
    yard_state::{Standing, YardState},
};
use crate::{
    calendar::Moment,
    catalogue::Catalogue,
    form::Outing,
    judge::{Context, Judgement},
    load::Problem,
    outing, release,
    words::{Class, Uses},
    yard::Yard,
};

/// What a person asks to be written.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// An event that rests on nothing but what it says.
    Write(Payload),
    /// Let the machine out.
    Release(ReleaseAsked),
    /// Work an outing out and plan it for somebody else to let the machine out; what is done of it is nothing yet.
    Plan(ReleaseAsked),
    /// Hang a hold tag.
    Tag {
        /// The machine.
        machine: String,
        /// Why.
        why: String,
        /// Number printed on the tag.
        number: Option<String>,
    },
    /// Lift the hold tags named.
    Untag {
        /// The machine.
        machine: String,
        /// The taggings.
        lifts: Vec<EventId>,
        /// Why.
        reason: String,
    },
    /// Take the machine back; damage becomes a finding with the return, or neither is written.
    TakeBack {
        /// The return.
        returned: Returned,
        /// How grave the damage is; none where there is none.
        class: Option<Class>,
    },
    /// Close a job by its readings.
    Prove {
        /// The machine.
        machine: String,
        /// Its opening.
        job: EventId,
    },
    /// Keep the machine as it is.
    Impound {
        /// The machine.
        machine: String,
        /// Why.
        why: String,
    },
    /// Destroy a person's key.
    Erase {
        /// The person.
        person: PersonId,
        /// On whose wish.
        why: String,
    },
    /// Remove a photo's bytes by the house rule on how long they are kept.
    RemovePhoto {
        /// The machine.
        machine: String,
        /// Its attaching.
        photo: EventId,
        /// By which rule.
        why: String,
    },
    /// Write down that a paper was printed. Given by what prints alone: no door takes it from outside.
    Issue(PaperIssued),
}

/// What somebody asks to sign.
#[derive(Clone, Debug, PartialEq)]
pub struct ReleaseAsked {
    /// The machine.
    pub machine: String,
    /// The outing, by its name.
    pub outing: String,
    /// Its planning, where there is one.
    pub planned: Option<EventId>,
    /// The uses it is let out for.
    pub uses: Uses,
    /// Who rides.
    pub riders: Vec<PersonId>,
    /// From when.
    pub from: Moment,
    /// Till when.
    pub to: Moment,
    /// Why, where it goes against the verdict.
    pub reason: Option<String>,
    /// The outing as it was told, one a rider; empty where none was worked out.
    pub outings: Vec<outing::Outing>,
    /// What was done of what the outing asks before leaving, in its words.
    pub done: Vec<String>,
}

/// What is known where the command is given.
#[derive(Clone, Copy, Debug)]
pub struct World<'w> {
    /// The catalogue.
    pub catalogue: &'w Catalogue,
    /// Kinds of workshop work.
    pub jobs: &'w [JobKind],
    /// The yard, folded.
    pub state: &'w YardState,
    /// The same, as the judge takes it.
    pub yard: &'w Yard,
    /// The machine it is about, folded; none for a command about the yard.
    pub machine: Option<&'w MachineState>,
    /// Its judgement now, for the return asked for.
    pub judged: Option<&'w Judgement>,
    /// People an impounded machine's record speaks of: their keys stay.
    pub kept: &'w BTreeSet<PersonId>,
    /// The machine that a tag of the number asked for hangs on already.
    pub hung_on: Option<&'w str>,
}

/// Who asks, when.
#[derive(Clone, Copy, Debug)]
pub struct Actor<'a> {
    /// Who.
    pub person: &'a PersonId,
    /// When.
    pub now: Moment,
}

/// Why nothing is written; each with the remedy.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// The person may not act here.
    #[error("{0}: ask an owner of the yard")]
    Person(Aside),
    /// The role has no right to it.
    #[error("{role} may not write `{kind}`: ask somebody who may")]
    NoRight {
        /// The role.
        role: Role,
        /// The kind.
        kind: Kind,
    },
    /// A right beyond the role's is needed.
    #[error("this needs the right `{0}`: ask somebody who has it")]
    NeedsRight(Right),
    /// No such machine.
    #[error("no machine `{0}` in this yard: look at its fleet number")]
    NoMachine(String),
    /// Names something that is not here.
    #[error("no {what} `{name}` here: {remedy}")]
    NotHere {
        /// What was looked for.
        what: &'static str,
        /// What was named.
        name: String,
        /// What to do.
        remedy: &'static str,
    },
    /// Something stands already.
    #[error("{what} `{name}` is here already: change it instead")]
    Here {
        /// What.
        what: &'static str,
        /// Its name.
        name: String,
    },
    /// What it replaces has changed meanwhile.
    #[error("{what} has changed meanwhile{}: look at it again, then decide", by(.now.as_ref()))]
    Stale {
        /// What.
        what: &'static str,
        /// The event that stands now.
        now: Option<EventId>,
    },
    /// A field that says nothing, or too much.
    #[error("{field}: {what}")]
    Field {
        /// The field.
        field: &'static str,
        /// What is wrong and what to write.
        what: String,
    },
    /// A file or an answer with faults.
    #[error("{}", list(.0))]
    Faults(Vec<Problem>),
    /// The machine is impounded.
    #[error("{0} is impounded: no repair, no correction; the owner lifts it by its service state")]
    Impounded(String),
    /// It is out.
    #[error("{machine} is out by release {release}: take it back first")]
    Out {
        /// The machine.
        machine: String,
        /// The release.
        release: EventId,
    },
    /// A tag of the number hangs.
    #[error(
        "hold tag {number} hangs on {machine}: look which machine it is on; take another number, or write the tag without"
    )]
    NumberHangs {
        /// The number.
        number: String,
        /// Where it hangs.
        machine: String,
    },
    /// Over already.
    #[error("{what} is over: {remedy}")]
    Over {
        /// What.
        what: &'static str,
        /// What to do.
        remedy: &'static str,
    },
    /// A job does not move so.
    #[error("a job that is {from} does not become {to}: {}", moves(*.from))]
    NoSuchMove {
        /// From.
        from: JobState,
        /// To.
        to: JobState,
    },
    /// Its answers do not prove it.
    #[error("the job is not proven: {}; read or look again, then prove it", lacks(.0))]
    NotProven(Vec<Lacking>),
    /// The machine was not judged.
    #[error("the machine was not judged: judge it, then sign")]
    NotJudged,
    /// It cannot be let out.
    #[error(transparent)]
    Release(#[from] release::Refusal),
    /// A tag stays.
    #[error(transparent)]
    Untag(#[from] release::NoUntagging),
    /// A kind that rests on more than it says.
    #[error(
        "`{0}` is not written by hand: release, tag, untag, prove, impound, erase, retain and paper are commands of their own"
    )]
    NotByHand(Kind),
    /// An impounded machine's record speaks of the person.
    #[error("an impounded machine's record speaks of {0}: the key stays till it is lifted")]
    Kept(PersonId),
    /// Somebody must answer for the yard.
    #[error("{0} is the last owner: name another first")]
    LastOwner(PersonId),
}

/// Decides a command: the payloads to append, in order.
///
/// # Errors
/// [`Refusal`] with the remedy; nothing is written then.
pub fn decide(world: &World<'_>, command: Command, actor: Actor<'_>) -> Result<Vec<Payload>, Refusal> {
    let standing = world.state.standing(actor.person).map_err(Refusal::Person)?;
    let asked = Asked { world, actor, standing };
    asked.may(&command)?;
    let payload = match command {
        Command::Write(payload) => {
            let written = asked.written(payload)?;
            let act = workshop::done_before(&asked, &written);
            return Ok(act.map(Payload::from).into_iter().chain([written]).collect());
        }
        Command::Release(of) => out::release(&asked, of)?,
        Command::Plan(of) => outings::plan(&asked, of)?,
        Command::Tag { machine, why, number } => out::tag(&asked, machine, why, number)?,
        Command::Untag { machine, lifts, reason } => out::untag(&asked, machine, lifts, reason)?,
        Command::TakeBack { returned, class } => return out::take_back(&asked, returned, class),
        Command::Prove { machine, job } => workshop::prove(&asked, machine, job)?,
        Command::Impound { machine, why } => out::impound(&asked, machine, why)?,
        Command::Erase { person, why } => books::erase(&asked, person, why)?,
        Command::RemovePhoto { machine, photo, why } => workshop::remove_photo(&asked, machine, photo, why)?,
        Command::Issue(of) => papers::issue(&asked, of)?,
    };
    Ok([payload].into())
}

/// Decides a command, judging its machine first where the command rests on a judgement: for an outing, or for the one its
/// newest walk-round names.
///
/// # Errors
/// As for [`decide`].
pub fn decide_for(
    world: World<'_>,
    command: Command,
    actor: Actor<'_>,
    outing: Option<Outing>,
) -> Result<Vec<Payload>, Refusal> {
    let judged = world
        .machine
        .filter(|_| command.rests_on_judgement())
        .and_then(|state| judged::judgement(world.catalogue, world.yard, state, actor.now, outing));
    decide(&World { judged: judged.as_ref(), ..world }, command, actor)
}

impl Command {
    /// The machine it is about, one whose file it changes included.
    #[must_use]
    pub fn machine(&self) -> Option<String> {
        match (self, self.subject()) {
            (_, Subject::Machine(machine)) => Some(machine),
            (Self::Write(Payload::MachineChanged(of)), Subject::Yard) => Some(of.machine.clone()),
            (Self::Plan(of), Subject::Yard) => Some(of.machine.clone()),
            _ => None,
        }
    }

    /// Whether its event carries the judgement it rests on, or is allowed by one.
    #[must_use]
    pub const fn rests_on_judgement(&self) -> bool {
        matches!(self, Self::Release(_) | Self::Plan(_) | Self::Tag { .. } | Self::Prove { .. } | Self::Impound { .. })
    }

    /// Whether it takes away what any event of the record may speak of: who holds a part of it cannot decide it.
    #[must_use]
    pub const fn needs_whole_record(&self) -> bool {
        matches!(self, Self::Erase { .. } | Self::RemovePhoto { .. })
    }

    /// The number of the tag it hangs: one number hangs once at a time, wherever.
    #[must_use]
    pub fn hangs_number(&self) -> Option<&str> {
        match self {
            Self::Tag { number, .. } => number.as_deref(),
            _ => None,
        }
    }

    /// The kind of event it becomes.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        match self {
            Self::Write(payload) => payload.kind(),
            Self::Release(_) => Kind::Released,
            Self::Plan(_) => Kind::OutingPlanned,
            Self::Tag { .. } => Kind::Tagged,
            Self::Untag { .. } => Kind::Untagged,
            Self::TakeBack { .. } => Kind::Returned,
            Self::Prove { .. } => Kind::JobProven,
            Self::Impound { .. } => Kind::Impounded,
            Self::Erase { .. } => Kind::PersonErased,
            Self::RemovePhoto { .. } => Kind::PhotoRemoved,
            Self::Issue(_) => Kind::PaperIssued,
        }
    }

    /// What it is about.
    #[must_use]
    pub fn subject(&self) -> Subject {
        match self {
            Self::Write(payload) => payload.subject(),
            Self::Release(of) => Subject::Machine(of.machine.clone()),
            Self::TakeBack { returned, .. } => Subject::Machine(returned.machine.clone()),
            Self::Tag { machine, .. }
            | Self::Untag { machine, .. }
            | Self::Prove { machine, .. }
            | Self::Impound { machine, .. }
            | Self::RemovePhoto { machine, .. } => Subject::Machine(machine.clone()),
            Self::Erase { .. } | Self::Plan(_) => Subject::Yard,
            Self::Issue(of) => of.machine.clone().map_or(Subject::Yard, Subject::Machine),
        }
    }

    /// Whether it repairs, corrects or lets out.
    fn touches(&self) -> bool {
        match self {
            Self::Write(payload) => rights::touches(payload),
            other => rights::touching(other.kind()),
        }
    }
}

/// A command with who gives it and what is known.
struct Asked<'a> {
    world: &'a World<'a>,
    actor: Actor<'a>,
    standing: &'a Standing,
}

impl Asked<'_> {
    /// Role, machine and impounding, alike for every kind and before anything is told of the machine.
    fn may(&self, command: &Command) -> Result<(), Refusal> {
        let (role, kind) = (self.standing.role, command.kind());
        if !rights::may_write(role, kind) {
            return Err(Refusal::NoRight { role, kind });
        }
        if let Subject::Machine(machine) = command.subject() {
            let state = self.machine(&machine)?;
            if command.touches() && self.impounded(state) {
                return Err(Refusal::Impounded(machine));
            }
        }
        Ok(())
    }

    fn impounded(&self, state: &MachineState) -> bool {
        state.is_impounded(self.world.yard)
    }

    fn machine(&self, machine: &str) -> Result<&MachineState, Refusal> {
        let known = self.world.yard.machines.contains_key(machine);
        let state = self.world.machine.filter(|state| known && state.machine == machine);
        state.ok_or_else(|| Refusal::NoMachine(machine.to_string()))
    }

    fn needs(&self, right: Right) -> Result<(), Refusal> {
        if self.standing.rights.contains(&right) { Ok(()) } else { Err(Refusal::NeedsRight(right)) }
    }

    fn context(&self, machine: &str) -> Result<Context<'_>, Refusal> {
        Context::of(self.world.catalogue, self.world.yard, machine, self.actor.now)
            .ok_or_else(|| Refusal::NoMachine(machine.to_string()))
    }

    fn rests_on(&self, machine: &str) -> Result<RestsOn, Refusal> {
        let judged = self.judged(machine)?;
        let judgement = judged.to_kept().map_err(|_| Refusal::NotJudged)?;
        let (catalogue, yard) = (judged.catalogue.clone(), judged.yard.clone());
        let forecast = self.world.yard.forecast.as_ref().map(|estimate| estimate.hash.clone());
        Ok(RestsOn { judgement, catalogue, yard, forecast })
    }

    fn judged(&self, machine: &str) -> Result<&Judgement, Refusal> {
        self.world.judged.filter(|judged| judged.machine == machine).ok_or(Refusal::NotJudged)
    }

    /// A payload somebody wrote, looked at by its kind; filled where the record knows better.
    fn written(&self, payload: Payload) -> Result<Payload, Refusal> {
        match payload {
            Payload::WalkRoundOpened(of) => looks::opened(self, *of),
            Payload::ReadingTaken(of) => looks::reading(self, &of).map(|()| (*of).into()),
            Payload::ObservationMade(of) => looks::observation(self, &of).map(|()| (*of).into()),
            Payload::ThingSet(of) => looks::act(self, &of).map(|()| (*of).into()),
            Payload::WalkRoundClosed(of) => looks::closed(self, &of).map(|()| (*of).into()),
            Payload::FindingRaised(of) => looks::raised(self, &of).map(|()| (*of).into()),
            Payload::FindingClassed(of) => looks::classed(self, &of).map(|()| (*of).into()),
            Payload::FindingClosed(of) => looks::finding_closed(self, &of).map(|()| (*of).into()),
            Payload::FallNoted(of) => looks::fall(self, &of).map(|()| (*of).into()),
            Payload::OdometerNoted(of) => looks::odometer(self, &of).map(|()| (*of).into()),
            Payload::JobOpened(of) => workshop::opened(self, &of).map(|()| (*of).into()),
            Payload::JobMoved(of) => workshop::moved(self, *of),
            Payload::PartMounted(of) => workshop::mounted(self, &of).map(|()| (*of).into()),
            Payload::PartRemoved(of) => workshop::removed(self, &of).map(|()| (*of).into()),
            Payload::PhotoAttached(of) => workshop::photo(self, &of).map(|()| (*of).into()),
            Payload::Withdrawn(of) => workshop::withdrawn(self, &of).map(|()| (*of).into()),
            Payload::ServiceChanged(of) => out::service(self, &of).map(|()| (*of).into()),
            Payload::Returned(of) => out::returned(self, &of).map(|()| (*of).into()),
            Payload::CallNoted(of) => out::call(self, &of).map(|()| (*of).into()),
            Payload::Settled(of) => out::settled(self, &of).map(|()| (*of).into()),
            Payload::Released(_)
            | Payload::Tagged(_)
            | Payload::Untagged(_)
            | Payload::JobProven(_)
            | Payload::Impounded(_)
            | Payload::PersonErased(_)
            | Payload::PhotoRemoved(_)
            | Payload::PaperIssued(_) => Err(Refusal::NotByHand(payload.kind())),
            of_the_yard => books::written(self, &of_the_yard).map(|()| of_the_yard),
        }
    }
}

/// Refuses a text that says nothing.
fn said(field: &'static str, text: &str) -> Result<(), Refusal> {
    if text.trim().is_empty() {
        return Err(Refusal::Field { field, what: "write it in a few words".into() });
    }
    if text.len() > MAX_TEXT {
        return Err(Refusal::Field { field, what: alloc::format!("at most {MAX_TEXT} bytes, got {}", text.len()) });
    }
    Ok(())
}

/// The longest text people write into one field, in bytes.
const MAX_TEXT: usize = 4000;

fn by(id: Option<&EventId>) -> String {
    id.map_or_else(String::new, |id| alloc::format!(" by {id}"))
}

fn list(problems: &[Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

fn moves(from: JobState) -> String {
    let to: Vec<&str> = JobState::ALL.iter().filter(|to| from.moves_to(**to)).map(|to| to.as_str()).collect();
    match from {
        JobState::Proven => "open another".into(),
        JobState::Done => alloc::format!("it is proven by its readings, or becomes {} again", to.join(" or ")),
        _ => alloc::format!("it may become {}", to.join(" or ")),
    }
}

fn lacks(lacking: &[Lacking]) -> String {
    let words = |lacking: &Lacking| match lacking.why {
        Lack::NotAnswered => alloc::format!("{} not answered since it was done", lacking.check),
        Lack::Stops(verdict) => alloc::format!("{} is {verdict}", lacking.check),
    };
    lacking.iter().map(words).collect::<Vec<_>>().join(", ")
}
