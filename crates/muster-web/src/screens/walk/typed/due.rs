//! What a row says, what of it is not written yet, and what it comes to.

use std::collections::{BTreeMap, BTreeSet};

use leptos::prelude::*;
use muster_core::{
    calendar::Moment,
    check::{Check, DateOf, Yields},
    judge::Outcome,
    record::{
        id::EventId,
        payload::{FindingRaised, ObservationMade, Payload, ReadingTaken, Saw, ThingSet, Typed},
        provisional::{self, Tried},
    },
    words::{Class, Seen, Use},
    yard::Units,
};

use super::super::{
    about::{About, planned},
    fields::{Fields, Of},
};
use crate::{words::t, yard::Yard};

/// The form at hand.
#[derive(Clone, Copy)]
pub(super) struct Typing {
    pub(super) yard: Yard,
    pub(super) machine: StoredValue<String>,
    pub(super) walk: EventId,
    /// When it was begun: what it says happened then.
    pub(super) at: Moment,
    /// Who walked.
    pub(super) by: RwSignal<String>,
    /// One row is written at a time, and the closing after them.
    pub(super) turn: StoredValue<std::rc::Rc<futures_util::lock::Mutex<()>>, LocalStorage>,
    /// Rows that say something that was not taken, by their numbers.
    pub(super) wrong: RwSignal<BTreeSet<usize>>,
}

impl Typing {
    /// The machine as it is known.
    pub(super) fn about(self) -> Option<About> {
        self.machine.with_value(|machine| About::of(&self.yard, machine))
    }

    /// What every answer says beside itself.
    fn note(self) -> Option<String> {
        let by = self.by.get();
        let own = self.yard.person().is_some_and(|me| me.as_str() == by);
        Some(if own { t!("from-paper") } else { t!("from-paper-of", who = self.yard.name(&by)) })
    }
}

/// What is typed in a row.
#[derive(Clone, Copy)]
pub(super) struct Row {
    pub(super) typing: Typing,
    /// Its number on the form.
    pub(super) number: usize,
    pub(super) check: StoredValue<Check>,
    /// Figures as found, and after setting; none where it yields none.
    pub(super) found: Option<Fields>,
    pub(super) set: Option<Fields>,
    /// The instrument's number.
    pub(super) with: RwSignal<Option<String>>,
    /// A day or a tyre's code.
    pub(super) day: RwSignal<String>,
    /// The box ticked.
    pub(super) seen: RwSignal<Option<Seen>>,
    /// Where, if not everywhere.
    pub(super) places: RwSignal<BTreeSet<String>>,
    /// Why it could not be seen, or was far off.
    pub(super) why: RwSignal<String>,
    /// What was found, and how grave.
    pub(super) what: RwSignal<String>,
    pub(super) class: RwSignal<Class>,
    /// Which of the law pack's defects it is, by its key; empty: none is sure. And what the pack has: key, class, words.
    pub(super) defect: RwSignal<String>,
    pub(super) defects: StoredValue<Vec<(String, Class, String)>>,
    /// What of it is written.
    pub(super) kept: RwSignal<Kept>,
    pub(super) trouble: RwSignal<Option<String>>,
}

/// What of a row is written.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Kept {
    answer: Option<Payload>,
    set: Option<Payload>,
    finding: bool,
}

/// Something of a row that is to be written.
pub(super) enum Due {
    /// As found; it corrects what one said here before.
    Answer(Payload),
    /// Set, then read again.
    Set(Payload, Payload),
    /// A finding.
    Finding(Payload),
}

impl Row {
    /// The answer as found; none while nothing is said.
    fn answer(self) -> Option<Payload> {
        self.check.with_value(|check| match (&check.yields, self.seen.get()) {
            (_, Some(Seen::CouldNotSee)) => Some(self.saw(Saw::One(Seen::CouldNotSee)).into()),
            (Yields::Look(look), Some(seen)) => Some(self.saw(self.at_places(&look.places, seen)).into()),
            (Yields::Look(_), None) => None,
            (Yields::Read(_), _) => self.found.and_then(|found| self.reading(found)).map(Payload::from),
            (Yields::Date(of), _) => {
                let typed = self.day.get().trim().to_owned();
                let is_whole = *of != DateOf::Made { tyre_code: true } || typed.len() == 4;
                (!typed.is_empty() && is_whole).then(|| self.read(Typed::One(typed)).into())
            }
        })
    }

    /// What is still to be written, in its order.
    pub(super) fn due(self) -> Vec<Due> {
        let kept = self.kept.get();
        let mut due = Vec::new();
        let answer = self.answer();
        due.extend(answer.clone().filter(|answer| kept.answer.as_ref() != Some(answer)).map(Due::Answer));
        let again = self.set.and_then(|set| self.reading(set)).map(Payload::from);
        if let (Some(again), Some(set)) = (again.filter(|again| kept.set.as_ref() != Some(again)), self.act()) {
            due.push(Due::Set(set.into(), again));
        }
        due.extend(self.finding().filter(|_| !kept.finding).map(|finding| Due::Finding(finding.into())));
        due
    }

    /// Notes that something was written.
    pub(super) fn keep(self, due: Due) {
        self.kept.update(|kept| match due {
            Due::Answer(answer) => kept.answer = Some(answer),
            Due::Set(_, again) => kept.set = Some(again),
            Due::Finding(_) => kept.finding = true,
        });
    }

