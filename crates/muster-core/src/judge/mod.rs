//! Judges a machine: from what was read and seen to a verdict for each use, with reasons.

mod case;
mod day;
mod due;
mod forecast;
mod kept;
mod living;
mod look;
mod machine;
mod oil;
mod outcome;
mod plausible;
mod reading;
mod tyre;
mod uses;
mod value;

pub use due::{Due, Falls, due};
pub(crate) use due::{last as last_answer, too_old};
pub use forecast::coming;
pub use kept::{NotKept, whole};
use living::{Given, Known, Past};
pub use living::{Living, Unanswered, living};
pub use machine::{Judgement, Judging, UseVerdict, asked, judge, judge_check};
pub use outcome::{Figure, Outcome, PlaceFigure, Set, Verdict};
pub use plausible::implausible;
pub use value::{Asked, Readings, Weighed, judge_value};

use alloc::{format, string::String, vec::Vec};

use crate::{
    calendar::Moment,
    catalogue::{Catalogue, ClassRow, Law},
    check::{Check, Measure, Shown},
    equipment::Holds,
    limit::{Counting, Limit, counting},
    machine::{Machine, Procedure, Sheet},
    sorted::sort_by,
    state::Needs,
    words::{Class, Use},
    yard::{Units, Yard},
};

/// What a judgement rests on, beside the forms.
#[derive(Clone, Copy, Debug)]
pub struct Context<'c> {
    /// The catalogue.
    pub catalogue: &'c Catalogue,
    /// The yard.
    pub yard: &'c Yard,
    /// The machine.
    pub machine: &'c Machine,
    /// Its sheet.
    pub sheet: &'c Sheet,
    /// The law pack, if the yard is under one.
    pub law: Option<&'c Law>,
    /// Units for people.
    pub units: Units,
    /// The moment the judgement is made.
    pub now: Moment,
}

/// How grave what was found is, and by which row.
struct Graded<'c> {
    class: Class,
    row: Option<&'c ClassRow>,
    /// Whether the finder named the row.
    named: bool,
}

/// A check, asked of a machine's forms for one use.
#[derive(Clone, Copy)]
struct Question<'q> {
    context: &'q Context<'q>,
    check: &'q Check,
    /// What the forms up to now say that bears on every check.
    past: &'q Past<'q>,
    /// Every answer to the check up to now, oldest first.
    given: &'q [Given<'q>],
    one: Use,
}

impl<'q> Question<'q> {
    /// What is known of its check.
    fn known(&self) -> Known<'q, 'q> {
        Known { past: self.past, given: self.given }
    }

    /// An outcome of this check.
    fn outcome(&self, verdict: Verdict, reason: impl Into<String>) -> Outcome {
        Outcome::new(&self.check.id, &self.check.name, self.one, verdict, reason)
    }
}

impl<'c> Context<'c> {
    /// The context of one machine of a yard; none if the yard has no such machine.
    #[must_use]
    pub fn of(catalogue: &'c Catalogue, yard: &'c Yard, machine: &str, now: Moment) -> Option<Self> {
        let machine = yard.machines.get(machine)?;
        let sheet = yard.sheets.get(&machine.sheet)?;
        let law = yard.law.as_ref().and_then(|law| catalogue.laws.get(law));
        Some(Self { catalogue, yard, machine, sheet, law, units: yard.units, now })
    }

