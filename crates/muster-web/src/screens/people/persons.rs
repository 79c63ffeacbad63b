//! Everybody of the yard: who they are, what they do, what they may.

use leptos::prelude::*;
use muster_core::record::payload::{Right, Role};
use muster_wire::people::{AddPerson, Added, ChangePerson, Link, PasswordAsked, PersonView};

use super::form::{Choice, Field, Form, Invitation, said, sent};
use crate::{
    ui::{Leaf, toast},
    words::t,
    yard::ask,
};

/// The list, and whoever is added to it.
#[component]
pub(crate) fn People() -> impl IntoView {
    let people = LocalResource::new(|| async {
        ask::<Vec<PersonView>>("GET", "/api/v1/people", None::<&()>).await.map_err(|error| said(&error))
    });
    let again = move || people.refetch();
    let invitation = RwSignal::new(None::<(String, Link)>);
    view! {
        <Leaf title=t!("people")>
            {move || invitation.get().map(|(name, link)| view! { <Invitation link says=t!("password-link-for", name = name)/> })}
            {move || match people.get() {
                None => view! { <p>{t!("asking")}</p> }.into_any(),
                Some(Err(why)) => view! { <p class="err" role="alert">{why}</p> }.into_any(),
                Some(Ok(all)) => view! {
                    <ul class="list">{all.into_iter().filter(|of| !of.erased).map(|of| person(of, again, invitation)).collect_view()}</ul>
                }.into_any(),
            }}
            <h2>{t!("add-person")}</h2>
            {add(again, invitation)}
        </Leaf>
    }
}

fn add(again: impl Fn() + Copy + 'static, invitation: RwSignal<Option<(String, Link)>>) -> AnyView {
    let (name, role) = (RwSignal::new(String::new()), RwSignal::new(Role::Instructor.to_string()));
    let send = sent(move || async move {
        let asked = AddPerson { name: name.get_untracked(), role: role.get_untracked(), rights: Vec::new() };
        let called = asked.name.clone();
        let added: Added = ask("POST", "/api/v1/people", Some(&asked)).await.map_err(|error| said(&error))?;
        if asked.role != Role::Rider.as_str() {
            invitation.set(Some((called, password_link(&added.person).await?)));
        }
        name.set(String::new());
        again();
        Ok(())
    });
    view! {
        <Form button=t!("add-person") send>
            <Field label=t!("name") value=name/>
            <Choice label=t!("role") choices=roles() value=role/>
        </Form>
    }
    .into_any()
}

fn roles() -> Vec<(String, String)> {
    Role::ALL.iter().map(|role| (role.to_string(), role.to_string())).collect()
}

async fn password_link(person: &str) -> Result<Link, String> {
    let asked = PasswordAsked { current: String::new(), password: String::new() };
    ask("POST", &format!("/api/v1/people/{person}/password"), Some(&asked)).await.map_err(|error| said(&error))
}

fn person(of: PersonView, again: impl Fn() + Copy + 'static, invitation: RwSignal<Option<(String, Link)>>) -> AnyView {
    let door = StoredValue::new(format!("/api/v1/people/{}", of.person));
    let role = RwSignal::new(of.role.clone().unwrap_or_default());
    let rights = RwSignal::new(of.rights.clone());
    let active = RwSignal::new(of.active);
    let change = sent(move || async move {
        let asked = ChangePerson {
            name: None,
            role: Some(role.get_untracked()),
            rights: Some(rights.get_untracked()),
            active: Some(active.get_untracked()),
        };
        ask::<serde_json::Value>("PATCH", &door.get_value(), Some(&asked)).await.map_err(|error| said(&error))?;
        toast(t!("kept"));
        again();
        Ok(())
    });
    let (id, name) = (StoredValue::new(of.person.clone()), StoredValue::new(of.name.clone()));
    let invite = sent(move || async move {
        invitation.set(Some((name.get_value(), password_link(&id.get_value()).await?)));
        Ok(())
    });
    let why = RwSignal::new(String::new());
    let erase = sent(move || async move {
        let query = js_sys::encode_uri_component(&why.get_untracked());
        let door = format!("{}?why={query}", door.get_value());
        ask::<serde_json::Value>("DELETE", &door, None::<&()>).await.map_err(|error| said(&error))?;
        again();
        Ok(())
    });
    let right = move |right: Right| {
        let is = move || rights.with(|all| all.iter().any(|of| of == right.as_str()));
        let turn = move |_| {
            rights.update(|all| match all.iter().position(|of| of == right.as_str()) {
                Some(at) => _ = all.remove(at),
                None => all.push(right.to_string()),
            });
        };
        view! { <label class="tickbox"><input type="checkbox" prop:checked=is on:change=turn/>{right.to_string()}</label> }
    };
    let role_said = of.role.clone().unwrap_or_default();
    let left = (!of.active).then(|| t!("left"));
    view! {
        <li>
            <details>
                <summary><b>{of.name.clone()}</b><span class="cap">{role_said}{left.map(|left| format!(", {left}"))}</span></summary>
                <Form button=t!("keep") send=change>
                    <Choice label=t!("role") choices=roles() value=role/>
                    <fieldset><legend class="cap">{t!("rights")}</legend>{Right::ALL.iter().map(|of| right(*of)).collect_view()}</fieldset>
                    <label class="tickbox"><input type="checkbox" prop:checked=move || active.get() on:change=move |_| active.update(|of| *of = !*of)/>{t!("may-act")}</label>
                </Form>
                <Form button=t!("password-link") send=invite/>
                <Form button=t!("erase") send=erase>
                    <p class="cap">{t!("erase-why")}</p>
                    <Field label=t!("why") value=why/>
                </Form>
            </details>
        </li>
    }
    .into_any()
}
