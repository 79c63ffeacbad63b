//! Letting a machine out for an outing that is told, planning one for somebody else to sign, and signing that plan.

use anyhow::{Context as _, Result, bail};
use clap::Args;
use muster_core::{calendar::Moment, outing::Asked, words::Use};
use muster_wire::machine::PlanView;
use serde_json::{Value, json};

use super::{
    door::{Door, in_path},
    paper::note,
    told::{Rides, Way},
};

/// What a release and a plan say alike.
#[derive(Args, Debug)]
pub(crate) struct Leave {
    /// Fleet number
    pub(crate) machine: String,
    /// The outing, by its name
    #[arg(long = "for", value_name = "OUTING")]
    outing: Option<String>,
    /// The uses: range, road, passenger, dark; an outing that is told adds its own
    #[arg(long = "use", value_name = "USE", value_delimiter = ',')]
    uses: Vec<Use>,
    /// Who rides, by id; with the mass in kit the outing is worked out: --rider "p-ann=82 kg"; several times
    #[arg(long = "rider", value_name = "PERSON[=MASS]")]
    riders: Vec<String>,
    /// From when; without it now
    #[arg(long, value_name = "TIME", value_parser = Moment::parse)]
    from: Option<Moment>,
    /// Till when
    #[arg(long, value_name = "TIME", value_parser = Moment::parse)]
    to: Option<Moment>,
    /// How far
    #[arg(long, value_name = "WAY", allow_hyphen_values = true)]
    distance: Option<String>,
    #[command(flatten)]
    way: Way,
}

/// A release.
#[derive(Args, Debug)]
pub(crate) struct Release {
    #[command(flatten)]
    pub(crate) leave: Leave,
    /// An outing that was planned for this machine, by its event; its plan says riders, uses and end
    #[arg(long, value_name = "EVENT")]
    planned: Option<String>,
    /// What the outing asks before leaving and is done, in its words; several times; `all`: everything it asks
    #[arg(long, value_name = "WHAT")]
    done: Vec<String>,
    /// Why, where it goes against the verdict
    #[arg(long)]
    reason: Option<String>,
}

/// The release as a command.
///
/// # Errors
/// What is missing, what contradicts, a plan that is not there.
pub(crate) fn release(door: &Door, of: &Release) -> Result<Value> {
    let (mut command, asks) = match &of.planned {
        Some(id) => planned(door, &of.leave, id)?,
        None => {
            let (command, told) = of.leave.command()?;
            let asks = match told.as_slice() {
                [one] if !of.done.is_empty() => asked(door, &of.leave, one)?,
                [_, _, ..] if of.is_all() => {
                    bail!("--done all is for one rider's outing: name each thing that is done")
                }
                _ => Vec::new(),
            };
            (command, asks)
        }
    };
    let done = if of.is_all() { asks } else { of.done.clone() };
    for what in &done {
        note(&format!("done: {what}"));
    }
    if let Some(fields) = command.as_object_mut() {
        fields.insert("do".into(), "release".into());
        fields.insert("done".into(), done.into());
        fields.insert("reason".into(), of.reason.clone().into());
    }
    Ok(command)
}

/// The plan as a command.
///
/// # Errors
/// What is missing.
pub(crate) fn plan(of: &Leave) -> Result<Value> {
    let (mut command, told) = of.command()?;
    if told.is_empty() {
        bail!("a plan is worked out: say who rides with the mass in kit, --rider \"p-ann=82 kg\"");
    }
    if let Some(fields) = command.as_object_mut() {
        fields.insert("do".into(), "plan".into());
    }
    Ok(command)
}

impl Release {
    fn is_all(&self) -> bool {
        matches!(self.done.as_slice(), [all] if all == "all")
    }
}

impl Leave {
    fn command(&self) -> Result<(Value, Vec<Asked>)> {
        let name = self.outing.as_ref().context("say which outing it is for: --for \"Module 1\"")?;
        let to = self.to.context("say till when: --to 2026-11-24T12:00:00+00:00")?;
        let told = self.told(to)?;
        if told.is_empty() && self.uses.is_empty() {
            bail!("say its uses, --use range, or tell the outing, --rider \"p-ann=82 kg\"");
        }
        let riders: Vec<String> = self.rides().into_iter().filter_map(|rides| rides.name).collect();
        let command = json!({
            "machine": self.machine, "outing": name, "riders": riders,
            "uses": self.uses.iter().map(ToString::to_string).collect::<Vec<_>>(),
            "from": self.from().to_string(), "to": to.to_string(), "distance": self.distance,
            "told": told,
        });
        Ok((command, told))
    }

