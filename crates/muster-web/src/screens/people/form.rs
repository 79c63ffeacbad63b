//! A form of few fields, sent at once: what went wrong stands beside its button.

use std::{future::Future, pin::Pin};

use leptos::{prelude::*, task::spawn_local};
use muster_wire::people::Link;

use crate::{
    ui::Drawn,
    words::t,
    yard::{LinkError, yard},
};

/// What a form does when it is sent; an error is shown as it reads.
pub(crate) type Sent = StoredValue<Box<dyn Fn() -> Pin<Box<dyn Future<Output = Result<(), String>>>>>, LocalStorage>;

/// Makes what a form does out of an asynchronous closure.
pub(crate) fn sent<F: Future<Output = Result<(), String>> + 'static>(work: impl Fn() -> F + 'static) -> Sent {
    StoredValue::new_local(Box::new(move || Box::pin(work())))
}

/// Words of what the server answered.
pub(crate) fn said(error: &LinkError) -> String {
    error.to_string()
}

/// A form: its fields, one button, what went wrong.
#[component]
pub(crate) fn Form(
    /// What the button says.
    #[prop(into)]
    button: String,
    /// What it does.
    send: Sent,
    /// Its fields, if it has any.
    #[prop(optional)]
    children: Option<Children>,
) -> impl IntoView {
    let (trouble, busy) = (RwSignal::new(None::<String>), RwSignal::new(false));
    let submit = move |event: leptos::ev::SubmitEvent| {
        event.prevent_default();
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        let work = send.with_value(|send| send());
        spawn_local(async move {
            trouble.set(work.await.err());
            busy.set(false);
        });
    };
    view! {
        <form class="form" on:submit=submit>
            {children.map(|fields| fields())}
            {move || trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
            <button class="btn btn--primary btn--lg" class:is-busy=move || busy.get()>{button}</button>
        </form>
    }
    .into_any()
}

/// A labelled text.
#[component]
pub(crate) fn Field(
    /// What it asks.
    #[prop(into)]
    label: String,
    /// What is typed.
    value: RwSignal<String>,
    /// `text`, `password`, `tel`.
    #[prop(default = "text")]
    kind: &'static str,
    /// What browsers fill in.
    #[prop(default = "off")]
    autocomplete: &'static str,
    /// Whether it may stay empty.
    #[prop(optional)]
    optional: bool,
) -> impl IntoView {
    view! {
        <label class="field">
            <span>{label}</span>
            <input class="input" type=kind autocomplete=autocomplete required=!optional bind:value=value/>
        </label>
    }
    .into_any()
}

/// A choice among few words.
#[component]
pub(crate) fn Choice(
    /// What it asks.
    #[prop(into)]
    label: String,
    /// Value and what it says.
    choices: Vec<(String, String)>,
    /// What is chosen.
    value: RwSignal<String>,
) -> impl IntoView {
    let options = choices.into_iter().map(|(of, says)| {
        let is = of.clone();
        view! { <option value=of selected=move || value.get() == is>{says}</option> }
    });
    view! {
        <label class="field">
            <span>{label}</span>
            <select class="input" on:change=move |event| value.set(event_target_value(&event))>{options.collect_view()}</select>
        </label>
    }
    .into_any()
}

/// A link that works once, as a code to be scanned and as text.
#[component]
pub(crate) fn Invitation(
    /// The link.
    link: Link,
    /// What it is for.
    #[prop(into)]
    says: String,
) -> impl IntoView {
    let svg = link.svg.clone().map(|svg| {
        let drawing = svg.find("<svg").and_then(|at| svg.get(at..)).unwrap_or_default().to_owned();
        view! { <Drawn markup=drawing class="qr"/> }
    });
    view! {
        <section class="notice" role="status">
            <span></span>
            <div>
                <p><b>{says}</b></p>
                {svg}
                <p class="mono wrap">{link.link.clone()}</p>
                <p class="cap">{t!("link-lasts", minutes = link.lasts_s / 60)}</p>
            </div>
        </section>
    }
    .into_any()
}

/// The code behind `#` of this page's address; none if there is none.
pub(crate) fn code() -> Option<String> {
    let hash = window().location().hash().ok()?;
    hash.strip_prefix('#').filter(|code| !code.is_empty()).map(ToOwned::to_owned)
}

/// A page of one column with its heading.
#[component]
pub(crate) fn Page(
    /// Its heading.
    #[prop(into)]
    title: String,
    /// What stands on it.
    children: Children,
) -> impl IntoView {
    let name = yard().with(|held| held.known().yard.name.clone()).unwrap_or_default();
    view! {
        <main class="phone is-page">
            <div class="sec">
                <p class="cap">{name}</p>
                <h1>{title}</h1>
                {children()}
            </div>
        </main>
    }
    .into_any()
}
