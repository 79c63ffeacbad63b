//! Signing in by name and password.

use leptos::prelude::*;
use leptos_router::hooks::use_navigate;
use muster_wire::people::{SignIn as Asked, SignedIn};

use super::form::{Field, Form, Page, said, sent};
use crate::{
    words::t,
    yard::{ask, yard},
};

/// Name and password.
#[component]
pub(crate) fn SignIn() -> impl IntoView {
    let (yard, navigate) = (yard(), use_navigate());
    let (person, password) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let send = sent(move || {
        let (asked, navigate) =
            (Asked { person: person.get_untracked(), password: password.get_untracked() }, navigate.clone());
        async move {
            ask::<SignedIn>("POST", "/api/v1/sign-in", Some(&asked)).await.map_err(|error| said(&error))?;
            yard.sync().await;
            navigate("/", leptos_router::NavigateOptions::default());
            Ok(())
        }
    });
    view! {
        <Page title=t!("sign-in")>
            <Form button=t!("sign-in") send>
                <Field label=t!("name") value=person autocomplete="username"/>
                <Field label=t!("password") value=password kind="password" autocomplete="current-password"/>
            </Form>
            <p class="cap">{t!("forgot-password")}</p>
        </Page>
    }
}
