//! The page about paper: what a code leads to, the yard's papers, numbered tags, whether a file is ours.

use leptos::{ev::Event, prelude::*, task::spawn_local};
use muster_core::{
    hash,
    record::payload::{Document, Kind},
};
use muster_wire::{
    paper::{PaperAsked, PaperVerdict, PapersResting},
    settings::SettingsView,
};
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;

use super::{buttons::button, code::said, known::papers};
use crate::{
    ui::Leaf,
    words::t,
    yard::{LinkError, ask, send_bytes, yard},
};

/// The page.
#[component]
pub(crate) fn PaperScreen() -> impl IntoView {
    view! {
        <Leaf title=t!("paper")>
            <Coded/>
            <Yards/>
            <IsOurs/>
            <Mark/>
        </Leaf>
    }
}

/// Without signal the words say that the server is needed.
fn told(error: &LinkError) -> String {
    if *error == LinkError::NoAnswer { t!("paper-needs-server") } else { error.to_string() }
}

/// What is known of the paper whose code led here.
#[component]
fn Coded() -> impl IntoView {
    let said = said();
    let found = RwSignal::new(None::<Result<PapersResting, String>>);
    Effect::new(move || {
        let Some(hash) = said.get() else { return };
        found.set(None);
        spawn_local(async move {
            let door = format!("/api/v1/paper/resting-on/{hash}");
            let asked = ask::<PapersResting>("GET", &door, None::<&()>).await;
            found.try_set(Some(asked.map_err(|error| told(&error))));
        });
    });
    let known = move || match found.get() {
        None => view! { <p role="status">{t!("record-fetched")}</p> }.into_any(),
        Some(Err(why)) => view! { <p class="err" role="alert">{why}</p> }.into_any(),
        Some(Ok(of)) if of.issued.is_empty() => view! { <p role="status">{t!("code-unknown")}</p> }.into_any(),
        Some(Ok(of)) => {
            let files = if of.is_the_yard_now { t!("files-same") } else { t!("files-other") };
            let of_files = of.issued.iter().any(|one| one.rests_on_event.is_none());
            view! { {of_files.then(|| view! { <p role="status">{files}</p> })} {papers(&of.issued, &of.proves_not)} }
                .into_any()
        }
    };
    move || {
        said.get().map(|hash| view! {
            <section><h2>{t!("paper-of-code")}</h2><p>{t!("paper-of-code-how")}</p><p class="mono hex">{hash}</p>{known}</section>
        })
    }
}

/// The papers of the whole yard, where the server prints.
#[component]
fn Yards() -> impl IntoView {
    let yard = yard();
    let (from, count) = (RwSignal::new("1".to_owned()), RwSignal::new("10".to_owned()));
    let plain = |label, document| button(label, document, PaperAsked::default);
    let numbered = move || PaperAsked {
        number: from.get_untracked().trim().parse().ok(),
        count: count.get_untracked().trim().parse().ok(),
        ..PaperAsked::default()
    };
    move || {
        if !yard.prints() {
            // Before anybody is known to be here nothing is said of it.
            let known = yard.me.with(Option::is_some);
            return known.then(|| view! { <p>{t!("prints-nothing")}</p> }).into_any();
        }
        view! {
            <section>
                <h2>{t!("paper-of-yard")}</h2>
                <div class="acts-row">
                    {plain(t!("print-morning"), Document::Yard)}
                    {plain(t!("print-yard-sheet"), Document::Sheet)}
                    {plain(t!("print-stickers"), Document::Stickers)}
                </div>
            </section>
            <section class="form">
                <h2>{t!("numbered-tags")}</h2>
                <p>{t!("numbered-tags-how")}</p>
                <label class="field"><span>{t!("number-from")}</span><input class="input" type="number" min="0" inputmode="numeric" bind:value=from/></label>
                <label class="field"><span>{t!("number-count")}</span><input class="input" type="number" min="1" max="200" inputmode="numeric" bind:value=count/></label>
                <div class="acts-row">{button(t!("print-tags"), Document::Tag, numbered)}</div>
            </section>
        }
        .into_any()
    }
}

