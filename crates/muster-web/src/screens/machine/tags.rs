//! Hold tags, service state, and what contradicts itself: each with the act that settles it.

use futures_util::FutureExt as _;
use leptos::prelude::*;
use muster_core::{
    record::{
        machine_state::{Contradiction, MachineState},
        payload::{CallNoted, Kind, Payload, ServiceChanged, Settled},
    },
    words::Service,
};
use muster_wire::command::Asked;

use super::act::{Act, Doing, Field, nothing, nth, optional};
use crate::{
    screens::records::sentence,
    ui::{Icon, when},
    words::t,
    yard::yard,
};

/// The hold tags that hang.
pub(super) fn tags(state: &MachineState) -> AnyView {
    let yard = yard();
    let hanging: Vec<_> = state
        .hanging()
        .map(|(id, of)| {
            let number = of
                .hung
                .number
                .as_ref()
                .map(|number| t!("its-tag-number", number = number.as_str()))
                .unwrap_or_default();
            view! {
                <article class="reason">
                    <Icon name="tag" size=22/>
                    <div>
                        <h3>{of.hung.why.clone()}</h3>
                        <p>{t!("tag-by", by = yard.name(of.by.0.as_str()), at = when(of.by.1))} " " {number}</p>
                        <p class="mono cap">{id.to_string()}</p>
                    </div>
                </article>
            }
        })
        .collect();
    let count = hanging.len();
    view! {
        <div class="rulehead"><h2>{t!("hold-tags")}</h2><span class="cap">{count}</span></div>
        {if hanging.is_empty() { nothing() } else { hanging.into_iter().collect_view().into_any() }}
    }
    .into_any()
}

/// What hangs one, and what lifts those that hang, each by naming it.
pub(super) fn tag_acts(state: &MachineState) -> AnyView {
    let yard = yard();
    let names = state.hanging().map(|(id, of)| (id.to_string(), of.hung.why.clone())).collect::<Vec<_>>();
    let (hangs, lifts) = (state.machine.clone(), state.machine.clone());
    let tag: Doing = Box::new(move |answers| {
        let asked = Asked::Tag { machine: hangs.clone(), why: nth(&answers, 0), number: optional(&nth(&answers, 1)) };
        async move { yard.act(asked).await.map(drop) }.boxed_local()
    });
    let untag: Doing = Box::new(move |answers| {
        let named = nth(&answers, 0).split(' ').filter(|id| !id.is_empty()).map(str::to_owned).collect();
        let asked = Asked::Untag { machine: lifts.clone(), lifts: named, reason: nth(&answers, 1) };
        async move { yard.act(asked).await.map(drop) }.boxed_local()
    });
    let may_lift = !names.is_empty() && yard.may(Kind::Untagged);
    view! {
            <div class="acts-row">
                {yard.may(Kind::Tagged).then(|| view! {
                    <Act label=t!("its-hang-tag") class="btn btn--sm btn--hold" fields=vec![Field::Text(t!("its-why"), true), Field::Text(t!("number-printed"), false)] doing=tag done=t!("its-tag-hung") signs=t!("sign-tag")/>
                })}
                {may_lift.then(|| view! {
                    <Act label=t!("untag") fields=vec![Field::Ticks(t!("which-tags"), names), Field::Text(t!("its-why"), true)] doing=untag done=t!("tag-lifted") signs=t!("sign-untag")/>
                })}
            </div>
    }
    .into_any()
}

