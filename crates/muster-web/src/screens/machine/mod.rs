//! One machine in full: its plate, what stops it, readings, work, tags, history, sheet.

pub(crate) mod act;
pub(super) mod ahead;
mod facts;
pub(super) mod hand;
mod history;
pub(super) mod readings;
mod sheet;
mod tags;
mod turns;
pub(super) mod work;

use std::{sync::Arc, time::Duration};

use leptos::{prelude::*, task::spawn_local};
use leptos_router::components::A;
use muster_core::{
    judge::{Context, Judgement},
    record::{judged, machine_state::MachineState, payload::Kind, waiting},
};
use muster_wire::{machine::MachineView, readings::ReadingsView};

use super::paper::{ByCode, of_machine};
use hand::Hand;
use turns::{Taken, Turns};

use crate::{
    clock, kept, route,
    ui::{Banner, Lacking, Mast, fold, narrow},
    words::t,
    yard::{Seen, Yard, ask, yard},
};

/// How many machines are remembered as last used.
const USED: usize = 4;
const KEPT_AS: &str = "muster-used";
/// How long what was written takes to reach the server, mostly.
const SENT: Duration = Duration::from_secs(3);

/// The machines this device opened last, the newest first.
pub(super) fn used() -> Vec<String> {
    kept::text(KEPT_AS)
        .map(|kept| kept.split('\n').filter(|id| !id.is_empty()).map(str::to_owned).collect())
        .unwrap_or_default()
}

/// Remembers that a machine was opened.
fn opens(id: &str) {
    let mut ids = vec![id.to_owned()];
    ids.extend(used().into_iter().filter(|other| other != id).take(USED - 1));
    kept::keep(KEPT_AS, &ids.join("\n"));
}

/// What is seen, the same as long as the record is and comes to the same.
#[derive(Clone)]
struct Now(Option<Seen>);

impl PartialEq for Now {
    fn eq(&self, other: &Self) -> bool {
        match (&self.0, &other.0) {
            (Some(a), Some(b)) => Arc::ptr_eq(&a.state, &b.state) && a.judgement.uses == b.judgement.uses,
            (None, None) => true,
            _ => false,
        }
    }
}

/// What its events come to, the same as long as its record is: a form being filled is not taken away by the minute.
#[derive(Clone)]
struct Of(Option<Arc<MachineState>>);

impl PartialEq for Of {
    fn eq(&self, other: &Self) -> bool {
        match (&self.0, &other.0) {
            (Some(a), Some(b)) => Arc::ptr_eq(a, b),
            (None, None) => true,
            _ => false,
        }
    }
}

/// One machine.
#[component]
pub(crate) fn MachineScreen() -> impl IntoView {
    let params = route::params();
    let id = Memo::new(move |_| params.read().get("machine").unwrap_or_default());
    // Another machine is another screen: nothing of the one before is left in its forms.
    move || {
        let id = id.get();
        opens(&id);
        view! { <OneMachine id/> }
    }
}

