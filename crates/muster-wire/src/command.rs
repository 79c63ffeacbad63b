//! A command as JSON.

use std::str::FromStr;

use muster_core::{
    calendar::Moment,
    form::Outing,
    outing::{self, Asked as Told},
    quantity::{Distance, Kind as Quantity, text, text::DecimalSign},
    record::{
        decide::{Command, ReleaseAsked},
        id::{EventId, PersonId},
        payload::{Kind, Payload, Returned},
    },
    words::{Class, Use, Uses},
};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// What is to be written. `write` takes any kind that rests on nothing but what it says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Asked {
    /// Write an event of a kind.
    Write {
        /// Its kind, such as `reading-taken`.
        #[cfg_attr(feature = "schema", schema(example = "odometer-noted"))]
        kind: String,
        /// Its fields.
        #[cfg_attr(feature = "schema", schema(value_type = Object))]
        payload: Value,
    },
    /// Let a machine out.
    Release(Release),
    /// Work an outing out, as `told`, and plan it for somebody else to sign: its verdict, settings and what to do go with
    /// it, nobody's mass. That one releases it by naming it as `planned`, with the same riders and end.
    Plan(Release),
    /// Hang a hold tag.
    Tag {
        /// Fleet number.
        machine: String,
        /// Why.
        why: String,
        /// Number printed on the tag.
        #[serde(default)]
        number: Option<String>,
    },
    /// Lift the hold tags named, and no other.
    Untag {
        /// Fleet number.
        machine: String,
        /// The taggings.
        lifts: Vec<String>,
        /// Why.
        reason: String,
    },
    /// Take a machine back, with the finding its damage is.
    TakeBack(TakeBack),
    /// Close a job by its readings.
    Prove {
        /// Fleet number.
        machine: String,
        /// The job's opening.
        job: String,
    },
    /// Keep a machine as it is.
    Impound {
        /// Fleet number.
        machine: String,
        /// Why.
        why: String,
    },
    /// Destroy a person's key.
    Erase {
        /// The person.
        person: String,
        /// On whose wish.
        why: String,
    },
}

/// A release asked for.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Release {
    /// Fleet number.
    pub machine: String,
    /// The outing, by its name.
    pub outing: String,
    /// Its planning, where there is one.
    #[serde(default)]
    pub planned: Option<String>,
    /// The uses: range, road, passenger, dark. The first is the one planned.
    pub uses: Vec<String>,
    /// Who rides.
    #[serde(default)]
    pub riders: Vec<String>,
    /// From when, ISO 8601 with offset.
    pub from: String,
    /// Till when.
    pub to: String,
    /// How far, such as `40 km`.
    #[serde(default)]
    pub distance: Option<String>,
    /// Why, where it goes against the verdict.
    #[serde(default)]
    pub reason: Option<String>,
    /// The outing as it is told, one a rider, to be worked out and to bind the release; its uses are let out for too.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "schema", schema(value_type = Vec<crate::outing::OutingTold>))]
    pub told: Vec<Told>,
    /// What was done of what the outing asks before leaving, in its words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub done: Vec<String>,
}

/// A return: with damage it raises a finding, or neither is written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct TakeBack {
    /// Fleet number.
    pub machine: String,
    /// The release it ends.
    pub release: String,
    /// Odometer, such as `12480 km`.
    #[serde(default)]
    pub odometer: Option<String>,
    /// Fuel, in a word.
    #[serde(default)]
    pub fuel: Option<String>,
    /// What is damaged; none if nothing is.
    #[serde(default)]
    pub damage: Option<String>,
    /// How grave the damage is: minor, major or dangerous.
    #[serde(default)]
    pub class: Option<String>,
    /// Whether the key is back on its hook.
    pub key_back: bool,
}

/// A field of a command that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{field}: {what}")]
pub struct NotAsked {
    field: &'static str,
    what: String,
}

impl NotAsked {
    /// A field and what is wrong with it.
    #[must_use]
    pub const fn new(field: &'static str, what: String) -> Self {
        Self { field, what }
    }
}

