//! A hold tag by the number printed on it: a free one is hung, one that hangs is lifted.

use std::rc::Rc;

use leptos::{prelude::*, task::spawn_local};
use leptos_router::{NavigateOptions, components::A, hooks::use_navigate};
use muster_core::record::{id::EventId, machine_state::Tag, payload::Kind, tag_number};
use muster_wire::{command::Asked, paper::TagNumber};

use super::parts::Bar;
use crate::{
    route,
    ui::{Banner, Lacking, Sign, toast, when},
    words::t,
    yard::{NotDone, Yard, ask, yard},
};

/// The screen.
#[component]
pub(crate) fn TagScreen() -> impl IntoView {
    let (yard, params) = (yard(), route::params());
    let number = Memo::new(move |_| params.read().get("number").unwrap_or_default());
    let hangs = Memo::new(move |_| yard.with(|held| held.hung_on(&number.get())).flatten());
    let known = Memo::new(move |_| yard.is_known());
    view! {
        <div class="phone touch">
            <Bar title=t!("hold-tag") beside=Signal::derive(move || number.get()) sub=String::new() back="/".to_owned() leave=t!("to-the-yard")/>
            <Banner/>
            <main tabindex="0">
                <h1 class="vh">{move || t!("tag-of-number", number = number.get())}</h1>
                {move || match (known.get(), hangs.get()) {
                    (false, _) => view! { <Lacking title=t!("hold-tag")/> }.into_any(),
                    (true, Some(machine)) => untrack(|| hanging(yard, machine, number.get())),
                    (true, None) => untrack(|| free(yard, number.get())),
                }}
            </main>
        </div>
    }
}

type Goer = StoredValue<Rc<dyn Fn(&str)>, LocalStorage>;

/// What was typed, what came of it, and the way on.
#[derive(Clone, Copy)]
struct Act {
    why: RwSignal<String>,
    trouble: RwSignal<Option<String>>,
    go: Goer,
}

impl Act {
    fn new() -> Self {
        let navigate = use_navigate();
        let go: Rc<dyn Fn(&str)> = Rc::new(move |to: &str| navigate(to, NavigateOptions::default()));
        Self { why: RwSignal::new(String::new()), trouble: RwSignal::new(None), go: StoredValue::new_local(go) }
    }

    /// Does it, says so, and goes to the machine.
    fn run(self, doing: impl Future<Output = Result<Vec<EventId>, NotDone>> + 'static, says: String, machine: String) {
        // Once it is done the screen draws anew, and what this one held is gone.
        let go = self.go.get_value();
        spawn_local(async move {
            match doing.await {
                Ok(_) => {
                    toast(says);
                    go(&format!("/machines/{machine}"));
                }
                Err(why) => _ = self.trouble.try_set(Some(why.to_string())),
            }
        });
    }

