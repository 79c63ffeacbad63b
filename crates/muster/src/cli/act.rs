//! What people do with machines, on the record: release, return, tag, untag, fall, class, job, service, impound.

use anyhow::{Context as _, Result, bail};
use clap::{Args, Subcommand};
use muster_core::words::{Class, Service};
use serde_json::{Value, json};

use super::{
    MAY_GO,
    door::{Door, Where},
    going::{self, Leave, Release},
    paper::note,
};

/// What is done with a machine, or set for the server.
#[derive(Debug, Subcommand)]
pub(crate) enum Do {
    /// With a machine.
    #[command(flatten)]
    Act(Act),
    /// For the server.
    #[command(flatten)]
    Set(super::settings::Setting),
}

/// One act.
#[derive(Debug, Subcommand)]
pub(crate) enum Act {
    /// Let a machine out for an outing: signed, with the verdict as it is known now
    #[command(after_help = "Examples:\n  \
        muster do release H-07 --for \"Module 1\" --use range --to 2026-11-24T12:00:00+00:00\n  \
        muster do release H-24 --for Tour --rider \"p-ann=82 kg\" --passenger \"64 kg\" --luggage \"cases=12 kg\" \
        --distance \"180 km\" --to 2026-11-24T17:30:00+00:00 --done all\n  \
        muster do release H-24 --planned 66687aadf862bd77.17 --done all --reason \"to the weighbridge\"\n\n\
        With a rider's mass the outing is worked out as muster outing does, and binds the release. The record keeps \
        nobody's mass.")]
    Release(Box<Release>),
    /// Work an outing out and plan it for somebody else to sign: its verdict and what to set and do, nobody's mass
    #[command(after_help = "Example: muster do plan H-24 --for Tour --rider \"p-ann=82 kg\" --distance \"180 km\" \
        --to 2026-11-24T17:30:00+00:00")]
    Plan(Box<Leave>),
    /// Take a machine back
    #[command(after_help = "Example: muster return H-07 --odometer \"12 480 km\"")]
    Return(Return),
    /// Hang a hold tag: the machine must not go out
    #[command(after_help = "Example: muster tag H-07 --why \"front brake spongy\"")]
    Tag {
        /// Fleet number
        machine: String,
        /// Why
        #[arg(long)]
        why: String,
        /// Number printed on the tag
        #[arg(long)]
        number: Option<String>,
    },
    /// Lift hold tags by name, and no other
    #[command(after_help = "Example: muster untag H-07 --reason \"bled and tried\"   (with one tag hanging)")]
    Untag {
        /// Fleet number
        machine: String,
        /// The taggings; without any the one that hangs, if it is one
        #[arg(long = "tag", value_name = "EVENT")]
        tags: Vec<String>,
        /// Why
        #[arg(long)]
        reason: String,
    },
    /// Note that a machine fell: what a fall ends is asked again
    #[command(after_help = "Example: muster fall H-07 --how \"dropped at walking pace, left side\"")]
    Fall {
        /// Fleet number
        machine: String,
        /// How, in words that name nobody
        #[arg(long)]
        how: String,
        /// The odometer
        #[arg(long)]
        odometer: Option<String>,
    },
    /// Change how grave an open finding is, and say which of the law pack's defects it is
    #[command(after_help = "Examples:\n  \
        muster do class H-07 dangerous --why \"cord to be seen\"   (with one finding open)\n  \
        muster do class H-07 minor --finding 66687aadf862bd77.17 --defect mudguard-loose --why \"one bolt of two\"\n\n\
        muster explain CHECK --machine H-07 lists the defects of a check by name. To lower a class below what was found or \
        below the law's, or to name the defect, needs the right to lower a class.")]
    Class {
        /// Fleet number
        machine: String,
        /// minor, major, dangerous
        class: Class,
        /// The finding; without it the one that is open, if it is one
        #[arg(long, value_name = "EVENT")]
        finding: Option<String>,
        /// Which of the law pack's defects it is after all; without it as it was named
        #[arg(long, value_name = "NAME")]
        defect: Option<String>,
        /// Why
        #[arg(long)]
        why: String,
    },
    /// Workshop work: open it, move it on, prove it by its readings
    Job {
        /// What to do
        #[command(subcommand)]
        what: Job,
    },
    /// Change a machine's service state
    #[command(after_help = "Example: muster service H-07 \"laid up\" --why winter")]
    Service {
        /// Fleet number
        machine: String,
        /// in service, laid up, on loan, away, sold
        state: Service,
        /// Why
        #[arg(long)]
        why: Option<String>,
    },
    /// Keep a machine as it is, after a crash: no repair, no correction
    Impound {
        /// Fleet number
        machine: String,
        /// Why
        #[arg(long)]
        why: String,
    },
}

