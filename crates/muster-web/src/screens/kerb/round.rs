//! A round: which check is taken over the whole row, what is asked once for all, then machine by machine.

use leptos::prelude::*;
use leptos_router::components::A;
use muster_core::{
    check::{Check, Yields},
    judge::{Context, Verdict},
    state::Heat,
};

use super::{
    asked::{applies, in_context},
    parts::{Bar, Words},
    row::Row,
};
use crate::{
    clock, route,
    ui::{Banner, Lacking},
    words::t,
    yard::{Yard, yard},
};

/// What is asked once for all machines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Once {
    /// The checks: one, or the same at both wheels.
    pub(super) checks: Vec<String>,
    /// How warm the machines are.
    pub(super) heat: Heat,
    /// The instrument.
    pub(super) with: Option<String>,
    /// The air, as typed.
    pub(super) air: Option<String>,
}

/// The checks there are to choose from, those lapsed on most machines first.
#[component]
pub(crate) fn Rounds() -> impl IntoView {
    let yard = yard();
    let rows = Memo::new(move |_| lapsed(yard));
    view! {
        <div class="phone touch">
            <Bar title=t!("round") beside=t!("round-beside") sub=String::new() back="/".to_owned() leave=t!("to-the-yard")/>
            <Banner/>
            <main tabindex="0">
                <section class="sec"><h1>{t!("round-which")}</h1><p class="cap">{t!("round-how")}</p></section>
                <ul class="klist">
                    {move || rows.get().into_iter().map(|(id, name, lapsed, all)| view! {
                        <li><A href=format!("/round/{}", id.replace('.', "~"))>
                            <b>{name}</b><span class="cap">{t!("round-lapsed", lapsed = lapsed, all = all)}</span>
                        </A></li>
                    }).collect_view()}
                </ul>
            </main>
        </div>
    }
}

/// Id, name, on how many machines it has lapsed, to how many it applies.
fn lapsed(yard: Yard) -> Vec<(String, String, usize, usize)> {
    let rules = yard.rules();
    let seen: Vec<_> = yard.machines().into_iter().filter_map(|id| yard.machine(&id).map(|seen| (id, seen))).collect();
    let mut rows: Vec<(String, String, usize, usize)> = Vec::new();
    for check in rules.catalogue.checks.iter().filter(|check| !matches!(check.yields, Yields::Date(_))) {
        let both = both(&rules.catalogue.checks, &check.id);
        if both.first().is_some_and(|first| first.id != check.id) {
            continue;
        }
        let (mut count, mut all) = (0, 0);
        for (id, seen) in &seen {
            if in_context(yard, id, |context, _| both.iter().any(|check| applies(context, check))) != Some(true) {
                continue;
            }
            all += 1;
            let outcomes = seen.judgement.planned().map(|of| of.outcomes.as_slice()).unwrap_or_default();
            let is_unseen =
                |check: &&Check| outcomes.iter().any(|of| of.check == check.id && of.verdict == Verdict::Unseen);
            count += usize::from(both.iter().any(is_unseen));
        }
        if all > 0 {
            rows.push((check.id.clone(), name(&both), count, all));
        }
    }
    rows.sort_by_key(|row| core::cmp::Reverse(row.2));
    rows
}

/// A check and the same at the other wheel, the front first; one alone where it is at one place.
pub(super) fn both<'c>(checks: &'c [Check], id: &str) -> Vec<&'c Check> {
    let front = id.replace(".rear.", ".front.");
    let rear = front.replace(".front.", ".rear.");
    let find = |id: &str| checks.iter().find(|check| check.id == id);
    match (find(&front), find(&rear)) {
        (Some(front), Some(rear)) if front.id != rear.id => Vec::from([front, rear]),
        _ => find(id).into_iter().collect(),
    }
}

/// What a round is called: the check's name without its wheel where both are read.
pub(super) fn name(checks: &[&Check]) -> String {
    let Some(first) = checks.first() else { return String::new() };
    match (checks.len(), first.name.strip_prefix("Front ")) {
        (2, Some(rest)) => muster_draw::number::capital(rest),
        _ => first.name.clone(),
    }
}

/// How a check is done, and what can hurt someone at it.
#[derive(PartialEq)]
struct Way {
    method: Vec<String>,
    caution: Option<String>,
}

impl Way {
    fn of(check: &Check) -> Self {
        Self { method: check.method.clone(), caution: check.caution.clone() }
    }

    fn on(context: &Context<'_>, check: &Check) -> Self {
        Self { method: context.method(check).to_vec(), caution: context.caution(check) }
    }
}

/// The machines on which a check is done in another way than most, by their way.
fn otherwise(yard: Yard, check: &Check) -> Vec<(Way, Vec<String>)> {
    let mut out: Vec<(Way, Vec<String>)> = Vec::new();
    for id in yard.machines() {
        let own = in_context(yard, &id, |context, _| applies(context, check).then(|| Way::on(context, check)));
        let Some(own) = own.flatten().filter(|own| *own != Way::of(check)) else { continue };
        match out.iter_mut().find(|(way, _)| *way == own) {
            Some((_, machines)) => machines.push(id),
            None => out.push((own, Vec::from([id]))),
        }
    }
    out
}

