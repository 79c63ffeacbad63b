//! Instruments: what figures are read with, how fine and how true each is.

use std::fmt::Write as _;

use leptos::prelude::*;
use muster_core::{
    record::payload::{InstrumentCompared, InstrumentRegistered},
    words::InstrumentKind,
};

use super::text::quoted;
use crate::{
    clock,
    screens::people::form::{Choice, Field, Form, sent},
    ui::{Leaf, toast},
    words::t,
    yard::yard,
};

/// Quantities that instruments read, as data files name them.
const READS: &[&str] =
    &["gauge-pressure", "length", "ratio", "voltage", "current", "temperature", "inclination", "force", "frequency"];

/// Those there are, each with its comparisons; and one more.
#[component]
pub(crate) fn Gauges() -> impl IntoView {
    let yard = yard();
    let all = move || {
        let of = |held: &muster_core::record::held::Held| {
            let known = held.known();
            known
                .yard
                .instruments
                .values()
                .map(|of| (of.id.clone(), of.name.clone(), compared(known, &of.id)))
                .collect::<Vec<_>>()
        };
        yard.with(of).unwrap_or_default()
    };
    view! {
        <Leaf title=t!("instruments")>
            <ul class="list">{move || all().into_iter().map(gauge).collect_view()}</ul>
            <h2>{t!("add-instrument")}</h2>
            {add()}
        </Leaf>
    }
}

/// When it was last compared, and whether it was true.
fn compared(known: &muster_core::record::known::Known, id: &str) -> String {
    let last = known.state.instruments.get(id).and_then(|of| of.compared.last());
    match last {
        Some((on, true)) => t!("compared-good", on = on.as_str()),
        Some((on, false)) => t!("compared-bad", on = on.as_str()),
        None => t!("never-compared"),
    }
}

fn gauge((id, name, compared): (String, String, String)) -> AnyView {
    let yard = yard();
    let (note, found) = (RwSignal::new(String::new()), RwSignal::new("good".to_owned()));
    let of = id.clone();
    let send = sent(move || {
        let instrument = of.clone();
        async move {
            let on = clock::now().date().to_string();
            let note = Some(note.get_untracked()).filter(|note| !note.is_empty());
            let good = found.get_untracked() == "good";
            yard.write(InstrumentCompared { instrument, on, good, note }).await.map_err(|error| error.to_string())?;
            toast(t!("kept"));
            Ok(())
        }
    });
    let both = vec![("good".to_owned(), t!("found-good")), ("bad".to_owned(), t!("found-bad"))];
    view! {
        <li>
            <details>
                <summary><b>{format!("{id} {name}")}</b><span class="cap">{compared}</span></summary>
                <Form button=t!("note-comparison") send>
                    <p class="cap">{t!("compare-why")}</p>
                    <Choice label=t!("found") choices=both value=found/>
                    <Field label=t!("comparison-note") value=note optional=true/>
                </Form>
            </details>
        </li>
    }
    .into_any()
}

fn add() -> AnyView {
    let yard = yard();
    let (id, name) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let (kind, reads) =
        (RwSignal::new(InstrumentKind::DigitalGauge.to_string()), RwSignal::new("gauge-pressure".to_owned()));
    let (resolution, accuracy) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let send = sent(move || async move {
        let mut text = "[[instrument]]\n".to_owned();
        let instrument = id.get_untracked().trim().to_owned();
        for (key, value) in [
            ("id", id),
            ("name", name),
            ("kind", kind),
            ("reads", reads),
            ("resolution", resolution),
            ("accuracy", accuracy),
        ] {
            // Writing to a text cannot fail.
            let _ = writeln!(text, "{key} = {}", quoted(value.get_untracked().trim()));
        }
        yard.write(InstrumentRegistered { instrument, text }).await.map_err(|error| error.to_string())?;
        [id, name, resolution, accuracy].iter().for_each(|field| field.set(String::new()));
        toast(t!("kept"));
        Ok(())
    });
    let kinds = InstrumentKind::ALL.iter().map(|kind| (kind.to_string(), kind.to_string())).collect();
    let quantities = READS.iter().map(|of| ((*of).to_owned(), of.replace('-', " "))).collect();
    view! {
        <Form button=t!("add-instrument") send>
            <p class="cap">{t!("instrument-why")}</p>
            <Field label=t!("instrument-number") value=id/>
            <Field label=t!("instrument-name") value=name/>
            <Choice label=t!("instrument-kind") choices=kinds value=kind/>
            <Choice label=t!("reads") choices=quantities value=reads/>
            <Field label=t!("resolution") value=resolution/>
            <Field label=t!("accuracy") value=accuracy/>
        </Form>
    }
    .into_any()
}
