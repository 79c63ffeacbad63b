//! Reading: the yard, a machine, its walk-round, the log, the catalogue.

#![expect(unused_qualifications, reason = "utoipa's macros write them")]

use std::collections::BTreeMap;

use axum::{
    Json,
    extract::{Path, Query, State, rejection::QueryRejection},
    http::{HeaderMap, HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
};
use muster_core::{
    calendar::Moment,
    form::Outing,
    hash,
    judge::Context,
    record::{judged, rights::View, waiting},
    state::Found,
    walk_round,
    words::{Depth, Use},
};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::{
    app::App,
    lists::{arrival, as_csv, is_csv},
    problem::{Kind, Problem},
    who::Who,
};
use crate::list::{For, List, Part};
use muster_wire::{
    machine::{MachineView, PlanView},
    sync::SignedEvent,
    yard::YardView,
};

/// When to judge.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct At {
    /// The moment to judge at, ISO 8601 with offset; without it now. Events are those known now.
    on: Option<String>,
    /// csv: the list `yard`; json; without it as `Accept` says, else JSON.
    format: Option<String>,
}

/// Which outing to judge a machine for.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ForOuting {
    /// The moment to judge at, ISO 8601 with offset; without it now.
    on: Option<String>,
    /// The use planned: range, road, passenger or dark.
    #[serde(rename = "use")]
    one: Option<String>,
    /// When it is to be back, ISO 8601 with offset; with `use`.
    back: Option<String>,
}

/// Every machine with its verdicts, worst first.
#[utoipa::path(get, path = "/api/v1/yard", tag = "yard", params(At), responses(
    (status = 200, content((YardView = "application/json"), (String = "text/csv"))), (status = 304, description = "As the ETag names it"),
    (status = 400, body = Problem), (status = 401, body = Problem), (status = 403, body = Problem),
))]
pub async fn yard(
    State(app): State<App>,
    who: Who,
    query: Result<Query<At>, QueryRejection>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    who.sees(View::Yard)?;
    let Query(at) = query?;
    let now = moment("on", at.on.as_deref())?.unwrap_or_else(|| minute(app.now()));
    if is_csv(at.format.as_deref(), &headers)? {
        let of = For { role: who.standing.role, now };
        return as_csv(&app, (List::Yard, Part::default()), of, &headers).await;
    }
    let view = app
        .beside(move |keeper| {
            let known = keeper.known();
            let mut machines = keeper.glances(now)?;
            machines.sort_by(|a, b| b.verdict.cmp(&a.verdict).then_with(|| a.row.machine.cmp(&b.row.machine)));
            Ok::<_, Problem>(YardView {
                name: known.yard.name.clone(),
                judged_at: now.to_string(),
                catalogue: keeper.catalogue().hash.clone(),
                yard: known.yard.hash.clone(),
                machines: machines.into_iter().map(|glance| glance.row).collect(),
                problems: known.problems.iter().map(ToString::to_string).collect(),
            })
        })
        .await?;
    Ok(tagged(&headers, &view))
}

/// One machine in full.
#[utoipa::path(get, path = "/api/v1/machines/{machine}", tag = "yard",
    params(("machine" = String, Path, description = "Fleet number"), ForOuting),
    responses((status = 200, body = MachineView), (status = 304, description = "As the ETag names it"),
        (status = 400, body = Problem), (status = 401, body = Problem), (status = 403, body = Problem),
        (status = 404, body = Problem)))]
pub async fn machine(
    State(app): State<App>,
    who: Who,
    Path(id): Path<String>,
    query: Result<Query<ForOuting>, QueryRejection>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    who.sees(View::Machine)?;
    let Query(of) = query?;
    let now = moment("on", of.on.as_deref())?.unwrap_or_else(|| app.now());
    let outing = outing(&of)?;
    let view = app
        .beside(move |keeper| {
            let known = keeper.known();
            let state = keeper.machine(&id)?;
            let judgement = state.as_ref().and_then(|state| keeper.judge_state(state, now, outing));
            let Some((state, judgement)) = state.zip(judgement) else {
                return Err(Problem::not_found("machine", &id));
            };
            let judgement = serde_json::to_value(&judgement)
                .map_err(|error| Problem::new(Kind::Fault, format!("the judgement cannot be written: {error}")))?;
            let service = judged::machine(&known.yard, &state).map_or("", |machine| machine.service.as_str());
            let file = known.state.files.get(&format!("machines/{id}.toml")).map(|(_, event)| *event);
            let rules = (&**keeper.catalogue(), &*known.yard);
            let waits = waiting::of(rules, &known.state, &state, now);
            Ok(MachineView {
                plans: waits.iter().map(PlanView::of).collect(),
                ..MachineView::of(&state, judgement, service, file)
            })
        })
        .await?;
    Ok(tagged(&headers, &view))
}

