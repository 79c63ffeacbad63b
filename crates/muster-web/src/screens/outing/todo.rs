//! What is to be done before leaving and at the next stop: settings with now beside set, each ticked when made.

use std::collections::BTreeSet;

use leptos::prelude::*;
use muster_core::{
    judge::Judgement,
    outing::{Assessment, Item, When, bound::asked},
    yard::Units,
};
use muster_draw::number::{figure_text, with_unit};

use super::told::pressure;
use crate::{ui::Icon, words::t, yard::yard};

/// What is ticked, in the core's words.
pub(crate) type Ticked = RwSignal<BTreeSet<String>>;

/// Where what is to be done stands on the page.
pub(super) const ID: &str = "before-leaving";

/// One thing to set: its name, the value, what it is now, and what is asked; nothing where it is as it is to be.
struct Set {
    name: String,
    set: String,
    now: Option<String>,
    asks: Option<String>,
}

/// Before leaving, then at the next stop.
pub(super) fn todo(of: &Assessment, judgement: &Judgement, units: Units, ticked: Ticked) -> AnyView {
    let sets: Vec<Set> = of.items.iter().filter_map(|item| set(of, item, judgement, units)).collect();
    let in_table: Vec<&String> = sets.iter().filter_map(|set| set.asks.as_ref()).collect();
    let others: Vec<String> =
        asked(std::slice::from_ref(of)).into_iter().filter(|what| !in_table.contains(&what)).collect();
    let rows = sets.into_iter().map(|set| row(set, ticked)).collect_view();
    let boxes = others.into_iter().map(|what| tick(what, ticked)).collect_view();
    let next = of.at_the_next_stop.iter().map(|what| view! { <li>{what.clone()}</li> }).collect_view();
    let has_next = !of.at_the_next_stop.is_empty();
    view! {
        <section class="sec outing-part" id=ID>
            <div class="sec-h"><h2>{t!("before-leaving")}</h2></div>
            <table class="set"><tbody>{rows}</tbody></table>
            {boxes}
        </section>
        {has_next.then(|| view! {
            <section class="sec outing-part"><div class="sec-h"><h2>{t!("next-stop")}</h2></div><ul class="next-stop">{next}</ul></section>
        })}
    }
    .into_any()
}

/// A line to tick.
pub(crate) fn tick(what: String, ticked: Ticked) -> AnyView {
    let says = yard().told(&what);
    let (own, set) = (what.clone(), what);
    let on = move || ticked.with(|all| all.contains(&own));
    let turn = move |event| {
        let on = event_target_checked(&event);
        ticked.update(|all| _ = if on { all.insert(set.clone()) } else { all.remove(&set) });
    };
    view! { <label class="tickbox"><input type="checkbox" prop:checked=on on:change=turn/><span>{says}</span></label> }
        .into_any()
}

fn row(set: Set, ticked: Ticked) -> AnyView {
    let Set { name, set: value, now, asks } = set;
    let Some(asks) = asks else {
        return view! {
            <tr><th scope="row">{name}</th><td>{value}</td><td class="was">{t!("as-it-is")}</td><td><Icon name="tick" size=20/></td></tr>
        }
        .into_any();
    };
    let (own, turned, label) = (asks.clone(), asks.clone(), asks);
    let on = move || ticked.with(|all| all.contains(&own)).to_string();
    let turn = move |_| {
        ticked.update(|all| {
            if !all.remove(&turned) {
                all.insert(turned.clone());
            }
        });
    };
    let now = now.map(|now| t!("is-now", value = now));
    view! {
        <tr class="act"><th scope="row">{name}</th><td><b>{value}</b></td><td class="was">{now}</td>
            <td><button type="button" class="box" role="checkbox" aria-checked=on aria-label=label on:click=turn></button></td></tr>
    }
    .into_any()
}

/// A thing to set among the items.
fn set(of: &Assessment, item: &Item, judgement: &Judgement, units: Units) -> Option<Set> {
    let (kind, wheel) = item.id.split_once('.')?;
    let asks = item.todo.iter().find(|todo| todo.when == When::BeforeLeaving).map(|todo| todo.what.clone());
    let setting = of.figures.settings.iter().find(|of| of.wheel == wheel);
    match kind {
        "pressure" => {
            let set = pressure(setting?.pressure_kpa?, units);
            let name = if wheel == "front" { t!("front-tyre") } else { t!("rear-tyre") };
            Some(Set { name, set, now: read(judgement, &format!("tyre.{wheel}.pressure")), asks })
        }
        "springs" => {
            let (to, from) = (setting?.click?, setting?.from_click?);
            let name = if wheel == "front" { t!("front-preload") } else { t!("rear-preload") };
            let now = Some(from.to_string());
            Some(Set { name, set: t!("click-to", click = to), now, asks: asks.filter(|_| to != from) })
        }
        _ => None,
    }
}

/// What a check read last.
fn read(judgement: &Judgement, check: &str) -> Option<String> {
    let outcome = judgement.uses.iter().flat_map(|of| &of.outcomes).find(|outcome| outcome.check == check)?;
    let figure = outcome.figure.as_ref()?;
    Some(with_unit(&figure_text(figure.value, figure.decimals), figure.unit))
}
