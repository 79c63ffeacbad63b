//! The form: its rows in walking order, then what was found beside them, and its closing.

use std::{collections::BTreeSet, rc::Rc};

use leptos::{prelude::*, task::spawn_local};
use muster_core::{
    record::{
        id::EventId,
        payload::{FindingRaised, WalkRoundClosed},
    },
    state::Station,
    words::{Class, Use},
};

use super::{
    super::{
        course::{Course, Standing, Step, standing},
        start::{depth_word, use_word},
        walking::goer,
    },
    begin::By,
    due::Typing,
    row::{RowOf, how_grave},
    walked_by,
};
use crate::{
    clock, route,
    ui::{Lacking, Leaf, station_name, toast, when},
    words::t,
    yard::yard,
};

/// What stands at the address.
#[derive(Clone, PartialEq)]
enum Shown {
    Nowhere,
    Closed,
    Open,
}

/// A form being typed in.
#[component]
pub(crate) fn TypedScreen() -> impl IntoView {
    let (yard, params) = (yard(), route::params());
    let machine = Memo::new(move |_| params.read().get("machine").unwrap_or_default());
    let walk =
        Memo::new(move |_| params.read().get("walk").unwrap_or_default().replace('~', ".").parse::<EventId>().ok());
    let shown = Memo::new(move |_| {
        let of = || {
            let seen = yard.machine(&machine.get())?;
            Some(seen.state.walk_rounds.get(&walk.get()?)?.form.closed.is_some())
        };
        match of() {
            None => Shown::Nowhere,
            Some(true) => Shown::Closed,
            Some(false) => Shown::Open,
        }
    });
    let title = move || t!("typed-form-of", machine = machine.get());
    move || {
        match (shown.get(), walk.get()) {
        (Shown::Open, Some(walk)) => {
            view! { <Leaf title=title()>{untrack(|| sheet(machine.get(), walk))}</Leaf> }.into_any()
        }
        (Shown::Closed, _) => view! {
            <Leaf title=title()><p>{t!("walk-closed-says")}</p>
                <p><a class="btn btn--primary" href=format!("/machines/{}/summary", machine.get())>{t!("see-verdict")}</a></p></Leaf>
        }
        .into_any(),
        _ => view! { <main class="phone is-page"><Lacking title=title()/></main> }.into_any(),
    }
    }
}

fn sheet(machine: String, walk: EventId) -> AnyView {
    let yard = yard();
    let Some(seen) = yard.machine(&machine) else { return ().into_any() };
    let Some(form) = seen.state.walk_rounds.get(&walk).map(|of| &of.form) else { return ().into_any() };
    let typing = Typing {
        yard,
        machine: StoredValue::new(machine.clone()),
        walk,
        at: form.opened,
        by: RwSignal::new(yard.person().map(|me| me.to_string()).unwrap_or_default()),
        turn: StoredValue::new_local(Rc::default()),
        wrong: RwSignal::new(BTreeSet::new()),
    };
    if let Some(disk) = yard.disk() {
        spawn_local(async move {
            if let Ok(Some(by)) = disk.recall::<String>(&walked_by(walk)).await {
                let _ = typing.by.try_set(by);
            }
        });
    }
    let Some(course) = typing.about().and_then(|about| Course::of(&about, walk)) else {
        return view! { <p class="err">{t!("no-walk")}</p> }.into_any();
    };
    let planned = form.outing.map_or(Use::Range, |outing| outing.planned);
    let head = t!("typed-head", depth = depth_word(form.depth), use = use_word(planned), when = when(form.opened));
    let mut number = 0;
    let groups = groups(&course).into_iter().map(|(station, steps)| {
        let rows = steps.into_iter().map(|step| {
            number += 1;
            view! { <RowOf typing step number/> }
        });
        view! { <h2 class="tgroup"><b>{muster_draw::plan::number(station)}</b>{station_name(station)}</h2><ol class="trows">{rows.collect_view()}</ol> }
    });
    let groups = groups.collect_view();
    let (deferred, minutes) = (course.deferred.clone(), course.seconds.div_ceil(60));
    let deferred = deferred.into_iter().map(|(name, why)| view! { <li>{name}": "{why}</li> }).collect_view();
    view! {
        <p class="lead">{head}</p>
        <div class="form three"><By by=typing.by/></div>
        <p class="cap">{t!("typed-rows-how")}</p>
        {groups}
        <ul class="deferred">{deferred}</ul>
        <Found typing/>
        <Closing typing minutes/>
    }
    .into_any()
}