/// One round: first what is asked once, then the row.
#[component]
pub(crate) fn Round() -> impl IntoView {
    let (yard, params) = (yard(), route::params());
    let id = Memo::new(move |_| params.read().get("check").unwrap_or_default().replace('~', "."));
    let once = RwSignal::new(None::<Once>);
    let known = Memo::new(move |_| yard.is_known());
    view! {
        <div class="phone touch">
            {move || match (known.get(), once.get()) {
                (false, _) => view! { <Banner/><main tabindex="0"><Lacking title=t!("round")/></main> }.into_any(),
                (_, Some(once)) => view! { <Row once/> }.into_any(),
                (_, None) => { let id = id.get(); untrack(|| ask_once(yard, &id, once)) }
            }}
        </div>
    }
}

fn ask_once(yard: Yard, id: &str, once: RwSignal<Option<Once>>) -> AnyView {
    let rules = yard.rules();
    let checks = both(&rules.catalogue.checks, id);
    let Some(first) = checks.first().copied() else {
        return view! {
            <Bar title=t!("round") beside=String::new() sub=String::new() back="/round".to_owned() leave=t!("all-rounds")/>
            <main tabindex="0"><section class="sec"><h1>{t!("no-such-check")}</h1></section></main>
        }
        .into_any();
    };
    let title = name(&checks);
    let ids: Vec<String> = checks.iter().map(|check| check.id.clone()).collect();
    let (heat, with, air) =
        (RwSignal::new("cold".to_owned()), RwSignal::new(String::new()), RwSignal::new(String::new()));
    let instruments = instruments(yard, first);
    if let Some((id, _)) = instruments.first() {
        with.set(id.clone());
    }
    // No reading is worth its round if a tag on the bar goes unseen: said once, looked for at each machine.
    let looks = RwSignal::new(false);
    let is_gas = matches!(&first.yields, Yields::Read(of) if of.correction.is_some());
    let begin = move |_| {
        let degrees = |text: String| super::parts::with_unit(&text, "°C");
        once.set(Some(Once {
            checks: ids.clone(),
            heat: heat.get_untracked().parse().unwrap_or(Heat::Cold),
            with: Some(with.get_untracked()).filter(|with| !with.is_empty()),
            air: degrees(air.get_untracked()),
        }));
    };
    let heats = [Heat::Cold, Heat::Warm]
        .map(|of| (of.to_string(), if of == Heat::Cold { t!("kerb-cold") } else { t!("kerb-warm") }));
    let way = |way: Way, machines: String| {
        let lines = way.method.into_iter().map(|line| view! { <p class="cap">{line}</p> }).collect_view();
        let whose = (!machines.is_empty()).then(|| view! { <p><b>{machines}</b></p> });
        view! { {whose}{lines}{way.caution.map(|text| view! { <p class="caution">{text}</p> })} }
    };
    let ways = otherwise(yard, first).into_iter().map(|(own, machines)| way(own, machines.join(", "))).collect_view();
    let methods = way(Way::of(first), String::new());
    view! {
        <Bar title=t!("round") beside=title.clone() sub=String::new() back="/round".to_owned() leave=t!("all-rounds")/>
        <Banner/>
        <main tabindex="0">
            <section class="sec">
                <h1>{title}</h1>
                {methods}
                {ways}
                <label class="tickbox kfirst"><input type="checkbox" bind:checked=looks/><span>{t!("round-first-line")}</span></label>
                <p class="cap">{t!("round-tag-found")}</p>
                <h2>{t!("once-for-all")}</h2>
                <p class="cap">{t!("once-state")}</p>
            </section>
            <section class="fall" aria-label=t!("once-for-all")>
                <Words label=t!("machines-are") choices=heats.to_vec() value=heat/>
                {(!instruments.is_empty()).then(|| view! { <Words label=t!("instrument") choices=instruments value=with/> })}
                {is_gas.then(|| view! {
                    <div class="form"><label class="field"><span>{t!("air-optional")}</span>
                        <input class="input" inputmode="decimal" autocomplete="off" bind:value=air/></label></div>
                })}
            </section>
        </main>
        <footer class="foot one">
            <button class="btn btn--lg" class:btn--primary=looks class:is-off=move || !looks.get() disabled=move || !looks.get() on:click=begin>
                {move || if looks.get() { t!("begin-round") } else { t!("look-for-tag-first") }}
            </button>
        </footer>
    }
    .into_any()
}

/// The yard's instruments a check may be read with and that are trusted, the finest first.
fn instruments(yard: Yard, check: &Check) -> Vec<(String, String)> {
    let Yields::Read(measure) = &check.yields else { return Vec::new() };
    let today = clock::now().date();
    yard.with(|held| {
        let all = held.known().yard.instruments.values();
        let mut can: Vec<_> = all
            .filter(|of| of.reads == measure.kind && of.is_trusted(today))
            .filter(|of| measure.instruments.is_empty() || measure.instruments.contains(&of.kind))
            .collect();
        can.sort_by(|a, b| a.resolution.canonical().total_cmp(&b.resolution.canonical()));
        can.into_iter().map(|of| (of.id.clone(), format!("{} {}", of.id, of.name))).collect()
    })
    .unwrap_or_default()
}
