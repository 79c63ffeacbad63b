//! What runs out first over the whole yard, and what to order for the weeks ahead.

use jiff::civil::Date;
use leptos::{prelude::*, task::spawn_local};
use leptos_router::components::A;
use muster_core::{
    calendar::days_between,
    data,
    forecast::{
        falls::Falls,
        order::{NEAR, Needed, Wanted, likely, needed},
        practice::Practices,
        riding::Within,
    },
    sorted::sort_by,
    words::Use,
};

use super::machine::ahead::said;
use crate::{
    clock,
    pace::Pace,
    ui::{Banner, Mast, date_text, day_text},
    words::t,
    yard::{Yard, yard},
};

/// How many weeks may be looked ahead.
const WEEKS: [u16; 4] = [4, 8, 12, 26];

/// One part of one machine.
#[derive(Clone, Debug, PartialEq)]
struct Part {
    machine: String,
    part: String,
    name: String,
    order: Option<String>,
    /// Its last readings are past its limit.
    is_past: bool,
    /// Probability that its limit is met within the weeks.
    within: f64,
    /// Only of a part that is told of.
    told: Option<Told>,
}

/// What is said of a part that is likely to meet its limit within the weeks.
#[derive(Clone, Debug, PartialEq)]
struct Told {
    /// The day by which it is met with 50 %; none behind ten years.
    half: Option<Date>,
    /// Distance and day in words.
    says: String,
}

/// All that is to come of every machine.
#[derive(Clone, Debug, Default, PartialEq)]
struct All {
    worn: Vec<Part>,
    /// By age or distance alone, with the probability that it is due within the weeks.
    falls: Vec<(Falls, f64)>,
}

