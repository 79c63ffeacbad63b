//! Signing in.

use leptos::{prelude::*, task::spawn_local};
use leptos_router::hooks::use_navigate;
use muster_wire::people::{SignIn as Asked, SignedIn};

use crate::{
    words::t,
    yard::{ask, yard},
};

/// Name and password.
#[component]
pub(crate) fn SignIn() -> impl IntoView {
    let yard = yard();
    let (person, password) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let (trouble, busy) = (RwSignal::new(None::<String>), RwSignal::new(false));
    let navigate = use_navigate();
    let go = move |event: leptos::ev::SubmitEvent| {
        event.prevent_default();
        let navigate = navigate.clone();
        busy.set(true);
        spawn_local(async move {
            let asked = Asked { person: person.get_untracked(), password: password.get_untracked() };
            match ask::<SignedIn>("POST", "/api/v1/sign-in", Some(&asked)).await {
                Ok(_) => {
                    yard.sync().await;
                    navigate("/", leptos_router::NavigateOptions::default());
                }
                Err(error) => trouble.set(Some(error.to_string())),
            }
            busy.set(false);
        });
    };
    view! {
        <main class="phone is-page">
            <form class="sec form" on:submit=go>
                <h1>{t!("sign-in")}</h1>
                <label class="field"><span>{t!("name")}</span><input class="input" autocomplete="username" required bind:value=person/></label>
                <label class="field"><span>{t!("password")}</span><input class="input" type="password" autocomplete="current-password" required bind:value=password/></label>
                {move || trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
                <button class="btn btn--primary btn--lg" class:is-busy=move || busy.get() disabled=move || busy.get()>{t!("sign-in")}</button>
            </form>
        </main>
    }
}
