//! Which answers to a check still count, and in which groups: a named act begins a new one.

use alloc::{format, string::String, vec::Vec};

use crate::sorted::sort_by;
use crate::{
    calendar::{Moment, days_between},
    check::{Check, Life},
    form::{Answer, Event, Form, Outing, Said},
    quantity::{Distance, Unit, show},
    words::{Seen, Use},
};

/// The answers to one check that count for one use.
#[derive(Clone, Debug, PartialEq)]
pub struct Living<'f> {
    /// Groups in the order of the acts between them; the last counts, the first is as found.
    pub groups: Vec<Vec<Given<'f>>>,
    /// Slips corrected by their author; they stay visible.
    pub slips: Vec<&'f Answer>,
    /// How long the answer counts.
    pub until: Life,
}

/// An answer and the form it stands in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Given<'f> {
    /// The answer.
    pub answer: &'f Answer,
    /// Its form.
    pub form: &'f Form,
}

/// Why no answer counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unanswered {
    /// Never answered.
    Never,
    /// It could not be seen, and why.
    CouldNotSee(String),
    /// Its life is over, and how.
    Lapsed(String),
}

/// Finds the answers that count. Forms are the machine's, in any order; what lies after `now` does not count.
///
/// # Errors
/// [`Unanswered`] with the reason.
pub fn living<'f>(check: &Check, forms: &[&'f Form], one: Use, now: Moment) -> Result<Living<'f>, Unanswered> {
    let past = Past::of(forms, now);
    living_of(check, Known { past: &past, given: &given(check, forms, now) }, one, |_| true)
}

/// What a machine's forms say that bears on every check: gathered once a judgement, for a year holds hundreds of them.
pub(super) struct Past<'f> {
    /// When it is told.
    pub(super) now: Moment,
    /// When the newest form was opened.
    newest: Option<Moment>,
    /// When a machine that is out is to be back, at the latest.
    pub(super) back: Option<Moment>,
    /// What its odometer showed last.
    pub(super) odometer: Option<Distance>,
    /// The outing its newest form names.
    pub(super) outing: Option<Outing>,
    /// What may have ended an answer.
    events: Vec<&'f Event>,
}

impl<'f> Past<'f> {
    pub(super) fn of(forms: &[&'f Form], now: Moment) -> Self {
        let backs = forms.iter().filter_map(|form| form.outing).map(|outing| outing.back);
        Self {
            now,
            newest: forms.iter().map(|form| form.opened).filter(|opened| *opened <= now).max(),
            back: backs.filter(|back| *back >= now).max(),
            odometer: odometer(forms, now),
            outing: forms
                .iter()
                .filter(|form| form.opened <= now)
                .max_by_key(|form| form.opened)
                .and_then(|form| form.outing),
            events: forms.iter().flat_map(|form| &form.events).filter(|event| event.at <= now).collect(),
        }
    }

    /// What ended answers to a check.
    fn ends(&self, check: &Check) -> impl Iterator<Item = &'f Event> {
        self.events.iter().copied().filter(|event| check.ends_with.contains(&event.what))
    }
}

/// What is known of one check: what bears on all, and the answers to the check as [`given`] orders them.
#[derive(Clone, Copy)]
pub(super) struct Known<'k, 'f> {
    pub(super) past: &'k Past<'f>,
    pub(super) given: &'k [Given<'f>],
}

/// As [`living`], of those answers alone that can be used: one that cannot does not undo an earlier one that lives.
pub(super) fn living_of<'f>(
    check: &Check,
    known: Known<'_, 'f>,
    one: Use,
    usable: impl Fn(&Given<'f>) -> bool,
) -> Result<Living<'f>, Unanswered> {
    let (seen, last) = newest(known, &usable)?;
    if let Err(over) = alive(check, last, known.past, one) {
        // A newer look that could not see says more than an older life that is over.
        return Err(match known.given.last() {
            Some(newest) if could_not_see(newest.answer) => {
                Unanswered::CouldNotSee(newest.answer.why.clone().unwrap_or_default())
            }
            _ => Unanswered::Lapsed(over),
        });
    }
    let (groups, slips) = grouped((check, known.past), (&seen, last), usable);
    Ok(Living { groups, slips, until: check.life.of(one) })
}

/// The last day's groups of answers that can be used, whether they still live or not; none where there are none.
pub(super) fn last_groups<'f>(
    check: &Check,
    known: Known<'_, 'f>,
    usable: impl Fn(&Given<'f>) -> bool,
) -> Vec<Vec<Given<'f>>> {
    let Ok((seen, last)) = newest(known, &usable) else { return Vec::new() };
    grouped((check, known.past), (&seen, last), usable).0
}

/// All answers but those that could not see, and the last that can be used.
fn newest<'f>(
    known: Known<'_, 'f>,
    usable: &impl Fn(&Given<'f>) -> bool,
) -> Result<(Vec<Given<'f>>, Given<'f>), Unanswered> {
    let given = known.given;
    let seen: Vec<Given<'f>> = given.iter().copied().filter(|given| !could_not_see(given.answer)).collect();
    let last = seen.iter().rposition(usable).and_then(|index| Some((index, seen.get(index).copied()?)));
    let Some((index, last)) = last else {
        return Err(match given.last() {
            Some(given) => Unanswered::CouldNotSee(given.answer.why.clone().unwrap_or_default()),
            None => Unanswered::Never,
        });
    };
    // What an act has changed since is not told by what was read before it.
    if seen.iter().skip(index + 1).any(|given| given.answer.after.is_some()) {
        return Err(Unanswered::Never);
    }
    Ok((seen, last))
}