/// A return.
#[derive(Args, Debug)]
pub(crate) struct Return {
    /// Fleet number
    machine: String,
    /// The odometer
    #[arg(long)]
    odometer: Option<String>,
    /// Fuel, in words
    #[arg(long)]
    fuel: Option<String>,
    /// Damage, in words
    #[arg(long)]
    damage: Option<String>,
    /// The key is not back on its hook
    #[arg(long)]
    no_key: bool,
}

/// Workshop work.
#[derive(Debug, Subcommand)]
pub(crate) enum Job {
    /// Ask for work
    #[command(after_help = "Example: muster job open H-07 brake-front --why \"pads at their limit\"")]
    Open {
        /// Fleet number
        machine: String,
        /// Its kind, as in data/jobs.toml: which answers prove it
        kind: String,
        /// What for
        #[arg(long)]
        why: String,
        /// Findings it puts right
        #[arg(long = "finding", value_name = "EVENT")]
        findings: Vec<String>,
        /// Hold tags it lifts when proven
        #[arg(long = "tag", value_name = "EVENT")]
        tags: Vec<String>,
        /// The day it is planned for: 2026-11-30
        #[arg(long, value_name = "DAY")]
        planned: Option<String>,
    },
    /// Move it on: open, waiting for parts, in hand, done; or to another day
    #[command(after_help = "Example: muster job move H-07 66687aadf862bd77.17 waiting --planned 2026-11-30")]
    Move {
        /// Fleet number
        machine: String,
        /// The job
        job: String,
        /// Its state now; as it is where only the day changes
        to: muster_core::record::payload::JobState,
        /// Anything to say
        #[arg(long)]
        note: Option<String>,
        /// The day it is planned for from now on
        #[arg(long, value_name = "DAY")]
        planned: Option<String>,
    },
    /// Close it by its readings; it lifts the tags it names, and no other
    Prove {
        /// Fleet number
        machine: String,
        /// The job
        job: String,
    },
}

/// Does one act and prints the events it wrote.
///
/// # Errors
/// What the record refuses, with the remedy.
pub(crate) fn run(place: &Where, act: &Act) -> Result<u8> {
    let door = place.open()?;
    let command = command(&door, act)?;
    for event in door.command(&command)? {
        println!("{event}");
    }
    note(&done(act));
    Ok(MAY_GO)
}

/// What is so from now on, in words.
fn done(act: &Act) -> String {
    match act {
        Act::Release(of) => format!("{} is out", of.leave.machine),
        Act::Plan(of) => format!("planned for {0}: muster do release {0} --planned EVENT signs it", of.machine),
        Act::Return(of) => format!("{} is back", of.machine),
        Act::Tag { machine, .. } => format!("{machine} must not go out: a hold tag hangs"),
        Act::Untag { machine, .. } => format!("lifted at {machine}, by name; any other tag still hangs"),
        Act::Fall { machine, .. } => format!("{machine} fell: what a fall ends is asked again"),
        Act::Class { machine, class, .. } => format!("the finding at {machine} is {class}"),
        Act::Job { what: Job::Open { machine, kind, .. } } => format!("{kind} asked for at {machine}"),
        Act::Job { what: Job::Move { machine, to, .. } } => format!("work at {machine} is {to}"),
        Act::Job { what: Job::Prove { machine, .. } } => {
            format!("proven at {machine}: its findings are closed, the tags it names lifted")
        }
        Act::Service { machine, state, .. } => format!("{machine} is {state}"),
        Act::Impound { machine, .. } => format!("{machine} is kept as it is: no repair, no correction"),
    }
}

