//! The morning's yard sheet: every machine by what is to be done with it, and room for who takes it out.

use muster_core::{
    calendar::Moment,
    judge::{Judgement, UseVerdict, Verdict},
    words::Use,
    yard::Yard,
};
use muster_draw::number::sentence;
use serde_json::{Value, json};

use crate::{
    paper::{Leaf, Paper, Pdf, Refused, Seal},
    press,
    reasons::{by_name, titled},
    said,
};

/// What a yard sheet is made of.
#[derive(Clone)]
pub struct YardSheet<'a> {
    /// The yard.
    pub yard: &'a Yard,
    /// Its machines, judged.
    pub judgements: &'a [Judgement],
    /// The moment it is judged at.
    pub now: Moment,
    /// The name of a person an answer or a finding stands under.
    pub name: &'a dyn Fn(&str) -> String,
    /// What its code says.
    pub seal: Option<Seal>,
}

impl YardSheet<'_> {
    /// The sheet alone.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn print(&self, paper: &Paper) -> Result<Pdf, Refused> {
        press::print(vec![self.leaf()], paper)
    }

    /// The sheet, to be printed with others.
    #[must_use]
    pub fn leaf(&self) -> Leaf {
        let groups: Vec<Value> = [
            (Verdict::Hold, "Must not go out", "hang a hold tag where none hangs"),
            (Verdict::Unseen, "Walk round first", "what was not seen is never fit"),
            (Verdict::Watch, "Look before it goes", "may go out on its condition"),
            (Verdict::Fit, "May go out", ""),
        ]
        .into_iter()
        .map(|(verdict, name, note)| {
            let mut its: Vec<&Judgement> = self.judgements.iter().filter(|of| planned(of).0 == verdict).collect();
            its.sort_by_key(|of| (self.row(of), of.machine.clone()));
            let rows: Vec<Value> = its.into_iter().map(|of| self.machine(of)).collect();
            json!({ "verdict": verdict.as_str(), "name": name, "note": note, "rows": rows })
        })
        .collect();
        let data = json!({
            "yard": self.yard.name,
            "now": said::moment(self.now),
            "total": self.judgements.len(),
            "uses": Use::ALL.iter().map(|one| one.as_str()).collect::<Vec<_>>(),
            "groups": groups,
        });
        Leaf {
            kind: "yard-sheet",
            title: format!("Yard sheet, {}", self.now.date()),
            whose: format!("the yard {}", self.yard.name),
            data,
            drawings: Vec::new(),
            photos: Vec::new(),
            seal: self.seal.clone(),
        }
    }

    fn row(&self, of: &Judgement) -> u16 {
        self.yard.machines.get(&of.machine).map_or(u16::MAX, |machine| machine.row)
    }

    fn machine(&self, of: &Judgement) -> Value {
        let (_, one) = planned(of);
        let verdict = of.uses.iter().find(|verdict| verdict.one == one);
        let mut reasons = verdict.into_iter().flat_map(UseVerdict::reasons);
        let first = reasons.next();
        let machine = self.yard.machines.get(&of.machine);
        json!({
            "machine": of.machine,
            "model": of.model,
            "plate": machine.and_then(|machine| machine.plate.clone()),
            "service": machine.map(|machine| machine.service.as_str()),
            "planned": one.as_str(),
            "uses": of.uses.iter().map(|verdict| json!(verdict.verdict.as_str())).collect::<Vec<_>>(),
            "reason": first.map(|first| sentence(&format!("{}: {}", titled(first), by_name(&first.reason, first, self.name)))),
            "todo": first.and_then(|first| Some(sentence(&by_name(first.todo.as_deref()?, first, self.name)))),
            "more": reasons.count(),
            "conditions": verdict.filter(|of| of.verdict == Verdict::Watch).map(|of| of.conditions.clone()),
        })
    }
}

/// The verdict of the use a machine is planned for, and the use.
fn planned(of: &Judgement) -> (Verdict, Use) {
    (of.planned().map_or(Verdict::Unseen, |planned| planned.verdict), of.planned.unwrap_or(Use::Range))
}
