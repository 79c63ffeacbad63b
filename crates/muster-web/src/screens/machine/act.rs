//! A small form behind a button: what is asked, and what the core says when it refuses.

use futures_util::future::LocalBoxFuture;
use leptos::{ev::SubmitEvent, html, prelude::*, task::spawn_local};

use super::hand::holds;
use crate::{
    ui::{Sign, toast},
    words::t,
    yard::NotDone,
};

/// What a form asks for.
#[derive(Clone)]
pub(crate) enum Field {
    /// A line of text; the answer is needed or not.
    Text(String, bool),
    /// A day; it may be left out.
    Day(String),
    /// One of several: value and words.
    Choice(String, Vec<(String, String)>),
    /// Any of several; their values are answered with blanks between.
    Ticks(String, Vec<(String, String)>),
}

/// What is done with the answers, one a field.
pub(crate) type Doing = Box<dyn Fn(Vec<String>) -> LocalBoxFuture<'static, Result<(), NotDone>>>;

/// A button that opens a form, and does what it is for when the form is sent.
#[component]
pub(crate) fn Act(
    /// The button's words.
    #[prop(into)]
    label: String,
    /// What is asked.
    fields: Vec<Field>,
    /// What is done.
    doing: Doing,
    /// Classes of the button.
    #[prop(default = "btn btn--sm")]
    class: &'static str,
    /// What is said when it is done.
    #[prop(into)]
    done: String,
    /// What is signed by it, in a sentence; without, it is sent by its button.
    #[prop(optional, into)]
    signs: Option<String>,
) -> impl IntoView {
    let answers: Vec<RwSignal<String>> = fields.iter().map(|field| RwSignal::new(begins(field))).collect();
    let (trouble, busy) = (RwSignal::new(None::<String>), RwSignal::new(false));
    let doing = StoredValue::new_local(doing);
    let open = RwSignal::new(false);
    holds(move || open.get());
    let (details, form) = (NodeRef::<html::Details>::new(), NodeRef::<html::Form>::new());
    let given = answers.clone();
    let send = UnsyncCallback::new(move |()| {
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        let asked = doing
            .with_value(|doing| doing(given.iter().map(|answer| answer.get_untracked().trim().to_owned()).collect()));
        let done = done.clone();
        let given = given.clone();
        spawn_local(async move {
            let result = asked.await;
            // What was done may have taken the form away.
            busy.try_set(false);
            match result {
                Ok(()) => {
                    toast(done);
                    trouble.try_set(None);
                    given.iter().for_each(|answer| _ = answer.try_set(String::new()));
                    if let Some(Some(details)) = details.try_get_untracked() {
                        details.set_open(false);
                    }
                }
                Err(why) => _ = trouble.try_set(Some(why.to_string())),
            }
        });
    });
    let is_signed = signs.is_some();
    let submit = move |event: SubmitEvent| {
        event.prevent_default();
        // What is signed is not sent by the key that ends a line.
        if !is_signed {
            send.run(());
        }
    };
    let ready = UnsyncCallback::new(move |()| form.get_untracked().is_some_and(|form| form.report_validity()));
    let inputs = fields.into_iter().zip(answers).map(|(field, answer)| input(field, answer)).collect_view();
    let again = label.clone();
    let signing = if class.contains("btn--hold") { "btn--hold" } else { "btn--primary" };
    view! {
        <details class="act" node_ref=details on:toggle=move |_| open.set(details.get_untracked().is_some_and(|of| of.open()))>
            <summary class=class>{label}</summary>
            <form class="actform" on:submit=submit node_ref=form>
                {inputs}
                {move || trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
                {match signs {
                    Some(what) => view! { <Sign label=Signal::stored(again) what class=signing ready signed=send/> }.into_any(),
                    None => view! { <button class="btn btn--primary btn--sm" class:is-busy=move || busy.get() disabled=move || busy.get()>{again}</button> }.into_any(),
                }}
            </form>
        </details>
    }
}

fn begins(field: &Field) -> String {
    match field {
        Field::Choice(_, options) => options.first().map(|(value, _)| value.clone()).unwrap_or_default(),
        Field::Text(..) | Field::Day(_) | Field::Ticks(..) => String::new(),
    }
}

fn input(field: Field, answer: RwSignal<String>) -> AnyView {
    match field {
        Field::Text(label, needed) => {
            view! { <label class="field"><span>{label}</span><input class="input" required=needed bind:value=answer/></label> }
                .into_any()
        }
        Field::Day(label) => {
            view! { <label class="field"><span>{label}</span><input class="input" type="date" bind:value=answer/></label> }
                .into_any()
        }
        Field::Choice(label, options) => {
            let options = options.into_iter().map(|(value, words)| view! { <option value=value>{words}</option> });
            view! {
                <label class="field"><span>{label}</span>
                    <select class="input" on:change=move |event| answer.set(event_target_value(&event))>{options.collect_view()}</select>
                </label>
            }
            .into_any()
        }
        Field::Ticks(label, options) => {
            let ticks = options.into_iter().map(|(value, words)| {
                let turn = move |event| {
                    let ticked = event_target_checked(&event);
                    answer.update(|answer| {
                        let mut values: Vec<&str> = answer.split(' ').filter(|of| !of.is_empty() && *of != value).collect();
                        if ticked {
                            values.push(&value);
                        }
                        *answer = values.join(" ");
                    });
                };
                view! { <label class="tickbox"><input type="checkbox" on:change=turn/><span>{words}</span></label> }
            });
            view! { <fieldset class="ticksof"><legend class="cap">{label}</legend>{ticks.collect_view()}</fieldset> }.into_any()
        }
    }
}

/// An answer that may be left out.
pub(crate) fn optional(answer: &str) -> Option<String> {
    Some(answer.to_owned()).filter(|answer| !answer.is_empty())
}

/// Events named in a field of ticks.
pub(crate) fn named<T: std::str::FromStr>(answer: &str) -> Vec<T> {
    answer.split(' ').filter_map(|id| id.parse().ok()).collect()
}

/// The n-th answer.
pub(crate) fn nth(answers: &[String], n: usize) -> String {
    answers.get(n).cloned().unwrap_or_default()
}

/// What a list says that holds nothing.
pub(crate) fn nothing() -> AnyView {
    view! { <p class="cap nothing">{t!("none-here")}</p> }.into_any()
}
