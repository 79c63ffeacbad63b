//! Signing by PIN: it states whose act this is. The server checks it where there is signal; without, nothing does.

use leptos::{prelude::*, task::spawn_local};
use muster_wire::people::PinGuess;

use crate::{
    ui::{Keypad, Pressed},
    words::t,
    yard::{LinkError, Yard, ask, yard},
};

/// Fewest and most digits.
const DIGITS: std::ops::RangeInclusive<usize> = 4..=8;

/// Asks for the PIN, then runs what was to be signed.
#[component]
pub(super) fn PinSheet(
    /// What is signed, in a word.
    #[prop(into)]
    what: String,
    /// Runs once signed.
    signed: UnsyncCallback<()>,
    /// Leaves it.
    cancel: UnsyncCallback<()>,
) -> impl IntoView {
    let yard = yard();
    let (typed, wrong) = (RwSignal::new(String::new()), RwSignal::new(None::<String>));
    let (busy, has_pin) = (RwSignal::new(false), RwSignal::new(false));
    recall(yard, has_pin);
    let offline = move || yard.link.with(|link| link.online != Some(true));
    let pressed = UnsyncCallback::new(move |pressed| key(typed, wrong, pressed));
    let check = move |_| {
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        let pin = typed.get_untracked();
        let owner = Owner::current();
        spawn_local(async move {
            let done = checked(yard, pin).await;
            let _ = busy.try_set(false);
            match done {
                Ok(()) => match owner {
                    Some(owner) => owner.with(|| signed.run(())),
                    None => signed.run(()),
                },
                Err(why) => {
                    let _ = typed.try_set(String::new());
                    let _ = wrong.try_set(Some(why));
                }
            }
        });
    };
    let dots = move || {
        let so_far = typed.with(String::len);
        (0..so_far.max(*DIGITS.start())).map(|index| view! { <i class:on={index < so_far}></i> }).collect_view()
    };
    let short = move || typed.with(|typed| !DIGITS.contains(&typed.len()));
    let who = yard.person().map(|me| yard.name(me.as_str())).unwrap_or_default();
    view! {
        <main>
            <section class="sheet sheet--whole pinsheet">
                <h1>{t!("pin-of", who = who.as_str())}</h1>
                <p class="cap">{what}</p>
                <div class="pin"><div class="dots" role="img" aria-label=move || t!("digits-typed", count = typed.with(String::len))>{dots}</div></div>
                {move || wrong.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
                {move || offline().then(|| view! { <p class="notice notice--plain">{t!("pin-offline")}</p> })}
                <Show when=move || !has_pin.get()>
                    <button class="btn btn--quiet" on:click=move |_| signed.run(())>{t!("no-pin")}</button>
                </Show>
            </section>
        </main>
        <section class="dock" aria-label=t!("answer-and-go-on")>
            <Keypad pressed sign='.' column=Signal::default()/>
            <footer class="foot foot--two">
                <button class="btn" on:click=move |_| cancel.run(())>{t!("cancel")}</button>
                <button class="btn btn--lg" class:btn--primary=move || !short() class:is-off=short class:is-busy=move || busy.get() disabled=short on:click=check>{t!("sign")}</button>
            </footer>
        </section>
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

/// Where a person has signed by PIN here before, one is asked for.
fn kept_as(person: &str) -> String {
    format!("pin used by {person}")
}

fn recall(yard: Yard, has_pin: RwSignal<bool>) {
    let (Some(disk), Some(me)) = (yard.disk(), yard.person()) else { return };
    spawn_local(async move {
        if let Ok(Some(true)) = disk.recall::<bool>(&kept_as(me.as_str())).await {
            let _ = has_pin.try_set(true);
        }
    });
}

async fn checked(yard: Yard, pin: String) -> Result<(), String> {
    let me = yard.person().ok_or_else(|| t!("sign-in-first"))?;
    let door = format!("/api/v1/people/{me}/pin/check");
    match ask::<serde_json::Value>("POST", &door, Some(&PinGuess { pin })).await {
        Ok(_) => {
            if let Some(disk) = yard.disk() {
                // What is not remembered is asked again.
                let _ = disk.remember(&kept_as(me.as_str()), &true).await;
            }
            Ok(())
        }
        // Without signal the PIN states whose act it is, and nothing more.
        Err(LinkError::NoAnswer) => Ok(()),
        Err(why) => Err(why.to_string()),
    }
}