/// Which walk-round is asked for.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct WalkAsked {
    /// before-ride, full, intake, handover, after-a-fall or back-in-service.
    depth: Option<String>,
    /// The use planned.
    #[serde(rename = "use")]
    one: Option<String>,
    /// cold, warm or hot, as found.
    heat: Option<String>,
    /// off, on or running, as found.
    power: Option<String>,
    /// side-stand, upright, seated or raised, as found.
    stance: Option<String>,
    /// The moment to plan at, ISO 8601 with offset; without it now.
    on: Option<String>,
}

/// A walk-round, in the order it is walked.
#[derive(Debug, Serialize, ToSchema)]
pub struct WalkView {
    /// How long it takes.
    pub seconds: u32,
    /// Read first: what was prepared the evening before.
    pub evening: Vec<StepView>,
    /// The steps in order.
    pub steps: Vec<StepView>,
    /// What the state found does not allow now, and till when.
    pub deferred: BTreeMap<String, String>,
}

/// One step.
#[derive(Debug, Serialize, ToSchema)]
pub struct StepView {
    /// The check.
    pub check: String,
    /// Its name.
    pub name: String,
    /// The station.
    pub station: String,
    /// What to change before it.
    pub changes: Vec<String>,
    /// How, in short lines.
    pub method: Vec<String>,
    /// The usual caution, where work can hurt.
    pub caution: Option<String>,
    /// The limits and the target with their sources.
    pub limits: Vec<String>,
    /// Instruments of the yard that cannot decide it here.
    pub cannot: Vec<String>,
}

/// The walk-round a machine needs now.
#[utoipa::path(get, path = "/api/v1/machines/{machine}/walk-round", tag = "yard",
    params(("machine" = String, Path, description = "Fleet number"), WalkAsked),
    responses((status = 200, body = WalkView), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem), (status = 404, body = Problem)))]
pub async fn walk_round(
    State(app): State<App>,
    who: Who,
    Path(id): Path<String>,
    query: Result<Query<WalkAsked>, QueryRejection>,
) -> Result<Json<WalkView>, Problem> {
    who.sees(View::Machine)?;
    let Query(of) = query?;
    let now = moment("on", of.on.as_deref())?.unwrap_or_else(|| app.now());
    let depth: Depth = word("depth", of.depth.as_deref().unwrap_or("before-ride"))?;
    let one: Use = word("use", of.one.as_deref().unwrap_or("range"))?;
    let found = Found {
        heat: of.heat.as_deref().map(|heat| word("heat", heat)).transpose()?,
        power: of.power.as_deref().map(|power| word("power", power)).transpose()?,
        stance: of.stance.as_deref().map(|stance| word("stance", stance)).transpose()?,
    };
    app.beside(move |keeper| {
        let known = keeper.known();
        let state = keeper.machine(&id)?.ok_or_else(|| Problem::not_found("machine", &id))?;
        let machine = judged::machine(&known.yard, &state);
        let context = Context::of(keeper.catalogue(), &known.yard, &id, now);
        let (Some(machine), Some(context)) = (machine, context) else { return Err(Problem::not_found("machine", &id)) };
        let context = Context { machine: &machine, ..context };
        let found = found.on(&machine.traits.equipment);
        let walk = walk_round::plan(&context, &state.forms(), depth, one, found)
            .map_err(|error| Problem::new(Kind::Fault, error.to_string()))?;
        Ok(Json(walk.into()))
    })
    .await
}

impl From<walk_round::WalkRound<'_>> for WalkView {
    fn from(walk: walk_round::WalkRound<'_>) -> Self {
        let step = |ask: walk_round::Ask<'_>| StepView {
            check: ask.check.id.clone(),
            name: ask.check.name.clone(),
            station: ask.station.to_string(),
            changes: ask.changes,
            method: ask.method,
            caution: ask.caution,
            limits: ask.limits,
            cannot: ask.cannot,
        };
        Self {
            seconds: walk.seconds,
            evening: walk.evening.into_iter().map(step).collect(),
            steps: walk.steps.into_iter().map(step).collect(),
            deferred: walk.deferred.into_iter().map(|(check, why)| (check.id.clone(), why)).collect(),
        }
    }
}

