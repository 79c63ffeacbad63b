//! The release slip: what to set, on which conditions, with which cautions, signed; it goes with the rider.

use muster_core::{
    calendar::Moment,
    check::Yields,
    judge::{Context, Verdict},
    quantity::Kind,
    words::Use,
};
use muster_draw::number::sentence;
use serde_json::{Value, json};

use crate::{
    paper::{Leaf, Paper, Pdf, Refused, Seal},
    press, said,
};

/// What a release slip is made of.
#[derive(Clone, Debug)]
pub struct Slip<'a> {
    /// The machine, at the moment it is let out.
    pub context: &'a Context<'a>,
    /// The outing, by its name.
    pub outing: String,
    /// Who rides, by name.
    pub riders: Vec<String>,
    /// From when.
    pub from: Moment,
    /// Till when.
    pub to: Moment,
    /// Each use it is let out for, with its verdict.
    pub verdicts: Vec<(Use, Verdict)>,
    /// Conditions it goes out on.
    pub conditions: Vec<String>,
    /// The outing it was worked out for: its conditions have the pressures in them.
    pub worked_out: Option<WorkedOut>,
    /// What its watches ask of the rider.
    pub cautions: Vec<String>,
    /// The checks it is signed against, by name.
    pub against: Vec<String>,
    /// Why, where there are any.
    pub reason: Option<String>,
    /// Who signed; none: a line to sign.
    pub by: Option<String>,
    /// The latest answer it rests on, as known then.
    pub known_at: Option<Moment>,
    /// Where a rider says what they noticed: the link of the machine's own code.
    pub feedback: Option<String>,
    /// What its code says.
    pub seal: Option<Seal>,
}

/// An outing worked out, as far as a slip shows it.
#[derive(Clone, Debug)]
pub struct WorkedOut {
    /// Conditions that were made before it left.
    pub done: Vec<String>,
    /// What is to be done at the next stop.
    pub next: Vec<String>,
}

impl Slip<'_> {
    /// The slip alone.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn print(&self, paper: &Paper) -> Result<Pdf, Refused> {
        press::print(vec![self.leaf()?], paper)
    }

    /// The slip, to be printed with others.
    ///
    /// # Errors
    /// [`Refused::Address`] if the feedback link is too long for a code.
    pub fn leaf(&self) -> Result<Leaf, Refused> {
        let machine = self.context.machine;
        let feedback = self.feedback.as_deref().map(crate::draw::code).transpose()?;
        let drawings: Vec<String> = feedback.into_iter().collect();
        let worked = self.worked_out.as_ref();
        let made = |says: &String| worked.is_some_and(|worked| worked.done.contains(says));
        let conditions: Vec<Value> =
            self.conditions.iter().map(|says| json!({ "says": says, "made": made(says) })).collect();
        let data = json!({
            "machine": machine.id,
            "model": self.context.sheet.model,
            "plate": machine.plate,
            "outing": self.outing,
            "riders": self.riders,
            "from": said::moment(self.from),
            "to": said::moment(self.to),
            "uses": self.verdicts.iter()
                .map(|(one, verdict)| json!({ "use": one.as_str(), "verdict": verdict.as_str() })).collect::<Vec<_>>(),
            "set": self.set(),
            "conditions": conditions,
            "worked_out": worked.is_some(),
            "next": worked.map(|worked| worked.next.clone()).unwrap_or_default(),
            "cautions": self.cautions.iter().map(|caution| sentence(caution)).collect::<Vec<_>>(),
            "against": self.against,
            "reason": self.reason,
            "by": self.by,
            "known_at": self.known_at.map(said::moment),
            "feedback": !drawings.is_empty(),
        });
        Ok(Leaf {
            kind: "slip",
            title: format!("Release slip {}, {}", machine.id, self.from.date()),
            whose: format!("the release of {}", machine.id),
            data,
            drawings,
            photos: Vec::new(),
            seal: self.seal.clone(),
        })
    }

    /// The pressures to set for the uses, the most loaded use first: what its target and its window are.
    fn set(&self) -> Vec<Value> {
        let context = self.context;
        let one = self.verdicts.iter().map(|(one, _)| *one).find(|one| *one == Use::Passenger);
        let Some(one) = one.or_else(|| self.verdicts.first().map(|(one, _)| *one)) else { return Vec::new() };
        let equipment = &context.machine.traits.equipment;
        let asked = context.checks().filter(|check| {
            check.applies.holds(equipment) != muster_core::equipment::Holds::No
                && matches!(&check.yields, Yields::Read(of) if of.settable.is_some() && of.kind == Kind::GaugePressure)
        });
        asked
            .filter_map(|check| {
                let limits = said::limits(context, check, &context.limits(check, one));
                (!limits.is_empty()).then(|| json!({ "name": check.name, "limits": limits, "use": one.as_str() }))
            })
            .collect()
    }
}
