//! Oneself: password, PIN, leaving.

use leptos::prelude::*;
use leptos_router::hooks::use_navigate;
use muster_wire::people::{PasswordAsked, Pin, SignedIn};

use super::form::{Field, Form, said, sent};
use crate::{
    ui::{Leaf, toast},
    words::t,
    yard::{ask, yard},
};

/// What one may change of oneself.
#[component]
pub(crate) fn MeScreen() -> impl IntoView {
    let (yard, navigate) = (yard(), use_navigate());
    let (current, password, pin) =
        (RwSignal::new(String::new()), RwSignal::new(String::new()), RwSignal::new(String::new()));
    let door = move |what: &str| {
        let person = yard.me.with_untracked(|me| me.as_ref().map(|me| me.person.clone())).unwrap_or_default();
        format!("/api/v1/people/{person}/{what}")
    };
    let change = sent(move || async move {
        let asked = PasswordAsked { current: current.get_untracked(), password: password.get_untracked() };
        ask::<SignedIn>("POST", &door("password"), Some(&asked)).await.map_err(|error| said(&error))?;
        toast(t!("kept"));
        Ok(())
    });
    let set = sent(move || async move {
        let asked = Pin { pin: pin.get_untracked() };
        ask::<serde_json::Value>("POST", &door("pin"), Some(&asked)).await.map_err(|error| said(&error))?;
        pin.set(String::new());
        // Who acts is asked anew: a PIN is set now.
        yard.sync_soon();
        toast(t!("kept"));
        Ok(())
    });
    let leave = sent(move || {
        let navigate = navigate.clone();
        async move {
            ask::<serde_json::Value>("DELETE", "/api/v1/sign-in", None::<&()>).await.map_err(|error| said(&error))?;
            navigate("/sign-in", leptos_router::NavigateOptions::default());
            Ok(())
        }
    });
    let who = move || yard.me.get().map(|me| format!("{}, {}", yard.name(&me.person), me.role)).unwrap_or_default();
    let stands = move || match yard.me.get() {
        Some(me) if me.has_pin => t!("pin-is-set"),
        _ => t!("pin-is-not-set"),
    };
    view! {
        <Leaf title=t!("me")>
            <p>{who}</p>
            <h2>{t!("pin")}</h2>
            <p class="cap">{t!("pin-why")} " " {stands}</p>
            <Form button=t!("keep") send=set><Field label=t!("pin-digits") value=pin kind="password"/></Form>
            <Show when=move || yard.me.get().is_some_and(|me| !me.demonstration) fallback=|| view! { <p>{t!("demonstration-no-sign-in")}</p> }>
                <h2>{t!("password")}</h2>
                <Form button=t!("keep") send=change>
                    <Field label=t!("password-now") value=current kind="password" autocomplete="current-password"/>
                    <Field label=t!("password-new") value=password kind="password" autocomplete="new-password"/>
                </Form>
                <Form button=t!("sign-out") send=leave/>
            </Show>
        </Leaf>
    }
}
