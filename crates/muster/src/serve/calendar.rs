//! The calendar of what is due: for whoever is signed in, and at secret addresses for calendars that cannot sign in.

use axum::{
    Json,
    extract::{Path, State, rejection::JsonRejection},
    http::{HeaderMap, StatusCode, Uri},
    response::Response,
};
use muster_core::record::{
    payload::Role,
    rights::{View, may_draw_calendar},
};
use muster_wire::calendar::{CalendarAddress, CalendarDrawn, DrawCalendar};

use super::{
    app::App,
    body::Object,
    problem::{Kind, Problem},
    read::{minute, tagged_text},
    who::Who,
};
use crate::{
    calendar as made,
    people::calendar::{self, PATH, SUFFIX},
};

/// What is due, as iCalendar (RFC 5545).
#[utoipa::path(get, path = "/api/v1/calendar", tag = "yard", responses(
    (status = 200, content_type = "text/calendar", body = String),
    (status = 304, description = "As the ETag names it"), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn calendar(State(app): State<App>, who: Who, headers: HeaderMap) -> Result<Response, Problem> {
    who.sees(View::Yard)?;
    text(app, &headers).await
}

/// The same at a secret address, without sign-in. One that was taken back leads nowhere.
#[utoipa::path(get, path = "/calendar/{file}", tag = "yard",
    params(("file" = String, Path, description = "The secret, and `.ics`")),
    responses((status = 200, content_type = "text/calendar", body = String),
        (status = 304, description = "As the ETag names it"), (status = 404, body = Problem)))]
pub async fn by_address(
    State(app): State<App>,
    Path(file): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    let opens = match file.strip_suffix(SUFFIX).map(ToString::to_string) {
        Some(secret) => app.beside(move |keeper| calendar::opens(keeper, &secret)).await?,
        None => false,
    };
    if !opens {
        // The secret is not said back: an answer may be kept by whatever lies between.
        return Err(Problem::new(Kind::NotFound, "no calendar at this address: it was taken back, or never was"));
    }
    text(app, &headers).await
}

/// Addresses that are open: one's own; the owner sees everybody's.
#[utoipa::path(get, path = "/api/v1/calendars", tag = "yard", responses(
    (status = 200, body = Vec<CalendarAddress>), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn addresses(State(app): State<App>, who: Who) -> Result<Json<Vec<CalendarAddress>>, Problem> {
    draws(&who)?;
    let all = who.standing.role == Role::Owner;
    app.beside(move |keeper| calendar::list(keeper, (!all).then_some(&who.person)).map(Json)).await
}

/// Draws an address. It is told once; whoever knows it reads the calendar.
#[utoipa::path(post, path = "/api/v1/calendars", tag = "yard", request_body = DrawCalendar, responses(
    (status = 201, body = CalendarDrawn), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem)))]
pub async fn draw(
    State(app): State<App>,
    who: Who,
    (headers, uri): (HeaderMap, Uri),
    asked: Result<Object<DrawCalendar>, JsonRejection>,
) -> Result<(StatusCode, Json<CalendarDrawn>), Problem> {
    draws(&who)?;
    let (Object(asked), base, now) = (asked?, app.base(&headers, &uri), app.now());
    let drawn = app.beside(move |keeper| calendar::draw(keeper, &asked.label, &who.person, now)).await;
    let (address, secret) = drawn?;
    let link = format!("{base}{PATH}{secret}{SUFFIX}");
    Ok((StatusCode::CREATED, Json(CalendarDrawn { id: address.id, link })))
}

/// Takes an address back: it leads nowhere from then on.
#[utoipa::path(delete, path = "/api/v1/calendars/{calendar}", tag = "yard",
    params(("calendar" = String, Path, description = "What names it in the list")),
    responses((status = 204), (status = 401, body = Problem), (status = 403, body = Problem),
        (status = 404, body = Problem)))]
pub async fn revoke(State(app): State<App>, who: Who, Path(id): Path<String>) -> Result<StatusCode, Problem> {
    draws(&who)?;
    app.beside(move |keeper| calendar::revoke(keeper, &id, (&who.person, who.standing.role))).await?;
    Ok(StatusCode::NO_CONTENT)
}

fn draws(who: &Who) -> Result<(), Problem> {
    let role = who.standing.role;
    if may_draw_calendar(role) {
        return Ok(());
    }
    Err(Problem::new(Kind::NoRight, format!("{role} draws no address of the calendar: ask an instructor")))
}

async fn text(app: App, headers: &HeaderMap) -> Result<Response, Problem> {
    let now = minute(app.now());
    let text = app.beside(move |keeper| made::of(keeper, now).map(|calendar| made::text(&calendar))).await?;
    Ok(tagged_text(headers, text, "text/calendar; charset=utf-8"))
}
