//! A yard's own name, then a machine: from nothing to the first walk-round in a few touches.

use leptos::prelude::*;
use leptos_router::{NavigateOptions, components::A, hooks::use_navigate};
use muster_core::record::payload::{MachineRegistered, SheetAttached, YardDescribed};

use super::text::{NewMachine, NewSheet, quoted, slug};
use crate::{
    screens::people::form::{Choice, Field, Form, sent},
    ui::{Leaf, Nothing},
    words::t,
    yard::yard,
};

/// What makes most checks apply or not; the rest can be said later on the sheet.
const ASKED: &[&str] = &[
    "engine",
    "final_drive",
    "wheels",
    "tyres",
    "front_brake",
    "rear_brake",
    "front_line",
    "rear_line",
    "clutch",
    "fuel",
];

/// A yard that has no name yet is asked for it; then a machine.
#[component]
pub(crate) fn Add() -> impl IntoView {
    let yard = yard();
    let named =
        Memo::new(move |_| yard.with(|held| held.known().state.files.contains_key("yard.toml")).unwrap_or(false));
    let known = Memo::new(move |_| yard.is_known());
    view! {
        {move || match (known.get(), named.get()) {
            // A yard that is still being fetched is not one without a name.
            (false, _) => view! { <Leaf title=t!("add-machine")><Nothing/></Leaf> },
            (true, true) => view! { <Leaf title=t!("add-machine")>{untrack(machine)}</Leaf> },
            (true, false) => view! { <Leaf title=t!("your-yard")>{untrack(describe)}</Leaf> },
        }}
    }
}

fn describe() -> AnyView {
    let yard = yard();
    let (name, zone) = (RwSignal::new(String::new()), RwSignal::new(own_zone()));
    let (units, law) = (RwSignal::new("si".to_owned()), RwSignal::new(String::new()));
    let send = sent(move || async move {
        let law = law.get_untracked();
        let law = if law.is_empty() { String::new() } else { format!("law = {}\n", quoted(&law)) };
        let text = format!(
            "schema = 1\nname = {}\ntime_zone = {}\nunits = {}\n{law}",
            quoted(&name.get_untracked()),
            quoted(&zone.get_untracked()),
            quoted(&units.get_untracked())
        );
        yard.write(YardDescribed { text }).await.map(|_| ()).map_err(|error| error.to_string())
    });
    let laws = std::iter::once((String::new(), t!("no-law")))
        .chain(
            yard.rules().catalogue.laws.values().map(|law| (law.pack.clone(), format!("{}: {}", law.pack, law.title))),
        )
        .collect();
    let both = vec![("si".to_owned(), t!("units-si")), ("us".to_owned(), t!("units-us"))];
    view! {
        <Form button=t!("next") send>
            <Field label=t!("yard-name") value=name autocomplete="organization"/>
            <Field label=t!("time-zone") value=zone/>
            <Choice label=t!("units") choices=both value=units/>
            <Choice label=t!("law") choices=laws value=law/>
        </Form>
    }
    .into_any()
}

/// The zone this browser lives in.
fn own_zone() -> String {
    let options = js_sys::Intl::DateTimeFormat::new(&js_sys::Array::new(), &js_sys::Object::new()).resolved_options();
    js_sys::Reflect::get(&options, &"timeZone".into())
        .ok()
        .and_then(|zone| zone.as_string())
        .unwrap_or_else(|| "UTC".into())
}

/// What is asked of the equipment: key, name, values, what is chosen.
type Question = (String, String, Vec<(String, String)>, RwSignal<String>);

fn machine() -> AnyView {
    let (yard, navigate) = (yard(), use_navigate());
    let sheets = yard
        .with(|held| {
            held.known().yard.sheets.values().map(|sheet| (sheet.id.clone(), sheet.model.clone())).collect::<Vec<_>>()
        })
        .unwrap_or_default();
    let first = sheets.first().map(|(sheet, _)| sheet.clone()).unwrap_or_default();
    let choices = sheets.into_iter().chain([(String::new(), t!("another-model"))]).collect::<Vec<_>>();
    let (number, sheet) = (RwSignal::new(String::new()), RwSignal::new(first));
    let (model, handbook) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let (plate, vin, first_use) =
        (RwSignal::new(String::new()), RwSignal::new(String::new()), RwSignal::new(String::new()));
    let equipment: Vec<Question> = yard
        .rules()
        .catalogue
        .equipment
        .iter()
        .filter(|key| ASKED.contains(&key.key.as_str()))
        .map(|key| {
            let unknown = (String::new(), t!("not-known"));
            let values = std::iter::once(unknown).chain(key.values.iter().map(|value| (value.clone(), value.clone())));
            (key.key.clone(), key.name.clone(), values.collect(), RwSignal::new(String::new()))
        })
        .collect();
    let said: Vec<(String, RwSignal<String>)> =
        equipment.iter().map(|(key, _, _, value)| (key.clone(), *value)).collect();
    let send = sent(move || {
        let (navigate, said) = (navigate.clone(), said.clone());
        async move {
            let own = sheet.get_untracked();
            let is_new = own.is_empty();
            let named = if is_new { slug(&model.get_untracked()) } else { own };
            if is_new {
                let equipment = said
                    .iter()
                    .map(|(key, value)| (key.clone(), value.get_untracked()))
                    .filter(|(_, value)| !value.is_empty())
                    .map(|(key, value)| (key, vec![value], false))
                    .collect();
                let of = NewSheet {
                    sheet: named.clone(),
                    model: model.get_untracked(),
                    handbook: handbook.get_untracked(),
                    equipment,
                };
                let attached = SheetAttached { sheet: named.clone(), text: of.text(), replaces: None };
                yard.write(attached).await.map_err(|error| error.to_string())?;
            }
            let row = yard.machines().len() as u16 + 1;
            let of = NewMachine {
                machine: number.get_untracked().trim().to_owned(),
                sheet: named.clone(),
                plate: plate.get_untracked(),
                vin: vin.get_untracked(),
                first_use: first_use.get_untracked(),
                row,
            };
            let registered = MachineRegistered { machine: of.machine.clone(), text: of.text() };
            yard.write(registered).await.map_err(|error| error.to_string())?;
            let next = if is_new {
                format!("/sheets/{named}?machine={}", of.machine)
            } else {
                format!("/machines/{}", of.machine)
            };
            navigate(&next, NavigateOptions::default());
            Ok(())
        }
    });
    let asked = StoredValue::new(equipment);
    let new_model = move || {
        sheet.get().is_empty().then(|| {
            let questions = asked.get_value().into_iter().map(|(_, name, choices, value)| view! { <Choice label=name choices value/> });
            view! {
                <Field label=t!("model") value=model/>
                <Field label=t!("handbook-title") value=handbook/>
                <fieldset><legend class="cap">{t!("equipment-why")}</legend><div class="form">{questions.collect_view()}</div></fieldset>
            }
            .into_any()
        })
    };
    view! {
        <Form button=t!("add-machine") send>
            <Field label=t!("fleet-number") value=number/>
            <Choice label=t!("model") choices value=sheet/>
            {new_model}
            <details>
                <summary>{t!("papers-later")}</summary>
                <div class="form">
                    <Field label=t!("plate") value=plate optional=true/>
                    <Field label=t!("vin") value=vin optional=true/>
                    <Field label=t!("first-use") value=first_use kind="date" optional=true/>
                </div>
            </details>
        </Form>
        <p><A href="/add/many">{t!("add-many")}</A></p>
    }
    .into_any()
}