/// Whether it is asked for at all; and kept as it is after a crash.
pub(super) fn service_state(state: &MachineState) -> AnyView {
    let yard = yard();
    let id = state.machine.clone();
    let by_file = yard.with(|held| held.known().yard.machines.get(&id).map(|machine| machine.service)).flatten();
    let now = state.service.map(|(service, _)| service).or(by_file).unwrap_or(Service::InService);
    let replaces = state.service.map(|(_, event)| event);
    let (changes, keeps) = (id.clone(), id);
    let change: Doing = Box::new(move |answers| {
        let state = nth(&answers, 0).parse().unwrap_or(now);
        let payload = ServiceChanged { machine: changes.clone(), state, why: optional(&nth(&answers, 1)), replaces };
        async move { yard.write(payload).await.map(drop) }.boxed_local()
    });
    let impound: Doing = Box::new(move |answers| {
        let asked = Asked::Impound { machine: keeps.clone(), why: nth(&answers, 0) };
        async move { yard.act(asked).await.map(drop) }.boxed_local()
    });
    // Impounding is an act of its own, with what was known then.
    let states = Service::ALL.iter().filter(|of| **of != now && **of != Service::Impounded);
    let states = states.map(|of| (of.to_string(), of.to_string())).collect();
    let why = state.impounded.as_ref().map(|(_, of)| of.why.clone());
    view! {
        <section class="part-of">
            <div class="rulehead"><h2>{t!("service-state")}</h2><span class="cap">{now.as_str()}</span></div>
            {why.map(|why| view! { <p class="notice dash"><Icon name="lock" size=22/><span>{t!("impounded-why", why = why)}</span></p> })}
            <div class="acts-row">
                {yard.may(Kind::ServiceChanged).then(|| view! {
                    <Act label=t!("change-service") fields=vec![Field::Choice(t!("from-now"), states), Field::Text(t!("its-why"), false)] doing=change done=t!("service-changed")/>
                })}
                {(yard.may(Kind::Impounded) && now != Service::Impounded).then(|| view! {
                    <Act label=t!("impound") fields=vec![Field::Text(t!("its-why"), true)] doing=impound done=t!("impounded-done")/>
                })}
            </div>
        </section>
    }
    .into_any()
}

/// What cannot both be, and a way to settle it.
pub(super) fn contradictions(state: &MachineState) -> AnyView {
    let yard = yard();
    state
        .contradictions()
        .into_iter()
        .map(|of| {
            let events = of.events();
            let told = yard.with(|held| {
                let named = events.iter().filter_map(|id| held.event(*id));
                named.map(|event| t!("at-by", what = sentence(yard, event), by = yard.name(event.author.as_str()), at = when(event.at))).collect::<Vec<_>>()
            });
            let told = told.unwrap_or_default().into_iter().map(|line| view! { <li>{line}</li> }).collect_view();
            let machine = state.machine.clone();
            let (label, ask, head) = match &of {
                Contradiction::OutAgainstTag { .. } => (t!("note-call"), t!("call-answer"), t!("out-against-tag")),
                Contradiction::OutTwice { .. } => (t!("settle"), t!("how-settled"), t!("out-twice")),
                Contradiction::TagUnseen { .. } => (t!("settle"), t!("how-settled"), t!("tag-unseen")),
                Contradiction::ChangedApart { .. } => (t!("settle"), t!("how-settled"), t!("changed-apart")),
            };
            // A tag is lifted by name, a machine taken back: only what was changed apart is settled by saying how.
            let by_saying = matches!(of, Contradiction::OutAgainstTag { .. } | Contradiction::ChangedApart { .. });
            let settle: Doing = Box::new(move |answers| {
                let (machine, said) = (machine.clone(), nth(&answers, 0));
                let payload: Payload = match &of {
                    Contradiction::OutAgainstTag { tag, release } => {
                        CallNoted { machine, tag: *tag, release: *release, answer: said }.into()
                    }
                    of => Settled { machine, events: of.events(), how: said }.into(),
                };
                async move { yard.write(payload).await.map(drop) }.boxed_local()
            });
            view! {
                <div class="notice clashes" role="alert">
                    <Icon name="warn" size=24/>
                    <div>
                        <b>{head}</b>
                        <ul>{told}</ul>
                        {by_saying.then(|| view! { <Act label=label fields=vec![Field::Text(ask, true)] doing=settle done=t!("settled")/> })}
                    </div>
                </div>
            }
        })
        .collect_view()
        .into_any()
}
