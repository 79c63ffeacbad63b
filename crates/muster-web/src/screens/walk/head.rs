//! The head of a check: whose machine, its state and what to change first, where one stands, what was answered last.

use leptos::prelude::*;
use muster_core::{
    check::Check,
    form::{Answer, Said},
    state::{Heat, Power, Stance, State},
};

use super::{
    about::About,
    course::{Standing, Step},
    walking::{END, Sheet, Walking},
};
use crate::{
    clock,
    ui::{Icon, StationMap, station_name},
    words::t,
    yard::Yard,
};

/// Fleet number, model, how many checks, the list.
#[component]
pub(super) fn Bar(walking: Walking) -> impl IntoView {
    let model = move || walking.about().map(|about| about.judgement.model.clone()).unwrap_or_default();
    let count = move || {
        let course = walking.course()?;
        let (index, _) = course.find(&walking.check())?;
        Some(t!("check-of", at = index + 1, all = course.steps.len()))
    };
    let leave = move |_| walking.go(&format!("/machines/{}", walking.machine()));
    let list = move |_| {
        let raised = walking.sheet.get_untracked() == Sheet::List;
        walking.sheet.set(if raised { Sheet::None } else { Sheet::List });
    };
    view! {
        <header class="bar">
            <button class="hit" aria-label=t!("leave-walk") on:click=leave><Icon name="back"/></button>
            <div class="id"><b>{walking.machine()}</b><span>{model}</span></div>
            <span class="sub">{count}</span>
            <button class="hit" aria-label=t!("all-checks") on:click=list><Icon name="more"/></button>
        </header>
    }
}

/// The state the check is done in; what to change first stands before it.
#[component]
pub(super) fn StateStrip(walking: Walking) -> impl IntoView {
    let line = move || {
        let course = walking.course()?;
        let (_, step) = course.find(&walking.check())?;
        let (engine, stance) = state_words(step.state);
        // What was answered needs no change any more.
        let first = step.changes.join(" · ");
        let changes = !first.is_empty() && walking.standing(&step.check) == Standing::ToCome;
        let (left, right) = match changes {
            true => (t!("first", what = first.as_str()), t!("so-that", state = format!("{engine} · {stance}"))),
            false => (engine, stance),
        };
        let class = if changes { "state state--do" } else { "state" };
        Some(view! { <div class=class role="status"><span>{left}</span><span>{right}</span></div> })
    };
    view! { {line} }
}

/// A state in words: engine and key, then how it stands.
pub(super) fn state_words(state: State) -> (String, String) {
    let heat = match state.heat {
        Heat::Cold => t!("engine-cold"),
        Heat::Warm => t!("engine-warm"),
        Heat::Hot => t!("engine-hot"),
    };
    let power = match state.power {
        Power::Off => t!("key-off"),
        Power::On => t!("key-on"),
        Power::Running => t!("engine-runs"),
    };
    let stance = match state.stance {
        Stance::SideStand => t!("on-side-stand"),
        Stance::Upright => t!("held-upright"),
        Stance::Seated => t!("rider-seated"),
        Stance::FrontRaised => t!("front-raised"),
        Stance::RearRaised => t!("rear-raised"),
    };
    (format!("{heat} · {power}"), stance)
}

/// The station map with the ticks of the station.
#[component]
pub(super) fn Where(walking: Walking) -> impl IntoView {
    let here = move || {
        let (about, course) = (walking.about()?, walking.course()?);
        let (_, step) = course.find(&walking.check())?;
        let standing = |check: &str| super::course::standing(&about, walking.walk, check);
        let stops = course.stops(standing);
        let own: Vec<&Step> = course.steps.iter().filter(|of| of.station == step.station).collect();
        let at = own.iter().position(|of| of.check == step.check).map_or(0, |index| index + 1);
        let says = t!("check-of-station", at = at, all = own.len());
        let ticks = own.iter().map(|of| {
            let class = if of.check == step.check { "cur" } else { standing(&of.check).class() };
            view! { <i class=class></i> }
        });
        let ticks = ticks.collect_view();
        let number = muster_draw::plan::number(step.station);
        let open = move |_| walking.sheet.set(Sheet::List);
        Some(view! {
            <section class="where" aria-label=t!("where-you-are")>
                <button class="bare" on:click=open><StationMap stops here=Some(step.station)/></button>
                <div>
                    <p class="cap">{t!("station-of", at = number)}</p>
                    <p class="station">{station_name(step.station)}</p>
                    <div class="ticks" aria-hidden="true">{ticks}</div>
                    <p class="cap">{says}</p>
                </div>
            </section>
        })
    };
    view! { {here} }
}