fn command(door: &Door, act: &Act) -> Result<Value> {
    Ok(match act {
        Act::Release(of) => going::release(door, of)?,
        Act::Plan(of) => going::plan(of)?,
        Act::Return(of) => returned(door, of)?,
        Act::Tag { machine, why, number } => json!({ "do": "tag", "machine": machine, "why": why, "number": number }),
        Act::Untag { machine, tags, reason } => {
            let lifts = if tags.is_empty() { [hanging(door, machine)?].into() } else { tags.clone() };
            json!({ "do": "untag", "machine": machine, "lifts": lifts, "reason": reason })
        }
        Act::Fall { machine, how, odometer } => written(
            "fall-noted",
            &json!({
                "machine": machine, "how": how, "rider": null, "about_rider": null, "odometer": odometer,
            }),
        ),
        Act::Class { machine, class, finding, defect, why } => {
            let finding = finding.clone().map_or_else(|| open_finding(door, machine), Ok)?;
            written(
                "finding-classed",
                &json!({
                    "machine": machine, "finding": finding, "class": class.to_string(), "defect": defect, "why": why,
                }),
            )
        }
        Act::Job { what } => job(door, what)?,
        Act::Service { machine, state, why } => {
            let now = view(door, machine)?;
            written(
                "service-changed",
                &json!({
                    "machine": machine, "state": state.to_string(), "why": why, "replaces": now.get("service_set_by"),
                }),
            )
        }
        Act::Impound { machine, why } => json!({ "do": "impound", "machine": machine, "why": why }),
    })
}

fn job(door: &Door, what: &Job) -> Result<Value> {
    Ok(match what {
        Job::Open { machine, kind, why, findings, tags, planned } => written(
            "job-opened",
            &json!({
                "machine": machine, "job": kind, "why": why, "findings": findings, "tags": tags, "planned": planned,
            }),
        ),
        Job::Move { machine, job, to, note, planned } => {
            let view = view(door, machine)?;
            let here = list(&view, "jobs").find(|one| one.get("id").and_then(Value::as_str) == Some(job));
            let from =
                here.and_then(|one| one.get("state_set_by")).with_context(|| format!("no job `{job}` at {machine}"))?;
            written(
                "job-moved",
                &json!({
                    "machine": machine, "job": job, "from": from, "to": to.to_string(), "note": note, "ended": [],
                    "planned": planned,
                }),
            )
        }
        Job::Prove { machine, job } => json!({ "do": "prove", "machine": machine, "job": job }),
    })
}

fn returned(door: &Door, of: &Return) -> Result<Value> {
    let view = view(door, &of.machine)?;
    let mut out = list(&view, "releases").filter(|one| one.get("returned").is_some_and(Value::is_null));
    let Some(release) = out.next().and_then(|one| one.get("id")) else {
        bail!("{} is not out", of.machine);
    };
    if out.next().is_some() {
        bail!("{} was let out twice: settle that first", of.machine);
    }
    Ok(written(
        "returned",
        &json!({
            "machine": of.machine, "release": release, "odometer": of.odometer, "fuel": of.fuel, "damage": of.damage,
            "key_back": !of.no_key,
        }),
    ))
}

fn hanging(door: &Door, machine: &str) -> Result<String> {
    let tags = standing(door, machine, "tags", "lifted")?;
    match tags.as_slice() {
        [one] => Ok(one.clone()),
        [] => bail!("no hold tag hangs at {machine}"),
        several => bail!("several hold tags hang at {machine}: name those to lift with --tag: {}", several.join(", ")),
    }
}

fn open_finding(door: &Door, machine: &str) -> Result<String> {
    let findings = standing(door, machine, "findings", "closed")?;
    match findings.as_slice() {
        [one] => Ok(one.clone()),
        [] => bail!("no finding is open at {machine}"),
        several => bail!("several findings are open at {machine}: name one with --finding: {}", several.join(", ")),
    }
}

/// The ids of what a machine's list has that nothing has ended.
fn standing(door: &Door, machine: &str, key: &str, ended_by: &str) -> Result<Vec<String>> {
    let view = view(door, machine)?;
    let still = list(&view, key).filter(|one| one.get(ended_by).is_some_and(Value::is_null));
    Ok(still.filter_map(|one| one.get("id").and_then(Value::as_str).map(str::to_owned)).collect())
}

fn view(door: &Door, machine: &str) -> Result<Value> {
    door.get(&format!("/api/v1/machines/{machine}"))
}

fn list<'v>(view: &'v Value, key: &str) -> impl Iterator<Item = &'v Value> {
    view.get(key).and_then(Value::as_array).into_iter().flatten()
}

fn written(kind: &str, payload: &Value) -> Value {
    json!({ "do": "write", "kind": kind, "payload": payload })
}
