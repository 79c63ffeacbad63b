//! A day: till when a paper is good, when a tyre was made. The last one known stands there to be confirmed.

use leptos::prelude::*;
use muster_core::{
    check::{DateOf, Yields},
    form::Said,
    judge::Verdict,
    record::{
        payload::{ReadingTaken, Typed},
        provisional::{self, Tried},
    },
};

use super::{
    about::planned,
    course::Standing,
    head::{Foot, More, Told, Where},
    look,
    walking::{Sheet, Walking},
};
use crate::{
    clock,
    ui::{Keypad, Pressed, verdict_word},
    words::t,
};

/// Figures of a tyre's code: week and year.
const CODE: usize = 4;

/// A day.
#[component]
pub(super) fn DayAnswer(walking: Walking) -> impl IntoView {
    let Some((of, known)) = untrack(|| asked(walking)) else { return ().into_any() };
    let is_code = of == DateOf::Made { tyre_code: true };
    let typed = RwSignal::new(if is_code { String::new() } else { known });
    let slip = RwSignal::new(false);
    let payload = move || {
        let read = typed.get();
        let is_whole = if is_code { read.len() == CODE } else { !read.is_empty() };
        is_whole.then(|| ReadingTaken {
            machine: walking.machine(),
            walk_round: walking.walk,
            check: walking.check(),
            read: Typed::One(read),
            with: None,
            tyre: None,
            air: None,
            odometer: None,
            why: None,
            note: walking.noted(),
            corrects: if slip.get() { look::own_last(walking) } else { None },
        })
    };
    let told = Memo::new(move |_| payload().map(|payload| tell(walking, payload)));
    let save = move |_| match untrack(payload) {
        Some(payload) => walking.write(payload, move |_| walking.go_on()),
        None => walking.go_on(),
    };
    let onward = move || {
        let (whole, wrong) = (told.with(Option::is_some), told.with(|told| matches!(told, Some(Err(_)))));
        let on = whole || walking.standing(&walking.check()) != Standing::ToCome;
        let label = if on { t!("walk-next") } else { t!("skip") };
        view! { <button class="btn btn--lg" class:btn--primary=on class:is-off=!on disabled=wrong on:click=save>{label}</button> }
    };
    let pressed = UnsyncCallback::new(move |pressed| {
        typed.update(|typed| match pressed {
            Pressed::Digit(digit) if typed.len() < CODE => typed.push(digit),
            Pressed::Delete => _ = typed.pop(),
            _ => {}
        });
    });
    view! {
        <main tabindex="0">
            <Where walking/>
            <Told walking/>
            {if is_code {
                view! {
                    <div class="readings readings--1"><div class="readout on"><span class="l">{t!("week-and-year")}</span><span class="n">{typed}</span></div></div>
                }.into_any()
            } else {
                view! { <label class="field sec"><span>{t!("last-day")}</span><input class="input input--day" type="date" bind:value=typed/></label> }.into_any()
            }}
            {move || told.get().map(verdict_line)}
            <Beside walking slip/>
            <More walking/>
        </main>
        <section class="dock" aria-label=t!("answer-and-go-on")>
            {is_code.then(|| view! { <Keypad pressed sign='.' column=Signal::default()/> })}
            <Foot walking>{onward}</Foot>
        </section>
    }
    .into_any()
}

/// Whether it corrects a slip, and that it could not be read.
#[component]
fn Beside(walking: Walking, slip: RwSignal<bool>) -> impl IntoView {
    let own = move || look::own_last(walking).is_some();
    view! {
        <section class="sec with">
            <Show when=own><label class="tickbox"><input type="checkbox" bind:checked=slip/><span>{t!("slip-of-keys")}</span></label></Show>
            <button class="btn btn--quiet" on:click=move |_| walking.sheet.set(Sheet::CouldNotSee)>{t!("could-not-read")}</button>
        </section>
    }
}

/// What kind of day, and the last one known.
fn asked(walking: Walking) -> Option<(DateOf, String)> {
    let (about, id) = (walking.about()?, walking.check());
    let Yields::Date(of) = about.check(&id)?.yields else { return None };
    let last = about.last(&id).map(|answer| &answer.said);
    let known = match last {
        Some(Said::Day(day, _)) => day.to_string(),
        _ => String::new(),
    };
    Some((of, known))
}

fn tell(walking: Walking, payload: ReadingTaken) -> Result<(Verdict, String), String> {
    let about = walking.about().ok_or_else(String::new)?;
    let by = walking.yard.person().ok_or_else(|| t!("sign-in-first"))?;
    let one = about.walk(walking.walk).map(planned);
    let (catalogue, now) = (&about.rules.catalogue, clock::now());
    let tried = Tried { catalogue, yard: &about.books, state: &about.state, by: &by, now, units: about.books.units };
    let outcomes = provisional::outcomes(tried, &payload.into())?;
    let planned = outcomes.iter().find(|outcome| Some(outcome.one) == one);
    let told = planned.or_else(|| outcomes.iter().max_by_key(|outcome| outcome.verdict));
    Ok(told.map_or((Verdict::Unseen, t!("binds-no-use")), |of| (of.verdict, of.reason.clone())))
}

fn verdict_line(told: Result<(Verdict, String), String>) -> impl IntoView {
    match told {
        Ok((verdict, reason)) => view! {
            <div class=format!("do {verdict}") role="status">
                <svg class="glyph" width="24" height="24" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
                <span><b>{verdict_word(verdict)}</b>" "{reason}</span>
            </div>
        }
        .into_any(),
        Err(why) => view! { <p class="working err" role="alert">{why}</p> }.into_any(),
    }
}
