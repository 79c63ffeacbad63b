//! A machine comes back: odometer, fuel, damage, key.

use leptos::{prelude::*, task::spawn_local};
use leptos_router::{NavigateOptions, components::A, hooks::use_navigate};
use muster_core::record::id::EventId;
use muster_wire::command::{Asked, TakeBack};

use super::parts::{Bar, Words, addressed, with_unit};
use crate::{
    ui::{Banner, Lacking, toast},
    words::t,
    yard::yard,
};

#[derive(Clone, Copy)]
struct Coming {
    machine: Memo<String>,
    release: RwSignal<String>,
    odometer: RwSignal<String>,
    fuel: RwSignal<String>,
    damaged: RwSignal<String>,
    damage: RwSignal<String>,
    class: RwSignal<String>,
    key: RwSignal<String>,
    trouble: RwSignal<Option<String>>,
    busy: RwSignal<bool>,
}

/// The screen.
#[component]
pub(crate) fn Return() -> impl IntoView {
    let (yard, machine) = (yard(), addressed());
    let text = |of: &str| RwSignal::new(of.to_owned());
    let coming = Coming {
        machine,
        release: text(""),
        odometer: text(""),
        fuel: text(""),
        damaged: text(""),
        damage: text(""),
        class: text("minor"),
        key: text(""),
        trouble: RwSignal::new(None),
        busy: RwSignal::new(false),
    };
    let out = Memo::new(move |_| {
        let out = yard.with(|held| {
            let out = held.machine(&machine.get())?.out();
            Some(out.map(|(id, of)| (id, of.released.outing.clone(), of.released.to.clock())).collect::<Vec<_>>())
        });
        out.flatten()
    });
    view! {
        <div class="phone touch">
            <Bar title=t!("return") beside=machine sub=String::new()
                back=Signal::derive(move || format!("/machines/{}", machine.get())) leave=t!("leave-return")/>
            <Banner/>
            {move || match out.get() {
                None => view! { <main tabindex="0"><Lacking title=t!("return")/></main> }.into_any(),
                Some(out) if out.is_empty() => not_out(machine.get()),
                Some(out) => form(coming, out),
            }}
        </div>
    }
}

fn not_out(machine: String) -> AnyView {
    view! {
        <main tabindex="0"><section class="sec">
            <h1>{t!("kerb-not-out", machine = machine.as_str())}</h1>
            <p>{t!("not-out-todo")}</p>
            <p><A href=format!("/machines/{machine}") attr:class="btn">{t!("to-machine", machine = machine.as_str())}</A></p>
        </section></main>
    }
    .into_any()
}

fn form(coming: Coming, out: Vec<(EventId, String, String)>) -> AnyView {
    let machine = coming.machine.get_untracked();
    let only = (out.len() == 1).then(|| out.first()).flatten();
    let outing = only.map(|(_, outing, to)| t!("back-from", outing = outing.as_str(), at = to.as_str()));
    if let Some((id, ..)) = out.first() {
        coming.release.set(id.to_string());
    }
    let several = (out.len() > 1).then(|| {
        let choices = out.iter().map(|(id, outing, to)| (id.to_string(), format!("{outing}, {to}"))).collect();
        view! { <p class="caution">{t!("kerb-out-twice")}</p><Words label=t!("which-outing") choices value=coming.release/> }
    });
    let fuels = [t!("fuel-full"), t!("fuel-half"), t!("fuel-quarter"), t!("fuel-low")];
    let fuels = fuels.map(|of| (of.clone(), of)).to_vec();
    let damage = vec![("none".to_owned(), t!("damage-none")), ("some".to_owned(), t!("damage-some"))];
    let keys = vec![("yes".to_owned(), t!("key-back")), ("no".to_owned(), t!("key-elsewhere"))];
    let what = move || {
        (coming.damaged.get() == "some").then(|| {
            let classes = vec![
                ("minor".to_owned(), t!("kerb-class-minor-says")),
                ("major".to_owned(), t!("kerb-class-major-says")),
                ("dangerous".to_owned(), t!("kerb-class-dangerous-says")),
            ];
            view! {
                <div class="form">
                    <label class="field"><span>{t!("damage-what")}</span><input class="input" autocomplete="off" bind:value=coming.damage/></label>
                </div>
                <Words label=t!("kerb-how-grave") choices=classes value=coming.class/>
                <p class="cap">{t!("damage-raises")}</p>
            }
        })
    };
    let button = move || match (coming.damaged.get() == "some", coming.class.get().as_str()) {
        (true, "minor") => t!("return-watch"),
        (true, _) => t!("return-hold"),
        _ => t!("return-save"),
    };
    view! {
        <main tabindex="0">
            <section class="sec">
                <h1>{t!("is-back", machine = machine)}</h1>
                <p class="cap">{outing}</p>
            </section>
            <section class="fall" aria-label=t!("return")>
                {several}
                <div class="form">
                    <label class="field"><span>{t!("odometer-optional")}</span>
                        <input class="input" inputmode="decimal" autocomplete="off" bind:value=coming.odometer/></label>
                </div>
                <Words label=t!("fuel") choices=fuels value=coming.fuel/>
                <Words label=t!("damage") choices=damage value=coming.damaged/>
                {what}
                <Words label=t!("kerb-key") choices=keys value=coming.key/>
                {move || coming.trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
            </section>
        </main>
        <footer class="foot one">
            <button class="btn btn--lg" class:btn--hold=move || button() == t!("return-hold") class:btn--primary=move || button() != t!("return-hold")
                class:is-busy=move || coming.busy.get() on:click=move |_| save(coming)>{button}</button>
        </footer>
    }
    .into_any()
}

/// What is missing before it can be written; none: nothing.
fn missing(coming: Coming) -> Option<String> {
    let damaged = coming.damaged.get_untracked();
    if damaged.is_empty() {
        return Some(t!("say-damage"));
    }
    if damaged == "some" && coming.damage.get_untracked().trim().is_empty() {
        return Some(t!("say-damage-what"));
    }
    coming.key.get_untracked().is_empty().then(|| t!("say-key"))
}

fn save(coming: Coming) {
    if coming.busy.get_untracked() {
        return;
    }
    if let Some(missing) = missing(coming) {
        return coming.trouble.set(Some(missing));
    }
    let (yard, navigate) = (yard(), use_navigate());
    let machine = coming.machine.get_untracked();
    let unit = untrack(|| yard.way_unit()).symbol();
    let damage = Some(coming.damage.get_untracked().trim().to_owned());
    let damage = damage.filter(|what| coming.damaged.get_untracked() == "some" && !what.is_empty());
    let asked = Asked::TakeBack(TakeBack {
        machine: machine.clone(),
        release: coming.release.get_untracked(),
        odometer: with_unit(&coming.odometer.get_untracked(), unit),
        fuel: Some(coming.fuel.get_untracked()).filter(|fuel| !fuel.is_empty()),
        class: damage.is_some().then(|| coming.class.get_untracked()),
        damage,
        key_back: coming.key.get_untracked() == "yes",
    });
    coming.busy.set(true);
    spawn_local(async move {
        let done = yard.act(asked).await.map(drop);
        coming.busy.set(false);
        match done {
            Ok(()) => {
                toast(t!("returned", machine = machine.as_str()));
                navigate(&format!("/machines/{machine}"), NavigateOptions::default());
            }
            Err(why) => coming.trouble.set(Some(why.to_string())),
        }
    });
}
