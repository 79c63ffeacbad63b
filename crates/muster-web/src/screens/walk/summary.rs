//! What a machine comes to after its walk-round: may it go out, why, and the decision.

use std::sync::Arc;

use leptos::prelude::*;
use leptos_router::components::A;
use muster_core::{
    form::Form,
    judge::{Judgement, UseVerdict, Verdict},
    record::payload::{JobOpened, Kind, Right},
    words::Use,
};

use super::{
    about::About,
    reasons::reasons,
    release::{Leave, LeaveForm},
    start::{depth_word, use_word},
    tag::{Hanging, TagAsked, TagForm, Workshop, clears},
    walking::{Goer, goer},
};
use crate::{
    route,
    screens::paper::of_walk,
    ui::{Banner, Icon, Lacking, PinSheet, Press, after, toast, verdict_word},
    words::t,
    yard::{NotDone, yard},
};

/// What is being decided.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Deciding {
    /// Nothing yet: the verdict is read.
    Nothing,
    /// A release is signed.
    Release,
    /// A tag is written.
    Tag,
    /// A tag is signed.
    TagSigned,
}

/// The verdict.
#[component]
pub(crate) fn SummaryScreen() -> impl IntoView {
    let (yard, params) = (yard(), route::params());
    let id = Memo::new(move |_| params.read().get("machine").unwrap_or_default());
    let there = Memo::new(move |_| yard.machine(&id.get()).is_some());
    let body = move || match there.get() {
        true => view! { <Summary id=id.get()/> }.into_any(),
        false => view! { <main><Lacking title=t!("verdict")/></main> }.into_any(),
    };
    view! { <div class="phone touch">{body}</div> }
}

#[component]
fn Summary(id: String) -> impl IntoView {
    let (yard, go) = (yard(), goer());
    let machine = StoredValue::new(id.clone());
    let leave = untrack(|| Leave::of(&yard, &id));
    let judgement = Memo::new(move |_| leave.judged(&yard, &machine.get_value()));
    let deciding = RwSignal::new(Deciding::Nothing);
    let tag = untrack(|| TagAsked::of(judgement.get().as_deref(), leave.one.get()));
    let model = move || judgement.get().map(|of| of.model.clone()).unwrap_or_default();
    let odometer = move || {
        let km = yard.machine(&machine.get_value())?.state.odometer()?.km();
        Some(yard.way(km))
    };
    let to_machine = move || go.get_value()(&format!("/machines/{}", machine.get_value()));
    let act = Act { machine, deciding, go };
    let signed = UnsyncCallback::new(move |()| match deciding.get_untracked() {
        Deciding::Release => act.run(async move { leave.sign(yard, machine.get_value()).await }, t!("released"), true),
        Deciding::TagSigned => act.run(async move { tag.hang(yard, machine.get_value()).await }, t!("tag-hung"), false),
        Deciding::Nothing | Deciding::Tag => {}
    });
    let cancel = UnsyncCallback::new(move |()| deciding.set(Deciding::Nothing));
    let sheet = move || match deciding.get() {
        Deciding::Nothing => ().into_any(),
        Deciding::Release => view! { <PinSheet what=t!("sign-release") signed cancel/> }.into_any(),
        Deciding::TagSigned => {
            view! { <TagSheet tag deciding/><PinSheet what=t!("sign-tag") signed cancel/> }.into_any()
        }
        Deciding::Tag => view! { <TagSheet tag deciding/> }.into_any(),
    };
    view! {
        <header class="bar">
            <button class="hit" aria-label=t!("to-the-machine") on:click=move |_| to_machine()><Icon name="back"/></button>
            <div class="id"><b>{id}</b><span>{model}</span></div>
            <span class="sub opt">{odometer}</span>
        </header>
        <Banner/>
        <div class="leg" hidden=move || matches!(deciding.get(), Deciding::Tag | Deciding::TagSigned)>
            <main tabindex="0"><Told machine leave judgement act/></main>
            <Decide machine leave judgement deciding/>
        </div>
        {sheet}
    }
}

/// Does what was decided, then says so.
#[derive(Clone, Copy)]
struct Act {
    machine: StoredValue<String>,
    deciding: RwSignal<Deciding>,
    go: Goer,
}

