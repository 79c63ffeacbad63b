//! One machine in full: its plate, what stops it, readings, work, tags, history, sheet.

pub(crate) mod act;
pub(super) mod ahead;
mod asked;
mod facts;
pub(super) mod hand;
mod history;
pub(super) mod readings;
mod sheet;
mod tags;
mod turns;
pub(super) mod work;

use std::{collections::BTreeMap, sync::Arc};

use leptos::{prelude::*, task::spawn_local};
use leptos_router::components::A;
use muster_core::{
    judge::{Context, Judgement},
    record::{judged, machine_state::MachineState, payload::Kind, waiting},
};
use muster_wire::{latest::LatestView, readings::ReadingsView};

use super::paper::{ByCode, of_machine};
use asked::{Asked, Door};
use hand::Hand;
use turns::{Taken, Turns};

use crate::{
    clock, kept, route,
    ui::{Banner, Lacking, Mast, fold, narrow},
    words::t,
    yard::{Seen, Signed, Yard, yard},
};

/// How many machines are remembered as last used.
const USED: usize = 4;
const KEPT_AS: &str = "muster-used";

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

/// What is known of the machine on the page, and how far it is drawn.
#[derive(Clone, Copy)]
struct Page {
    yard: Yard,
    known: Memo<Now>,
    state: Memo<Of>,
    /// Every sync tells anew who acts: only a change draws again.
    who: Memo<(Option<Signed>, BTreeMap<String, String>)>,
    door: Door,
    read: Taken,
    turns: Turns,
}

#[component]
fn OneMachine(id: String) -> impl IntoView {
    let yard = yard();
    let known = {
        let id = id.clone();
        Memo::new(move |_| Now(yard.machine(&id)))
    };
    let who = Memo::new(move |_| (yard.me.get(), yard.names.get()));
    let state = Memo::new(move |_| Of(known.get().0.map(|seen| seen.state)));
    let (door, read) = (Door::of(yard, &id), Taken::new());
    // Turned round, a phone keeps its order: what somebody is filling stays.
    let is_tall = narrow().get_untracked();
    let turns = Turns::begin(is_tall, move || {
        known.with(|known| known.0.is_some()).then(|| read.begin(held_latest(yard, door))).is_some()
    });
    Effect::new(move |before: Option<bool>| {
        let is_known = state.with(|state| state.0.is_some());
        match before {
            Some(true) => door.will_know(),
            _ if is_known => latest(door, read),
            _ => {}
        }
        is_known
    });
    let page = Page { yard, known, state, who, door, read, turns };
    let lacks = {
        let id = id.clone();
        let stands = turns.facts();
        move || match known.with(|known| known.0.is_some()) {
            true if stands.get() => None,
            // Its heading stays till the plate has it.
            true => Some(view! { <section class="sec"><h1>{id.clone()}</h1></section> }.into_any()),
            false => Some(view! { <Lacking title=id.clone()/> }.into_any()),
        }
    };
    let title = id.clone();
    let drawn = {
        let (id, turn) = (id.clone(), turns.page());
        move || turn.get().then(|| untrack(|| page.drawn(&id)))
    };
    // Under the thumb on a phone.
    let foot = move || {
        yard.may(Kind::WalkRoundOpened).then(|| view! {
        <nav class="foot foot--next" aria-label=t!("its-next")><A href=format!("/machines/{id}/walk") attr:class="btn btn--primary btn--lg">{t!("start-walk")}</A></nav>
    })
    };
    view! {
        <div class="desk desk--page touchable">
            <Mast title back="/"/>
            <Banner/>
            <main class="machine" class:is-tall=is_tall>{lacks}{drawn}</main>
            {foot}
        </div>
    }
}

impl Page {
    /// Everything about the machine, each piece in its turn.
    fn drawn(self, id: &str) -> AnyView {
        let Self { turns, .. } = self;
        let why = view! {
            <ByCode/>
            {self.of_state(turns.why(), tags::contradictions)}
            {self.judged(turns.why(), |yard, _, _, judgement| readings::reasons(yard, judgement))}
        };
        let todo = self.todo(id);
        let readings = self.readings();
        let history_turn = turns.below(0);
        let its_history = move || history_turn.get().then(|| untrack(|| history::history(self.yard, self.door)));
        let is_tall = turns.is_tall();
        let history = beneath(is_tall, ("history", t!("history")), history_turn, its_history);
        let label = t!("next-and-history");
        // One column: what is done with it stands before what it was.
        let (body, history) = if is_tall {
            let body = view! { <div class="middle">{why}</div> <aside aria-label=label>{todo}</aside> <div class="middle">{readings}</div> };
            (body.into_any(), Some(history))
        } else {
            let body =
                view! { <div class="middle">{why}{readings}</div> <aside aria-label=label>{todo}{history}</aside> };
            (body.into_any(), None)
        };
        let (sheet_turn, answers_turn) = (turns.below(1), turns.below(2));
        let sheet = self.judged(sheet_turn, |_, context, _, judgement| sheet::sheet(context, judgement));
        view! {
            {self.judged(turns.facts(), facts::facts)}
            {body}
            {self.judged(turns.below(0), facts::known)}
            <div class="below">
                {history}
                {beneath(is_tall, ("sheet", t!("sheet-of", machine = id)), sheet_turn, sheet)}
                {beneath(is_tall, ("answers", t!("last-answers")), answers_turn, self.judged(answers_turn, sheet::answers))}
            </div>
        }
        .into_any()
    }