    fn view(self) -> AnyView {
        view! {
            <label class="field"><span>{t!("its-why")}</span><textarea class="input" rows="3" bind:value=self.why></textarea></label>
            {move || self.trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
        }
        .into_any()
    }

    /// Whether it says why; if not, that is told.
    fn is_said(self) -> bool {
        let said = !self.why.get_untracked().trim().is_empty();
        self.trouble.set((!said).then(|| t!("tag-say-why")));
        said
    }
}

/// One that hangs: where, why, and lifting it.
fn hanging(yard: Yard, machine: String, number: String) -> AnyView {
    let Some((event, tag)) = of_number(yard, &machine, &number) else { return ().into_any() };
    let act = Act::new();
    let (id, label) = (machine.clone(), Signal::stored(t!("untag")));
    let signed = UnsyncCallback::new(move |()| {
        let reason = act.why.get_untracked().trim().to_owned();
        let asked = Asked::Untag { machine: id.clone(), lifts: vec![event.to_string()], reason };
        act.run(async move { yard.act(asked).await }, t!("tag-lifted"), id.clone());
    });
    let ready = UnsyncCallback::new(move |()| act.is_said());
    view! {
        <section class="sec form">
            <div class="notice" role="status"><svg class="icon" width="24" height="24" aria-hidden="true"><use href="#i-tag"></use></svg><div>
                <p><b>{t!("tag-hangs-on", number = number, machine = machine.clone())}</b></p>
                <p>{tag.hung.why.clone()}</p>
                <p class="cap">{t!("tag-by", by = yard.name(tag.by.0.as_str()), at = when(tag.by.1))}</p>
            </div></div>
            <p><A href=format!("/machines/{machine}") attr:class="btn">{t!("to-the-machine-of", machine = machine)}</A></p>
        </section>
        {yard.may(Kind::Untagged).then(|| view! {
            <section class="sec form">
                <h2>{t!("untag")}</h2>
                {act.view()}
                <Sign label what=t!("sign-untag") class="btn--primary" ready signed/>
            </section>
        })}
    }
    .into_any()
}

/// The tag of a number that hangs on a machine.
fn of_number(yard: Yard, machine: &str, number: &str) -> Option<(EventId, Tag)> {
    yard.with(|held| {
        let (event, tag) = held.machine(machine)?.hanging_by(number)?;
        Some((event, tag.clone()))
    })?
}

/// The machine a tag of a number was lifted from, as far as this device carries it.
fn lifted(yard: Yard, number: &str) -> Option<String> {
    yard.with(|held| {
        let machines = held.known().machines.values();
        let own = |tag: &Tag| tag.hung.number.as_deref().is_some_and(|text| tag_number::is_same(text, number));
        let lifted = machines.flat_map(|state| state.tags.values().filter(|tag| own(tag)).map(move |tag| (state, tag)));
        lifted.max_by_key(|(_, tag)| tag.by.1).map(|(state, _)| state.machine.clone())
    })?
}

/// One that hangs nowhere: which machine, and why.
fn free(yard: Yard, number: String) -> AnyView {
    let before = RwSignal::new(lifted(yard, &number).map(|machine| t!("tag-was-used", machine = machine)));
    let door = format!("/api/v1/tags/{}", js_sys::encode_uri_component(&number));
    spawn_local(async move {
        // What was lifted long ago is not carried: without signal nothing is said of it.
        if let Ok(known) = ask::<TagNumber>("GET", &door, None::<&()>).await {
            let elsewhere =
                known.hangs.map(|of| t!("tag-hangs-on", number = known.number.clone(), machine = of.machine));
            let used = known.lifted.first().map(|of| t!("tag-was-used", machine = of.machine.clone()));
            if let Some(told) = elsewhere.or(used) {
                before.try_set(Some(told));
            }
        }
    });
    let told = move || {
        before.get().map(
            |says| view! { <p class="notice" role="status"><span aria-hidden="true">"!"</span><span>{says}</span></p> },
        )
    };
    if !yard.may(Kind::Tagged) {
        return view! { <section class="sec"><p>{t!("tag-is-free", number = number)}</p>{told}</section> }.into_any();
    }
    let (act, machine) = (Act::new(), RwSignal::new(String::new()));
    let printed = number.clone();
    let signed = UnsyncCallback::new(move |()| {
        let (machine, why) = (machine.get_untracked(), act.why.get_untracked().trim().to_owned());
        let asked = Asked::Tag { machine: machine.clone(), why, number: Some(printed.clone()) };
        act.run(async move { yard.act(asked).await }, t!("tag-hung"), machine);
    });
    let ready = UnsyncCallback::new(move |()| {
        let chosen = !machine.get_untracked().is_empty();
        if !chosen {
            act.trouble.set(Some(t!("tag-say-machine")));
        }
        chosen && act.is_said()
    });
    let machines = yard.machines().into_iter().map(|id| view! { <option value=id.clone()>{id.clone()}</option> });
    let choose = move |event: leptos::ev::Event| machine.set(event_target_value(&event));
    view! {
        <section class="sec form">
            <h2>{t!("tag-is-free", number = number)}</h2>
            {told}
            <p>{t!("tag-free-how")}</p>
            <label class="field"><span>{t!("tag-which-machine")}</span>
                <select class="input" on:change=choose><option value="">{t!("tag-choose")}</option>{machines.collect_view()}</select></label>
            {act.view()}
            <Sign label=Signal::stored(t!("hang-tag")) what=t!("sign-tag") class="btn--hold" ready signed/>
        </section>
    }
    .into_any()
}
