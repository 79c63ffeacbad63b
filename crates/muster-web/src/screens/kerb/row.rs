//! The row of a round: machines done, the one at hand with its wells, those that come; the step and the keypad docked.

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex},
};

use leptos::{prelude::*, task::spawn_local};
use leptos_router::{NavigateOptions, hooks::use_navigate};
use muster_core::{
    check::Yields,
    record::{id::EventId, payload::WalkRoundClosed},
};

use super::{
    dock::Dock,
    line::{Line, Stand, lines},
    parts::Bar,
    round::{Once, both, name},
    well::{SLOTS, Well, wells},
};
use crate::{
    ui::{Banner, Drawn, VerdictWord},
    words::t,
    yard::{Yard, yard},
};

/// Where a round stands.
#[derive(Clone, Copy)]
pub(super) struct Going {
    pub(super) yard: Yard,
    /// What was asked once.
    pub(super) once: StoredValue<Once>,
    /// The machines in row order.
    pub(super) lines: Memo<Vec<Line>>,
    /// The machine at hand.
    pub(super) at: RwSignal<Option<String>>,
    /// Its wells.
    pub(super) wells: Memo<Vec<Well>>,
    /// What is typed in each.
    pub(super) typed: [RwSignal<String>; SLOTS],
    /// The well at hand.
    pub(super) active: RwSignal<usize>,
    /// The unit typed in.
    pub(super) unit: RwSignal<&'static str>,
    /// Whether why it could not be seen is being asked.
    pub(super) asks_why: RwSignal<bool>,
    /// Walk-rounds opened by this round, to be closed with it.
    pub(super) opened: StoredValue<Arc<Mutex<BTreeMap<String, EventId>>>>,
}

impl Going {
    /// The machine that comes after the one at hand: down the row, then from its top.
    pub(super) fn next(self) -> Option<String> {
        let at = self.at.get();
        self.lines.with(|lines| {
            let here = lines.iter().position(|line| Some(&line.id) == at.as_ref()).map_or(0, |here| here + 1);
            let after = lines.iter().skip(here).chain(lines.iter().take(here));
            after
                .filter(|line| Some(&line.id) != at.as_ref())
                .find(|line| line.stand == Stand::Open)
                .map(|line| line.id.clone())
        })
    }

    /// The machine before the one at hand that is not passed over.
    pub(super) fn before(self) -> Option<String> {
        let at = self.at.get();
        self.lines.with(|lines| {
            let here = lines.iter().position(|line| Some(&line.id) == at.as_ref())?;
            let before = lines.iter().take(here).rev();
            before.filter(|line| line.stand != Stand::Passed).map(|line| line.id.clone()).next()
        })
    }

    /// Takes a machine at hand.
    pub(super) fn go(self, machine: Option<String>) {
        self.typed.iter().for_each(|typed| typed.set(String::new()));
        self.active.set(0);
        self.asks_why.set(false);
        self.at.set(machine);
    }
}

/// The row.
#[component]
pub(super) fn Row(
    /// What was asked once for all.
    once: Once,
) -> impl IntoView {
    let (yard, navigate) = (yard(), use_navigate());
    let rules = yard.rules();
    let checks = once.checks.first().map(|first| both(&rules.catalogue.checks, first)).unwrap_or_default();
    let (title, is_look) = (name(&checks), checks.iter().any(|check| matches!(check.yields, Yields::Look(_))));
    let once = StoredValue::new(once);
    let lines = Memo::new(move |_| once.with_value(|once| lines(yard, once)));
    let first =
        lines.with_untracked(|lines| lines.iter().find(|line| line.stand == Stand::Open).map(|line| line.id.clone()));
    let at = RwSignal::new(first);
    let wells = Memo::new(move |_| match at.get() {
        Some(machine) => once.with_value(|once| wells(yard, &machine, once)),
        None => Vec::new(),
    });
    let going = Going {
        yard,
        once,
        lines,
        at,
        wells,
        typed: std::array::from_fn(|_| RwSignal::new(String::new())),
        active: RwSignal::new(0),
        unit: RwSignal::new(""),
        asks_why: RwSignal::new(false),
        opened: StoredValue::new(Arc::default()),
    };
    let opened = going.opened.get_value();
    on_cleanup(move || leave(yard, &opened));
    let sub = Signal::derive(move || {
        lines.with(|lines| {
            let asked = lines.iter().filter(|line| line.stand != Stand::Passed).count();
            let done = lines.iter().filter(|line| line.stand == Stand::Done).count();
            t!("of-count", done = done, count = asked)
        })
    });
    let said = once.with_value(|once| {
        let with = once.with.as_ref().map(|with| t!("with", instrument = with.as_str())).unwrap_or_default();
        let air = once.air.as_ref().map(|air| t!("air-is", air = air.as_str())).unwrap_or_default();
        let heat = if once.heat == muster_core::state::Heat::Cold { t!("kerb-cold") } else { t!("kerb-warm") };
        let state = [heat, air].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
        view! { <div class="state" role="status"><span>{with}</span><span>{state}</span></div> }
    });
    let end = move || navigate("/round", NavigateOptions::default());
    view! {
        <Bar title beside=t!("row") sub back="/round".to_owned() leave=t!("leave-round")/>
        {said}
        <Banner/>
        <main tabindex="0">
            <ol class="rlist" aria-label=t!("row-order")>{move || list(going)}</ol>
            {move || at.get().is_none().then(|| view! { <section class="sec"><h1>{t!("round-done")}</h1><p>{t!("round-done-how")}</p></section> })}
        </main>
        <Dock going is_look end=Callback::new(move |()| end())/>
    }
    .into_any()
}

