//! A check for every use: worked out once for all uses that come to the same, for most of judging is its words.

use alloc::vec::{self, Vec};

use super::{
    Context, Outcome, Question,
    living::{Given, Past, given_to_each, living_of},
    machine::check_outcome,
};
use crate::{
    check::Check,
    equipment::Holds,
    form::Form,
    words::{Use, Uses},
};

/// Checks that are worked out one by one, for whoever has no time for all at once.
pub(super) struct Outcomes<'j> {
    context: &'j Context<'j>,
    past: Past<'j>,
    left: vec::IntoIter<(&'j Check, Vec<Given<'j>>)>,
    by_use: Vec<Vec<Outcome>>,
}

impl<'j> Outcomes<'j> {
    /// Begins with nothing worked out.
    pub(super) fn begin(context: &'j Context<'j>, checks: &'j [Check], forms: &[&'j Form]) -> Self {
        let given = given_to_each(checks, forms, context.now);
        Self {
            context,
            past: Past::of(forms, context.now),
            left: checks.iter().zip(given).collect::<Vec<_>>().into_iter(),
            by_use: Use::ALL.iter().map(|_| Vec::with_capacity(checks.len())).collect(),
        }
    }

    /// Works out the next check for every use; whether there was one.
    pub(super) fn next(&mut self) -> bool {
        let Some((check, given)) = self.left.next() else { return false };
        let context = self.context;
        let check = context.own(check);
        let told_apart = told_apart(context, check);
        let mut known: Vec<(Use, Answered)> = Vec::new();
        for (one, outcomes) in Use::ALL.iter().zip(&mut self.by_use) {
            let question = Question { context, check, past: &self.past, given: &given, one: *one };
            let lives = || living_of(check, question.known(), *one, |_| true).is_ok();
            let alike = |(of, answered): &&(Use, Answered)| {
                told_apart.iter().all(|uses| uses.contains(*of) == uses.contains(*one))
                    && (check.life.of(*of) == check.life.of(*one) || (!answered.by_life && lives()))
            };
            match known.iter().find(alike) {
                Some((_, alike)) => {
                    outcomes.extend(alike.outcome.clone().map(|outcome| Outcome { one: *one, ..outcome }));
                }
                None => {
                    let answered = check_outcome(&question);
                    outcomes.extend(answered.outcome.clone());
                    known.push((*one, answered));
                }
            }
        }
        true
    }

    /// The outcomes by use, in the order of uses and of checks, once nothing is left to work out.
    pub(super) fn all(mut self) -> Vec<Vec<Outcome>> {
        while self.next() {}
        self.by_use
    }
}

/// What a check comes to for one use.
pub(super) struct Answered {
    /// None where it neither binds the use nor was answered.
    pub(super) outcome: Option<Outcome>,
    /// How long an answer counts had a say in it, beyond that the answer lives.
    pub(super) by_life: bool,
}

