//! How it stands with the server, and the head of a desk's screens.

use leptos::prelude::*;
use leptos_router::components::A;

use muster_core::record::{
    payload::Kind,
    rights::{View, may_view},
};

use super::{Icon, narrow, when::long_day};
use crate::{
    clock,
    words::t,
    worker,
    yard::{Link, yard},
};

/// What is not sent, how old the rest is, what a person has to do. Nothing where all is well.
#[component]
pub(crate) fn Banner() -> impl IntoView {
    let yard = yard();
    let line = move || {
        let link = yard.link.get();
        let is_demonstration = yard.me.with(|me| me.as_ref().is_some_and(|me| me.demonstration));
        let sign_in = link.signed_out.then(|| view! { <a href="/sign-in" class="btn btn--sm">{t!("sign-in")}</a> });
        said(&link, is_demonstration, yard.is_revoked()).map(
            |text| view! { <div class="state" role="status"><span>{text.0}</span><span>{text.1}</span>{sign_in}</div> },
        )
    };
    let update = move || {
        worker::waits().then(|| {
            view! {
                <div class="state state--new" role="status">
                    <span>{t!("new-version")}</span>
                    <button class="btn btn--sm" on:click=|_| worker::take_over()>{t!("take-over")}</button>
                </div>
            }
        })
    };
    view! { {line} {update} }
}

/// The two halves of the line.
fn said(link: &Link, is_demonstration: bool, is_revoked: bool) -> Option<(String, String)> {
    let unsent = if link.unsent == 0 { String::new() } else { t!("not-sent", count = link.unsent) };
    if let Some(trouble) = &link.trouble {
        return Some((trouble.clone(), unsent));
    }
    if let Some(why) = link.refused.first() {
        return Some((t!("refused", why = why.as_str()), unsent));
    }
    if let Some(count) = link.lost {
        return Some((t!("storage-lost", count = count), unsent));
    }
    if is_revoked {
        return Some((t!("device-revoked"), unsent));
    }
    if link.is_other {
        return Some((t!("other-tab"), unsent));
    }
    if link.signed_out {
        return Some((t!("signed-out"), unsent));
    }
    if link.online.is_none() {
        return Some((t!("asking"), unsent));
    }
    if link.online == Some(false) {
        let heard = link.heard.map_or_else(|| t!("never-heard"), |at| t!("as-of", at = at.clock()));
        return Some((t!("no-signal"), if unsent.is_empty() { heard } else { format!("{unsent} · {heard}") }));
    }
    // The demonstration's clock begins anew at each start: nobody's own is wrong.
    if let Some(seconds) = clock::wrong_by_s().filter(|_| !is_demonstration) {
        return Some((t!("clock-wrong", minutes = (seconds / 60).abs()), unsent));
    }
    if link.other_catalogue {
        return Some((t!("other-catalogue"), unsent));
    }
    (!unsent.is_empty()).then(|| (unsent, String::new()))
}

/// The head of a desk's screens: where one can go, whose yard it is, who acts. On a phone a bar with the title and a menu.
#[component]
pub(crate) fn Mast(
    /// What this screen is, on a phone.
    #[prop(optional, into)]
    title: String,
    /// Where a phone goes back to; the yard itself has nowhere.
    #[prop(optional, into)]
    back: Option<String>,
) -> impl IntoView {
    let yard = yard();
    let name = move || yard.yard_name();
    let who = move || yard.me.get().map(|me| format!("{}, {}", yard.name(&me.person), me.role));
    let narrow = narrow();
    // A phone says the day itself; to read its calendars takes a browser longer than all the rest of the head.
    let today = move || (!narrow.get()).then(|| long_day(clock::now()));
    let told = move || [today(), who()].into_iter().flatten().collect::<Vec<_>>().join(" · ");
    let title = if title.is_empty() { "Muster".to_owned() } else { title };
    let back = back.map(|href| {
        view! { <A href=href attr:class="hit" attr:aria-label=t!("back")><Icon name="back"/></A> }
    });
    let menu = NodeRef::<leptos::html::Details>::new();
    // A menu chosen from is done.
    let shut = move |_| {
        if let Some(menu) = menu.get_untracked() {
            menu.set_open(false);
        }
    };
    view! {
        <header class="mast">
            <A href="/" attr:class="mark">
                <svg width="30" height="30" viewBox="0 0 24 24" aria-hidden="true"><path d="M2 19V8M7 19V12M12 19V8M17 19V12M22 19V5" stroke="currentColor" stroke-width="2"/><path d="M1 20H23" stroke="currentColor" stroke-width="2.6"/><path d="M12 0.5L15 5.5H9Z" fill="currentColor"/></svg>
                "Muster"
            </A>
            <nav aria-label=t!("main")><Places/></nav>
            <div class="who"><b>{name}</b><br/>{told}</div>
            <details class="menu menu--desk">
                <summary class="hit" aria-label=t!("more")><Icon name="more"/></summary>
                <nav aria-label=t!("more")><Others/></nav>
            </details>
            <div class="bar bar--mast">
                {back}
                <div class="id"><b>{title}</b><span>{name}</span></div>
                <details class="menu" node_ref=menu>
                    <summary class="hit" aria-label=t!("menu")><Icon name="more"/></summary>
                    <nav aria-label=t!("main") on:click=shut><Places/><Others/><p class="cap">{who}</p></nav>
                </details>
            </div>
        </header>
    }
}

/// Where one can go: what the role may not see is not offered.
#[component]
fn Places() -> impl IntoView {
    let yard = yard();
    let sees = move |view: View| yard.me.with(|_| yard.role().is_some_and(|role| may_view(role, view)));
    view! {
        <A href="/" exact=true>{t!("yard")}</A>
        {move || (yard.me.with(|_| yard.may(Kind::ReadingTaken))).then(|| view! { <A href="/round">{t!("round")}</A> })}
        <A href="/jobs">{t!("jobs")}</A>
        <A href="/wear">{t!("wear")}</A>
        {move || sees(View::Record).then(|| view! { <A href="/records">{t!("records")}</A> })}
    }
}

/// What is wanted more seldom.
#[component]
fn Others() -> impl IntoView {
    let yard = yard();
    let may = move |kind: Kind| yard.me.with(|_| yard.may(kind));
    let sees = move |view: View| yard.me.with(|_| yard.role().is_some_and(|role| may_view(role, view)));
    view! {
        <A href="/scan">{t!("scan")}</A>
        {move || may(Kind::Released).then(|| view! { <A href="/session">{t!("session")}</A> })}
        {move || may(Kind::MachineRegistered).then(|| view! { <A href="/add">{t!("add-machine")}</A> })}
        <A href="/instruments">{t!("instruments")}</A>
        {move || may(Kind::PaperIssued).then(|| view! { <A href="/paper">{t!("paper")}</A> })}
        {move || sees(View::People).then(|| view! { <A href="/people">{t!("people")}</A> })}
        {move || sees(View::Devices).then(|| view! { <A href="/devices">{t!("devices")}</A> })}
        <A href="/me">{t!("me")}</A>
    }
}
