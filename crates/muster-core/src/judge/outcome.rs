//! The verdict of a check for a use, with its reason, its source, its working and what to do now.

use alloc::{string::String, vec::Vec};
use core::cmp::Ordering;

use serde::Serialize;

use crate::{
    named::named,
    words::{Class, Use},
};

named! {
    /// What a judgement comes to; rising in gravity.
    Verdict, "verdict", "fit, watch, unseen, hold":
    /// Conforms with the probability asked for.
    Fit = "fit",
    /// Conforms, but too near to call or soon past.
    Watch = "watch",
    /// No reason to trust an answer. Never fit.
    Unseen = "unseen",
    /// Past its limit, or a defect that stops it.
    Hold = "hold",
}

/// What one check comes to for one use.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outcome {
    /// The check's id, or `finding`, `first-line`, `service`.
    pub check: String,
    /// The check's name.
    pub name: String,
    /// The use.
    #[serde(rename = "use")]
    pub one: Use,
    /// The verdict.
    pub verdict: Verdict,
    /// How grave a miss is.
    pub class: Class,
    /// Why, in one sentence.
    pub reason: String,
    /// What to do now.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub todo: Option<String>,
    /// The limit and its source.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// How it was worked out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub working: Vec<String>,
    /// Probability that the true value conforms.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub probability: Option<f64>,
    /// Margin as a share of what lies between new and the limit, or of half the window.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub share: Option<f64>,
    /// The reading against its limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub figure: Option<Figure>,
    /// What was found and set within the walk-round.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set: Option<Set>,
    /// Whether the verdict rests on a row of law.
    pub rests_on_law: bool,
    /// Who gave the answer it rests on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// When, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
}

/// A reading against its limits, every figure in `unit`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// Symbol of the unit.
    pub unit: &'static str,
    /// Decimals it is shown with.
    pub decimals: usize,
    /// The corrected reading that counts.
    pub value: f64,
    /// Expanded uncertainty, k = 2.
    pub expanded_u: f64,
    /// What the gauge showed, where a correction moved it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gauge: Option<f64>,
    /// The least allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_least: Option<f64>,
    /// The most allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_most: Option<f64>,
    /// The value to set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub target: Option<f64>,
    /// What a new part shows.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub new: Option<f64>,
    /// Signed distance to the nearest limit; negative past it.
    pub margin: f64,
    /// Readings by place, where places are told apart.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<PlaceFigure>,
}

/// What one place showed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlaceFigure {
    /// The place.
    pub place: String,
    /// The mean of its readings.
    pub value: f64,
}

/// What was found, and what the act in between led to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Set {
    /// As found.
    pub found: String,
    /// The act.
    pub act: String,
    /// As left.
    pub now: String,
}

impl Outcome {
    /// An outcome with a verdict and a reason, and nothing else yet.
    #[must_use]
    pub fn new(id: &str, name: &str, one: Use, verdict: Verdict, reason: impl Into<String>) -> Self {
        Self {
            check: id.into(),
            name: name.into(),
            one,
            verdict,
            class: Class::Minor,
            reason: reason.into(),
            todo: None,
            source: None,
            working: Vec::new(),
            probability: None,
            share: None,
            figure: None,
            set: None,
            rests_on_law: false,
            by: None,
            at: None,
        }
    }

    /// With a class.
    #[must_use]
    pub fn classed(self, class: Class) -> Self {
        Self { class, ..self }
    }

    /// With what to do now.
    #[must_use]
    pub fn todo(self, todo: impl Into<String>) -> Self {
        Self { todo: Some(todo.into()), ..self }
    }

    /// Worst first: verdict, class, probability, share of the allowance, id.
    #[must_use]
    pub fn gravity(&self, other: &Self) -> Ordering {
        let number = |value: Option<f64>| value.unwrap_or(f64::INFINITY);
        (other.verdict.cmp(&self.verdict))
            .then_with(|| other.class.cmp(&self.class))
            .then_with(|| number(self.probability).total_cmp(&number(other.probability)))
            .then_with(|| number(self.share).total_cmp(&number(other.share)))
            .then_with(|| self.check.cmp(&other.check))
    }
}