    /// What is done with it.
    fn todo(self, id: &str) -> AnyView {
        let Self { yard, turns, state, who, .. } = self;
        let next = {
            let (id, turn) = (id.to_owned(), turns.beside(0));
            move || {
                who.track();
                turn.get()
                    .then(|| state.get().0)?
                    .map(|state| view! { <Next id=id.clone() out=state.out().next().is_some()/> {waits(yard, &state)} })
            }
        };
        let (tags_turn, jobs_turn, rest_turn) = (turns.beside(0), turns.beside(1), turns.beside(2));
        view! {
            {next}
            // A list is apart from the form beneath it: news show while the form is filled.
            <section class="part-of" id="tags" hidden=move || !tags_turn.get()>{self.of_state(tags_turn, tags::tags)}{self.of_state(tags_turn, tags::tag_acts)}</section>
            {self.of_state(jobs_turn, work::findings)}
            <section class="part-of" id="jobs" hidden=move || !jobs_turn.get()>{self.of_state(jobs_turn, work::jobs)}{self.of_state(jobs_turn, work::job_acts)}</section>
            {self.of_state(rest_turn, tags::service_state)}
            {self.of_state(rest_turn, of_machine)}
        }
        .into_any()
    }

    fn readings(self) -> impl Fn() -> Option<AnyView> + Copy + Send + 'static {
        let Self { yard, known, who, door, read, turns, .. } = self;
        let turn = turns.reading(0);
        move || {
            who.track();
            let seen = turn.get().then(|| known.get().0)??;
            untrack(|| {
                in_context(yard, &seen, |yard, context, state, judgement| {
                    readings::readings((yard, door), context, (state, judgement), read, turns)
                })
            })
        }
    }

    /// A piece that is drawn from the record alone.
    fn of_state(
        self,
        turn: Memo<bool>,
        draw: fn(&MachineState) -> AnyView,
    ) -> impl Fn() -> Option<AnyView> + Copy + Send + 'static {
        let Self { state, who, .. } = self;
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
    }

    /// A piece that is drawn from the verdict.
    fn judged(
        self,
        turn: Memo<bool>,
        draw: fn(Yard, &Context<'_>, &Arc<MachineState>, &Judgement) -> AnyView,
    ) -> impl Fn() -> Option<AnyView> + Copy + Send + 'static {
        let Self { yard, known, who, .. } = self;
        move || {
            who.track();
            if !turn.get() {
                return None;
            }
            known.get().0.and_then(|seen| untrack(|| in_context(yard, &seen, draw)))
        }
    }
}

/// What stands beneath, under its title: in one column it is drawn when it is asked for.
fn beneath(
    is_tall: bool,
    (anchor, title): (&'static str, String),
    turn: Memo<bool>,
    draw: impl Fn() -> Option<AnyView> + Send + 'static,
) -> AnyView {
    let head = view! { <h2>{title}</h2> };
    let inner =
        if is_tall { fold("fold", head, draw) } else { view! { <div class="rulehead">{head}</div> {draw} }.into_any() };
    view! { <section class="sheetsec" id=anchor hidden=move || !turn.get()>{inner}</section> }.into_any()
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

/// The latest that was read, as far as this device carries it.
fn held_latest(yard: Yard, door: Door) -> Option<Arc<LatestView>> {
    let of =
        |state: &MachineState, units| Some(LatestView::of(&ReadingsView::of(state, &yard.rules().catalogue, units)));
    untrack(|| door.held(of)).map(Arc::new)
}

/// The latest that was read, as the server knows it; without signal what is held is shown.
fn latest(door: Door, read: Taken) {
    let told = door.ask::<LatestView>("readings/latest");
    Effect::new(move |_| {
        if let Asked::Told(view) = told.get() {
            spawn_local(read.take(view));
        }
    });
}
