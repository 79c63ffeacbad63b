//! Signing, one way everywhere: a second's press, then the PIN, which says whose act it is.

use leptos::{ev::KeyboardEvent, html, prelude::*, task::spawn_local};
use leptos_router::components::A;
use muster_wire::people::PinGuess;
use wasm_bindgen::JsCast;

use super::{Keypad, Press, Pressed};
use crate::{
    words::t,
    yard::{LinkError, Yard, ask, yard},
};

/// Fewest and most digits.
const DIGITS: std::ops::RangeInclusive<usize> = 4..=8;

/// A button that signs: a second's press, then the PIN over what is on the screen.
#[component]
pub(crate) fn Sign(
    /// What it does, in a word.
    #[prop(into)]
    label: Signal<String>,
    /// What is signed, in a sentence.
    #[prop(into)]
    what: String,
    /// Classes of the button beside `btn btn--lg`.
    class: &'static str,
    /// Says whether all is filled in; what is missing it has told by itself.
    ready: UnsyncCallback<(), bool>,
    /// Runs once signed.
    signed: UnsyncCallback<()>,
) -> impl IntoView {
    let open = RwSignal::new(false);
    let pressed = UnsyncCallback::new(move |()| open.set(ready.run(())));
    let signed = UnsyncCallback::new(move |()| {
        signed.run(());
        let _ = open.try_set(false);
    });
    let cancel = UnsyncCallback::new(move |()| open.set(false));
    view! {
        <Press label hint=Signal::stored(t!("press-then-pin")) class done=pressed/>
        {move || open.get().then(|| view! { <PinSheet what=what.clone() signed cancel/> })}
    }
}

/// Asks for the PIN of whoever acts, over what is on the screen, then runs what was to be signed.
#[component]
pub(crate) fn PinSheet(
    /// What is signed, in a sentence.
    #[prop(into)]
    what: String,
    /// Runs once signed.
    signed: UnsyncCallback<()>,
    /// Leaves it.
    cancel: UnsyncCallback<()>,
) -> impl IntoView {
    let yard = yard();
    let sheet = NodeRef::<html::Dialog>::new();
    Effect::new(move |_| {
        // One that cannot be shown over the page is shown in it.
        if let Some(sheet) = sheet.get().filter(|sheet| sheet.show_modal().is_err()) {
            sheet.show();
        }
    });
    let has_pin = Memo::new(move |_| yard.me.with(|me| me.as_ref().is_some_and(|me| me.has_pin)));
    let who = yard.person().map(|me| yard.name(me.as_str())).unwrap_or_default();
    let leave = move |event: leptos::ev::Event| {
        event.prevent_default();
        cancel.run(());
    };
    view! {
        <dialog class="signing touch" aria-labelledby="signing" node_ref=sheet on:cancel=leave>
            <h2 id="signing" tabindex="-1" autofocus>{t!("pin-of", who = who.as_str())}</h2>
            <p class="cap">{what}</p>
            {move || if has_pin.get() {
                view! { <Typed signed cancel/> }.into_any()
            } else {
                view! {
                    <p class="notice"><span></span><span>{t!("pin-not-set")} " " <A href="/me">{t!("pin-set-one")}</A></span></p>
                    <footer class="foot foot--two">
                        <button type="button" class="btn" on:click=move |_| cancel.run(())>{t!("cancel")}</button>
                        <button type="button" class="btn btn--primary btn--lg" on:click=move |_| signed.run(())>{t!("no-pin")}</button>
                    </footer>
                }.into_any()
            }}
        </dialog>
    }
}

/// The digits, and what checks them.
#[component]
fn Typed(signed: UnsyncCallback<()>, cancel: UnsyncCallback<()>) -> impl IntoView {
    let yard = yard();
    let (typed, wrong) = (RwSignal::new(String::new()), RwSignal::new(None::<String>));
    let busy = RwSignal::new(false);
    let is_short = move || typed.with(|typed| !DIGITS.contains(&typed.len()));
    let pressed = UnsyncCallback::new(move |pressed| key(typed, wrong, pressed));
    let check = UnsyncCallback::new(move |()| {
        if busy.get_untracked() || untrack(is_short) {
            return;
        }
        busy.set(true);
        let pin = typed.get_untracked();
        let owner = Owner::current();
        spawn_local(async move {
            let done = checked(yard, pin).await;
            let _ = busy.try_set(false);
            match (done, owner) {
                (Ok(()), Some(owner)) => owner.with(|| signed.run(())),
                (Ok(()), None) => signed.run(()),
                (Err(why), _) => {
                    let _ = typed.try_set(String::new());
                    let _ = wrong.try_set(Some(why));
                }
            }
        });
    });
    // A keyboard ends the PIN by Enter; on a button it is the button's.
    let entered = window_event_listener(leptos::ev::keydown, move |event: KeyboardEvent| {
        let target = event.target().and_then(|target| target.dyn_into::<web_sys::Element>().ok());
        if event.key() == "Enter" && target.is_none_or(|of| !["BUTTON", "A"].contains(&of.tag_name().as_str())) {
            event.prevent_default();
            check.run(());
        }
    });
    on_cleanup(move || entered.remove());
    let dots = move || {
        let so_far = typed.with(String::len);
        (0..so_far.max(*DIGITS.start())).map(|index| view! { <i class:on={index < so_far}></i> }).collect_view()
    };
    // Which of the two checks it without signal: this phone, or nobody.
    let here = LocalResource::new(move || async move { yard.knows_pin().await });
    let offline = move || {
        let is_offline = yard.link.with(|link| link.online != Some(true));
        let says = if here.get() == Some(true) { t!("pin-checked-here") } else { t!("pin-offline") };
        is_offline.then(|| view! { <p class="notice notice--plain">{says}</p> })
    };
    view! {
        <div class="pin"><div class="dots" role="img" aria-label=move || t!("digits-typed", count = typed.with(String::len))>{dots}</div></div>
        {move || wrong.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
        {offline}
        <Keypad pressed sign='.' column=Signal::default()/>
        <footer class="foot foot--two">
            <button type="button" class="btn" on:click=move |_| cancel.run(())>{t!("cancel")}</button>
            <button type="button" class="btn btn--lg" class:btn--primary=move || !is_short() class:is-off=is_short class:is-busy=move || busy.get()
                disabled=is_short on:click=move |_| check.run(())>{t!("sign")}</button>
        </footer>
    }
}

fn key(typed: RwSignal<String>, wrong: RwSignal<Option<String>>, pressed: Pressed) {
    wrong.set(None);
    typed.update(|typed| match pressed {
        Pressed::Digit(digit) if typed.len() < *DIGITS.end() => typed.push(digit),
        Pressed::Delete => _ = typed.pop(),
        _ => {}
    });
}

/// The server checks, where guesses are counted; without signal a phone that people share does.
async fn checked(yard: Yard, pin: String) -> Result<(), String> {
    let me = yard.person().ok_or_else(|| t!("sign-in-first"))?;
    let door = format!("/api/v1/people/{me}/pin/check");
    match ask::<serde_json::Value>("POST", &door, Some(&PinGuess { pin: pin.clone() })).await {
        Err(LinkError::NoAnswer) if yard.is_pin(&pin).await == Some(false) => Err(t!("pin-wrong")),
        // On a phone of one's own the PIN states whose act it is, and nothing more.
        Ok(_) | Err(LinkError::NoAnswer) => Ok(()),
        Err(LinkError::Refused(403, _)) => Err(t!("pin-wrong")),
        Err(why) => Err(why.to_string()),
    }
}