    fn from(&self) -> Moment {
        self.from.unwrap_or_else(super::site::now)
    }

    fn rides(&self) -> Vec<Rides> {
        self.riders.iter().map(|text| Rides::read(text)).collect()
    }

    /// One outing a rider, where a mass is told.
    fn told(&self, to: Moment) -> Result<Vec<Asked>> {
        let rides = self.rides();
        if rides.iter().all(|of| of.mass.is_none()) {
            if self.way.is_told() {
                bail!("the outing is worked out from who rides: say the mass in kit, --rider \"p-ann=82 kg\"");
            }
            return Ok(Vec::new());
        }
        let back = to.to_string();
        let (distance, back) = (self.distance.as_deref(), Some(back.as_str()));
        Ok(rides.iter().map(|rides| Asked { road: self.road(), ..self.way.asked(rides, distance, back) }).collect())
    }

    /// The road told, else that of the use.
    fn road(&self) -> Option<String> {
        let range = self.uses.contains(&Use::Range).then(|| "range".to_owned());
        self.way.road.clone().or(range)
    }
}

/// What an outing that is told asks before leaving: worked out by whoever keeps the record.
fn asked(door: &Door, leave: &Leave, told: &Asked) -> Result<Vec<String>> {
    let path = format!("/api/v1/machines/{}/outing?on={}", in_path(&leave.machine), in_path(&leave.from().to_string()));
    let of = door.ask("POST", &path, Some(&serde_json::to_value(told)?))?.json()?;
    let items = of.get("items").and_then(Value::as_array).into_iter().flatten();
    let text = |of: &Value, key: &str| of.get(key).and_then(Value::as_str).unwrap_or_default().to_owned();
    let mut asks: Vec<String> = Vec::new();
    // What the machine itself lacks is looked at in a walk-round, not ticked.
    let lacks = |item: &Value| text(item, "id") == "machine" && matches!(&*text(item, "verdict"), "hold" | "unseen");
    for item in items.filter(|item| !lacks(item)) {
        let todo = item.get("todo").and_then(Value::as_array).into_iter().flatten();
        for what in todo.filter(|todo| text(todo, "when") == "before leaving").map(|todo| text(todo, "what")) {
            if !asks.contains(&what) {
                asks.push(what);
            }
        }
    }
    Ok(asks)
}

/// A plan's release: all but who signs stands in it.
fn planned(door: &Door, leave: &Leave, id: &str) -> Result<(Value, Vec<String>)> {
    let told = !leave.riders.is_empty() || !leave.uses.is_empty() || leave.to.is_some() || leave.way.is_told();
    if told || leave.distance.is_some() {
        bail!(
            "the plan says riders, uses, way and end: leave them out, or work the outing out again without --planned"
        );
    }
    let view = door.get(&format!("/api/v1/machines/{}", in_path(&leave.machine)))?;
    let plans: Vec<PlanView> = serde_json::from_value(view.get("plans").cloned().unwrap_or_default())?;
    let waits = plans.iter().map(|plan| format!("{} ({})", plan.id, plan.outing)).collect::<Vec<_>>().join(", ");
    let plan = plans.into_iter().find(|plan| plan.id == id).with_context(|| match waits.is_empty() {
        true => format!("no outing waits for {}: plan one with muster do plan", leave.machine),
        false => format!("no outing `{id}` waits for {}; there wait: {waits}", leave.machine),
    })?;
    note(&format!("{}, worked out by {}: {}", plan.outing, plan.by, plan.verdict));
    for stop in &plan.stops {
        note(&format!("  {stop}"));
    }
    let command = json!({
        "machine": leave.machine, "outing": leave.outing.as_ref().unwrap_or(&plan.outing), "planned": plan.id,
        "riders": plan.riders, "uses": plan.uses, "from": leave.from().to_string(), "to": plan.to,
    });
    Ok((command, plan.before))
}
