//! Many machines at once from a table: each row shown with what is wrong before any is written.

use leptos::prelude::*;
use muster_core::record::payload::MachineRegistered;

use super::text::NewMachine;
use crate::{
    screens::people::form::{Form, sent},
    ui::Leaf,
    words::t,
    yard::yard,
};

const COLUMNS: [&str; 5] = ["machine", "sheet", "plate", "vin", "first_use"];

/// The table, its rows, what is wrong in them.
#[component]
pub(crate) fn AddMany() -> impl IntoView {
    let yard = yard();
    let typed = RwSignal::new(format!("{}\n", COLUMNS.join(",")));
    let refused = RwSignal::new(Vec::<String>::new());
    let rows = Memo::new(move |_| read(&typed.get()));
    let send = sent(move || async move {
        let mut wrong = Vec::new();
        let mut row = yard.machines().len() as u16;
        let mut done = 0;
        for (line, of) in rows.get_untracked() {
            let written = match of {
                Ok(of) => {
                    row += 1;
                    let registered =
                        MachineRegistered { machine: of.machine.clone(), text: NewMachine { row, ..of }.text() };
                    yard.write(registered).await.map(|_| ()).map_err(|error| error.to_string())
                }
                Err(why) => Err(why),
            };
            match written {
                Ok(()) => done += 1,
                Err(why) => wrong.push(t!("row-refused", line = line, why = why)),
            }
        }
        wrong.insert(0, t!("rows-done", count = done));
        refused.set(wrong);
        Ok(())
    });
    let shown = move || {
        rows.get().into_iter().map(|(line, of)| match of {
            Ok(of) => view! { <tr><td class="n">{line}</td><td>{of.machine}</td><td>{of.sheet}</td><td>{of.plate}</td><td>{of.vin}</td><td>{of.first_use}</td></tr> }.into_any(),
            Err(why) => view! { <tr><td class="n">{line}</td><td colspan="5" class="err">{why}</td></tr> }.into_any(),
        }).collect_view()
    };
    view! {
        <Leaf title=t!("add-many")>
            <p>{t!("add-many-how", columns = COLUMNS.join(", "))}</p>
            <Form button=t!("add-them") send>
                <label class="field">
                    <span>{t!("table")}</span>
                    <textarea class="input mono" rows="8" spellcheck="false" prop:value=move || typed.get() on:input=move |event| typed.set(event_target_value(&event))></textarea>
                </label>
            </Form>
            <div role="status">{move || refused.get().into_iter().map(|line| view! { <p>{line}</p> }).collect_view()}</div>
            <div class="wide" tabindex="0" role="region" aria-label=t!("rows")><table class="t">
                <thead><tr><th scope="col" class="n">{t!("line")}</th>{COLUMNS.map(|name| view! { <th scope="col">{name}</th> })}</tr></thead>
                <tbody>{shown}</tbody>
            </table></div>
        </Leaf>
    }
}

/// The rows of a table with their lines; columns by their names, in any order.
fn read(text: &str) -> Vec<(u64, Result<NewMachine, String>)> {
    let separator = if text.lines().next().is_some_and(|line| line.contains(';')) { b';' } else { b',' };
    let mut reader =
        csv::ReaderBuilder::new().delimiter(separator).flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let Ok(header) = reader.headers().cloned() else { return Vec::new() };
    let at = |name: &str| header.iter().position(|column| column.eq_ignore_ascii_case(name));
    let row = |record: Result<csv::StringRecord, csv::Error>| {
        let record = match record {
            Ok(record) => record,
            Err(error) => return (error.position().map_or(0, csv::Position::line), Err(error.to_string())),
        };
        let cell = |name: &str| at(name).and_then(|at| record.get(at)).unwrap_or_default().to_owned();
        let of = NewMachine {
            machine: cell("machine"),
            sheet: cell("sheet"),
            plate: cell("plate"),
            vin: cell("vin"),
            first_use: cell("first_use"),
            row: 0,
        };
        let line = record.position().map_or(0, csv::Position::line);
        (line, if of.machine.is_empty() { Err(t!("no-number")) } else { Ok(of) })
    };
    reader.records().map(row).collect()
}
