//! Devices that write in the record: how far each is held, a code for the next, revoking a lost one.

use leptos::prelude::*;
use muster_wire::{
    devices::{CodeAsked, DeviceView},
    people::{Link, PersonView},
};

use super::form::{Choice, Field, Form, Invitation, said, sent};
use crate::{
    ui::Leaf,
    words::t,
    yard::{ask, yard},
};

/// The list, and a code for the next.
#[component]
pub(crate) fn Devices() -> impl IntoView {
    let devices = LocalResource::new(|| async {
        ask::<Vec<DeviceView>>("GET", "/api/v1/devices", None::<&()>).await.map_err(|error| said(&error))
    });
    let people = LocalResource::new(|| async {
        ask::<Vec<PersonView>>("GET", "/api/v1/people", None::<&()>).await.unwrap_or_default()
    });
    let invitation = RwSignal::new(None::<Link>);
    let person = RwSignal::new(String::new());
    let send = sent(move || async move {
        let asked = CodeAsked { person: Some(person.get_untracked()).filter(|person| !person.is_empty()) };
        let link: Link = ask("POST", "/api/v1/devices/codes", Some(&asked)).await.map_err(|error| said(&error))?;
        invitation.set(Some(link));
        Ok(())
    });
    let choices = move || {
        let whose = people.get().unwrap_or_default().into_iter().filter(|of| of.active && !of.erased);
        let own = whose.map(|of| (of.person, t!("device-of", name = of.name)));
        std::iter::once((String::new(), t!("device-shared"))).chain(own).collect::<Vec<_>>()
    };
    view! {
        <Leaf title=t!("devices")>
            {move || match devices.get() {
                None => view! { <p>{t!("asking")}</p> }.into_any(),
                Some(Err(why)) => view! { <p class="err" role="alert">{why}</p> }.into_any(),
                Some(Ok(all)) => view! { <ul class="list">{all.into_iter().map(|of| device(of, move || devices.refetch())).collect_view()}</ul> }.into_any(),
            }}
            <h2>{t!("enrol-another")}</h2>
            <Form button=t!("show-code") send>
                {move || view! { <Choice label=t!("whose") choices=choices() value=person/> }}
            </Form>
            {move || invitation.get().map(|link| view! { <Invitation link says=t!("scan-to-enrol")/> })}
        </Leaf>
    }
}

fn device(of: DeviceView, again: impl Fn() + Copy + 'static) -> AnyView {
    let yard = yard();
    let person = of.person.clone();
    // Names may come while somebody types: they change this line alone, not the form beneath it.
    let whose = move || person.as_deref().map_or_else(|| t!("device-shared"), |person| yard.name(person));
    let stands = match of.revoked {
        Some(last) => t!("revoked-at", last = last),
        None => t!("held-of-it", count = of.held),
    };
    let why = RwSignal::new(String::new());
    let id = StoredValue::new(of.device.clone());
    let send = sent(move || async move {
        let query = js_sys::encode_uri_component(&why.get_untracked());
        let door = format!("/api/v1/devices/{}?why={query}", id.get_value());
        ask::<serde_json::Value>("DELETE", &door, None::<&()>).await.map_err(|error| said(&error))?;
        again();
        Ok(())
    });
    let may_go = of.revoked.is_none() && !of.own;
    view! {
        <li>
            <p><b>{of.label.clone()}</b><span class="cap">{move || format!("{} · {stands}", whose())}</span></p>
            <p class="mono cap">{of.device.clone()}{of.own.then(|| format!(" · {}", t!("this-server")))}</p>
            {may_go.then(|| view! {
                <details>
                    <summary>{t!("lost")}</summary>
                    <Form button=t!("revoke") send>
                        <p class="cap">{t!("revoke-why")}</p>
                        <Field label=t!("why") value=why/>
                    </Form>
                </details>
            })}
        </li>
    }
    .into_any()
}