#[component]
fn OneMachine(id: String) -> impl IntoView {
    let yard = yard();
    let known = {
        let id = id.clone();
        Memo::new(move |_| Now(yard.machine(&id)))
    };
    // Every sync tells anew who acts: only a change draws again.
    let who = Memo::new(move |_| (yard.me.get(), yard.names.get()));
    let state = Memo::new(move |_| Of(known.get().0.map(|seen| seen.state)));
    let (whole, read) = (RwSignal::new(None::<Arc<MachineView>>), Taken::new());
    // Turned round, a phone keeps its order: what somebody is filling stays.
    let is_tall = narrow().get_untracked();
    let turns = Turns::begin(is_tall, {
        let id = id.clone();
        move || known.with(|known| known.0.is_some()).then(|| read.begin(held_readings(yard, &id))).is_some()
    });
    let of_state = move |turn: Memo<bool>, draw: fn(&MachineState) -> AnyView| {
        let hand = Hand::new();
        let drawn = Memo::new(move |before: Option<&(Of, _)>| {
            // What somebody is filling is drawn again when they have done.
            before.filter(|_| hand.is_full()).cloned().unwrap_or_else(|| (state.get(), who.get()))
        });
        move || {
            let state = turn.get().then(|| drawn.get().0.0)??;
            provide_context(hand);
            Some(untrack(|| draw(&state)))
        }
    };
    let of = id.clone();
    Effect::new(move |before: Option<bool>| {
        let is_known = state.with(|state| state.0.is_some());
        // What was written here is on its way.
        let wait = if before == Some(true) { SENT } else { Duration::ZERO };
        if is_known {
            let of = of.clone();
            set_timeout(move || fetch(&of, whole, read), wait);
        }
        is_known
    });
    let title = id.clone();
    let judged = move |turn: Memo<bool>, draw: fn(Yard, &Context<'_>, &Arc<MachineState>, &Judgement) -> AnyView| {
        move || {
            who.track();
            if !turn.get() {
                return None;
            }
            known.get().0.and_then(|seen| untrack(|| in_context(yard, &seen, draw)))
        }
    };
    let first_reading = turns.reading(0);
    let readings = move || {
        who.track();
        let seen = first_reading.get().then(|| known.get().0)??;
        untrack(|| {
            in_context(yard, &seen, |yard, context, state, judgement| {
                readings::readings(yard, context, (state, judgement), read, turns)
            })
        })
    };
    let below = turns.below(0);
    let history = move || match (whole.get(), below.get().then(|| state.get().0)?) {
        (_, None) => None,
        (Some(view), _) => Some(history::history(yard, &view, true)),
        (None, Some(state)) => {
            let view = MachineView::of(&state, serde_json::Value::Null, "", None);
            Some(history::history(yard, &view, false))
        }
    };
    let lacks = {
        let id = id.clone();
        move || known.with(|known| known.0.is_none()).then(|| view! { <Lacking title=id.clone()/> })
    };
    let next = {
        let id = id.clone();
        let turn = turns.beside();
        move || {
            who.track();
            turn.get()
                .then(|| state.get().0)?
                .map(|state| view! { <Next id=id.clone() out=state.out().next().is_some()/> {waits(yard, &state)} })
        }
    };
    let beside = turns.beside();
    let waits = move || !beside.get();
    let sheet_title = t!("sheet-of", machine = id.as_str());
    // Under the thumb on a phone.
    let foot = move || {
        yard.may(Kind::WalkRoundOpened).then(|| view! {
        <nav class="foot foot--next" aria-label=t!("its-next")><A href=format!("/machines/{id}/walk") attr:class="btn btn--primary btn--lg">{t!("start-walk")}</A></nav>
    })
    };
    let why = view! {
        <ByCode/>
        {of_state(turns.first(), tags::contradictions)}
        {judged(turns.first(), |yard, _, _, judgement| readings::reasons(yard, judgement))}
    };
    let todo = view! {
        {next}
        // A list is apart from the form beneath it: news show while the form is filled.
        <section class="part-of" id="tags" hidden=waits>{of_state(beside, tags::tags)}{of_state(beside, tags::tag_acts)}</section>
        {of_state(beside, work::findings)}
        <section class="part-of" id="jobs" hidden=waits>{of_state(beside, work::jobs)}{of_state(beside, work::job_acts)}</section>
        {of_state(beside, tags::service_state)}
        {of_state(beside, of_machine)}
    };
    // In one column what stands beneath is drawn when it is asked for.
    let beneath = |anchor, title: String, turn: Memo<bool>, draw| {
        let head = view! { <h2>{title}</h2> };
        let inner = if is_tall {
            fold("fold", head, draw)
        } else {
            view! { <div class="rulehead">{head}</div> {draw} }.into_any()
        };
        view! { <section class="sheetsec" id=anchor hidden=move || !turn.get()>{inner}</section> }
    };
    let (sheet_turn, answers_turn) = (turns.below(1), turns.below(2));
    let label = t!("next-and-history");
    let body = if is_tall {
        // One column: what is done with it stands before what it was.
        view! { <div class="middle">{why}</div> <aside aria-label=label>{todo}</aside> <div class="middle">{readings}{history}</div> }
            .into_any()
    } else {
        view! { <div class="middle">{why}{readings}</div> <aside aria-label=label>{todo}{history}</aside> }.into_any()
    };
    view! {
        <div class="desk desk--page touchable">
            <Mast title back="/"/>
            <Banner/>
            <main class="machine" class:is-tall=is_tall>
                {lacks}
                {judged(turns.first(), facts::facts)}
                {body}
                {judged(turns.below(0), facts::known)}
                <div class="below">
                    {beneath("sheet", sheet_title, sheet_turn, judged(sheet_turn, |_, context, _, judgement| sheet::sheet(context, judgement)))}
                    {beneath("answers", t!("last-answers"), answers_turn, judged(answers_turn, sheet::answers))}
                </div>
            </main>
            {foot}
        </div>
    }
}