impl Asked {
    /// The command, and the outing it is to be judged for.
    ///
    /// # Errors
    /// [`NotAsked`] with the field and what is wrong with it.
    pub fn read(self) -> Result<(Command, Option<Outing>), NotAsked> {
        let command = match self {
            Self::Write { kind, payload } => Command::Write(written(&kind, &payload)?),
            Self::Release(release) => return release.read().map(|(asked, outing)| (Command::Release(asked), outing)),
            Self::Plan(plan) => return plan.read().map(|(asked, outing)| (Command::Plan(asked), outing)),
            Self::Tag { machine, why, number } => Command::Tag { machine, why, number },
            Self::Untag { machine, lifts, reason } => Command::Untag { machine, lifts: list("lifts", &lifts)?, reason },
            Self::TakeBack(of) => of.read()?,
            Self::Prove { machine, job } => Command::Prove { machine, job: one("job", &job)? },
            Self::Impound { machine, why } => Command::Impound { machine, why },
            Self::Erase { person, why } => Command::Erase { person: one("person", &person)?, why },
        };
        Ok((command, None))
    }
}

impl Release {
    fn read(self) -> Result<(ReleaseAsked, Option<Outing>), NotAsked> {
        let uses: Vec<Use> = list("uses", &self.uses)?;
        let (from, to) = (moment("from", &self.from)?, moment("to", &self.to)?);
        let distance = self.distance.as_deref().map(distance).transpose()?;
        let outings: Vec<outing::Outing> = self.told.into_iter().map(|told| read(told, from, to)).collect();
        let planned_use = uses.first().map(|planned| Outing { planned: *planned, back: to, distance });
        let planned_use = outings.first().and_then(outing::Outing::planned).or(planned_use);
        let uses = uses.into_iter().chain(outings.iter().flat_map(|of| of.uses().iter().collect::<Vec<_>>()));
        let planned = self.planned.as_deref().map(|id| one::<EventId>("planned", id)).transpose()?;
        let asked = ReleaseAsked {
            machine: self.machine,
            outing: self.outing,
            planned,
            uses: Uses::from_iter(uses),
            riders: list::<PersonId>("riders", &self.riders)?,
            from,
            to,
            reason: self.reason,
            outings,
            done: self.done,
        };
        Ok((asked, planned_use))
    }
}

impl TakeBack {
    fn read(self) -> Result<Command, NotAsked> {
        let class = self.class.as_deref().map(|class| one::<Class>("class", class)).transpose()?;
        let returned = Returned {
            release: one("release", &self.release)?,
            machine: self.machine,
            odometer: self.odometer,
            fuel: self.fuel,
            damage: self.damage,
            key_back: self.key_back,
        };
        Ok(Command::TakeBack { returned, class })
    }
}

/// The release says when it ends: what was told of that counts no more.
fn read(told: Told, from: Moment, to: Moment) -> outing::Outing {
    Told { back: Some(to.to_string()), ..told }.read(from, DecimalSign::Point)
}

fn written(kind: &str, payload: &Value) -> Result<Payload, NotAsked> {
    let known: Kind = kind.parse().map_err(|_| {
        let names: Vec<&str> = Kind::ALL.iter().map(|kind| kind.as_str()).collect();
        NotAsked { field: "kind", what: format!("no kind `{kind}`; there are: {}", names.join(", ")) }
    })?;
    Payload::from_value(known, payload).map_err(|error| NotAsked { field: "payload", what: error.to_string() })
}

fn one<T: FromStr<Err: std::fmt::Display>>(field: &'static str, text: &str) -> Result<T, NotAsked> {
    text.parse().map_err(|error: T::Err| NotAsked { field, what: error.to_string() })
}

fn list<T: FromStr<Err: std::fmt::Display>>(field: &'static str, texts: &[String]) -> Result<Vec<T>, NotAsked> {
    texts.iter().map(|text| one(field, text)).collect()
}

fn moment(field: &'static str, text: &str) -> Result<Moment, NotAsked> {
    Moment::parse(text).map_err(|error| NotAsked { field, what: error.to_string() })
}

fn distance(text: &str) -> Result<Distance, NotAsked> {
    let read = text::read(Quantity::Distance, text, DecimalSign::Point);
    let read = read.map_err(|error| error.to_string());
    let way = read.and_then(|amount| Distance::try_from(amount).map_err(|error| error.to_string()));
    way.map_err(|what| NotAsked { field: "distance", what })
}