/// Closes what this round opened.
fn leave(yard: Yard, opened: &Mutex<BTreeMap<String, EventId>>) {
    let Ok(mut opened) = opened.lock() else { return };
    for (machine, walk_round) in std::mem::take(&mut *opened) {
        spawn_local(async move {
            // One that cannot be closed stays open today, and is used again by who comes back.
            let _ = yard.write(WalkRoundClosed { machine, walk_round }).await;
        });
    }
}

fn list(going: Going) -> AnyView {
    let at = going.at.get();
    let passed_here = StoredValue::new(false);
    let each = going.lines.get().into_iter().map(|line| {
        if Some(&line.id) == at.as_ref() {
            passed_here.set_value(true);
            return here(going, line);
        }
        let class = if line.stand == Stand::Done && !passed_here.get_value() { "done" } else { "todo" };
        let (id, says) = (line.id.clone(), line.says);
        let verdict = line.verdict.filter(|_| line.stand != Stand::Open);
        let row = view! { <span class="no">{line.id}</span><span class="cap">{says}</span>{verdict.map(|verdict| view! { <VerdictWord verdict/> })} };
        let row = match line.stand {
            Stand::Passed => view! { <div class="rb">{row}</div> }.into_any(),
            _ => view! { <button class="rb" on:click=move |_| going.go(Some(id.clone()))>{row}</button> }.into_any(),
        };
        view! { <li class=class>{row}</li> }.into_any()
    });
    each.collect_view().into_any()
}

fn here(going: Going, line: Line) -> AnyView {
    let each = move || going.wells.get().into_iter().map(|well| readout(going, well)).collect_view();
    view! {
        <li class="rnow" aria-current="true">
            <header><h1>{line.id}</h1><span>{line.model}</span><span class="cap">{line.set}</span></header>
            <div class="two-up">{each}</div>
        </li>
    }
    .into_any()
}

fn readout(going: Going, well: Well) -> AnyView {
    let slot = well.slot;
    let typed = going.typed.get(slot).copied().unwrap_or_else(|| RwSignal::new(String::new()));
    let well = StoredValue::new(well);
    // What is held changes with each answer; what is typed with each key.
    let stands = Memo::new(move |_| well.with_value(|well| well.stands(going)));
    let figure = move || {
        let text = typed.get();
        if text.is_empty() { stands.get().figure } else { text }
    };
    let unit = move || {
        let own = well.with_value(|well| well.fixed_unit);
        own.unwrap_or_else(|| if typed.with(String::is_empty) { stands.with(|of| of.unit) } else { going.unit.get() })
    };
    let label = move || well.with_value(|well| well.label.clone());
    let ruler = move || well.with_value(|well| well.ruler(going, &typed.get()));
    let lims = move || {
        let (low, high) = well.with_value(|well| well.limits(going));
        view! { <p class="lims"><span>{low}</span><span>{high}</span></p> }
    };
    view! {
        <div>
            <button class="readout" class:on=move || going.active.get() == slot aria-pressed=move || (going.active.get() == slot).to_string()
                on:click=move |_| going.active.set(slot)>
                <span class="l">{label}</span><span class="n">{figure}</span><span class="u">{unit}</span>
            </button>
            {move || ruler().map(|markup| view! { <Drawn markup/> })}
            {lims}
            <p class="cap klast">{move || stands.get().says}</p>
        </div>
    }
    .into_any()
}