/// The groups of the last one's day, and the slips in it.
fn grouped<'f>(
    (check, past): (&Check, &Past<'f>),
    (seen, last): (&[Given<'f>], Given<'f>),
    usable: impl Fn(&Given<'f>) -> bool,
) -> (Vec<Vec<Given<'f>>>, Vec<&'f Answer>) {
    // Answers of one day combine, between people and walk-rounds too; an older day's have been followed by this look,
    // and what an event has ended is no repeat of what was read after it. The last lives: every event came before it.
    let day = last.answer.at.date();
    let ended = past.ends(check).map(|event| event.at).max();
    let counts =
        |given: &&Given<'_>| given.answer.at.date() == day && ended.is_none_or(|ended| given.answer.at > ended);
    let mut groups: Vec<Vec<Given<'f>>> = Vec::new();
    let mut slips = Vec::new();
    for one in seen.iter().filter(counts) {
        if one.answer.after.is_some() || groups.is_empty() {
            groups.push(Vec::new());
        }
        let Some(group) = groups.last_mut() else { continue };
        if one.answer.slip && before_closing(one) {
            let same_author =
                |given: &Given<'_>| given.answer.by == one.answer.by && core::ptr::eq(given.form, one.form);
            if let Some(index) = group.iter().rposition(same_author) {
                slips.push(group.remove(index).answer);
            }
        }
        group.push(*one);
    }
    for group in &mut groups {
        group.retain(&usable);
    }
    groups.retain(|group| !group.is_empty());
    (groups, slips)
}

/// Every answer to a check up to now, oldest first; of one moment, in the order of the forms and of their lines.
pub(super) fn given<'f>(check: &Check, forms: &[&'f Form], now: Moment) -> Vec<Given<'f>> {
    given_to_each(core::slice::from_ref(check), forms, now).pop().unwrap_or_default()
}

/// The answers to each of some checks, as [`given`] orders them: every answer is looked at once.
pub(super) fn given_to_each<'f>(checks: &[Check], forms: &[&'f Form], now: Moment) -> Vec<Vec<Given<'f>>> {
    let mut out: Vec<Vec<Given<'f>>> = checks.iter().map(|_| Vec::new()).collect();
    // Answers stand nearly in the order of checks, so that one is looked for from where the last was found.
    let mut last = 0;
    for form in forms {
        for answer in form.answers.iter().filter(|answer| answer.at <= now) {
            let (before, rest) = checks.split_at_checked(last).unwrap_or((checks, &[]));
            let mut places = (last..).zip(rest).chain((0..).zip(before));
            let Some((place, _)) = places.find(|(_, check)| check.id == answer.check) else { continue };
            last = place;
            out.get_mut(place).into_iter().for_each(|given| given.push(Given { answer, form }));
        }
    }
    let when = |given: &Given<'_>| (given.answer.at, given.form.opened);
    for given in out.iter_mut().filter(|given| !given.is_sorted_by_key(when)) {
        sort_by(given, |a, b| when(a).cmp(&when(b)));
    }
    out
}

/// The latest odometer any form knows up to now.
pub(super) fn odometer(forms: &[&Form], now: Moment) -> Option<Distance> {
    let known = forms.iter().filter(|form| form.opened <= now).filter_map(|form| form.odometer);
    known.max_by(|a, b| a.km().total_cmp(&b.km()))
}

fn could_not_see(answer: &Answer) -> bool {
    matches!(&answer.said, Said::Saw(seen) if seen.iter().all(|(_, seen)| *seen == Seen::CouldNotSee))
}

fn before_closing(given: &Given<'_>) -> bool {
    given.form.closed.is_none_or(|closed| given.answer.at <= closed)
}

fn alive(check: &Check, last: Given<'_>, past: &Past<'_>, one: Use) -> Result<(), String> {
    let now = past.now;
    let answered = last.answer.at;
    let ended = past.ends(check).filter(|event| event.at >= answered).max_by_key(|event| event.at);
    if let Some(event) = ended {
        return Err(format!("ended by {} on {}", event.what.as_str().replace('-', " "), event.at.date()));
    }
    let said = format!("answered {}", answered.date());
    match check.life.of(one) {
        Life { days: None, km: None } => {
            let this = past.newest.is_none_or(|newest| last.form.opened >= newest);
            let back = last.form.outing.map_or(now.date() == answered.date(), |outing| now <= outing.back);
            if this && back { Ok(()) } else { Err(format!("{said} for another outing")) }
        }
        Life { days, km } => {
            if let Some(days) = days {
                let passed = days_between(answered.date(), now.date());
                if passed > i64::from(days) {
                    let counts = if days == 0 { "that day".into() } else { format!("{days} days") };
                    return Err(format!("{said}, counts {counts}"));
                }
            }
            let Some(km) = km else { return Ok(()) };
            let then = last.answer.odometer.or(last.form.odometer);
            let Some((then, now)) = then.zip(past.odometer) else {
                return Err(format!("{said}, counts {}, odometer not known", show::plain(km, Unit::Kilometre)));
            };
            let ridden = now.km() - then.km();
            if ridden > km {
                let (ridden, km) = (show::rounded(ridden, 0, Unit::Kilometre), show::plain(km, Unit::Kilometre));
                return Err(format!("{said}, {ridden} ago, counts {km}"));
            }
            Ok(())
        }
    }
}