/// Whether a file was printed from this record. Only its hash is sent.
#[component]
fn IsOurs() -> impl IntoView {
    let found = RwSignal::new(None::<Result<PaperVerdict, String>>);
    let look = move |event: Event| {
        let input = event.target().and_then(|target| target.dyn_into::<web_sys::HtmlInputElement>().ok());
        let Some(file) = input.and_then(|input| input.files()).and_then(|files| files.get(0)) else { return };
        found.set(None);
        spawn_local(async move {
            let verdict = match JsFuture::from(file.array_buffer()).await {
                Ok(buffer) => {
                    let sha256 = hash::of_bytes(&js_sys::Uint8Array::new(&buffer).to_vec());
                    let door = format!("/api/v1/paper/issued/{sha256}");
                    ask::<PaperVerdict>("GET", &door, None::<&()>).await.map_err(|error| told(&error))
                }
                Err(_) => Err(t!("file-not-read")),
            };
            found.try_set(Some(verdict));
        });
    };
    let verdict = move || match found.get()? {
        Ok(of) if of.genuine => Some(
            view! { <p role="status"><b>{t!("file-genuine")}</b></p> {papers(&of.issued, &of.proves_not)} }.into_any(),
        ),
        Ok(_) => Some(view! { <p class="err" role="alert">{t!("file-not-known")}</p> }.into_any()),
        Err(why) => Some(view! { <p class="err" role="alert">{why}</p> }.into_any()),
    };
    view! {
        <section class="form">
            <h2>{t!("is-it-ours")}</h2>
            <p>{t!("is-it-ours-how")}</p>
            <p class="acts-row"><label class="btn"><input class="vh" type="file" accept="application/pdf" aria-label=t!("choose-file") on:change=look/>{t!("choose-file")}</label></p>
            {verdict}
        </section>
    }
    .into_any()
}

/// The school's mark, which its owner sets where the server prints.
#[component]
fn Mark() -> impl IntoView {
    let yard = yard();
    let set = RwSignal::new(None::<Result<SettingsView, String>>);
    // Who may change the house rules is the owner.
    let owns = Memo::new(move |_| yard.prints() && yard.may(Kind::HouseRuleAttached));
    let sends = move |method: &'static str, bytes: Vec<u8>| {
        spawn_local(async move {
            let door = "/api/v1/settings/mark";
            let answer = send_bytes::<SettingsView>(method, door, &bytes, "application/octet-stream").await;
            set.try_set(Some(answer.map_err(|error| told(&error))));
        });
    };
    Effect::new(move || {
        if owns.get() {
            spawn_local(async move {
                let asked = ask::<SettingsView>("GET", "/api/v1/settings", None::<&()>).await;
                set.try_set(Some(asked.map_err(|error| told(&error))));
            });
        }
    });
    let take = move |event: Event| {
        let input = event.target().and_then(|target| target.dyn_into::<web_sys::HtmlInputElement>().ok());
        let Some(file) = input.and_then(|input| input.files()).and_then(|files| files.get(0)) else { return };
        spawn_local(async move {
            match JsFuture::from(file.array_buffer()).await {
                Ok(buffer) => sends("PUT", js_sys::Uint8Array::new(&buffer).to_vec()),
                Err(_) => _ = set.try_set(Some(Err(t!("file-not-read")))),
            }
        });
    };
    let has = move || set.with(|set| matches!(set, Some(Ok(of)) if of.mark.is_some()));
    let said = move || match set.get()? {
        Ok(of) if of.mark.is_some() => Some(view! { <p role="status">{t!("mark-set")}</p> }.into_any()),
        Ok(_) => Some(view! { <p role="status">{t!("mark-none")}</p> }.into_any()),
        Err(why) => Some(view! { <p class="err" role="alert">{why}</p> }.into_any()),
    };
    move || {
        owns.get().then(|| view! {
            <section class="form">
                <h2>{t!("mark")}</h2>
                <p>{t!("mark-how")}</p>
                {said}
                <p class="acts-row">
                    <label class="btn"><input class="vh" type="file" accept="image/svg+xml,image/png,image/jpeg" aria-label=t!("choose-mark") on:change=take/>{t!("choose-mark")}</label>
                    {move || has().then(|| view! { <button class="btn" on:click=move |_| sends("DELETE", Vec::new())>{t!("mark-off")}</button> })}
                </p>
            </section>
        })
    }
}
