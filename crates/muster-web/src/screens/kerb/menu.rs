//! Where to go from the yard on a phone.

use leptos::prelude::*;
use leptos_router::components::A;
use muster_core::record::payload::Kind;

use crate::{words::t, yard::yard};

/// Round, session, scan, add a machine: those that who acts may use.
#[component]
pub(crate) fn KerbMenu() -> impl IntoView {
    let yard = yard();
    let link = |href: &'static str, says: String| view! { <A href=href attr:class="btn">{says}</A> }.into_any();
    view! {
        <nav class="kmenu" aria-label=t!("kerb-menu")>
            {move || yard.may(Kind::ReadingTaken).then(|| link("/round", t!("round")))}
            {move || yard.may(Kind::Released).then(|| link("/session", t!("session")))}
            {link("/scan", t!("scan"))}
            {move || yard.may(Kind::MachineRegistered).then(|| link("/add", t!("add-machine")))}
        </nav>
    }
}