impl Act {
    fn run(self, done: impl Future<Output = Result<(), NotDone>> + 'static, says: String, leaves: bool) {
        after(done, move |done| {
            self.deciding.set(Deciding::Nothing);
            match done {
                Ok(()) => {
                    toast(says);
                    if leaves {
                        self.go.get_value()(&format!("/machines/{}", self.machine.get_value()));
                    }
                }
                Err(why) => toast(t!("not-written", why = why.to_string())),
            }
        });
    }
}

/// Plate, reasons, and what is to be filled in.
#[component]
fn Told(
    machine: StoredValue<String>,
    leave: Leave,
    judgement: Memo<Option<Arc<Judgement>>>,
    act: Act,
) -> impl IntoView {
    let yard = yard();
    let asks = UnsyncCallback::new(move |job: JobOpened| {
        act.run(async move { yard.write(job).await.map(|_| ()) }, t!("workshop-asked"), false);
    });
    let told = move || {
        let (of, one) = (judgement.get()?, leave.one.get());
        let own = of.uses.iter().find(|of| of.one == one)?.clone();
        let seen = untrack(|| About::of(&yard, &machine.get_value())).and_then(|about| walked(&about));
        let stops = own.verdict >= Verdict::Unseen;
        Some(view! {
            <Plate judgement=of.clone() own/>
            <Hanging machine/>
            <section class="sec">
                <h2 class="vh">{t!("reasons")}</h2>
                <p class="cap walked">{seen}</p>
                {reasons(&of, one)}
            </section>
            {stops.then(|| clears(&of, one))}
            {stops.then(|| view! { <Workshop machine one asks/> })}
        })
    };
    let one = leave.one;
    let uses = move || {
        Use::ALL.iter().map(|of| {
        let on = move || if one.get() == *of { "true" } else { "false" };
        view! { <button type="button" class="chip" aria-pressed=on on:click=move |_| one.set(*of)>{use_word(*of)}</button> }
    }).collect_view()
    };
    view! {
        {told}
        <section class="sec"><div class="sec-h"><h2>{t!("judged-for")}</h2></div><div class="chips" role="group" aria-label=t!("use")>{uses}</div></section>
        {yard.may(Kind::Released).then(|| view! {
            <p class="sec"><A href=format!("/machines/{}/outing", machine.get_value()) attr:class="btn btn--wide">{t!("work-outing-out")}</A></p>
        })}
        <LeaveForm leave judgement=Signal::derive(move || judgement.get())/>
        {move || yard.machine(&machine.get_value()).and_then(|seen| of_walk(&seen.state))}
    }
}

/// The last walk-round: depth, and how long it took.
fn walked(about: &About) -> Option<String> {
    let form: &Form = about.state.walk_rounds.values().map(|of| &of.form).max_by_key(|form| form.opened)?;
    let depth = depth_word(form.depth);
    let minutes = form.closed.map(|closed| (closed.seconds_since(form.opened) + 30) / 60);
    let answered: std::collections::BTreeSet<&str> = form.answers.iter().map(|answer| answer.check.as_str()).collect();
    Some(match minutes {
        Some(minutes) => t!("walked", depth = depth, count = answered.len(), minutes = minutes.max(1)),
        None => t!("walking", depth = depth, count = answered.len()),
    })
}

