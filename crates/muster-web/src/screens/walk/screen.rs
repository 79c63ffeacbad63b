//! A walk-round, one check a screen.

use leptos::{either::Either, prelude::*};
use muster_core::{check::Yields, record::id::EventId};

use super::{
    awake,
    day::DayAnswer,
    end::End,
    finding::FindingSheet,
    head::{Bar, StateStrip},
    list::ListSheet,
    look::LookAnswer,
    read::ReadAnswer,
    say::{NoteSheet, WhySheet},
    walking::{END, Sheet, Walking, goer},
};
use crate::{
    route,
    ui::{Banner, Lacking},
    words::t,
    yard::yard,
};

/// Where one stands, from the address.
#[derive(Clone, PartialEq, Eq)]
struct At {
    machine: String,
    walk: Option<EventId>,
    check: String,
}

/// What is shown there.
#[derive(Clone, PartialEq, Eq)]
enum Shown {
    /// Nothing is known yet.
    Waiting,
    /// No such walk-round.
    Nowhere,
    /// It is closed.
    Closed,
    /// The last leg.
    End,
    /// A check and what it yields.
    Look,
    Read,
    Day,
}

/// A walk-round.
#[component]
pub(crate) fn WalkScreen() -> impl IntoView {
    let (yard, params, go) = (yard(), route::params(), goer());
    awake::keep();
    let at = Memo::new(move |_| {
        let of = |name| params.read().get(name).unwrap_or_default();
        At {
            machine: of("machine"),
            walk: of("walk").replace('~', ".").parse().ok(),
            check: of("check").replace('~', "."),
        }
    });
    let known = Memo::new(move |_| yard.is_known());
    view! {
        {move || {
            let at = at.get();
            match at.walk {
                Some(walk) if known.get() => {
                    Either::Left(view! { <Leg walking=Walking::at(at.machine, walk, at.check, go)/> })
                }
                walk => {
                    let no_walk = walk.is_none().then(|| view! { <p class="sec">{t!("no-walk")}</p> });
                    Either::Right(view! { <main class="phone is-page"><Lacking title=t!("walk-round")/>{no_walk}</main> })
                }
            }
        }}
    }
}

/// One leg of it: a check, or the end.
#[component]
fn Leg(walking: Walking) -> impl IntoView {
    let shown = Memo::new(move |_| shown(walking));
    let raised = move || walking.sheet.get() != Sheet::None;
    let body = move || match shown.get() {
        Shown::Waiting | Shown::Nowhere => view! { <Plain says=t!("no-walk")/> }.into_any(),
        Shown::Closed => view! { <Closed walking/> }.into_any(),
        Shown::End => view! { <End walking/> }.into_any(),
        Shown::Look => view! { <LookAnswer walking/> }.into_any(),
        Shown::Read => view! { <ReadAnswer walking/> }.into_any(),
        Shown::Day => view! { <DayAnswer walking/> }.into_any(),
    };
    let sheet = move || match walking.sheet.get() {
        Sheet::None => ().into_any(),
        Sheet::List => view! { <ListSheet walking/> }.into_any(),
        Sheet::Note => view! { <NoteSheet walking/> }.into_any(),
        Sheet::CouldNotSee => view! { <WhySheet walking/> }.into_any(),
        Sheet::Finding => view! { <FindingSheet walking/> }.into_any(),
    };
    view! {
        <div class="phone touch">
            <Bar walking/>
            <StateStrip walking/>
            <Banner/>
            // What was typed stays while something rises over it.
            <div class="leg" hidden=raised>{body}</div>
            {sheet}
        </div>
    }
}

fn shown(walking: Walking) -> Shown {
    let Some(about) = walking.about() else { return Shown::Waiting };
    let Some(walk) = about.walk(walking.walk) else { return Shown::Nowhere };
    if walk.form.closed.is_some() {
        return Shown::Closed;
    }
    let id = walking.check();
    if id == END {
        return Shown::End;
    }
    match about.check(&id).map(|check| &check.yields) {
        Some(Yields::Look(_)) => Shown::Look,
        Some(Yields::Read(_)) => Shown::Read,
        Some(Yields::Date(_)) => Shown::Day,
        None => Shown::Nowhere,
    }
}

#[component]
fn Plain(says: String) -> impl IntoView {
    view! { <main><section class="sec"><h1>{t!("walk-round")}</h1><p>{says}</p></section></main> }
}

/// Closed: nothing is answered any more.
#[component]
fn Closed(walking: Walking) -> impl IntoView {
    let summary = move || walking.go(&format!("/machines/{}/summary", walking.machine()));
    view! {
        <main><section class="sec"><h1>{t!("walk-closed")}</h1><p>{t!("walk-closed-says")}</p></section></main>
        <footer class="foot foot--one"><button class="btn btn--primary btn--lg" on:click=move |_| summary()>{t!("see-verdict")}</button></footer>
    }
}
