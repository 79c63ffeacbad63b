//! One event in full: its fields, its author and device, what had been seen, and what vouches for it.

use leptos::{prelude::*, task::spawn_local};
use leptos_router::components::A;
use muster_core::record::{event::Entry, payload::Subject};
use muster_wire::record::RecordView;
use serde_json::Value;

use super::{
    super::paper::{compared, of_event},
    sentence,
};
use crate::{
    route,
    ui::{Banner, Mast, when},
    words::t,
    yard::{Yard, ask, yard},
};

/// What is known of the event: its bytes; signature and fate where the server told them.
#[derive(Clone)]
struct Found {
    bytes: String,
    signature: Option<String>,
    set_aside: Vec<String>,
}

/// One event.
#[component]
pub(crate) fn RecordScreen() -> impl IntoView {
    let (yard, params) = (yard(), route::params());
    let id = Memo::new(move |_| params.read().get("event").unwrap_or_default());
    let (found, trouble) = (RwSignal::new(None::<Found>), RwSignal::new(None::<String>));
    Effect::new(move || {
        let id = id.get();
        found.set(None);
        spawn_local(async move {
            match ask::<RecordView>("GET", &format!("/api/v1/record/{id}"), None::<&()>).await {
                Ok(view) => {
                    let RecordView { signed, set_aside, .. } = view;
                    let signature = Some(signed.signature);
                    found.try_set(Some(Found { bytes: signed.event, signature, set_aside }));
                }
                // What is held shows without signal, but for the signature.
                Err(error) => match held(yard, &id) {
                    Some(bytes) => _ = found.try_set(Some(Found { bytes, signature: None, set_aside: Vec::new() })),
                    None => _ = trouble.try_set(Some(error.to_string())),
                },
            }
        });
    });
    view! {
        <div class="desk desk--page touchable">
            <Mast title=t!("record") back="/records"/>
            <Banner/>
            <main class="pagebody">
                <p class="cap crumbs"><A href="/records">{t!("records")}</A> " / " {t!("record")}</p>
                {move || match (found.get(), trouble.get()) {
                    (Some(found), _) => full(yard, &found),
                    (None, Some(why)) => view! { <h1 class="pageh">{t!("record")}</h1><p class="err" role="alert">{why}</p> }.into_any(),
                    (None, None) => view! { <h1 class="pageh">{t!("record")}</h1><p role="status">{t!("record-fetched")}</p><div class="wait"></div> }.into_any(),
                }}
            </main>
        </div>
    }
}

fn held(yard: Yard, id: &str) -> Option<String> {
    let id = id.parse().ok()?;
    untrack(|| yard.with(|held| held.event(id).and_then(|event| event.to_bytes().ok()))).flatten()
}

fn full(yard: Yard, found: &Found) -> AnyView {
    let Ok(entry) = Entry::read(&found.bytes) else {
        return view! { <h1 class="pageh">{t!("record")}</h1><p class="err" role="alert">{t!("record-unreadable")}</p> }.into_any();
    };
    let seen: Vec<AnyView> = entry
        .seen
        .iter()
        .map(ToString::to_string)
        .map(|id| view! { <li><A href=format!("/records/{id}")>{id.clone()}</A></li> }.into_any())
        .collect();
    let alone = seen.is_empty().then(|| t!("seen-nothing"));
    let device =
        yard.with(|held| held.known().state.devices.get(&entry.id.device).map(|device| device.label.clone())).flatten();
    let (title, who, at, about) = match &entry.event {
        Some(event) => {
            let about = match event.payload.subject() {
                Subject::Machine(machine) => machine,
                Subject::Yard => t!("the-yard"),
            };
            (
                sentence(yard, event),
                yard.name(event.author.as_str()),
                format!("{} ({})", when(event.at), event.at),
                about,
            )
        }
        None => (t!("newer-record"), String::new(), String::new(), String::new()),
    };
    let fields = fields(yard, &found.bytes);
    let aside = (!found.set_aside.is_empty()).then(|| view! {
        <div class="notice notice--wide dash"><span aria-hidden="true">"!"</span><div><b>{t!("set-aside", why = found.set_aside.join("; "))}</b><p>{t!("set-aside-means")}</p></div></div>
    });
    view! {
        <h1 class="pageh">{title}</h1>
        {aside}
        {compared(&entry.hash)}
        {entry.event.as_ref().and_then(of_event)}
        <div class="recgrid">
            <section>
                <div class="rulehead"><h2>{t!("who-and-when")}</h2></div>
                <dl class="kv kv--left">
                    <dt>{t!("author")}</dt><dd>{who}</dd>
                    <dt>{t!("written")}</dt><dd>{at}</dd>
                    <dt>{t!("col-about")}</dt><dd>{about}</dd>
                    <dt>{t!("device")}</dt><dd>{device.unwrap_or_default()} " " <span class="mono">{entry.id.device.to_string()}</span></dd>
                    <dt>{t!("number")}</dt><dd class="mono">{entry.id.to_string()}</dd>
                    <dt>{t!("height")}</dt><dd>{entry.height}</dd>
                    <dt>{t!("heads-seen")}</dt><dd>{alone}<ul class="mono">{seen.into_iter().collect_view()}</ul></dd>
                </dl>
                {vouched(&entry, found)}
            </section>
            <section>
                <div class="rulehead"><h2>{t!("fields")}</h2></div>
                <dl class="kv kv--left">{fields}</dl>
                <details class="more"><summary class="btn btn--sm">{t!("raw")}</summary><pre class="raw mono" tabindex="0">{found.bytes.clone()}</pre></details>
            </section>
        </div>
    }
    .into_any()
}

/// What the event says, field by field.
fn fields(yard: Yard, bytes: &str) -> Option<AnyView> {
    let fields = serde_json::from_str::<Value>(bytes).ok().and_then(|whole| whole.get("payload").cloned());
    fields.as_ref().and_then(Value::as_object).map(|fields| {
        fields
            .iter()
            .map(|(name, value)| view! { <dt>{name.replace('_', " ")}</dt><dd>{plain(yard, value)}</dd> })
            .collect_view()
            .into_any()
    })
}

/// Hashes and the signature.
fn vouched(entry: &Entry, found: &Found) -> AnyView {
    let previous = entry.previous.clone().unwrap_or_else(|| t!("first-of-device"));
    view! {
                <div class="rulehead"><h2>{t!("vouched")}</h2></div>
                <dl class="kv kv--left">
                    <dt>{t!("hash")}</dt><dd class="mono hex">{entry.hash.clone()}</dd>
                    <dt>{t!("hash-before")}</dt><dd class="mono hex">{previous}</dd>
                    <dt>{t!("signature")}</dt><dd class="mono hex">{found.signature.clone().unwrap_or_else(|| t!("signature-later"))}</dd>
                </dl>
    }
    .into_any()
}

/// A field's value as people read it.
fn plain(yard: Yard, value: &Value) -> String {
    match value {
        Value::Null => "–".to_owned(),
        Value::Bool(true) => t!("yes"),
        Value::Bool(false) => t!("no"),
        Value::String(text) => yard.told(text),
        Value::Array(all) if all.is_empty() => "–".to_owned(),
        Value::Array(all) => all.iter().map(|value| plain(yard, value)).collect::<Vec<_>>().join(", "),
        Value::Object(fields) => {
            let one = |(name, value): (&String, &Value)| format!("{} {}", name.replace('_', " "), plain(yard, value));
            fields.iter().map(one).collect::<Vec<_>>().join("; ")
        }
        Value::Number(number) => number.to_string(),
    }
}
