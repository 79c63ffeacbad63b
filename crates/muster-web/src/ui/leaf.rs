//! A page of a desk and what stands where there is nothing to show yet.

use leptos::prelude::*;
use leptos_router::components::A;
use muster_core::record::payload::Role;

use super::{Banner, Mast};
use crate::{words::t, yard::yard};

/// A page with its heading; on a phone the bar says it.
#[component]
pub(crate) fn Leaf(
    /// Its heading.
    #[prop(into)]
    title: String,
    /// What stands on it.
    children: Children,
) -> impl IntoView {
    view! {
        <div class="desk desk--page touchable">
            <Mast title=title.clone() back="/"/>
            <Banner/>
            <main class="page"><h1 class="pageh">{title}</h1>{children()}</main>
        </div>
    }
    .into_any()
}

/// Nothing is held: being fetched, or what it takes.
#[component]
pub(crate) fn Nothing() -> impl IntoView {
    let yard = yard();
    move || {
        let link = yard.link.get();
        if yard.role() == Some(Role::Rider) {
            view! { <p class="notice notice--wide"><span aria-hidden="true">"!"</span><span>{t!("rider-carries-nothing")}</span></p> }.into_any()
        } else if link.signed_out {
            view! { <p class="notice notice--wide"><span aria-hidden="true">"!"</span><span>{t!("sign-in-to-see")} " " <A href="/sign-in">{t!("sign-in")}</A></span></p> }.into_any()
        } else if link.online == Some(false) {
            view! { <p class="notice notice--wide dash" role="alert"><span aria-hidden="true">"!"</span><span>{t!("nothing-known")}</span></p> }.into_any()
        } else {
            view! {
                <p class="cap" role="status">{t!("yard-fetched")}</p>
                <Waits/>
            }
            .into_any()
        }
    }
}

/// Rows to come.
#[component]
pub(crate) fn Waits() -> impl IntoView {
    view! { <div class="waits" aria-hidden="true">{(0..8).map(|_| view! { <div class="wait"></div> }).collect_view()}</div> }
}

/// In the place of a machine or a sheet: being fetched, or not in this yard.
#[component]
pub(crate) fn Lacking(
    /// The page's heading.
    #[prop(into)]
    title: String,
) -> impl IntoView {
    let yard = yard();
    view! {
        <section class="sec">
            <h1>{title}</h1>
            {move || if yard.is_known() {
                view! { <p>{t!("no-such-here")}</p><p><A href="/" attr:class="btn">{t!("to-the-yard")}</A></p> }.into_any()
            } else {
                view! { <Nothing/> }.into_any()
            }}
        </section>
    }
    .into_any()
}
