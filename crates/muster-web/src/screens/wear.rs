//! What runs out first over the whole yard, and what to order for the weeks ahead.

use leptos::{prelude::*, task::spawn_local};
use leptos_router::components::A;
use muster_core::{
    calendar::days_between,
    forecast::{
        order::{NEAR, Needed, likely, needed},
        riding::Within,
    },
    sorted::sort_by,
    words::Use,
};

use super::machine::ahead::said;
use crate::{
    pace::Pace,
    ui::{Banner, Mast, day_text},
    words::t,
    yard::{Yard, yard},
};

/// How many weeks may be looked ahead.
const WEEKS: [u16; 4] = [4, 8, 12, 26];

/// One part of one machine.
#[derive(Clone, Debug, PartialEq)]
struct Part {
    machine: String,
    name: String,
    order: Option<String>,
    /// For sorting: less is sooner.
    days: f64,
    /// Probability that its limit is met within the weeks.
    within: f64,
    /// Distance and day in words; only of a part that is told of.
    says: String,
}

/// What runs out first, and what to order.
#[component]
pub(crate) fn WearScreen() -> impl IntoView {
    let yard = yard();
    let weeks = RwSignal::new(WEEKS[1]);
    // Looked at machine by machine, so that a press in between is answered; none while they are.
    let parts = RwSignal::new(None::<(u16, Vec<Part>)>);
    let machines = Memo::new(move |_| (yard.is_known(), yard.estimated(), yard.machines()));
    Effect::new(move || {
        let ((_, _, ids), weeks) = (machines.get(), weeks.get());
        parts.set(None);
        spawn_local(async move {
            let (pace, mut found) = (Pace::begin(), Vec::new());
            for id in ids {
                found.extend(untrack(|| of_machine(yard, &id, weeks)));
                pace.rest().await;
            }
            sort_by(&mut found, |a, b| {
                a.days.total_cmp(&b.days).then_with(|| (&a.machine, &a.name).cmp(&(&b.machine, &b.name)))
            });
            parts.try_set(Some((weeks, found)));
        });
    });
    let one = move |count: u16| {
        view! {
            <button aria-pressed=move || (weeks.get() == count).to_string() on:click=move |_| weeks.set(count)>{t!("wear-weeks", count = count)}</button>
        }
    };
    view! {
        <div class="desk desk--page touchable">
            <Mast title=t!("wear") back="/"/>
            <Banner/>
            <main class="pagebody wear">
                <h1 class="pageh">{t!("wear")}</h1>
                <p class="cap">{t!("wear-cautions")}</p>
                <div class="seg seg--sm" role="group" aria-label=t!("wear-how-far")>{WEEKS.map(one).into_iter().collect_view()}</div>
                {move || match (machines.get(), parts.get().filter(|(of, _)| *of == weeks.get())) {
                    ((false, ..), _) => view! { <p role="status">{t!("yard-fetched")}</p> }.into_any(),
                    ((_, None, _), _) => view! { <p class="notice notice--wide dash"><span aria-hidden="true">"–"</span><span>{t!("wear-none")}</span></p> }.into_any(),
                    (_, None) => view! { <p role="status">{t!("wear-looking")}</p> }.into_any(),
                    ((_, Some(on), _), Some((weeks, parts))) => told(weeks, &parts, &on),
                }}
            </main>
        </div>
    }
}

fn of_machine(yard: Yard, id: &str, weeks: u16) -> Vec<Part> {
    yard.foretold(id, Use::Road, |coming| {
        let known = coming.forecast.known;
        let within = coming.meets(Within { km: None, days: Some(f64::from(weeks) * 7.0) });
        Part {
            machine: id.to_owned(),
            name: known.name.clone(),
            order: known.order.clone(),
            days: coming.half_day().map_or(f64::INFINITY, |on| days_between(coming.today, on) as f64),
            within,
            says: if within >= NEAR { said(yard, coming) } else { String::new() },
        }
    })
}

fn told(weeks: u16, parts: &[Part], on: &str) -> AnyView {
    let orders = parts.iter().filter_map(|part| Some((part.order.as_deref()?, part.machine.as_str(), part.within)));
    let (near, later): (Vec<&Part>, Vec<&Part>) = parts.iter().partition(|part| part.within >= NEAR);
    view! {
        {ordered(weeks, needed(orders))}
        {first(weeks, &near, later.len())}
        <p class="cap">{t!("wear-by", on = day_text(on))}</p>
    }
    .into_any()
}

fn ordered(weeks: u16, needed: Vec<Needed>) -> AnyView {
    let head = t!("wear-order", count = weeks);
    if needed.is_empty() {
        return view! { <section aria-labelledby="order"><div class="rulehead"><h2 id="order">{head}</h2></div><p class="nothing cap">{t!("wear-order-none")}</p></section> }
            .into_any();
    }
    let rows = needed.into_iter().map(|Needed { name, expected, machines }| {
        let each = machines.into_iter().map(|(id, p)| view! {
            <span class="nb"><A href=format!("/machines/{id}")>{id.clone()}</A> " " {likely(p)}</span> " "
        });
        view! { <tr><th scope="row">{name}</th><td class="n"><b>{format!("{expected:.1}")}</b></td><td class="whose">{each.collect_view()}</td></tr> }
    });
    view! {
        <section aria-labelledby="order">
            <div class="rulehead"><h2 id="order">{head}</h2><span class="cap">{t!("wear-order-cap")}</span></div>
            <table class="t">
                <thead><tr><th scope="col">{t!("wear-col-part")}</th><th scope="col" class="n">{t!("wear-col-expected")}</th><th scope="col">{t!("wear-col-where")}</th></tr></thead>
                <tbody>{rows.collect_view()}</tbody>
            </table>
        </section>
    }
    .into_any()
}

fn first(weeks: u16, near: &[&Part], later: usize) -> AnyView {
    let rows = near.iter().map(|part| {
        let id = part.machine.clone();
        view! {
            <tr>
                <th scope="row" class="no"><A href=format!("/machines/{id}")>{id.clone()}</A></th>
                <td>{part.name.clone()}</td>
                <td class="n"><b>{likely(part.within)}</b></td>
                <td>{part.says.clone()}</td>
            </tr>
        }
    });
    let table = (!near.is_empty()).then(|| view! {
        <table class="t">
            <thead><tr><th scope="col">{t!("col-number")}</th><th scope="col">{t!("wear-col-part")}</th><th scope="col" class="n">{t!("wear-col-within", count = weeks)}</th><th scope="col">{t!("wear-col-when")}</th></tr></thead>
            <tbody>{rows.collect_view()}</tbody>
        </table>
    });
    view! {
        <section aria-labelledby="first">
            <div class="rulehead rulehead--gap"><h2 id="first">{t!("wear-first")}</h2><span class="cap">{t!("wear-first-cap")}</span></div>
            {table}
            <p class="cap">{t!("wear-later", count = later, weeks = weeks)}</p>
        </section>
    }
    .into_any()
}