    /// A check as this machine is asked it.
    #[must_use]
    pub fn check(&self, id: &str) -> Option<&'c Check> {
        self.catalogue.check(id).map(|check| self.own(check))
    }

    /// Every check as this machine is asked it, whether it applies or not, in the catalogue's order.
    pub fn checks(&self) -> impl Iterator<Item = &'c Check> {
        self.catalogue.checks.iter().map(|check| self.own(check))
    }

    /// A check as this machine is asked it.
    #[must_use]
    pub fn own<'k>(&self, check: &'k Check) -> &'k Check {
        check.on(&self.machine.traits.equipment)
    }

    /// The rows that count for a check and a use.
    #[must_use]
    pub fn limits(&self, check: &Check, one: Use) -> Counting<'c> {
        counting(self.rows(check), &self.machine.traits, one)
    }

    /// Every row for a check, whichever use or machine it binds.
    fn rows(&self, check: &Check) -> impl Iterator<Item = &'c Limit> {
        let law = self.law.into_iter().flat_map(|law| &law.limits);
        let rows = self.catalogue.practice.iter().chain(&self.sheet.limits).chain(&self.machine.limits);
        rows.chain(law).chain(&self.yard.house).filter(|row: &&Limit| row.check == check.id)
    }

    /// Every class row that names a check.
    fn class_rows(&self, check: &Check) -> impl Iterator<Item = &'c ClassRow> {
        let rows = self.law.into_iter().flat_map(|law| &law.classes);
        rows.filter(|row| row.checks.contains(&check.id))
    }

    /// The class of a defect at a check for a use: the gravest of the catalogue's and the law pack's.
    #[must_use]
    pub fn class(&self, check: &Check, one: Use) -> (Class, Option<&'c ClassRow>) {
        let law = self.class_row(check, one);
        match law {
            Some(row) if row.class >= check.class => (row.class, Some(row)),
            _ => (check.class, None),
        }
    }

    /// The class of a miss at a row that names its own: not below the law pack's, which only a right and a reason lower.
    #[must_use]
    pub fn class_of(&self, check: &Check, own: Option<Class>, one: Use) -> Class {
        match (own, self.class_row(check, one)) {
            (Some(own), Some(law)) => own.max(law.class),
            (Some(own), None) => own,
            (None, _) => self.class(check, one).0,
        }
    }

    /// The law pack's gravest class row for a check, if the pack speaks of it.
    #[must_use]
    pub fn class_row(&self, check: &Check, one: Use) -> Option<&'c ClassRow> {
        self.class_rows(check)
            .filter(|row| row.uses.contains(one))
            .filter(|row| self.binds(row))
            .max_by_key(|row| row.class)
    }

    /// What the law pack says may be wrong at a check of this machine, for any use, gravest first: whoever finds something
    /// names the row that fits.
    #[must_use]
    pub fn defects(&self, check: &Check) -> Vec<&'c ClassRow> {
        let mut rows: Vec<_> = self.class_rows(check).filter(|row| self.binds(row)).collect();
        sort_by(&mut rows, |a, b| b.class.cmp(&a.class));
        rows
    }

    /// The class of what was found at a check, for a use: that of the defect named; where none is, or the pack has none of
    /// that name, the gravest.
    fn graded(&self, check: &Check, defect: Option<&str>, one: Use) -> Graded<'c> {
        let named = defect.and_then(|key| self.class_rows(check).find(|row| row.key == key && self.binds(row)));
        match named.filter(|row| row.uses.contains(one)) {
            Some(row) => Graded { class: row.class, row: Some(row), named: true },
            None => {
                let (class, row) = self.class(check, one);
                Graded { class, row, named: false }
            }
        }
    }

    /// What is said of a defect that the finder did not name, or by a name that the pack does not have.
    fn unnamed(&self, check: &Check, defect: Option<&str>, one: Use) -> Option<String> {
        let rows = || self.class_rows(check).filter(|row| self.binds(row));
        if let Some(key) = defect.filter(|key| !rows().any(|row| row.key == *key)) {
            return Some(format!("the law pack has no defect `{key}` here, so the gravest counts"));
        }
        let gravest = self.class_row(check, one).filter(|_| defect.is_none())?;
        let here = || rows().filter(|row| row.uses.contains(one));
        let told = || format!("which of the law pack's {} defects is not said, so the gravest counts", here().count());
        here().any(|row| row.class < gravest.class).then(told)
    }

    fn binds(&self, row: &ClassRow) -> bool {
        row.only_if.binds(&self.machine.traits) != Holds::No
    }

    /// How the sheet does a check, where it differs from the catalogue.
    #[must_use]
    pub fn procedure(&self, check: &Check) -> Option<&'c Procedure> {
        self.sheet.procedures.iter().find(|procedure| procedure.check == check.id)
    }

    /// How a check is done on this machine: the sheet's way where it has one.
    #[must_use]
    pub fn method<'k>(&self, check: &'k Check) -> &'k [String]
    where
        'c: 'k,
    {
        let own = self.procedure(check).filter(|procedure| !procedure.method.is_empty());
        own.map_or(&self.own(check).method, |procedure| &procedure.method)
    }

    /// What can hurt someone at a check of this machine: what the check says, then what the sheet's way adds.
    #[must_use]
    pub fn caution(&self, check: &Check) -> Option<String> {
        let own = self.own(check).caution.as_deref();
        let added = self.procedure(check).and_then(|procedure| procedure.caution.as_deref());
        let said: Vec<&str> = own.into_iter().chain(added).collect();
        (!said.is_empty()).then(|| said.join(" "))
    }

    /// The state a check needs on this machine.
    #[must_use]
    pub fn needs(&self, check: &Check) -> Needs {
        self.procedure(check).and_then(|procedure| procedure.needs).unwrap_or(self.own(check).needs)
    }

    /// The unit and decimals a check's figures are shown in.
    #[must_use]
    pub fn shown(&self, measure: &Measure) -> Shown {
        match self.units {
            Units::Si => measure.si,
            Units::Us => measure.us,
        }
    }
}
