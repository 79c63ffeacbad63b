//! The workshop's list: every job that is not proven, with what it waits for and what it lifts; moved in place.

use std::sync::Arc;

use leptos::prelude::*;
use leptos_router::components::A;
use muster_core::record::{machine_state::MachineState, payload::JobState};

use super::machine::{hand::Hand, work::job};
use crate::{
    ui::{Banner, Mast},
    words::t,
    yard::{Yard, yard},
};

/// The states in which work is looked for first.
const ORDER: [JobState; 4] = [JobState::InHand, JobState::Open, JobState::Waiting, JobState::Done];

/// Machines with work, the same as long as their records are.
#[derive(Clone)]
struct Busy(Vec<Arc<MachineState>>);

impl PartialEq for Busy {
    fn eq(&self, other: &Self) -> bool {
        self.0.len() == other.0.len() && self.0.iter().zip(&other.0).all(|(a, b)| Arc::ptr_eq(a, b))
    }
}

/// Workshop work of the whole yard.
#[component]
pub(crate) fn JobsScreen() -> impl IntoView {
    let yard = yard();
    let busy = Memo::new(move |_| {
        let machines = yard.machines();
        let states = yard.with(|held| machines.iter().filter_map(|id| held.machine(id).cloned()).collect::<Vec<_>>());
        Busy(states.unwrap_or_default().into_iter().filter(|state| state.unproven().next().is_some()).collect())
    });
    let known = Memo::new(move |_| yard.is_known());
    let who = Memo::new(move |_| yard.me.get());
    let hand = Hand::new();
    provide_context(hand);
    // Drawn anew when who acts, whether anything is known, or what is open changes: but not while a note is typed.
    let watched = Memo::new(move |before: Option<&(_, bool, Busy)>| {
        before.filter(|_| hand.is_full()).cloned().unwrap_or_else(|| (who.get(), known.get(), busy.get()))
    });
    view! {
        <div class="desk desk--page touchable">
            <Mast title=t!("jobs") back="/"/>
            <Banner/>
            <main class="pagebody">
                <h1 class="pageh">{t!("jobs")}</h1>
                {move || match (watched.get().1, watched.get().2.0) {
                    (false, _) => view! { <p role="status">{t!("yard-fetched")}</p> }.into_any(),
                    (true, states) if states.is_empty() => view! { <p class="notice notice--wide dash"><span aria-hidden="true">"–"</span><span>{t!("no-jobs")} " " <A href="/">{t!("to-the-yard")}</A></span></p> }.into_any(),
                    (true, states) => untrack(|| lanes(yard, &states).into_any()),
                }}
            </main>
        </div>
    }
}

fn lanes(yard: Yard, states: &[Arc<MachineState>]) -> impl IntoView + use<> {
    let lanes = ORDER.map(|lane| {
        let cards: Vec<AnyView> = states
            .iter()
            .flat_map(|state| state.unproven().map(move |(id, of)| (state, id, of)))
            .filter(|(_, _, of)| of.state.0 == lane)
            .map(|(state, id, of)| {
                let machine = state.machine.clone();
                let card = job(yard, state, id, of);
                view! { <li class="jobrow"><A href=format!("/machines/{machine}") attr:class="no">{machine.clone()}</A>{card}</li> }.into_any()
            })
            .collect();
        let count = cards.len();
        view! {
            <section class="lane">
                <div class="rulehead"><h2>{lane.as_str()}</h2><span class="cap">{count}</span></div>
                <ul>{cards.into_iter().collect_view()}</ul>
            </section>
        }
    });
    view! { <div class="lanes">{lanes.into_iter().collect_view()}</div> }
}
