//! Where links lead that work once: the first owner, a device to enrol, a password to set.

use leptos::prelude::*;
use leptos_router::{NavigateOptions, hooks::use_navigate};
use muster_wire::people::{FirstOwner, NewPassword, SignedIn};

use super::form::{Field, Form, Page, code, said, sent};
use crate::{
    words::t,
    yard::{ask, yard},
};

/// The first owner of a record that has nobody.
#[component]
pub(crate) fn First() -> impl IntoView {
    let (yard, navigate) = (yard(), use_navigate());
    let (name, password) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let send = sent(move || {
        let navigate = navigate.clone();
        let code = code();
        let (name, password) = (name.get_untracked(), password.get_untracked());
        async move {
            let code = code.ok_or_else(|| t!("no-code"))?;
            let asked = FirstOwner { code, name, password };
            ask::<SignedIn>("POST", "/api/v1/first", Some(&asked)).await.map_err(|error| said(&error))?;
            yard.sync().await;
            navigate("/add", NavigateOptions { replace: true, ..NavigateOptions::default() });
            Ok(())
        }
    });
    view! {
        <Page title=t!("first-owner")>
            <p>{t!("first-owner-why")}</p>
            <Form button=t!("begin") send>
                <Field label=t!("your-name") value=name autocomplete="name"/>
                <Field label=t!("password-new") value=password kind="password" autocomplete="new-password"/>
            </Form>
        </Page>
    }
}

/// A password set by a link.
#[component]
pub(crate) fn Password() -> impl IntoView {
    let (yard, navigate) = (yard(), use_navigate());
    let password = RwSignal::new(String::new());
    let send = sent(move || {
        let navigate = navigate.clone();
        let (code, password) = (code(), password.get_untracked());
        async move {
            let asked = NewPassword { code: code.ok_or_else(|| t!("no-code"))?, password };
            ask::<SignedIn>("POST", "/api/v1/password", Some(&asked)).await.map_err(|error| said(&error))?;
            yard.sync().await;
            navigate("/", NavigateOptions { replace: true, ..NavigateOptions::default() });
            Ok(())
        }
    });
    view! {
        <Page title=t!("set-password")>
            <Form button=t!("set-password") send>
                <Field label=t!("password-new") value=password kind="password" autocomplete="new-password"/>
            </Form>
        </Page>
    }
}

/// This browser, enrolled by a code.
#[component]
pub(crate) fn Enrol() -> impl IntoView {
    let (yard, navigate) = (yard(), use_navigate());
    let label = RwSignal::new(String::new());
    let send = sent(move || {
        let navigate = navigate.clone();
        let (code, label) = (code(), label.get_untracked());
        async move {
            yard.enrol(&code.ok_or_else(|| t!("no-code"))?, &label).await?;
            yard.sync().await;
            let next = if yard.link.with_untracked(|link| link.signed_out) { "/sign-in" } else { "/" };
            navigate(next, NavigateOptions { replace: true, ..NavigateOptions::default() });
            Ok(())
        }
    });
    view! {
        <Page title=t!("enrol")>
            <p>{t!("enrol-why")}</p>
            <Form button=t!("enrol") send>
                <Field label=t!("device-label") value=label/>
            </Form>
        </Page>
    }
}