/// The steps by the stations they follow each other at.
fn groups(course: &Course) -> Vec<(Station, Vec<Step>)> {
    let mut groups: Vec<(Station, Vec<Step>)> = Vec::new();
    for step in &course.steps {
        match groups.last_mut() {
            Some((station, steps)) if *station == step.station => steps.push(step.clone()),
            _ => groups.push((step.station, vec![step.clone()])),
        }
    }
    groups
}

/// A finding that belongs to no row.
#[component]
fn Found(typing: Typing) -> impl IntoView {
    let (what, class) = (RwSignal::new(String::new()), RwSignal::new(Class::Minor));
    let said = RwSignal::new(None::<String>);
    let raise = move |_| {
        let words = what.get_untracked().trim().to_owned();
        if words.is_empty() {
            return;
        }
        let finding = FindingRaised {
            machine: typing.machine.get_value(),
            walk_round: Some(typing.walk),
            check: None,
            what: words.clone(),
            class: class.get_untracked(),
            defect: None,
            uses: Use::ALL.to_vec(),
            feedback: false,
        };
        spawn_local(async move {
            let done = typing.yard.write_at(finding, typing.at).await;
            let says = match done {
                Ok(_) => {
                    let _ = what.try_set(String::new());
                    t!("finding-kept", what = words.as_str())
                }
                Err(why) => t!("not-written", why = why.to_string()),
            };
            let _ = said.try_set(Some(says));
        });
    };
    view! {
        <section class="form">
            <h2>{t!("found-besides")}</h2>
            <div class="two-up">
                <label class="field"><span>{t!("what-found")}</span><input class="input" bind:value=what/></label>
                {how_grave(class)}
            </div>
            <p><button class="btn" type="button" on:click=raise>{t!("save-finding")}</button></p>
            <p role="status">{move || said.get()}</p>
        </section>
    }
    .into_any()
}

/// The closing: when it ended, what is left without an answer.
#[component]
fn Closing(typing: Typing, minutes: u32) -> impl IntoView {
    let go = goer();
    let ended = RwSignal::new(typing.at.later_by(i64::from(minutes) * 60).clock());
    let left = Memo::new(move |_| {
        let about = typing.about()?;
        let course = Course::of(&about, typing.walk)?;
        let open = |step: &&Step| standing(&about, typing.walk, &step.check) == Standing::ToCome;
        Some((course.steps.iter().filter(open).count(), course.steps.len()))
    });
    let says = move || match left.get() {
        Some((0, all)) => t!("all-seen", all = all),
        Some((left, all)) => t!("some-left", left = left, all = all),
        None => String::new(),
    };
    let wrong = move || {
        let rows: Vec<String> = typing.wrong.with(|rows| rows.iter().map(ToString::to_string).collect());
        (!rows.is_empty())
            .then(|| view! { <p class="err" role="alert">{t!("rows-not-kept", rows = rows.join(", "))}</p> })
    };
    let trouble = RwSignal::new(None::<String>);
    let close = move |event: leptos::ev::SubmitEvent| {
        event.prevent_default();
        let turn = typing.turn.get_value();
        let owner = Owner::current();
        let at = clock::local(&typing.at.date().to_string(), &ended.get_untracked());
        let at = at.map(|at| if at < typing.at { at.later_by(24 * 3600) } else { at });
        let Some(at) = at else { return trouble.set(Some(t!("no-time-here"))) };
        if at > clock::now() {
            return trouble.set(Some(t!("time-to-come", at = at.to_string())));
        }
        spawn_local(async move {
            // The row that was just left is written first.
            let _turn = turn.lock().await;
            if typing.wrong.try_with_untracked(|rows| !rows.is_empty()).unwrap_or(true) {
                return;
            }
            let payload = WalkRoundClosed { machine: typing.machine.get_value(), walk_round: typing.walk };
            match typing.yard.write_at(payload, at).await {
                Ok(_) => {
                    if let (Some(go), Some(machine)) = (go.try_get_value(), typing.machine.try_get_value()) {
                        go(&format!("/machines/{machine}/summary"));
                    }
                }
                Err(why) if trouble.try_set(Some(why.to_string())).is_none() => {}
                Err(why) => owner.into_iter().for_each(|owner| owner.with(|| toast(why.to_string()))),
            }
        });
    };
    view! {
        <form class="form" on:submit=close>
            <h2>{t!("walk-end")}</h2>
            <p>{says}</p>
            <div class="form three"><label class="field"><span>{t!("ended-at")}</span><input class="input" type="time" required bind:value=ended/></label></div>
            {wrong}
            {move || trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
            <button class="btn btn--primary btn--lg">{t!("close-form")}</button>
        </form>
    }
    .into_any()
}
