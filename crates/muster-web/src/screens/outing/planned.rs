//! An outing somebody worked out, for whoever may sign it: its verdict, what to set and do, and no mass.

use std::{collections::BTreeSet, sync::Arc};

use leptos::prelude::*;
use leptos_router::components::A;
use muster_core::{
    judge::Verdict,
    outing::kept::{KeptItem, KeptOuting, KeptSetting},
    record::{
        payload::{Kind, Right},
        waiting::{self, Waiting},
    },
    yard::Units,
};
use muster_draw::number::small;
use muster_wire::command::{Asked, Release};

use super::{super::walk::goer, Ticked, pressure, tick, use_of};
use crate::{
    clock, route,
    ui::{Banner, Icon, Lacking, PinSheet, Press, after, toast, verdict_word, when},
    words::t,
    yard::{NotDone, Yard, yard},
};

/// What waits for a machine.
pub(super) fn waits(yard: &Yard, machine: &str) -> Vec<Waiting> {
    let Some(seen) = yard.machine(machine) else { return Vec::new() };
    let rules = yard.rules();
    let of = |held: &muster_core::record::held::Held| {
        let known = held.known();
        waiting::of((&rules.catalogue, &known.yard), &known.state, &seen.state, clock::now())
    };
    yard.with(of).unwrap_or_default()
}

/// What waits for the machine, each with its verdict and a way to it; nothing where nothing waits.
pub(super) fn list(yard: Yard, machine: &str) -> Option<AnyView> {
    let all = waits(&yard, machine);
    let waits = !all.is_empty();
    let rows = all.into_iter().map(|of| {
        let (verdict, address) = (of.asks.verdict, format!("/machines/{machine}/outing/{}", of.id));
        let says = t!("planned-by", who = yard.name(of.by.0.as_str()), at = when(of.by.1));
        view! {
            <li><A href=address attr:class="orow">
                <svg class="glyph" width="20" height="20" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
                <span><b>{of.planned.name}</b><span class="vh">{format!(", {}", verdict_word(verdict))}</span><br/>{says}</span>
            </A></li>
        }
    });
    let rows = rows.collect_view();
    waits.then(|| {
        view! {
            <section class="sec outing-part"><div class="sec-h"><h2>{t!("waits-to-sign")}</h2></div><ul class="waits">{rows}</ul></section>
        }
        .into_any()
    })
}

/// One outing that waits.
#[component]
pub(crate) fn PlannedScreen() -> impl IntoView {
    let (yard, params, go) = (yard(), route::params(), goer());
    let machine = Memo::new(move |_| params.read().get("machine").unwrap_or_default());
    let plan = Memo::new(move |_| params.read().get("plan").unwrap_or_default());
    let deciding = RwSignal::new(false);
    let of = Memo::new(move |_| {
        let wanted = plan.get();
        waits(&yard, &machine.get()).into_iter().find(|of| of.id.to_string() == wanted).map(Arc::new)
    });
    let signing = Signing::new(yard, machine, of, deciding);
    let back = move |_| go.get_value()(&format!("/machines/{}/outing", machine.get()));
    let body = move || match of.get() {
        Some(of) => {
            view! { <main tabindex="0">{told(yard, &of, signing.ticked)}{form(signing)}</main>{foot(signing, &of)} }
                .into_any()
        }
        None if yard.machine(&machine.get()).is_some() => {
            view! { <main><section class="sec"><h1>{t!("outing")}</h1><p>{t!("waits-no-more")}</p></section></main> }
                .into_any()
        }
        None => view! { <main><Lacking title=t!("outing")/></main> }.into_any(),
    };
    let signed = UnsyncCallback::new(move |()| {
        after(signing.sign(), move |done| {
            deciding.set(false);
            match done {
                Ok(()) => {
                    toast(t!("released"));
                    go.get_value()(&format!("/machines/{}", machine.get_untracked()));
                }
                Err(why) => signing.trouble.set(Some(why.to_string())),
            }
        });
    });
    let cancel = UnsyncCallback::new(move |()| deciding.set(false));
    view! {
        <div class="phone touch">
            <header class="bar">
                <button class="hit" aria-label=t!("to-the-outing") on:click=back><Icon name="back"/></button>
                <div class="id"><b>{machine}</b><span>{move || of.get().map(|of| of.kept.model.clone())}</span></div>
                <span class="sub opt">{t!("outing")}</span>
            </header>
            <Banner/>
            {body}
            {move || deciding.get().then(|| view! { <PinSheet what=t!("sign-release") signed cancel/> })}
        </div>
    }
}

