//! Reading what lies behind a machine's page: its readings over the distance, its history, and one event of the log.

#![expect(unused_qualifications, reason = "utoipa's macros write them")]

use axum::{
    extract::{Path, Query, State, rejection::QueryRejection},
    http::HeaderMap,
    response::Response,
};
use muster_core::{
    calendar::Moment,
    data,
    forecast::{
        leaks::{Leak, leaks},
        lives::Seen,
    },
    judge::Context,
    record::{event::Entry, fold::Flag, id::EventId, machine_state::MachineState, payload::Subject, rights::View},
    words::Use,
};
use muster_wire::{history::HistoryView, latest::LatestView, readings::ReadingsView, record::RecordView};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    app::App,
    lists::{as_csv, is_csv},
    problem::{Kind, Problem},
    read::tagged,
    who::Who,
};
use crate::{
    keeper::Keeper,
    list::{For, List, Part},
};

/// Which readings, as what.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Asked {
    /// csv: the list of the same name under /api/v1/lists; json; without it as `Accept` says, else JSON.
    format: Option<String>,
    /// Of this check alone, by its id; without it of every check. Not for CSV.
    check: Option<String>,
}

/// What was read on a machine, check by check, oldest first.
#[utoipa::path(get, path = "/api/v1/machines/{machine}/readings", tag = "yard",
    params(("machine" = String, Path, description = "Fleet number"), Asked),
    responses((status = 200, content((ReadingsView = "application/json"), (String = "text/csv"))),
        (status = 400, body = Problem), (status = 304, description = "As the ETag names it"),
        (status = 401, body = Problem), (status = 403, body = Problem), (status = 404, body = Problem)))]
pub async fn readings(
    State(app): State<App>,
    who: Who,
    Path(id): Path<String>,
    query: Result<Query<Asked>, QueryRejection>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    who.sees(View::Machine)?;
    let Query(Asked { format, check }) = query?;
    if is_csv(format.as_deref(), &headers)? {
        let (part, of) =
            (Part { machine: Some(id), ..Part::default() }, For { role: who.standing.role, now: app.now() });
        return as_csv(&app, (List::Readings, part), of, &headers).await;
    }
    let now = app.now();
    let view = app
        .beside(move |keeper| {
            let state = keeper.machine(&id)?.ok_or_else(|| Problem::not_found("machine", &id))?;
            let (units, catalogue) = (keeper.known().yard.units, keeper.catalogue());
            let view = match check {
                None => ReadingsView::of(&state, catalogue, units),
                Some(check) => {
                    let own = catalogue.checks.iter().find(|of| of.id == check);
                    let own = own.ok_or_else(|| Problem::not_found("check", &check))?;
                    ReadingsView::of_one(&state, own, units)
                }
            };
            Ok::<_, Problem>(view.leaking(&its_leaks(keeper, &state, now)))
        })
        .await?;
    Ok(tagged(&headers, &view))
}

/// The latest that was read on a machine at each place, and what its tyres lose.
#[utoipa::path(get, path = "/api/v1/machines/{machine}/readings/latest", tag = "yard",
    params(("machine" = String, Path, description = "Fleet number")),
    responses((status = 200, body = LatestView), (status = 304, description = "As the ETag names it"),
        (status = 401, body = Problem), (status = 403, body = Problem), (status = 404, body = Problem)))]
pub async fn latest(
    State(app): State<App>,
    who: Who,
    Path(id): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    who.sees(View::Machine)?;
    let now = app.now();
    let view = app
        .beside(move |keeper| {
            let state = keeper.machine(&id)?.ok_or_else(|| Problem::not_found("machine", &id))?;
            let view = ReadingsView::of(&state, keeper.catalogue(), keeper.known().yard.units);
            Ok::<_, Problem>(LatestView::of(&view).leaking(&its_leaks(keeper, &state, now)))
        })
        .await?;
    Ok(tagged(&headers, &view))
}

/// What is lost of the air of a machine's tyres.
fn its_leaks(keeper: &Keeper, state: &MachineState, now: Moment) -> Vec<Leak> {
    let (known, catalogue) = (keeper.known(), keeper.catalogue());
    let Some(context) = Context::of(catalogue, &known.yard, &state.machine, now) else { return Vec::new() };
    // A test reads what this build carries: it has no faults.
    let practices = data::practices(catalogue).unwrap_or_default();
    leaks(&context, &practices, &Seen::of(state), Use::Road)
}

/// What happened to a machine, newest first.
#[utoipa::path(get, path = "/api/v1/machines/{machine}/history", tag = "yard",
    params(("machine" = String, Path, description = "Fleet number")),
    responses((status = 200, body = HistoryView), (status = 304, description = "As the ETag names it"),
        (status = 401, body = Problem), (status = 403, body = Problem), (status = 404, body = Problem)))]
pub async fn history(
    State(app): State<App>,
    who: Who,
    Path(id): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    who.sees(View::Machine)?;
    let view = app
        .beside(move |keeper| {
            let state = keeper.machine(&id)?.ok_or_else(|| Problem::not_found("machine", &id))?;
            Ok::<_, Problem>(HistoryView::of(&state))
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