/// Everything beside the life of an answer that tells one use from another at a check: two uses that all of these hold or
/// none does come to the same, and are worked out once.
fn told_apart(context: &Context<'_>, check: &Check) -> Vec<Uses> {
    let machine = &context.machine.traits;
    let limits = context.rows(check).filter(|row| row.only_if.binds(machine) != Holds::No).map(|row| row.uses);
    let classes = context.class_rows(check).filter(|row| row.only_if.binds(machine) != Holds::No).map(|row| row.uses);
    let rows = limits.chain(classes).filter(|uses| *uses != Uses::ALL);
    let mut uses: Vec<Uses> = [check.uses].into_iter().chain(rows).collect();
    if !check.requires.lacking(&context.machine.traits.equipment).is_empty() {
        // What is lacking is said of each use by its name.
        uses.extend(Use::ALL.iter().map(|one| Uses::NONE.with(*one)));
    }
    uses
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        data,
        judge::{judge, judge_check},
        load::File,
        yard::Yard,
    };
    use alloc::{format, string::String};

    const SHEET: &str = "schema = 1\nsheet = \"a\"\nmodel = \"A\"\nhandbook = { title = \"A handbook\" }\n\
        equipment = { mirrors = [\"left\"], final_drive = \"chain\" }\n\
        [[limit]]\ncheck = \"tyre.rear.tread\"\nat_least = \"2 mm\"\npage = \"1\"\nuses = [\"passenger\"]\n\
        [[limit]]\ncheck = \"tyre.rear.tread\"\nat_least = \"1.6 mm\"\npage = \"2\"\n";
    const YARD: &str = "schema = 1\nname = \"Yard\"\ntime_zone = \"Europe/London\"\nlaw = \"GB\"\n[[instrument]]\n\
        id = \"T-1\"\nname = \"Gauge\"\nkind = \"depth-gauge\"\nreads = \"length\"\nresolution = \"0.1 mm\"\n\
        accuracy = \"0.1 mm\"\n";

    /// Every look sound and a tread read, so many days ago; none on the day itself.
    fn form(days_ago: u8, tread: &str) -> String {
        let opened = format!("2026-11-{:02}T08:00:00+00:00", 24 - days_ago);
        let looks = ["tyre.rear.damage", "chain.damage", "lamp.head", "mirrors", "brake.front.action", "leaks"];
        let looks = looks.map(|check| format!("[[answer]]\ncheck = \"{check}\"\nsaw = \"sound\"\n")).concat();
        format!(
            "schema = 1\nmachine = \"M-01\"\nby = \"A\"\nopened = {opened}\nodometer = \"10 km\"\n{looks}[[answer]]\n\
             check = \"tyre.rear.tread\"\nread = \"{tread} mm\"\nwith = \"T-1\"\n"
        )
    }

    #[test]
    fn what_is_worked_out_once_is_what_each_use_comes_to_by_itself() {
        let catalogue = data::catalogue().unwrap();
        let machine = "schema = 1\nmachine = \"M-01\"\nsheet = \"a\"\n";
        let files: [File<'_>; 3] = [("yard.toml", YARD), ("sheets/a.toml", SHEET), ("machines/m.toml", machine)];
        let (yard, problems) = Yard::load(&files, &catalogue);
        assert_eq!(problems, []);
        let now = crate::calendar::Moment::parse("2026-11-24T09:00:00+00:00").unwrap();
        let context = Context::of(&catalogue, &yard, "M-01", now).unwrap();
        let mut seen = Vec::new();
        for (days_ago, tread) in [(0, "3.0"), (0, "1.8"), (1, "1.2"), (9, "3.0")] {
            let form = Form::load("f.toml", &form(days_ago, tread), &catalogue, &yard).0.unwrap();
            let (past, given) = (Past::of(&[&form], now), given_to_each(&catalogue.checks, &[&form], now));
            for (one, found) in Use::ALL.iter().zip(Outcomes::begin(&context, &catalogue.checks, &[&form]).all()) {
                let alone = context.checks().zip(&given).filter_map(|(check, given)| {
                    check_outcome(&Question { context: &context, check, past: &past, given, one: *one }).outcome
                });
                assert_eq!(found, alone.collect::<Vec<_>>(), "{one}, {days_ago} days ago");
                seen.extend(found.into_iter().map(|outcome| outcome.verdict));
            }
            let whole = judge(&context, &[&form]);
            for check in &catalogue.checks {
                let all = whole.uses.iter().flat_map(|of| &of.outcomes).filter(|of| of.check == check.id);
                assert_eq!(judge_check(&context, &[&form], check), all.cloned().collect::<Vec<_>>(), "{}", check.id);
            }
        }
        use crate::judge::Verdict::{Fit, Hold, Unseen};
        assert!(
            [Fit, Hold, Unseen].iter().all(|verdict| seen.contains(verdict)),
            "the forms reach every kind of answer"
        );
    }
}