/// What is asked before it is signed.
#[derive(Clone, Copy)]
struct Signing {
    yard: Yard,
    machine: Memo<String>,
    of: Memo<Option<Arc<Waiting>>>,
    deciding: RwSignal<bool>,
    ticked: Ticked,
    reason: RwSignal<String>,
    trouble: RwSignal<Option<String>>,
}

impl Signing {
    fn new(yard: Yard, machine: Memo<String>, of: Memo<Option<Arc<Waiting>>>, deciding: RwSignal<bool>) -> Self {
        Self {
            yard,
            machine,
            of,
            deciding,
            ticked: RwSignal::new(BTreeSet::new()),
            reason: RwSignal::new(String::new()),
            trouble: RwSignal::new(None),
        }
    }

    async fn sign(self) -> Result<(), NotDone> {
        let of = self.of.get_untracked().ok_or_else(|| NotDone(t!("waits-no-more")))?;
        let reason = self.reason.get_untracked().trim().to_owned();
        let before = of.asks.before.iter().map(|ask| ask.what.clone());
        let done = self.ticked.with_untracked(|ticked| before.filter(|what| ticked.contains(what)).collect());
        let asked = Release {
            machine: self.machine.get_untracked(),
            outing: of.planned.name.clone(),
            planned: Some(of.id.to_string()),
            uses: of.planned.uses.iter().map(ToString::to_string).collect(),
            riders: of.planned.riders.iter().map(ToString::to_string).collect(),
            from: clock::now().to_string(),
            to: of.planned.to.to_string(),
            reason: Some(reason).filter(|reason| !reason.is_empty()),
            done,
            ..Release::default()
        };
        self.yard.act(Asked::Release(asked)).await.map(|_| ())
    }
}

/// The plate, what it came to, what to set and do.
fn told(yard: Yard, of: &Waiting, ticked: Ticked) -> AnyView {
    let units = yard.with(|held| held.known().yard.units).unwrap_or_default();
    let verdict = of.asks.verdict;
    let stops: Vec<String> = of.asks.stops.iter().map(|stop| small(&stop.name)).collect();
    let machine =
        of.judgement.uses.iter().filter(|own| of.planned.uses.contains(&own.one)).map(|own| own.verdict).max();
    let stops = match (stops.is_empty(), machine) {
        (true, Some(own)) if own >= Verdict::Unseen => t!("the-machine-itself"),
        _ => stops.join(", "),
    };
    let says = match verdict {
        Verdict::Fit => t!("outing-fit"),
        Verdict::Watch => t!("outing-watch-planned"),
        Verdict::Unseen => t!("outing-unseen", what = stops),
        Verdict::Hold => t!("outing-hold", what = stops),
    };
    let own = of.judgement.uses.iter().filter(|own| of.planned.uses.contains(&own.one)).map(use_of).collect_view();
    let riders = of.planned.riders.iter().map(|rider| yard.name(rider.as_str())).collect::<Vec<_>>().join(", ");
    let riders = if riders.is_empty() { t!("rider-not-said") } else { riders };
    let uses = of.planned.uses.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
    let by = t!("planned-by", who = yard.name(of.by.0.as_str()), at = when(of.by.1));
    let boxes = of.asks.before.iter().map(|ask| tick(ask.what.clone(), ticked)).collect_view();
    let next = of.asks.next.iter().map(|what| view! { <li>{what.clone()}</li> }).collect_view();
    let which = |at: usize| match (of.kept.outings.len(), at) {
        (1, _) => t!("what-to-set"),
        (_, 0) => t!("set-for-heaviest"),
        _ => t!("set-for-lightest"),
    };
    let outings = of.kept.outings.iter().enumerate().map(|(at, of)| outing(of, which(at), units)).collect_view();
    view! {
        <div class=format!("plate plate--outing {verdict}") role="status">
            <svg class="glyph" width="44" height="44" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
            <div><h1 class="word">{verdict_word(verdict)}</h1><span class="uses in">{own}</span></div>
            <p class="plate-says" id="why">{says}</p>
        </div>
        <section class="sec outing-part">
            <div class="sec-h"><h2>{of.planned.name.clone()}</h2></div>
            <p>{t!("planned-riders", riders = riders, uses = uses, till = when(of.planned.to))}</p>
            <p class="cap">{by}" "{t!("no-mass-here")}</p>
            {(machine >= Some(Verdict::Unseen)).then(|| view! { <p><A href=format!("/machines/{}/summary", of.kept.machine) attr:class="btn btn--wide">{t!("look-at-its-verdict")}</A></p> })}
        </section>
        {outings}
        {(!of.asks.before.is_empty()).then(|| view! {
            <section class="sec outing-part"><div class="sec-h"><h2>{t!("before-leaving")}</h2></div>{boxes}</section>
        })}
        {(!of.asks.next.is_empty()).then(|| view! {
            <section class="sec outing-part"><div class="sec-h"><h2>{t!("next-stop")}</h2></div><ul class="next-stop">{next}</ul></section>
        })}
    }
    .into_any()
}

