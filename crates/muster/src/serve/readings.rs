//! Reading what lies behind a machine's page: its readings over the distance, and one event of the log.

use axum::{
    extract::{Path, Query, State, rejection::QueryRejection},
    http::HeaderMap,
    response::Response,
};
use muster_core::{
    data,
    forecast::{leaks::leaks, lives::Seen},
    judge::Context,
    record::{event::Entry, fold::Flag, id::EventId, payload::Subject, rights::View},
    words::Use,
};
use muster_wire::{readings::ReadingsView, record::RecordView};

use super::{
    app::App,
    lists::{Form, as_csv, is_csv},
    problem::{Kind, Problem},
    read::tagged,
    who::Who,
};
use crate::list::{For, List, Part};

/// What was read on a machine, check by check, oldest first.
#[utoipa::path(get, path = "/api/v1/machines/{machine}/readings", tag = "yard",
    params(("machine" = String, Path, description = "Fleet number"), Form),
    responses((status = 200, content((ReadingsView = "application/json"), (String = "text/csv"))),
        (status = 400, body = Problem), (status = 304, description = "As the ETag names it"),
        (status = 401, body = Problem), (status = 403, body = Problem), (status = 404, body = Problem)))]
pub async fn readings(
    State(app): State<App>,
    who: Who,
    Path(id): Path<String>,
    query: Result<Query<Form>, QueryRejection>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    who.sees(View::Machine)?;
    if is_csv(query?.0.format.as_deref(), &headers)? {
        let (part, of) =
            (Part { machine: Some(id), ..Part::default() }, For { role: who.standing.role, now: app.now() });
        return as_csv(&app, (List::Readings, part), of, &headers).await;
    }
    let now = app.now();
    let view = app
        .beside(move |keeper| {
            let state = keeper.machine(&id)?.ok_or_else(|| Problem::not_found("machine", &id))?;
            let (known, catalogue) = (keeper.known(), keeper.catalogue());
            let view = ReadingsView::of(&state, catalogue, known.yard.units);
            Ok::<_, Problem>(match Context::of(catalogue, &known.yard, &id, now) {
                // A test reads what this build carries: it has no faults.
                Some(context) => {
                    let practices = data::practices(catalogue).unwrap_or_default();
                    view.leaking(&leaks(&context, &practices, &Seen::of(&state), Use::Road))
                }
                None => view,
            })
        })
        .await?;
    Ok(tagged(&headers, &view))
}

/// One event of the log, as it was signed.
#[utoipa::path(get, path = "/api/v1/record/{event}", tag = "record",
    params(("event" = String, Path, description = "Its device and number, such as 0123456789abcdef.17")),
    responses((status = 200, body = RecordView), (status = 304, description = "As the ETag names it"),
        (status = 400, body = Problem), (status = 401, body = Problem), (status = 403, body = Problem),
        (status = 404, body = Problem)))]
pub async fn event(
    State(app): State<App>,
    who: Who,
    Path(id): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    who.sees(View::Record)?;
    let event: EventId = id.parse().map_err(|error| Problem::new(Kind::Unreadable, format!("event: {error}")))?;
    let view = app
        .beside(move |keeper| {
            let stored = keeper.store().event(event)?.ok_or_else(|| Problem::not_found("event", &id))?;
            let entry = Entry::read(&stored.signed.event)
                .map_err(|error| Problem::new(Kind::Fault, format!("the event cannot be read: {error}")))?;
            let of = |flags: &[Flag]| -> Vec<String> {
                flags.iter().filter(|flag| flag.event == event).map(|flag| flag.why.to_string()).collect()
            };
            let set_aside = match entry.event.map(|event| event.payload.subject()) {
                Some(Subject::Machine(machine)) => keeper.machine(&machine)?.map(|state| of(&state.flags)),
                _ => Some(of(&keeper.known().state.flags)),
            };
            let set_aside = set_aside.unwrap_or_default();
            Ok::<_, Problem>(RecordView { signed: stored.signed.into(), hash: entry.hash, set_aside })
        })
        .await?;
    Ok(tagged(&headers, &view))
}
