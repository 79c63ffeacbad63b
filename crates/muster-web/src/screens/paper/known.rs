//! Papers that are known: what each is, who printed it when, what it rests on, what has come after it.

use leptos::prelude::*;
use leptos_router::components::A;
use muster_core::calendar::Moment;
use muster_wire::paper::IssuedView;

use crate::{
    ui::{Icon, when},
    words::t,
    yard::yard,
};

/// Each paper, and what all of it does not prove.
pub(super) fn papers(issued: &[IssuedView], proves_not: &[String]) -> AnyView {
    let each = issued.iter().map(one).collect_view();
    let proves_not = proves_not.iter().map(|says| view! { <li>{says.clone()}</li> }).collect_view();
    view! {
        {each}
        <details class="more"><summary class="btn btn--sm">{t!("proves-not")}</summary><ul>{proves_not}</ul></details>
    }
    .into_any()
}

fn one(of: &IssuedView) -> AnyView {
    let who = of.name.clone().unwrap_or_else(|| yard().name(&of.person));
    let at = Moment::parse(&of.at).map_or_else(|_| of.at.clone(), when);
    let about = match (of.machine.clone(), of.tags.is_empty()) {
        (Some(machine), _) => view! { " " <A href=format!("/machines/{machine}")>{machine.clone()}</A> }.into_any(),
        (None, false) => view! { " " {of.tags.join(", ")} }.into_any(),
        (None, true) => ().into_any(),
    };
    let rests = of.rests_on_event.as_ref().map(|event| {
        let hash = of.rests_on.clone().unwrap_or_default();
        view! { <p><A href=format!("/records/{event}#{hash}")>{t!("paper-rests-on")}</A></p> }
    });
    let since = of.since.iter().map(|since| view! { <li>{since.clone()}</li> }).collect_view();
    let since = (!of.since.is_empty()).then(|| view! { <p><b>{t!("since-then")}</b></p><ul>{since}</ul> });
    view! {
        <article class="reason">
            <Icon name="find" size=22/>
            <div>
                <h3>{of.document.replace('-', " ")} {about}</h3>
                <p>{t!("paper-by", who = who, at = at)} " " <A href=format!("/records/{}", of.event)>{t!("record")}</A></p>
                {rests}
                {since}
            </div>
        </article>
    }
    .into_any()
}