/// The check's name, its method, caution, limits and last answer.
#[component]
pub(super) fn Told(walking: Walking) -> impl IntoView {
    let told = move || {
        let (about, course, id) = (walking.about()?, walking.course()?, walking.check());
        let check = about.check(&id)?;
        let step = course.find(&id).map(|(_, step)| step);
        let method = step.map_or(&check.method, |step| &step.method).join(" ");
        let caution = step
            .map_or(&check.caution, |step| &step.caution)
            .clone()
            .map(|caution| view! { <p class="caution">{caution}</p> });
        let name = check.name.clone();
        let note = move || walking.note.with(|note| (!note.is_empty()).then(|| t!("note-goes", note = note.as_str())));
        Some(view! {
            <section class="check">
                <h1 tabindex="-1">{name}</h1>
                <p class="method">{method}</p>
                {caution}
                <p class="last">{last_words(&walking.yard, &about, check)}</p>
                {move || note().map(|note| view! { <p class="last" role="status">{note}</p> })}
            </section>
        })
    };
    view! { {told} }
}

/// Limits with their sources and what is common practice, behind a touch.
#[component]
pub(super) fn More(walking: Walking) -> impl IntoView {
    let more = move || {
        let (about, course, id) = (walking.about()?, walking.course()?, walking.check());
        let practice = about.check(&id)?.practice.clone();
        let limits = course.find(&id).map(|(_, step)| step.limits.clone()).unwrap_or_default();
        let rows: Vec<_> = limits.into_iter().chain(practice).map(|line| view! { <li>{line}</li> }).collect();
        (!rows.is_empty())
            .then(|| view! { <details class="limits"><summary>{t!("limits-and-practice")}</summary><ul>{rows}</ul></details> })
    };
    view! { {more} }
}

/// What was answered last, when, by whom.
fn last_words(yard: &Yard, about: &About, check: &Check) -> String {
    match about.last(&check.id) {
        Some(answer) => {
            let (said, who) = (said(answer), yard.name(&answer.by));
            t!("last-answer", said = said.as_str(), when = when(answer), who = who.as_str())
        }
        None => t!("never-answered"),
    }
}

fn when(answer: &Answer) -> String {
    let days = muster_core::calendar::days_between(answer.at.date(), clock::now().date());
    match days {
        0 => t!("today-at", at = answer.at.clock()),
        1 => t!("yesterday"),
        days => t!("days-ago", days = days),
    }
}

/// An answer as people say it.
pub(super) fn said(answer: &Answer) -> String {
    let placed = |place: &Option<String>, said: String| match place {
        Some(place) => format!("{place} {said}"),
        None => said,
    };
    let each: Vec<String> = match &answer.said {
        Said::Read(figures) => figures.iter().map(|(place, amount)| placed(place, amount.to_string())).collect(),
        Said::Saw(seen) => seen.iter().map(|(place, seen)| placed(place, seen.to_string())).collect(),
        Said::Day(day, _) => vec![day.to_string()],
    };
    each.join(", ")
}

/// Back, photo, note, and what goes on.
#[component]
pub(super) fn Foot(walking: Walking, children: Children) -> impl IntoView {
    let back = move |_| walking.go_back();
    let at_check = walking.check() != END;
    view! {
        <footer class=if at_check { "foot" } else { "foot foot--end" }>
            <button class="btn" aria-label=t!("back-one") on:click=back><Icon name="back"/></button>
            {at_check.then(|| view! {
                <super::photo::Camera walking/>
                <button class="btn" aria-label=t!("add-note") on:click=move |_| walking.sheet.set(Sheet::Note)><Icon name="note" size=26/></button>
            })}
            {children()}
        </footer>
    }
}
