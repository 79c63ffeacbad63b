//! The walk-round at hand: where one stands, where one goes next, and writing to it.

use std::rc::Rc;

use leptos::prelude::*;
use leptos_router::{NavigateOptions, hooks::use_navigate};
use muster_core::record::{id::EventId, payload::Payload};

use super::{
    about::About,
    course::{Course, Standing, standing},
};
use crate::{
    ui::{after, toast},
    words::t,
    yard::{NotDone, Yard, yard},
};

/// What rises over a check.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sheet {
    /// Nothing.
    None,
    /// All checks, to jump to one.
    List,
    /// Something to say beside the answer.
    Note,
    /// Why it could not be seen.
    CouldNotSee,
    /// A finding, raised by an answer or by itself.
    Finding,
}

/// The walk-round at hand. Cheap to copy.
#[derive(Clone, Copy)]
pub(super) struct Walking {
    /// The yard.
    pub(super) yard: Yard,
    machine: StoredValue<String>,
    /// Its opening.
    pub(super) walk: EventId,
    /// The check one stands at.
    check: StoredValue<String>,
    /// What rises over it.
    pub(super) sheet: RwSignal<Sheet>,
    /// What to say beside the answer.
    pub(super) note: RwSignal<String>,
    /// An answer is being written: a second touch waits.
    pub(super) busy: RwSignal<bool>,
    go: Goer,
}

/// Goes to addresses.
pub(in crate::screens) type Goer = StoredValue<Rc<dyn Fn(&str)>, LocalStorage>;

/// The address of a check of a walk-round. Points would make it a file's.
pub(super) fn address(machine: &str, walk: EventId, check: &str) -> String {
    format!("/machines/{machine}/walk/{}/{}", walk.to_string().replace('.', "~"), check.replace('.', "~"))
}

/// The last leg of a walk-round: what is left, and its closing.
pub(super) const END: &str = "end";

/// What goes to addresses.
pub(in crate::screens) fn goer() -> Goer {
    let navigate = use_navigate();
    StoredValue::new_local(Rc::new(move |path: &str| {
        navigate(path, NavigateOptions { scroll: false, ..NavigateOptions::default() });
    }))
}

impl Walking {
    /// Stands at a check.
    pub(super) fn at(machine: String, walk: EventId, check: String, go: Goer) -> Self {
        Self {
            yard: yard(),
            machine: StoredValue::new(machine),
            walk,
            check: StoredValue::new(check),
            sheet: RwSignal::new(Sheet::None),
            note: RwSignal::new(String::new()),
            busy: RwSignal::new(false),
            go,
        }
    }

    /// Fleet number.
    pub(super) fn machine(self) -> String {
        self.machine.get_value()
    }

    /// The check's id.
    pub(super) fn check(self) -> String {
        self.check.get_value()
    }

    /// The machine as it is known now.
    pub(super) fn about(self) -> Option<About> {
        self.machine.with_value(|machine| About::of(&self.yard, machine))
    }

    /// The course.
    pub(super) fn course(self) -> Option<Rc<Course>> {
        Course::of(&self.about()?, self.walk)
    }

    /// How a check stands.
    pub(super) fn standing(self, check: &str) -> Standing {
        self.about().map_or(Standing::ToCome, |about| standing(&about, self.walk, check))
    }

    /// Goes to an address.
    pub(super) fn go(self, path: &str) {
        if let Some(go) = self.go.try_get_value() {
            go(path);
        }
    }

    /// Goes to a check of this walk-round.
    pub(super) fn go_to(self, check: &str) {
        self.go(&address(&self.machine(), self.walk, check));
    }

    /// Goes to the next check that is still to come; behind the last, to the end.
    pub(super) fn go_on(self) {
        let next = untrack(|| {
            let (about, course) = (self.about()?, self.course()?);
            let here = course.find(&self.check()).map_or(0, |(index, _)| index + 1);
            let others = |check: &str| match check == self.check() {
                // Whoever goes on from a check without an answer does not come back to it at once.
                true => Standing::Answered(muster_core::judge::Verdict::Unseen),
                false => standing(&about, self.walk, check),
            };
            course.next(here, others).map(|step| step.check.clone())
        });
        self.go_to(next.as_deref().unwrap_or(END));
    }

    /// Goes to the check before; before the first, to the machine.
    pub(super) fn go_back(self) {
        let before = untrack(|| {
            let course = self.course()?;
            let here = course.find(&self.check()).map_or(course.steps.len(), |(index, _)| index);
            Some(course.steps.get(here.checked_sub(1)?)?.check.clone())
        });
        match before {
            Some(check) => self.go_to(&check),
            None => self.go(&format!("/machines/{}", self.machine())),
        }
    }

    /// Writes, then goes on with what is to follow; what is refused is said.
    pub(super) fn write(self, payload: impl Into<Payload>, then: impl FnOnce(Vec<EventId>) + 'static) {
        let payload = payload.into();
        self.doing(async move { self.yard.write(payload).await }, then);
    }

    /// Does one thing at a time.
    pub(super) fn doing(
        self,
        done: impl Future<Output = Result<Vec<EventId>, NotDone>> + 'static,
        then: impl FnOnce(Vec<EventId>) + 'static,
    ) {
        if self.busy.get_untracked() {
            return;
        }
        self.busy.set(true);
        after(done, move |done| {
            // Whoever went elsewhere meanwhile has taken the signals along.
            let _ = self.busy.try_set(false);
            match done {
                Ok(ids) => then(ids),
                Err(why) => toast(t!("not-written", why = why.to_string())),
            }
        });
    }

    /// The note, if anything is to be said; taken with the answer.
    pub(super) fn noted(self) -> Option<String> {
        Some(self.note.get_untracked().trim().to_owned()).filter(|note| !note.is_empty())
    }
}