/// From where in the log, and how much.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Cursor {
    /// Behind this cursor; without it from the beginning.
    after: Option<u64>,
    /// At most this many events, up to 1000; without it 200.
    limit: Option<usize>,
    /// csv: the list `record`, without the events' bytes; json; without it as `Accept` says, else JSON.
    format: Option<String>,
}

/// A stretch of the log.
#[derive(Debug, Serialize, ToSchema)]
pub struct LogView {
    /// Events in the order they came to this installation.
    pub events: Vec<SignedEvent>,
    /// Ask for what is behind this next; the same as asked for if nothing is.
    pub next: u64,
}

/// The log itself, as it was signed.
#[utoipa::path(get, path = "/api/v1/record", tag = "record", params(Cursor),
    responses((status = 200, content((LogView = "application/json"), (String = "text/csv"))), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem)))]
pub async fn record(
    State(app): State<App>,
    who: Who,
    query: Result<Query<Cursor>, QueryRejection>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    who.sees(View::Record)?;
    let Query(cursor) = query?;
    let (after, limit) = (arrival(cursor.after.unwrap_or(0))?, cursor.limit.unwrap_or(200).clamp(1, 1000));
    if is_csv(cursor.format.as_deref(), &headers)? {
        let (part, of) = (Part { machine: None, after, limit }, For { role: who.standing.role, now: app.now() });
        return as_csv(&app, (List::Record, part), of, &headers).await;
    }
    let log = app.beside(move |keeper| {
        let found = keeper.store().since(after, limit)?;
        let next = found.last().map_or(after, |stored| stored.arrival);
        let events = found.into_iter().map(|stored| stored.signed.into()).collect();
        Ok::<_, Problem>(Json(LogView { events, next }))
    });
    log.await.map(IntoResponse::into_response)
}

/// The minute a moment is in.
pub(super) fn minute(now: Moment) -> Moment {
    now.later_by(-now.timestamp().as_second().rem_euclid(60))
}

/// Answers with an ETag: SHA-256 of the body, so that what has not changed is not sent again.
pub(super) fn tagged<T: Serialize>(headers: &HeaderMap, view: &T) -> Response {
    let Ok(body) = serde_json::to_string(view) else {
        return Problem::new(Kind::Fault, "the answer cannot be written").into_response();
    };
    tagged_text(headers, body, "application/json")
}

/// As [`tagged`], of a text of some kind.
pub(super) fn tagged_text(headers: &HeaderMap, body: String, kind: &'static str) -> Response {
    let etag = format!("\"{}\"", hash::of_text(&body).chars().take(32).collect::<String>());
    let known = headers.get(header::IF_NONE_MATCH).and_then(|value| value.to_str().ok());
    let mut response =
        if known.is_some_and(|known| known.split(',').any(|one| one.trim().trim_start_matches("W/") == etag)) {
            StatusCode::NOT_MODIFIED.into_response()
        } else {
            ([(header::CONTENT_TYPE, HeaderValue::from_static(kind))], body).into_response()
        };
    if let Ok(etag) = HeaderValue::from_str(&etag) {
        response.headers_mut().insert(header::ETAG, etag);
    }
    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("private, no-cache"));
    response
}

pub(super) fn moment(field: &str, text: Option<&str>) -> Result<Option<Moment>, Problem> {
    text.map(Moment::parse).transpose().map_err(|error| Problem::new(Kind::Unreadable, format!("{field}: {error}")))
}

fn word<T: std::str::FromStr<Err: std::fmt::Display>>(field: &str, text: &str) -> Result<T, Problem> {
    text.parse().map_err(|error| Problem::new(Kind::Unreadable, format!("{field}: {error}")))
}

fn outing(of: &ForOuting) -> Result<Option<Outing>, Problem> {
    let back = moment("back", of.back.as_deref())?;
    let planned: Option<Use> = of.one.as_deref().map(|one| word("use", one)).transpose()?;
    match (planned, back) {
        (Some(planned), Some(back)) => Ok(Some(Outing { planned, back, distance: None })),
        (None, None) => Ok(None),
        _ => Err(Problem::new(Kind::Unreadable, "an outing needs both use and back")),
    }
}
