//! The log, newest first: who wrote what and when; and one event in full.

mod one;
mod words;

use leptos::{prelude::*, task::spawn_local};
use leptos_router::components::A;
use muster_core::record::{
    event::Entry,
    payload::Subject,
    rights::{View, may_view},
};
use muster_wire::sync::SignedEvent;
use serde::Deserialize;

pub(crate) use one::RecordScreen;
pub(crate) use words::sentence;

use crate::{
    ui::{Banner, Mast, when},
    words::t,
    yard::{LinkError, Yard, ask, yard},
};

/// Events fetched at once.
const PAGE: u64 = 100;

/// A stretch of the log, as the server gives it.
#[derive(Deserialize)]
struct Stretch {
    events: Vec<SignedEvent>,
    next: u64,
}

/// How many events there are.
#[derive(Deserialize)]
struct Health {
    events: u64,
}

/// What is shown of the log.
#[derive(Clone, Copy)]
struct Log {
    lines: RwSignal<Vec<Entry>>,
    /// The arrival before the oldest shown; none before anything was fetched.
    from: RwSignal<Option<u64>>,
    trouble: RwSignal<Option<String>>,
    busy: RwSignal<bool>,
}

impl Log {
    /// Fetches the newest, or what stands before the oldest shown.
    fn fetch(self) {
        if self.busy.get_untracked() {
            return;
        }
        self.busy.set(true);
        spawn_local(async move {
            let from = self.from.get_untracked();
            let fetched = older(from).await;
            self.busy.try_set(false);
            match fetched {
                Ok((entries, from)) => {
                    self.lines.try_update(|lines| lines.extend(entries));
                    self.from.try_set(Some(from));
                    self.trouble.try_set(None);
                }
                Err(error) => _ = self.trouble.try_set(Some(error.to_string())),
            }
        });
    }
}

/// The events before an arrival, newest first, with the arrival before the oldest of them.
async fn older(before: Option<u64>) -> Result<(Vec<Entry>, u64), LinkError> {
    let end = match before {
        Some(before) => before,
        None => ask::<Health>("GET", "/health", None::<&()>).await?.events,
    };
    let from = end.saturating_sub(PAGE);
    let mut entries = Vec::new();
    let mut after = from;
    while after < end {
        let path = format!("/api/v1/record?after={after}&limit={}", end - after);
        let stretch: Stretch = ask("GET", &path, None::<&()>).await?;
        entries.extend(stretch.events.iter().filter_map(|of| Entry::read(&of.event).ok()));
        if stretch.next <= after {
            break;
        }
        after = stretch.next;
    }
    entries.reverse();
    Ok((entries, from))
}

/// The log.
#[component]
pub(crate) fn RecordsScreen() -> impl IntoView {
    let yard = yard();
    let log = Log {
        lines: RwSignal::new(Vec::new()),
        from: RwSignal::new(None),
        trouble: RwSignal::new(None),
        busy: RwSignal::new(false),
    };
    let sees = Memo::new(move |_| yard.me.with(|_| yard.role().map(|role| may_view(role, View::Record))));
    Effect::new(move || {
        if sees.get() == Some(true) {
            log.fetch();
        }
    });
    let sought = RwSignal::new(String::new());
    let rows = move || {
        let sought = sought.get().trim().to_lowercase();
        let lines = log.lines.get();
        let rows =
            lines.iter().map(|entry| row(yard, entry)).filter(|(text, _)| sought.is_empty() || text.contains(&sought));
        rows.map(|(_, view)| view).collect_view()
    };
    view! {
        <div class="desk desk--page touchable">
            <Mast title=t!("records") back="/"/>
            <Banner/>
            <main class="pagebody">
                <div class="head head--yard">
                    <h1>{t!("records")}</h1>
                    <label class="find"><span class="vh">{t!("find-record")}</span><input type="search" placeholder=t!("find-record-hint") bind:value=sought/></label>
                </div>
                {move || (sees.get() == Some(false)).then(|| view! { <p class="notice notice--wide dash"><span aria-hidden="true">"!"</span><span>{t!("records-not-yours")}</span></p> })}
                {move || log.trouble.get().map(|why| view! { <p class="err" role="alert">{t!("records-need-signal", why = why)}</p> })}
                <div class="wide" role="region" tabindex="0" aria-label=t!("records")>
                    <table class="t log">
                        <thead><tr><th scope="col">{t!("col-when")}</th><th scope="col">{t!("col-who-wrote")}</th><th scope="col">{t!("col-about")}</th><th scope="col">{t!("col-what")}</th></tr></thead>
                        <tbody>{rows}</tbody>
                    </table>
                </div>
                {move || match log.from.get() {
                    Some(0) => view! { <p class="cap">{t!("records-end")}</p> }.into_any(),
                    _ => view! { <p class="acts-row"><button class="btn" class:is-busy=move || log.busy.get() on:click=move |_| log.fetch()>{t!("older-records")}</button></p> }.into_any(),
                }}
            </main>
        </div>
    }
}

/// A line of the log, and what a search in it looks through.
fn row(yard: Yard, entry: &Entry) -> (String, AnyView) {
    let href = format!("/records/{}", entry.id);
    let Some(event) = &entry.event else {
        let view =
            view! { <tr><td></td><td></td><td></td><td><A href=href>{t!("newer-record")}</A></td></tr> }.into_any();
        return (String::new(), view);
    };
    let (who, what, at) = (yard.name(event.author.as_str()), sentence(yard, event), when(event.at));
    let about = match event.payload.subject() {
        Subject::Machine(machine) => machine,
        Subject::Yard => t!("the-yard"),
    };
    let text = format!("{who} {what} {about}").to_lowercase();
    let machine = matches!(event.payload.subject(), Subject::Machine(_)).then(|| about.clone());
    let about = match machine {
        Some(machine) => view! { <A href=format!("/machines/{machine}")>{machine.clone()}</A> }.into_any(),
        None => view! { <span class="dim">{about}</span> }.into_any(),
    };
    (text, view! { <tr><td class="dim">{at}</td><td>{who}</td><td class="no">{about}</td><td class="said"><A href=href>{what}</A></td></tr> }.into_any())
}
