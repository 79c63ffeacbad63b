//! Any list, as JSON or as CSV: each of one definition, whichever door it is asked at.

#![expect(unused_qualifications, reason = "utoipa's macros write them")]

use axum::{
    extract::{Path, Query, State, rejection::QueryRejection},
    http::{HeaderMap, HeaderName, HeaderValue, header},
    response::{IntoResponse, Response},
};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    app::App,
    problem::{Kind, Problem},
    read::{moment, tagged, tagged_text},
    who::Who,
};
use crate::{
    list::{self, For, List, Part},
    store::Arrival,
};

/// The most events in one list.
const MOST_EVENTS: usize = 200_000;

/// Which list, as what.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Asked {
    /// csv or json; without it as `Accept` says, else JSON.
    format: Option<String>,
    /// Of this machine alone: readings, findings, jobs, the yard, the record.
    machine: Option<String>,
    /// The moment machines are judged at, ISO 8601 with offset; without it now.
    on: Option<String>,
    /// Of the record: behind this number; without it from the beginning.
    after: Option<u64>,
    /// Of the record: at most this many events; without it 200 000.
    limit: Option<usize>,
}

/// As what a list that has a door of its own is asked for.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Form {
    /// csv: the list of the same name under /api/v1/lists; json; without it as `Accept` says, else JSON.
    pub(super) format: Option<String>,
}

/// A list.
#[utoipa::path(get, path = "/api/v1/lists/{list}", tag = "yard",
    params(("list" = String, Path, description = "yard, readings, findings, jobs, instruments, people or record"), Asked),
    responses((status = 200, description = "A row each; columns by their names, with the unit of their figures",
            content((Vec<serde_json::Value> = "application/json"), (String = "text/csv"))),
        (status = 304, description = "As the ETag names it"), (status = 400, body = Problem),
        (status = 401, body = Problem), (status = 403, body = Problem), (status = 404, body = Problem)))]
pub async fn list(
    State(app): State<App>,
    who: Who,
    Path(name): Path<String>,
    query: Result<Query<Asked>, QueryRejection>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    let list: List = name.parse().map_err(|_| Problem::not_found("list", &name))?;
    who.sees(list.view())?;
    let Query(asked) = query?;
    let is_csv = is_csv(asked.format.as_deref(), &headers)?;
    let now = moment("on", asked.on.as_deref())?.unwrap_or_else(|| app.now());
    let (after, limit) = (asked.after.unwrap_or(0), asked.limit.unwrap_or(MOST_EVENTS).clamp(1, MOST_EVENTS));
    let part = Part { machine: asked.machine, after: arrival(after)?, limit };
    answered(&app, (list, part), For { role: who.standing.role, now }, (is_csv, &headers)).await
}

/// A list as CSV, where a door of its own is asked for it so.
pub(super) async fn as_csv(
    app: &App,
    (list, part): (List, Part),
    of: For,
    headers: &HeaderMap,
) -> Result<Response, Problem> {
    answered(app, (list, part), of, (true, headers)).await
}

async fn answered(
    app: &App,
    (list, part): (List, Part),
    of: For,
    (is_csv, headers): (bool, &HeaderMap),
) -> Result<Response, Problem> {
    let table = app.beside(move |keeper| list::rows(keeper, list, &part, of)).await?;
    if !is_csv {
        return Ok(tagged(headers, &table.to_json()));
    }
    let text = table.to_csv().map_err(|error| Problem::new(Kind::Fault, format!("it cannot be written: {error}")))?;
    let mut response = tagged_text(headers, text, "text/csv; charset=utf-8; header=present");
    let name = format!("attachment; filename=\"{list}.csv\"");
    if let Ok(name) = HeaderValue::from_str(&name) {
        response.headers_mut().insert(header::CONTENT_DISPOSITION, name);
    }
    response.headers_mut().append(header::VARY, HeaderValue::from_static("accept"));
    Ok(response.into_response())
}

/// Whether CSV is asked for: by name, else by `Accept` where it names CSV and not JSON before it.
pub(super) fn is_csv(format: Option<&str>, headers: &HeaderMap) -> Result<bool, Problem> {
    match format {
        Some("csv") => return Ok(true),
        Some("json") => return Ok(false),
        Some(_) => return Err(Problem::new(Kind::Unreadable, "format: csv or json")),
        None => {}
    }
    let accept = |name: HeaderName| headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default();
    let kinds = accept(header::ACCEPT).split(',').map(|kind| kind.split(';').next().unwrap_or_default().trim());
    let mut known = kinds.filter(|kind| matches!(*kind, "text/csv" | "application/json" | "*/*"));
    Ok(known.next() == Some("text/csv"))
}

/// A number in the order of arrival.
pub(super) fn arrival(after: u64) -> Result<Arrival, Problem> {
    if i64::try_from(after).is_err() {
        return Err(Problem::new(Kind::Unreadable, "after: no record is that long; ask behind the last number"));
    }
    Ok(after)
}
