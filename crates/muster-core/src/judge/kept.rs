//! A judgement as the record keeps it beside a release or a tag: an outcome that several uses have alike stands once.

use alloc::{collections::BTreeMap, string::String, vec::Vec};

use serde::Serialize;
use serde_json::Value;

use super::{Judgement, Outcome, UseVerdict};

/// The version of this shape; 1 is the judgement's own, which releases carried before.
const SCHEMA: u32 = 2;

/// What the kept shape writes of a judgement.
#[derive(Serialize)]
struct Kept<'j> {
    schema: u32,
    machine: &'j str,
    model: &'j str,
    judged_at: &'j str,
    known_at: Option<&'j str>,
    planned: Option<crate::words::Use>,
    back: Option<&'j str>,
    /// Each outcome as the first use that has it.
    outcomes: Vec<&'j Outcome>,
    uses: Vec<KeptUse<'j>>,
    catalogue: &'j str,
    yard: &'j str,
}

#[derive(Serialize)]
struct KeptUse<'j> {
    #[serde(rename = "use")]
    one: crate::words::Use,
    verdict: super::Verdict,
    conditions: &'j [String],
    /// Their places among all outcomes, worst first.
    outcomes: Vec<usize>,
}

/// Why a kept judgement cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum NotKept {
    /// It is no JSON.
    #[error("the judgement kept is no JSON")]
    Json(#[source] serde_json::Error),
    /// It is JSON of another shape.
    #[error("the judgement kept is of no shape that was ever written: `{0}` is missing or not as it should be")]
    Shape(&'static str),
}

impl Judgement {
    /// The judgement as the record keeps it: JSON in which an outcome that several uses have alike stands once, a third of
    /// [`Self::to_json`].
    ///
    /// # Errors
    /// None can occur: every value is a text, a number or a list of them.
    pub fn to_kept(&self) -> Result<String, serde_json::Error> {
        let (mut outcomes, mut places) = (Vec::new(), BTreeMap::new());
        let uses = self.uses.iter().map(|of| kept_use(of, &mut outcomes, &mut places)).collect();
        serde_json::to_string(&Kept {
            schema: SCHEMA,
            machine: &self.machine,
            model: &self.model,
            judged_at: &self.judged_at,
            known_at: self.known_at.as_deref(),
            planned: self.planned,
            back: self.back.as_deref(),
            outcomes,
            uses,
            catalogue: &self.catalogue,
            yard: &self.yard,
        })
    }
}

fn kept_use<'j>(
    of: &'j UseVerdict,
    outcomes: &mut Vec<&'j Outcome>,
    places: &mut BTreeMap<&'j str, Vec<usize>>,
) -> KeptUse<'j> {
    let place = |outcome: &'j Outcome| {
        let same_check = places.entry(&outcome.check).or_default();
        let known = same_check.iter().copied().find(|at| outcomes.get(*at).is_some_and(|of| is_alike(of, outcome)));
        known.unwrap_or_else(|| {
            outcomes.push(outcome);
            same_check.push(outcomes.len() - 1);
            outcomes.len() - 1
        })
    };
    KeptUse {
        one: of.one,
        verdict: of.verdict,
        conditions: &of.conditions,
        outcomes: of.outcomes.iter().map(place).collect(),
    }
}

/// Whether two outcomes differ in nothing but the use.
fn is_alike(one: &Outcome, other: &Outcome) -> bool {
    Outcome { one: one.one, ..other.clone() } == *one
}

/// A judgement that the record keeps, in whichever shape it was written, as [`Judgement::to_json`] writes one: each use with
/// its own outcomes.
///
/// # Errors
/// [`NotKept`] for a text that is none.
pub fn whole(kept: &str) -> Result<Value, NotKept> {
    let mut of: Value = serde_json::from_str(kept).map_err(NotKept::Json)?;
    let fields = of.as_object_mut().ok_or(NotKept::Shape("schema"))?;
    match fields.get("schema").and_then(Value::as_u64) {
        Some(1) => return Ok(of),
        Some(schema) if schema == u64::from(SCHEMA) => {}
        _ => return Err(NotKept::Shape("schema")),
    }
    fields.insert("schema".into(), 1.into());
    let Some(Value::Array(outcomes)) = fields.remove("outcomes") else { return Err(NotKept::Shape("outcomes")) };
    let uses = fields.get_mut("uses").and_then(Value::as_array_mut).ok_or(NotKept::Shape("uses"))?;
    for of in uses {
        let one = of.get("use").cloned().ok_or(NotKept::Shape("uses"))?;
        let places = of.get_mut("outcomes").ok_or(NotKept::Shape("uses"))?;
        let each = places.as_array().into_iter().flatten().map(|place| {
            let mut own = outcomes.get(usize::try_from(place.as_u64()?).ok()?)?.clone();
            *own.get_mut("use")? = one.clone();
            Some(own)
        });
        *places = Value::Array(each.collect::<Option<_>>().ok_or(NotKept::Shape("outcomes"))?);
    }
    Ok(of)
}