/// What runs out first, and what to order.
#[component]
pub(crate) fn WearScreen() -> impl IntoView {
    let yard = yard();
    let weeks = RwSignal::new(WEEKS[1]);
    // Looked at machine by machine, so that a press in between is answered; none while they are.
    let parts = RwSignal::new(None::<(u16, All)>);
    let machines = Memo::new(move |_| (yard.is_known(), yard.estimated(), yard.machines()));
    Effect::new(move || {
        let ((_, _, ids), weeks) = (machines.get(), weeks.get());
        parts.set(None);
        spawn_local(async move {
            let (pace, mut found) = (Pace::begin(), All::default());
            // Nothing is judged before the rules are there; a test reads these: a released app has nothing wrong.
            let practices = if ids.is_empty() { None } else { data::practices(&yard.rules().catalogue).ok() };
            let practices: Practices = practices.unwrap_or_default();
            for id in ids {
                found.worn.extend(untrack(|| of_machine(yard, &id, weeks)));
                found.falls.extend(untrack(|| yard.falling(&id, &practices, i32::from(weeks) * 7)));
                pace.rest().await;
            }
            sort_by(&mut found.worn, |a, b| (sooner(a), &a.machine, &a.name).cmp(&(sooner(b), &b.machine, &b.name)));
            sort_by(&mut found.falls, |(a, _), (b, _)| {
                (a.first, &a.machine, &a.name).cmp(&(b.first, &b.machine, &b.name))
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
                    (_, None) => view! { <p role="status">{t!("wear-looking")}</p> }.into_any(),
                    ((_, on, _), Some((weeks, all))) => told(weeks, &all, on.as_deref()),
                }}
            </main>
        </div>
    }
}

/// The sooner first; what is not within ten years, or not told of, last.
fn sooner(part: &Part) -> (bool, Option<Date>) {
    let half = part.told.as_ref().and_then(|told| told.half);
    (half.is_none(), half)
}

fn of_machine(yard: Yard, id: &str, weeks: u16) -> Vec<Part> {
    yard.foretold(id, Use::Road, |coming| {
        let known = coming.forecast.known;
        let within = coming.meets(Within { km: None, days: Some(f64::from(weeks) * 7.0) });
        Part {
            machine: id.to_owned(),
            part: known.part.clone(),
            name: known.name.clone(),
            is_past: coming.past.is_some(),
            order: known.order.clone(),
            within,
            told: (within >= NEAR).then(|| Told { half: coming.half_day(), says: said(yard, coming) }),
        }
    })
}

fn told(weeks: u16, all: &All, on: Option<&str>) -> AnyView {
    let worn = all.worn.iter().filter_map(|of| Some((of.order.as_deref()?, &of.machine, &of.part, of.within)));
    let due = all.falls.iter().filter_map(|(of, p)| Some((of.order.as_deref()?, &of.machine, &of.part, *p)));
    let wanted = worn.chain(due).map(|(name, machine, part, p)| Wanted { name, machine, part, p });
    let near: Vec<(&Part, &Told)> = all.worn.iter().filter_map(|part| Some((part, part.told.as_ref()?))).collect();
    let worn = match on {
        Some(_) => first(weeks, &near, all.worn.len() - near.len()),
        None => view! { <p class="notice notice--wide dash"><span aria-hidden="true">"–"</span><span>{t!("wear-none")}</span></p> }.into_any(),
    };
    view! {
        {ordered(weeks, needed(wanted))}
        {worn}
        {falls(&all.falls)}
        {on.map(|on| view! { <p class="cap">{t!("wear-by", on = day_text(on))}</p> })}
    }
    .into_any()
}

/// What is due by age or distance within the weeks.
fn falls(all: &[(Falls, f64)]) -> AnyView {
    let near: Vec<_> = all.iter().filter(|(_, p)| *p >= NEAR).collect();
    let rows = near.iter().map(|(one, p)| {
        let (id, is_over) = (one.machine.clone(), *p >= 1.0);
        let says = falls_says(one);
        view! {
            <tr>
                <th scope="row" class="no"><A href=format!("/machines/{id}")>{id.clone()}</A></th>
                <td>{one.name.clone()}</td>
                <td class="n"><b>{if is_over { t!("wear-due") } else { likely(*p) }}</b></td>
                <td>{says}</td>
            </tr>
        }
    });
    let table = (!near.is_empty()).then(|| view! {
        <table class="t">
            <thead><tr><th scope="col">{t!("col-number")}</th><th scope="col">{t!("wear-col-part")}</th><th scope="col" class="n">{t!("wear-col-due")}</th><th scope="col">{t!("wear-col-counts")}</th></tr></thead>
            <tbody>{rows.collect_view()}</tbody>
        </table>
    });
    let none = near.is_empty().then(|| view! { <p class="nothing cap">{t!("wear-falls-none")}</p> });
    view! {
        <section aria-labelledby="falls">
            <div class="rulehead rulehead--gap"><h2 id="falls">{t!("wear-falls")}</h2><span class="cap">{t!("wear-falls-cap")}</span></div>
            {table}
            {none}
        </section>
    }
    .into_any()
}

/// Till when it is good by age, when its distance is ridden, and from when that counts.
fn falls_says(one: &Falls) -> String {
    let is_over = one.by_age.is_some_and(|on| days_between(clock::now().date(), on) < 0);
    let age = one.by_age.map(|on| match (is_over, one.age_is_practice) {
        (false, false) => t!("wear-fall-age", on = date_text(on)),
        (false, true) => t!("wear-fall-age-practice", on = date_text(on)),
        (true, false) => t!("wear-fall-overdue", on = date_text(on)),
        (true, true) => t!("wear-fall-overdue-practice", on = date_text(on)),
    });
    let distance = one.by_distance[1].map(|on| t!("wear-fall-distance", on = date_text(on)));
    let since = t!("wear-fall-since", on = date_text(one.since));
    age.into_iter().chain(distance).chain([since]).collect::<Vec<_>>().join(" ")
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

fn first(weeks: u16, near: &[(&Part, &Told)], later: usize) -> AnyView {
    let rows = near.iter().map(|(part, told)| {
        let id = part.machine.clone();
        view! {
            <tr>
                <th scope="row" class="no"><A href=format!("/machines/{id}")>{id.clone()}</A></th>
                <td>{part.name.clone()}</td>
                <td class="n"><b>{if part.is_past { t!("wear-past") } else { likely(part.within) }}</b></td>
                <td>{told.says.clone()}</td>
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