    /// Whether all it says is written.
    pub(super) fn is_kept(self) -> bool {
        self.kept.with(|kept| kept.answer.is_some()) && self.due().is_empty()
    }

    /// One's own last answer here in this walk-round: what a second one corrects.
    pub(super) fn own_last(self) -> Option<EventId> {
        let (about, me) = (self.typing.about()?, self.typing.yard.person()?);
        let check = self.check.with_value(|check| check.id.clone());
        about.answers(self.typing.walk, &check).rfind(|(_, answer)| answer.by == me.as_str()).map(|(id, _)| id)
    }

    /// What it comes to as typed; as it is kept where nothing is typed.
    pub(super) fn told(self) -> Option<Result<Outcome, String>> {
        let about = self.typing.about()?;
        let check = self.check.get_value();
        let one = about.walk(self.typing.walk).map_or(Use::Range, planned);
        let last = self.set.and_then(|set| self.reading(set)).map(Payload::from).or_else(|| self.answer());
        let Some(last) = last else {
            let answered = about.answers(self.typing.walk, &check.id).next().is_some();
            return about.outcome(&check.id).filter(|_| answered).cloned().map(Ok);
        };
        let by = self.typing.yard.person()?;
        let (own, catalogue) = (about.books.units, &about.rules.catalogue);
        let units = self.units(&check, own);
        let tried = Tried { catalogue, yard: &about.books, state: &about.state, by: &by, now: self.typing.at, units };
        let outcomes = match provisional::outcomes(tried, &last) {
            Ok(outcomes) => outcomes,
            Err(why) => return Some(Err(why)),
        };
        let planned = outcomes.iter().find(|outcome| outcome.one == one).cloned();
        planned.or_else(|| outcomes.into_iter().max_by_key(|outcome| outcome.verdict)).map(Ok)
    }

    /// Whether something was found that is to be said in words.
    pub(super) fn asks_finding(self) -> bool {
        matches!(self.seen.get(), Some(Seen::Doubtful | Seen::Defective))
    }

    fn units(self, check: &Check, own: Units) -> Units {
        match (&check.yields, self.found) {
            (Yields::Read(measure), Some(fields)) => fields.units(measure, own),
            _ => own,
        }
    }

    fn machine(self) -> String {
        self.typing.machine.get_value()
    }

    fn id(self) -> String {
        self.check.with_value(|check| check.id.clone())
    }

    /// Which of the law pack's defects it is said to be.
    fn named(self) -> Option<String> {
        Some(self.defect.get()).filter(|key| !key.is_empty())
    }

    fn because(self) -> Option<String> {
        Some(self.why.get().trim().to_owned()).filter(|why| !why.is_empty())
    }

    fn saw(self, saw: Saw) -> ObservationMade {
        ObservationMade {
            machine: self.machine(),
            walk_round: self.typing.walk,
            check: self.id(),
            saw,
            class: None,
            defect: self.named().filter(|_| self.asks_finding()),
            why: self.because(),
            note: self.typing.note(),
            corrects: None,
        }
    }

    /// What is seen where; what is not sound is so at the places chosen, everywhere if none is.
    fn at_places(self, places: &[String], seen: Seen) -> Saw {
        let chosen = self.places.get();
        if seen == Seen::Sound || chosen.is_empty() || places.iter().all(|place| chosen.contains(place)) {
            return Saw::One(seen);
        }
        let of = |place: &String| (place.clone(), if chosen.contains(place) { seen } else { Seen::Sound });
        Saw::Places(places.iter().map(of).collect::<BTreeMap<_, _>>())
    }

    fn read(self, read: Typed) -> ReadingTaken {
        ReadingTaken {
            machine: self.machine(),
            walk_round: self.typing.walk,
            check: self.id(),
            read,
            with: None,
            tyre: None,
            air: None,
            odometer: None,
            why: self.because(),
            note: self.typing.note(),
            corrects: None,
        }
    }

    fn reading(self, fields: Fields) -> Option<ReadingTaken> {
        let of = self.read(fields.figures()?);
        let with = self.with.get();
        Some(ReadingTaken { with, tyre: fields.temperature(&Of::Tyre), air: fields.temperature(&Of::Air), ..of })
    }

    fn act(self) -> Option<ThingSet> {
        let settable = self.check.with_value(|check| match &check.yields {
            Yields::Read(measure) => measure.settable.clone(),
            _ => None,
        });
        let act = settable?.act;
        Some(ThingSet { machine: self.machine(), walk_round: self.typing.walk, check: self.id(), act })
    }

    fn finding(self) -> Option<FindingRaised> {
        let what = self.what.get().trim().to_owned();
        if !self.asks_finding() || what.is_empty() {
            return None;
        }
        let uses = self.check.with_value(|check| match check.uses.count() {
            // A check that names no use binds wherever it is answered.
            0 => Use::ALL.to_vec(),
            _ => check.uses.iter().collect(),
        });
        Some(FindingRaised {
            machine: self.machine(),
            walk_round: Some(self.typing.walk),
            check: Some(self.id()),
            what,
            class: self.class.get(),
            defect: self.named(),
            uses,
            feedback: false,
        })
    }
}
