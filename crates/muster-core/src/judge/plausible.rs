//! What a form says that cannot be, seen against the machine and its earlier forms; each with line and remedy.

use alloc::{format, string::ToString, vec::Vec};

use super::{Context, living::odometer};
use crate::{
    equipment::Holds,
    form::{Form, Said},
    load::Problem,
    quantity::{Unit, show},
    words::Seen,
};

/// Everything in a form that cannot be. What is said here was read and kept; the verdict does not rest on it.
#[must_use]
pub fn implausible(context: &Context<'_>, file: &str, form: &Form, earlier: &[&Form]) -> Vec<Problem> {
    let mut out = Vec::new();
    let mut say = |line: usize, what| out.push(Problem { file: file.to_string(), line, what });
    if form.opened > context.now {
        say(
            0,
            format!(
                "opened {}, which is after {}: look at the clock it was written by; it does not count",
                form.opened, context.now
            ),
        );
    }
    let before: Vec<&Form> = earlier.iter().copied().filter(|other| other.opened < form.opened).collect();
    if let (Some(now), Some(then)) = (form.odometer, odometer(&before, form.opened))
        && now < then
    {
        let km = |way: crate::quantity::Distance| show::rounded(way.km(), 0, Unit::Kilometre);
        say(0, format!("odometer {} is below {} read earlier: read it again", km(now), km(then)));
    }
    for answer in &form.answers {
        if answer.at > context.now {
            say(
                answer.line,
                format!("{}: answered {}, after {}; it does not count", answer.check, answer.at, context.now),
            );
        }
        if answer.with.as_ref().is_some_and(|id| !context.yard.instruments.contains_key(id)) {
            let known: Vec<&str> = context.yard.instruments.keys().map(alloc::string::String::as_str).collect();
            say(
                answer.line,
                format!("{}: no such instrument in yard.toml; there are: {}", answer.check, known.join(", ")),
            );
        }
        let Some(check) = context.check(&answer.check) else { continue };
        if check.applies.holds(&context.machine.traits.equipment) == Holds::No {
            say(answer.line, format!("{} does not apply to {}: take the row out", answer.check, form.machine));
        }
        if answer.class.is_some_and(|class| class < check.class) {
            say(answer.line, format!("{}: a class is only raised here; {} stays", answer.check, check.class));
        }
        let unseen = matches!(&answer.said, Said::Saw(seen) if seen.iter().any(|(_, seen)| *seen == Seen::CouldNotSee));
        if unseen && answer.why.is_none() {
            say(answer.line, format!("{}: could not see: say why", answer.check));
        }
    }
    for (index, answer) in form.answers.iter().enumerate() {
        let again =
            form.answers.iter().take(index).find(|other| other.check == answer.check && other.said != answer.said);
        if again.is_some() && answer.after.is_none() && !answer.slip && answer.by == form.by {
            say(
                answer.line,
                format!(
                    "{} is answered twice with no act between: both count; write after = \"…\" for an act, slip = true for a slip of the keys",
                    answer.check
                ),
            );
        }
    }
    out
}
