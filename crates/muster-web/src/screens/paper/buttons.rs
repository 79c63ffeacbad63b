//! Buttons that print. Typesetting is the server's: without signal they say so.

use leptos::{prelude::*, task::spawn_local};
use muster_core::record::{
    event::Event,
    machine_state::MachineState,
    payload::{Document, Payload},
};
use muster_wire::paper::PaperAsked;
use wasm_bindgen::JsCast;

use crate::{
    ui::toast,
    words::t,
    yard::{LinkError, fetched, yard},
};

/// Beside others on a desk; on a phone the page makes them larger.
const SMALL: &str = "btn btn--sm";
/// Under a thumb.
const LARGE: &str = "btn";

/// A button that prints a paper and gives its file to the browser; none where the server prints none.
pub(super) fn button(label: String, document: Document, asked: impl Fn() -> PaperAsked + 'static) -> Option<AnyView> {
    pressed(SMALL, label, document, asked)
}

/// As [`button`], of a size.
fn pressed(
    class: &'static str,
    label: String,
    document: Document,
    asked: impl Fn() -> PaperAsked + 'static,
) -> Option<AnyView> {
    if !yard().prints() {
        return None;
    }
    let busy = RwSignal::new(false);
    let print = move |_| {
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        let asked = asked();
        spawn_local(async move {
            let done = printed(document, &asked).await;
            busy.try_set(false);
            match done {
                Ok(()) => toast(t!("paper-printed")),
                Err(LinkError::NoAnswer) => toast(t!("paper-needs-server")),
                Err(why) => toast(t!("paper-not-printed", why = why.to_string())),
            }
        });
    };
    let view = view! {
        <button type="button" class=class class:is-busy=move || busy.get() aria-busy=move || busy.get().to_string() on:click=print>{label}</button>
    };
    Some(view.into_any())
}

/// Has it printed and hands the file over, as browsers let a page do after a wait: by a link that is pressed.
async fn printed(document: Document, asked: &PaperAsked) -> Result<(), LinkError> {
    let file = fetched(&format!("/api/v1/paper/{document}"), asked).await?;
    let strange = |_| LinkError::Strange("a file that this browser does not take".to_owned());
    let address = web_sys::Url::create_object_url_with_blob(&file).map_err(strange)?;
    let link = leptos::prelude::document().create_element("a").map_err(strange)?;
    let about = asked.machine.as_ref().map(|machine| format!("-{}", machine.to_lowercase())).unwrap_or_default();
    link.set_attribute("href", &address).map_err(strange)?;
    link.set_attribute("download", &format!("{document}{about}.pdf")).map_err(strange)?;
    link.unchecked_ref::<web_sys::HtmlElement>().click();
    // The browser has taken it by then; kept, every file would stay in memory till the page is left.
    let later = std::time::Duration::from_secs(60);
    set_timeout(move || _ = web_sys::Url::revoke_object_url(&address), later);
    Ok(())
}

/// As [`button`], of one machine.
fn of_one(
    class: &'static str,
    (label, document): (String, Document),
    machine: &str,
    event: Option<String>,
) -> Option<AnyView> {
    let machine = machine.to_owned();
    pressed(class, label, document, move || PaperAsked {
        machine: Some(machine.clone()),
        event: event.clone(),
        ..PaperAsked::default()
    })
}

/// A machine's papers: its form and dossier, its sticker; tag, slip and walk-round where there are any.
pub(crate) fn of_machine(state: &MachineState) -> AnyView {
    let id = state.machine.as_str();
    let one = |label, document| of_one(SMALL, (label, document), id, None);
    let closed = state.walk_rounds.values().any(|of| of.form.closed.is_some());
    let all = [
        one(t!("print-form"), Document::Form),
        closed.then(|| one(t!("print-walk-round"), Document::WalkRound)).flatten(),
        state.hanging().next().and_then(|_| one(t!("print-tag"), Document::Tag)),
        state.out().next().and_then(|_| one(t!("print-slip"), Document::Slip)),
        one(t!("print-dossier"), Document::Dossier),
        one(t!("print-sticker"), Document::Stickers),
    ];
    section("part-of", all).unwrap_or_else(|| ().into_any())
}

/// What is printed after a walk-round: the whole of it, the slip of what was let out, the tag that hangs.
pub(crate) fn of_walk(state: &MachineState) -> Option<AnyView> {
    let one = |label, document| of_one(LARGE, (label, document), &state.machine, None);
    let newest = state.walk_rounds.values().max_by_key(|of| of.form.opened)?;
    let closed = newest.form.closed.is_some();
    section(
        "sec",
        [
            closed.then(|| one(t!("print-walk-round"), Document::WalkRound)).flatten(),
            state.out().next().and_then(|_| one(t!("print-slip"), Document::Slip)),
            state.hanging().next().and_then(|_| one(t!("print-tag"), Document::Tag)),
        ],
    )
}

/// What an event is printed as: a walk-round, a slip, a tag.
pub(crate) fn of_event(event: &Event) -> Option<AnyView> {
    let own = |id: &dyn ToString| Some(id.to_string());
    let print = match &event.payload {
        Payload::WalkRoundOpened(of) => {
            of_one(SMALL, (t!("print-walk-round"), Document::WalkRound), &of.machine, own(&event.id))
        }
        Payload::WalkRoundClosed(of) => {
            of_one(SMALL, (t!("print-walk-round"), Document::WalkRound), &of.machine, own(&of.walk_round))
        }
        _ => None,
    }?;
    Some(view! { <p class="acts-row">{print}</p> }.into_any())
}

fn section<const N: usize>(class: &'static str, buttons: [Option<AnyView>; N]) -> Option<AnyView> {
    let buttons: Vec<AnyView> = buttons.into_iter().flatten().collect();
    if buttons.is_empty() {
        return None;
    }
    let view = view! {
        <section class=class>
            <div class="rulehead"><h2>{t!("paper")}</h2></div>
            <div class="acts-row">{buttons}</div>
        </section>
    };
    Some(view.into_any())
}
