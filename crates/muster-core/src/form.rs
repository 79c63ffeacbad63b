//! A filled walk-round: what was read and seen, by whom, when, with what.

use alloc::{string::String, vec::Vec};

use crate::{
    calendar::Moment,
    quantity::{Amount, Distance, Temperature},
    state::State,
    words::{Class, Depth, Ending, Seen, Use, Uses},
};

/// A walk-round as it was filled.
#[derive(Clone, Debug, PartialEq)]
pub struct Form {
    /// The machine.
    pub machine: String,
    /// How far it goes.
    pub depth: Depth,
    /// Who walked.
    pub by: String,
    /// When it was opened.
    pub opened: Moment,
    /// When it was closed; none while it is open.
    pub closed: Option<Moment>,
    /// What the machine showed.
    pub odometer: Option<Distance>,
    /// The air.
    pub air: Option<Temperature>,
    /// The barometer, in kPa, where one was read.
    pub barometer: Option<Amount>,
    /// When it last came back.
    pub ridden: Option<Moment>,
    /// No hold tag on the bar: the first question. None: not answered.
    pub no_hold_tag: Option<bool>,
    /// The key on its hook.
    pub key_on_hook: Option<bool>,
    /// The state it was found in.
    pub found: State,
    /// What it is to go out for.
    pub outing: Option<Outing>,
    /// Answers in the order of the file.
    pub answers: Vec<Answer>,
    /// Findings raised.
    pub findings: Vec<Finding>,
    /// Findings closed.
    pub closes: Vec<Close>,
    /// What ended lives.
    pub events: Vec<Event>,
}

/// What a machine is to go out for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outing {
    /// The use planned.
    pub planned: Use,
    /// When it is to be back.
    pub back: Moment,
    /// How far.
    pub distance: Option<Distance>,
}

/// One line of a form.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The check.
    pub check: String,
    /// What was read or seen.
    pub said: Said,
    /// The instrument.
    pub with: Option<String>,
    /// A named act since the last answer to this check.
    pub after: Option<String>,
    /// It corrects a slip in its author's own last answer.
    pub slip: bool,
    /// Why it could not be seen, or why a reading was far off.
    pub why: Option<String>,
    /// A class raised by the finder.
    pub class: Option<Class>,
    /// Which defect it is: key of a class row of the law pack.
    pub defect: Option<String>,
    /// The tyre's own temperature.
    pub tyre: Option<Temperature>,
    /// The air there and then.
    pub air: Option<Temperature>,
    /// What the machine showed.
    pub odometer: Option<Distance>,
    /// Who.
    pub by: String,
    /// When.
    pub at: Moment,
    /// Anything else.
    pub note: Option<String>,
    /// Line of the file.
    pub line: usize,
}

/// What an answer says.
#[derive(Clone, Debug, PartialEq)]
pub enum Said {
    /// Figures, each with the place it was read at, if places are told apart.
    Read(Vec<(Option<String>, Amount)>),
    /// A look, each with its place.
    Saw(Vec<(Option<String>, Seen)>),
    /// A day, and how surely it is known, in days.
    Day(jiff::civil::Date, u16),
}

/// A defect: open until a job or a look closes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Its number.
    pub id: String,
    /// The check it was found at.
    pub check: Option<String>,
    /// What.
    pub what: String,
    /// How grave.
    pub class: Class,
    /// Which defect it is: key of a class row of the law pack.
    pub defect: Option<String>,
    /// Why its class stands below the law pack's, where somebody with the right to lower it has set it.
    pub lowered: Option<String>,
    /// The uses it binds.
    pub uses: Uses,
    /// Who.
    pub by: String,
    /// When.
    pub at: Moment,
}

/// A finding closed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Close {
    /// The finding's number.
    pub finding: String,
    /// By what.
    pub how: String,
    /// Who.
    pub by: String,
    /// When.
    pub at: Moment,
}

/// What ended lives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Event {
    /// What happened.
    pub what: Ending,
    /// When.
    pub at: Moment,
}