#[component]
fn Plate(judgement: Arc<Judgement>, own: UseVerdict) -> impl IntoView {
    let verdict = own.verdict;
    let use_says = use_word(own.one).to_lowercase();
    let count = |of: Verdict| own.reasons().filter(|reason| reason.verdict == of).count();
    let says = match verdict {
        Verdict::Fit => t!("may-go", one = use_says),
        Verdict::Watch => t!("may-go-watch", one = use_says, count = own.conditions.len().max(count(Verdict::Watch))),
        Verdict::Unseen => t!("not-known-fit", one = use_says, count = count(Verdict::Unseen)),
        Verdict::Hold => t!("must-not", one = use_says, holds = count(Verdict::Hold), unseen = count(Verdict::Unseen)),
    };
    let others: Vec<&UseVerdict> = judgement.uses.iter().filter(|of| of.one != own.one).collect();
    let differ = others.iter().any(|of| of.verdict != verdict);
    let word = |verdict: Verdict, says: String| {
        view! {
            <span class=format!("verdict {verdict}")><svg class="glyph" width="18" height="18" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg><span>{says}</span></span>
        }
    };
    let said =
        |of: &UseVerdict| format!("{} {}", use_word(of.one).to_lowercase(), verdict_word(of.verdict).to_lowercase());
    let uses = match (differ, verdict) {
        (true, _) => std::iter::once(&own).chain(others).map(|of| word(of.verdict, said(of))).collect_view().into_any(),
        (false, Verdict::Hold) => word(verdict, t!("hold-every-use")).into_any(),
        (false, _) => word(verdict, t!("same-every-use", verdict = verdict_word(verdict).to_lowercase())).into_any(),
    };
    view! {
        <div class=format!("plate {verdict}") role="status">
            <svg class="glyph" width="64" height="64" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
            <div><h1 class="word">{verdict_word(verdict)}</h1><p class="plate-says" id="why">{says}</p></div>
            <span class="uses">{uses}</span>
        </div>
    }
}

/// The foot: the tag, and the release.
#[component]
fn Decide(
    machine: StoredValue<String>,
    leave: Leave,
    judgement: Memo<Option<Arc<Judgement>>>,
    deciding: RwSignal<Deciding>,
) -> impl IntoView {
    let yard = yard();
    let own = move || {
        let (of, one) = (judgement.get()?, leave.one.get());
        of.uses.iter().find(|of| of.one == one).cloned()
    };
    let tagged = move || yard.machine(&machine.get_value()).is_some_and(|seen| seen.state.hanging().next().is_some());
    let sign = UnsyncCallback::new(move |()| {
        let ticked = untrack(own).is_some_and(|own| leave.is_ticked(&own.conditions));
        if ticked { deciding.set(Deciding::Release) } else { toast(t!("tick-first")) }
    });
    let foot = move || {
        let verdict = own().map_or(Verdict::Unseen, |own| own.verdict);
        let may = yard.may(Kind::Released) && !tagged() && (verdict < Verdict::Unseen || yard.has(Right::Override));
        let against = verdict >= Verdict::Unseen;
        let tag = if against { "btn btn--hold btn--lg btn--wrap" } else { "btn btn--wrap" };
        let (label, hint) =
            if against { (t!("release-against"), t!("press-then-pin")) } else { (t!("release"), t!("press-then-pin")) };
        let class = if against { "btn--wrap" } else { "btn--primary" };
        // What is to be done stands at the right, and is the larger.
        let release = move || {
            match may {
            true => view! { <Press label=Signal::stored(label.clone()) hint=Signal::stored(hint.clone()) class done=sign/> }.into_any(),
            false => view! { <button class="btn is-off" aria-disabled="true" aria-describedby="why" on:click=move |_| toast(t!("why-no-release"))>{t!("release")}</button> }.into_any(),
        }
        };
        view! {
            <footer class=if against { "foot foot--against" } else { "foot foot--two" }>
                {against.then(&release)}
                {yard.may(Kind::Tagged).then(|| view! {
                    <button class=tag on:click=move |_| deciding.set(Deciding::Tag)>
                        {against.then(|| view! { <Icon name="tag"/> })}" "{move || if tagged() { t!("another-tag") } else { t!("hang-tag") }}
                    </button>
                })}
                {(!against).then(&release)}
            </footer>
        }
    };
    view! { {foot} }
}

/// What is written on the tag, and its press.
#[component]
fn TagSheet(tag: TagAsked, deciding: RwSignal<Deciding>) -> impl IntoView {
    let done =
        UnsyncCallback::new(
            move |()| {
                if tag.is_said() { deciding.set(Deciding::TagSigned) } else { toast(t!("tag-say-why")) }
            },
        );
    view! {
        <main>
            <section class="sheet sheet--whole form">
                <h1>{t!("hang-tag")}</h1>
                <TagForm asked=tag/>
            </section>
        </main>
        <footer class="foot foot--two">
            <button class="btn" on:click=move |_| deciding.set(Deciding::Nothing)>{t!("cancel")}</button>
            <Press label=Signal::stored(t!("hang-tag")) hint=Signal::stored(t!("press-then-pin")) class="btn--hold" done/>
        </footer>
    }
}
