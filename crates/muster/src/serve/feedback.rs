//! Riders' feedback by the QR code on a machine, without sign-in.

use axum::{
    Json,
    extract::{Path, State, rejection::JsonRejection},
    http::{HeaderMap, HeaderValue, StatusCode, Uri, header},
    response::{IntoResponse, Response},
};
use muster_core::record::rights::View;

use super::{
    app::App,
    body::Object,
    guard::Address,
    limit::counted_as,
    problem::{Kind, Problem},
    who::Who,
};
use crate::people::{feedback, qr};
use muster_wire::people::{Feedback, FeedbackAbout, FeedbackCode};

/// Which machine a code is about.
#[utoipa::path(get, path = "/api/v1/feedback/{code}", tag = "yard",
    params(("code" = String, Path, description = "The code on the machine")),
    responses((status = 200, body = FeedbackAbout), (status = 403, body = Problem)))]
pub async fn about(State(app): State<App>, Path(code): Path<String>) -> Result<Json<FeedbackAbout>, Problem> {
    app.beside(move |keeper| {
        let machine = feedback::machine_of(keeper, &code)?;
        Ok::<_, Problem>(Json(told(machine, keeper.known().yard.name.clone())))
    })
    .await
}

/// Says something about a machine. It becomes a finding that somebody of the yard looks at; the answer is always the same.
#[utoipa::path(post, path = "/api/v1/feedback/{code}", tag = "yard", request_body = Feedback,
    params(("code" = String, Path, description = "The code on the machine")),
    responses((status = 202), (status = 400, body = Problem), (status = 403, body = Problem),
        (status = 429, body = Problem)))]
pub async fn say(
    State(app): State<App>,
    address: Address,
    Path(code): Path<String>,
    said: Result<Object<Feedback>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    let (Object(said), now, from) = (said?, app.now(), counted_as(address.0));
    app.written(move |keeper| feedback::take(keeper, &code, &said.text, &from, now)).await?;
    Ok(StatusCode::ACCEPTED)
}

/// The QR code to print and put on a machine, as SVG.
#[utoipa::path(get, path = "/api/v1/machines/{machine}/feedback", tag = "yard",
    params(("machine" = String, Path, description = "Fleet number")),
    responses((status = 200, content_type = "image/svg+xml", body = String), (status = 401, body = Problem),
        (status = 403, body = Problem), (status = 404, body = Problem)))]
pub async fn drawn(
    State(app): State<App>,
    who: Who,
    Path(machine): Path<String>,
    (headers, uri): (HeaderMap, Uri),
) -> Result<Response, Problem> {
    who.sees(View::Machine)?;
    let (base, now) = (app.base(&headers, &uri), app.now());
    let code = app.written(move |keeper| feedback::code_of(keeper, &machine, &who.person, now)).await?;
    let drawn = qr::svg(&link(&base, &code));
    let drawn = drawn.ok_or_else(|| Problem::new(Kind::Fault, "the link is too long for a QR code"))?;
    Ok(([(header::CONTENT_TYPE, HeaderValue::from_static("image/svg+xml"))], drawn).into_response())
}

fn told(machine: String, yard: String) -> FeedbackAbout {
    let please = "say what you noticed and where; no names, it is kept for good".to_string();
    FeedbackAbout { machine, yard, most_characters: feedback::MAX_CHARS, please }
}

/// Draws a new code for a machine: the one printed before leads nowhere from then on.
#[utoipa::path(post, path = "/api/v1/machines/{machine}/feedback", tag = "yard",
    params(("machine" = String, Path, description = "Fleet number")),
    responses((status = 201, body = FeedbackCode), (status = 401, body = Problem), (status = 403, body = Problem),
        (status = 404, body = Problem)))]
pub async fn draw_anew(
    State(app): State<App>,
    who: Who,
    Path(machine): Path<String>,
    (headers, uri): (HeaderMap, Uri),
) -> Result<(StatusCode, Json<FeedbackCode>), Problem> {
    who.owns()?;
    let (base, now, of) = (app.base(&headers, &uri), app.now(), machine.clone());
    let code = app.written(move |keeper| feedback::code_anew(keeper, &of, &who.person, now)).await?;
    let link = link(&base, &code);
    let svg = qr::svg(&link);
    Ok((StatusCode::CREATED, Json(FeedbackCode { machine, code, link, svg })))
}

/// The address that a code on a machine leads to.
fn link(base: &str, code: &str) -> String {
    format!("{base}{}{code}", feedback::PATH)
}
