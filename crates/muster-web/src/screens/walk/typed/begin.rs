//! The head of the form: when it was walked and by whom, the first line, the state found, odometer and air.

use leptos::{prelude::*, task::spawn_local};
use muster_core::record::{
    id::EventId,
    machine_state::MachineState,
    payload::{Planned, WalkRoundOpened},
};

use super::{
    super::{
        start::{Asked, Figures, Found, What, begin, payload},
        walking::{Goer, goer},
    },
    address, walked_by,
};
use crate::{
    clock, route,
    ui::{FirstLine, Lacking, Leaf, when},
    words::t,
    yard::{Yard, yard},
};

/// Forms that were left half typed are offered for so long, in seconds.
const LEFT_S: i64 = 7 * 24 * 3600;

/// The head.
#[component]
pub(crate) fn TypedStart() -> impl IntoView {
    let (yard, params) = (yard(), route::params());
    let id = Memo::new(move |_| params.read().get("machine").unwrap_or_default());
    let there = Memo::new(move |_| yard.machine(&id.get()).is_some());
    let title = move || t!("typed-form-of", machine = id.get());
    move || match there.get() {
        true => view! { <Leaf title=title()><Head id=id.get()/></Leaf> }.into_any(),
        false => view! { <main class="phone is-page"><Lacking title=title()/></main> }.into_any(),
    }
}

/// What stands at the head of the paper beside what every walk-round asks first.
#[derive(Clone, Copy)]
struct Paper {
    asked: Asked,
    date: RwSignal<String>,
    begun: RwSignal<String>,
    by: RwSignal<String>,
}

#[component]
fn Head(id: String) -> impl IntoView {
    let (yard, go) = (yard(), goer());
    let machine = StoredValue::new(id.clone());
    let now = clock::now();
    let me = yard.person().map(|me| me.to_string()).unwrap_or_default();
    let paper = Paper {
        asked: untrack(|| begin(&yard, &id)),
        date: RwSignal::new(now.date().to_string()),
        begun: RwSignal::new(String::new()),
        by: RwSignal::new(me),
    };
    let (trouble, busy) = (RwSignal::new(None::<String>), RwSignal::new(false));
    let open = move |event: leptos::ev::SubmitEvent| {
        event.prevent_default();
        if busy.get_untracked() {
            return;
        }
        let opened = match untrack(|| paper.opened(&yard, &machine.get_value())) {
            Ok(opened) => opened,
            Err(why) => return trouble.set(Some(why)),
        };
        busy.set(true);
        let (payload, at) = opened;
        let by = paper.by.get_untracked();
        spawn_local(async move {
            let done = yard.write_at(payload, at).await;
            let _ = busy.try_set(false);
            match done {
                Ok(ids) => {
                    let Some(walk) = ids.first().copied() else { return };
                    if let Some(disk) = yard.disk() {
                        // What is not remembered is chosen again.
                        let _ = disk.remember(&walked_by(walk), &by).await;
                    }
                    if let Some(go) = go.try_get_value() {
                        go(&address(&machine.get_value(), walk));
                    }
                }
                Err(why) => _ = trouble.try_set(Some(why.to_string())),
            }
        });
    };
    view! {
        <p>{t!("typed-how")}</p>
        <Left machine go/>
        <form class="form typed-head" on:submit=open>
            <div class="form three">
                <label class="field"><span>{t!("walked-on")}</span><input class="input" type="date" required bind:value=paper.date/></label>
                <label class="field"><span>{t!("begun-at")}</span><input class="input" type="time" required bind:value=paper.begun/></label>
                <By by=paper.by/>
            </div>
            <FirstLine machine=id no_tag=paper.asked.no_tag key=paper.asked.key/>
            <What asked=paper.asked/>
            <Found asked=paper.asked/>
            <Figures asked=paper.asked/>
            {move || trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
            <button class="btn btn--primary btn--lg" class:is-busy=move || busy.get()>{t!("type-the-checks")}</button>
        </form>
    }
    .into_any()
}

impl Paper {
    /// The opening as the paper has it and when, or what is to be mended.
    fn opened(self, yard: &Yard, machine: &str) -> Result<(WalkRoundOpened, muster_core::calendar::Moment), String> {
        let date = self.date.get();
        let at = clock::local(&date, &self.begun.get()).ok_or_else(|| t!("no-time-here"))?;
        if at > clock::now() {
            return Err(t!("time-to-come", at = at.to_string()));
        }
        let opened = payload(yard, machine, self.asked).ok_or_else(|| t!("no-time-here"))?;
        let back = clock::local(&date, &self.asked.back.get()).ok_or_else(|| t!("no-time-here"))?;
        // An outing that ends before it began ends the day after.
        let back = if back < at { back.later_by(24 * 3600) } else { back };
        // A box that nobody ticked on paper says nothing, not that a tag hung there.
        let ticked = |of: Option<bool>| of.filter(|ticked| *ticked);
        let opened = WalkRoundOpened {
            no_hold_tag: ticked(opened.no_hold_tag),
            key_on_hook: ticked(opened.key_on_hook),
            planned: opened.planned.map(|planned| Planned { back, ..planned }),
            ..opened
        };
        Ok((opened, at))
    }
}

/// Who walked.
#[component]
pub(super) fn By(by: RwSignal<String>) -> impl IntoView {
    let yard = yard();
    let options = move || {
        let mut people: Vec<(String, String)> = yard.names.get().into_iter().map(|(id, name)| (name, id)).collect();
        if let Some(me) = yard.person().filter(|me| !people.iter().any(|(_, id)| id == me.as_str())) {
            people.push((yard.name(me.as_str()), me.to_string()));
        }
        muster_core::sorted::sort(&mut people);
        let option = |(name, id): (String, String)| {
            let own = id.clone();
            view! { <option value=id selected=move || by.get() == own>{name}</option> }
        };
        people.into_iter().map(option).collect_view()
    };
    view! {
        <label class="field"><span>{t!("walker")}</span>
            <select class="input" on:change=move |event| by.set(event_target_value(&event))>{options}</select></label>
    }
}

/// Forms left half typed.
#[component]
fn Left(machine: StoredValue<String>, go: Goer) -> impl IntoView {
    let yard = yard();
    let rows = move || {
        let seen = yard.machine(&machine.get_value())?;
        let rows: Vec<_> = left(&yard, &seen.state)
            .into_iter()
            .map(|(walk, opened)| {
                let says = t!("half-typed", when = when(opened));
                let resume = move |_| {
                    if let Some(go) = go.try_get_value() {
                        go(&address(&machine.get_value(), walk));
                    }
                };
                view! { <p>{says}</p><button class="btn" type="button" on:click=resume>{t!("go-on")}</button> }
            })
            .collect();
        (!rows.is_empty())
            .then(|| view! { <div class="notice"><span aria-hidden="true">"!"</span><div>{rows}</div></div> })
    };
    view! { {rows} }
}

/// One's own walk-rounds that are open, the last first.
fn left(yard: &Yard, state: &MachineState) -> Vec<(EventId, muster_core::calendar::Moment)> {
    let (me, now) = (yard.person(), clock::now());
    let own = |form: &muster_core::form::Form| me.as_ref().is_some_and(|me| me.as_str() == form.by);
    let mut left: Vec<_> = state
        .walk_rounds
        .iter()
        .filter(|(_, of)| of.form.closed.is_none() && own(&of.form) && now.seconds_since(of.form.opened) < LEFT_S)
        .map(|(id, of)| (*id, of.form.opened))
        .collect();
    left.sort_by_key(|(_, opened)| std::cmp::Reverse(*opened));
    left
}