/// What a person does next with it.
#[component]
fn Next(id: String, out: bool) -> impl IntoView {
    let yard = yard();
    view! {
        <section class="part-of next" id="next">
            <div class="rulehead"><h2>{t!("its-next")}</h2></div>
            <p class="first">{t!("its-first-line")}</p>
            <div class="acts-row">
                {yard.may(Kind::WalkRoundOpened).then(|| view! { <A href=format!("/machines/{id}/walk") attr:class="btn btn--primary btn--sm">{t!("start-walk")}</A> })}
                {yard.may(Kind::WalkRoundOpened).then(|| view! { <A href=format!("/machines/{id}/typed") attr:class="btn btn--sm">{t!("form-typed-in")}</A> })}
                {(!out && yard.may(Kind::Released)).then(|| view! { <A href=format!("/machines/{id}/outing") attr:class="btn btn--sm">{t!("work-outing-out")}</A> })}
                {(out && yard.may(Kind::Returned)).then(|| view! { <A href=format!("/machines/{id}/return") attr:class="btn btn--sm">{t!("take-back")}</A> })}
                {yard.may(Kind::FallNoted).then(|| view! { <A href=format!("/machines/{id}/fall") attr:class="btn btn--sm">{t!("note-fall")}</A> })}
            </div>
        </section>
    }
}

/// Outings that wait for somebody to sign them.
fn waits(yard: Yard, state: &MachineState) -> Option<AnyView> {
    if !yard.may(Kind::Released) {
        return None;
    }
    let rows = untrack(|| {
        yard.with(|held| {
            let planned = waiting::planned(&held.known().state, state, clock::now());
            planned.map(|(id, of)| (id.to_string(), of.name.clone())).collect::<Vec<_>>()
        })
    })?;
    let rows = rows.into_iter().map(|(id, name)| {
        let address = format!("/machines/{}/outing/{id}", state.machine);
        view! { <A href=address attr:class="btn btn--sm">{t!("waits-its", outing = name)}</A> }
    });
    Some(view! { <div class="acts-row">{rows.collect_view()}</div> }.into_any())
}

/// Draws what needs the machine in its yard.
fn in_context<T>(
    yard: Yard,
    seen: &Seen,
    draw: impl FnOnce(Yard, &Context<'_>, &Arc<MachineState>, &Judgement) -> T,
) -> Option<T> {
    let rules = yard.rules();
    let its_yard = untrack(|| yard.with(|held| held.known().yard.clone()))?;
    let machine = judged::machine(&its_yard, &seen.state)?;
    let context = Context::of(&rules.catalogue, &its_yard, &seen.state.machine, clock::now())?;
    Some(draw(yard, &Context { machine: &machine, ..context }, &seen.state, &seen.judgement))
}

/// What was read, as far as this device carries it.
fn held_readings(yard: Yard, id: &str) -> Option<Arc<ReadingsView>> {
    let held = untrack(|| {
        yard.with(|held| {
            held.machine(id).map(|state| ReadingsView::of(state, &yard.rules().catalogue, held.known().yard.units))
        })
    });
    held.flatten().map(Arc::new)
}

/// The whole history is the server's; without signal what is held is shown.
fn fetch(id: &str, whole: RwSignal<Option<Arc<MachineView>>>, read: Taken) {
    let door = format!("/api/v1/machines/{id}");
    spawn_local(async move {
        if let Ok(view) = ask::<ReadingsView>("GET", &format!("{door}/readings"), None::<&()>).await {
            read.take(view).await;
        }
        if let Ok(view) = ask::<MachineView>("GET", &door, None::<&()>).await {
            whole.try_set(Some(Arc::new(view)));
        }
    });
}