/// What to set for one rider, and each thing looked at with its verdict.
fn outing(of: &KeptOuting, title: String, units: Units) -> AnyView {
    let rows = of.settings.iter().map(|set| setting(set, units)).collect_view();
    // What tells why rests on the machine: the plate has it as it is now.
    let (fit, others): (Vec<&KeptItem>, Vec<&KeptItem>) =
        of.items.iter().filter(|item| item.says.is_none()).partition(|item| item.verdict == Verdict::Fit);
    let others = others.into_iter().map(item).collect_view();
    let names = fit.iter().map(|item| small(&item.name)).collect::<Vec<_>>().join(", ");
    let fit = (!fit.is_empty()).then(|| row(Verdict::Fit, verdict_word(Verdict::Fit), Some(names)));
    view! {
        <section class="sec outing-part"><div class="sec-h"><h2>{title}</h2></div>
            <table class="set"><tbody>{rows}</tbody></table>{others}{fit}</section>
    }
    .into_any()
}

fn setting(of: &KeptSetting, units: Units) -> AnyView {
    let is_front = of.wheel == "front";
    let tyre = if is_front { t!("front-tyre") } else { t!("rear-tyre") };
    let preload = if is_front { t!("front-preload") } else { t!("rear-preload") };
    let row = |name: String, set: String, was: Option<String>| {
        view! { <tr><th scope="row">{name}</th><td><b>{set}</b></td><td class="was">{was}</td></tr> }
    };
    let from = of.from_click.filter(|from| of.click != Some(*from)).map(|from| t!("is-now", value = from.to_string()));
    view! {
        {of.pressure_kpa.map(|kpa| row(tyre, pressure(kpa, units), None))}
        {of.click.map(|click| row(preload, t!("click-to", click = click), from))}
    }
    .into_any()
}

fn item(of: &KeptItem) -> AnyView {
    row(of.verdict, of.name.clone(), Some(small(&verdict_word(of.verdict))))
}

fn row(verdict: Verdict, head: String, rest: Option<String>) -> AnyView {
    let rest = rest.map(|rest| format!(": {rest}"));
    view! {
        <div class="orow"><svg class="glyph" width="20" height="20" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
            <span><b>{head}</b>{rest}</span></div>
    }
    .into_any()
}

/// Why it goes out all the same, and what stopped it from being signed.
fn form(of: Signing) -> AnyView {
    let yard = of.yard;
    let is_against = move || {
        let ticked = of.ticked.get();
        of.of.get().is_some_and(|of| {
            of.asks.verdict >= Verdict::Unseen || of.asks.before.iter().any(|ask| !ticked.contains(&ask.what))
        })
    };
    let asks_why = move || yard.has(Right::Override) && yard.may(Kind::Released) && is_against();
    let signer = move || yard.person().map(|me| t!("who-signs", who = yard.name(me.as_str())));
    view! {
        <section class="sec form">
            <Show when=asks_why>
                <label class="field"><span>{t!("reason-outing")}</span><textarea class="input" rows="2" bind:value=of.reason></textarea></label>
            </Show>
            <p class="asknown"><span>{signer}</span></p>
            {move || of.trouble.get().map(|why| view! { <p class="err" role="alert">{yard.told(&why)}</p> })}
        </section>
    }
    .into_any()
}

fn foot(of: Signing, waits: &Waiting) -> AnyView {
    let yard = of.yard;
    let against = waits.asks.verdict >= Verdict::Unseen;
    let may = yard.may(Kind::Released) && (!against || yard.has(Right::Override));
    let done = UnsyncCallback::new(move |()| {
        of.trouble.set(None);
        of.deciding.set(true);
    });
    let class = if against { "btn--wrap" } else { "btn--primary btn--wrap" };
    let button = match may {
        true => view! { <Press label=Signal::stored(t!("release")) hint=Signal::stored(t!("press-then-pin")) class done/> }.into_any(),
        false => view! { <button class="btn is-off" aria-disabled="true" aria-describedby="why" on:click=move |_| toast(t!("why-no-release"))>{t!("release")}</button> }.into_any(),
    };
    view! { <footer class="foot foot--one">{button}</footer> }.into_any()
}
