//! What to do at a reading, and what goes on from it: drawn anew only where that changes, not at each digit.

use leptos::prelude::*;
use muster_core::judge::{Outcome, Verdict};

use super::{course::Standing, read::Reading};
use crate::{
    ui::{Icon, verdict_word},
    words::t,
};

/// What to do now.
#[derive(Clone, Debug, PartialEq)]
enum Do {
    Nothing,
    /// Set it, then read again.
    Set(String),
    /// It was set.
    ReadAgain,
    /// The verdict, and what follows from it.
    Told(Verdict, Option<String>),
}

/// What goes on from here.
#[derive(Clone, Debug, PartialEq)]
enum Onwards {
    /// To the next well, by its name.
    Well(usize, String),
    /// The act, then reading again.
    Act,
    /// To the next check.
    Next {
        /// What is typed cannot be read.
        wrong: bool,
        /// Nothing was said: it is passed over.
        off: bool,
    },
}

impl Reading {
    /// What to do now.
    fn step(self, told: Option<&Result<Outcome, String>>) -> Do {
        let to_set = self.is_to_set(told);
        let Some(Ok(outcome)) = told else { return Do::Nothing };
        if to_set {
            return Do::Set(outcome.todo.clone().unwrap_or_default());
        }
        if self.acted.get() && !self.fields.is_typed() {
            return Do::ReadAgain;
        }
        if outcome.reason.is_empty() { Do::Nothing } else { Do::Told(outcome.verdict, outcome.todo.clone()) }
    }

    /// What goes on from here.
    fn onward(self, told: Option<&Result<Outcome, String>>) -> Onwards {
        let typed = self.fields.is_typed();
        if typed && let Some((index, label)) = self.fields.wants() {
            return Onwards::Well(index, label);
        }
        if self.is_to_set(told) {
            return Onwards::Act;
        }
        let answered = || self.walking.standing(&self.walking.check()) != Standing::ToCome && !self.acted.get();
        Onwards::Next { wrong: matches!(told, Some(Err(_))), off: !typed && !answered() }
    }
}

/// What to do now, in words.
#[component]
pub(super) fn Step(reading: Reading, told: Memo<Option<Result<Outcome, String>>>) -> impl IntoView {
    let what = Memo::new(move |_| told.with(|told| reading.painted().step(told.as_ref())));
    let step = move || {
        match what.get() {
        Do::Nothing => ().into_any(),
        Do::Set(todo) => {
            let later = move |_| reading.save();
            view! {
                <div class="do set" role="status"><Icon name="set"/><span>{todo}</span>
                    <button class="btn btn--sm" on:click=later>{t!("not-now")}</button>
                </div>
            }
            .into_any()
        }
        Do::ReadAgain => {
            view! { <div class="do set" role="status"><Icon name="set"/><span>{t!("now-read-again")}</span></div> }.into_any()
        }
        Do::Told(verdict, todo) => view! {
            <div class=format!("do {verdict}") role="status">
                <svg class="glyph" width="24" height="24" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
                <span><b>{verdict_word(verdict)}</b>{todo.map(|todo| format!(" {todo}"))}</span>
            </div>
        }
        .into_any(),
    }
    };
    view! { {step} }
}

/// What goes on from here: the next well, the act, the next check.
#[component]
pub(super) fn Onward(reading: Reading, told: Memo<Option<Result<Outcome, String>>>) -> impl IntoView {
    let what = Memo::new(move |_| told.with(|told| reading.painted().onward(told.as_ref())));
    let onward = move || match what.get() {
        Onwards::Well(index, label) => {
            let label = t!("then", next = label);
            view! { <button class="btn btn--primary btn--lg" on:click=move |_| reading.fields.at.set(index)>{label}" "<Icon name="next"/></button> }.into_any()
        }
        Onwards::Act => {
            let label = t!("read-again-after", act = muster_draw::number::capital(&reading.act()));
            view! { <button class="btn btn--primary btn--lg btn--wrap" on:click=move |_| reading.set()>{label}</button> }.into_any()
        }
        Onwards::Next { wrong, off } => {
            let label = if off { t!("skip") } else { t!("walk-next") };
            view! {
                <button class="btn btn--lg" class:btn--primary=!off class:is-off=off disabled=wrong on:click=move |_| reading.save()>{label}" "<Icon name="next"/></button>
            }
            .into_any()
        }
    };
    view! { {onward} }
}
