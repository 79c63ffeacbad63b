//! A model's figures, page by page of its handbook: those whose miss is gravest are asked first.

use leptos::prelude::*;
use leptos_router::{components::A, hooks::use_query_map};
use muster_core::{
    check::{Check, Yields},
    judge::Context,
    machine::Machine,
    record::payload::SheetAttached,
    walk_round,
    words::Use,
};

use super::text::Figure;
use crate::{
    clock, route,
    screens::people::form::{Field, Form, sent},
    ui::{Banner, Mast, Nothing, toast},
    words::t,
    yard::yard,
};

/// The figures of a sheet: what is missing, the gravest first; what is there; the text itself.
#[component]
pub(crate) fn SheetScreen() -> impl IntoView {
    let (yard, params, query) = (yard(), route::params(), use_query_map());
    let name = move || params.read().get("sheet").unwrap_or_default();
    let machine = move || query.read().get("machine");
    let file = move || {
        yard.with(|held| {
            held.known().state.files.get(&format!("sheets/{}.toml", name())).map(|(text, id)| (text.clone(), *id))
        })
        .flatten()
    };
    let model =
        move || yard.with(|held| held.known().yard.sheets.get(&name()).map(|sheet| sheet.model.clone())).flatten();
    view! {
        <div class="desk desk--page touchable">
        <Mast title=t!("sheet-title") back="/"/>
        <Banner/>
        <main class="page">
            <h1 class="pageh">{move || model().unwrap_or_else(name)}</h1>
            {move || machine().map(|of| view! {
                <p><A href=format!("/machines/{of}/walk") attr:class="btn btn--primary btn--lg">{t!("walk-round-first", machine = of.clone())}</A></p>
            })}
            <p>{t!("figures-why")}</p>
            {move || match file() {
                None if yard.is_known() => view! { <p>{t!("no-such-here")}</p> }.into_any(),
                None => view! { <Nothing/> }.into_any(),
                Some((text, id)) => {
                    let (missing, there) = figures(&name());
                    view! {
                        <h2>{if missing.is_empty() { t!("figures-all") } else { t!("figures-missing", count = missing.len()) }}</h2>
                        <ul class="list">{missing.into_iter().map(|check| asked(check, &name(), &text, id)).collect_view()}</ul>
                        <h2>{t!("figures-there", count = there.len())}</h2>
                        <ul class="list">{there.into_iter().map(|(check, limits)| view! {
                            <li><p><b>{check}</b></p>{limits.into_iter().map(|limit| view! { <p class="cap">{limit}</p> }).collect_view()}</li>
                        }).collect_view()}</ul>
                        {whole(&name(), &text, id)}
                    }
                    .into_any()
                }
            }}
        </main>
        </div>
    }
}

type EventOf = muster_core::record::id::EventId;

/// The checks of a model that read a figure: those without any limit, gravest first; the others with theirs.
fn figures(sheet: &str) -> (Vec<Check>, Vec<(String, Vec<String>)>) {
    let yard = yard();
    let rules = yard.rules();
    yard.with(|held| {
        let known = &held.known().yard;
        let machine = known.machines.values().find(|machine| machine.sheet == sheet)?;
        let context = Context::of(&rules.catalogue, known, &machine.id, clock::now())?;
        let reads = rules
            .catalogue
            .checks
            .iter()
            .filter(|check| matches!(check.yields, Yields::Read(_)) && applies(check, machine));
        let (mut missing, mut there) = (Vec::new(), Vec::new());
        for check in reads {
            let counting = context.limits(check, check.uses.iter().next().unwrap_or(Use::Range));
            let Yields::Read(measure) = &check.yields else { continue };
            let own = context.sheet.limits.iter().any(|limit| limit.check == check.id);
            if own {
                there.push((check.name.clone(), walk_round::limits(&context, measure, &counting)));
            } else {
                missing.push(check.clone());
            }
        }
        missing.sort_by_key(|check| core::cmp::Reverse(check.class));
        Some((missing, there))
    })
    .flatten()
    .unwrap_or_default()
}

fn applies(check: &Check, machine: &Machine) -> bool {
    check.applies.holds(&machine.traits.equipment) != muster_core::equipment::Holds::No
}

fn asked(check: Check, sheet: &str, text: &str, replaces: EventOf) -> AnyView {
    let yard = yard();
    let (least, most) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let (target, page) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let unit = match &check.yields {
        Yields::Read(measure) => measure.si.unit.symbol().to_owned(),
        _ => String::new(),
    };
    let (id, of, before) = (check.id.clone(), sheet.to_owned(), text.to_owned());
    let send = sent(move || {
        let with_unit = {
            let unit = unit.clone();
            move |text: String| {
                if text.trim().is_empty() || text.contains(char::is_alphabetic) {
                    text
                } else {
                    format!("{} {unit}", text.trim())
                }
            }
        };
        let figure = Figure {
            check: id.clone(),
            least: with_unit(least.get_untracked()),
            most: with_unit(most.get_untracked()),
            target: with_unit(target.get_untracked()),
            page: page.get_untracked(),
        };
        let (sheet, before) = (of.clone(), before.clone());
        async move {
            let row = figure.text().ok_or_else(|| t!("figure-needed"))?;
            let attached = SheetAttached { sheet, text: before + &row, replaces: Some(replaces) };
            yard.write(attached).await.map_err(|error| error.to_string())?;
            toast(t!("kept"));
            Ok(())
        }
    });
    view! {
        <li>
            <details>
                <summary><b>{check.name.clone()}</b><span class="cap">{check.class.to_string()}</span></summary>
                <Form button=t!("keep") send>
                    <div class="form three">
                        <Field label=t!("at-least") value=least optional=true/>
                        <Field label=t!("to-set") value=target optional=true/>
                        <Field label=t!("at-most") value=most optional=true/>
                    </div>
                    <Field label=t!("page") value=page optional=true/>
                </Form>
            </details>
        </li>
    }
    .into_any()
}

/// The whole text, for who would rather write it.
fn whole(sheet: &str, text: &str, replaces: EventOf) -> AnyView {
    let yard = yard();
    let (typed, sheet) = (RwSignal::new(text.to_owned()), sheet.to_owned());
    let send = sent(move || {
        let attached = SheetAttached { sheet: sheet.clone(), text: typed.get_untracked(), replaces: Some(replaces) };
        async move {
            yard.write(attached).await.map_err(|error| error.to_string())?;
            toast(t!("kept"));
            Ok(())
        }
    });
    view! {
        <details>
            <summary>{t!("as-text")}</summary>
            <Form button=t!("keep") send>
                <label class="field">
                    <span>{t!("sheet-text")}</span>
                    <textarea class="input mono" rows="16" spellcheck="false" prop:value=move || typed.get() on:input=move |event| typed.set(event_target_value(&event))></textarea>
                </label>
            </Form>
        </details>
    }
    .into_any()
}
