//! About the server itself: health, counts, the description of its doors, the kinds of problem.

use axum::{
    Json,
    extract::State,
    http::{HeaderValue, StatusCode, header},
    response::{Html, IntoResponse, Response},
};
use muster_wire::people::Me;
use serde::Serialize;
use utoipa::ToSchema;

use super::{
    app::{App, Doors},
    problem::{Kind, Problem},
    who::Who,
};
use crate::{people::pin, printed::PRINTS};

/// Whether the server can do its work.
#[derive(Debug, Serialize, ToSchema)]
pub struct Health {
    /// `well`, or what is wrong.
    pub state: String,
    /// Version of the program.
    pub version: String,
    /// SHA-256 of its catalogue.
    pub catalogue: String,
    /// Events held.
    pub events: u64,
    /// Whether everybody acts as the demonstration's owner.
    pub demonstration: bool,
    /// Whether it prints paper.
    pub prints: bool,
}

/// Whether the server can do its work.
#[utoipa::path(get, path = "/health", tag = "about",
    responses((status = 200, body = Health), (status = 503, body = Problem)))]
pub async fn health(State(app): State<App>) -> Result<Json<Health>, Problem> {
    let events = app.beside(|keeper| keeper.store().count()).await?;
    Ok(Json(Health {
        state: "well".into(),
        version: env!("CARGO_PKG_VERSION").into(),
        catalogue: app.keeper().catalogue().hash.clone(),
        events,
        demonstration: matches!(app.doors(), Doors::Demonstration(_)),
        prints: PRINTS,
    }))
}

/// Counts for Prometheus.
#[utoipa::path(get, path = "/metrics", tag = "about",
    responses((status = 200, content_type = "text/plain", body = String), (status = 503, body = Problem)))]
pub async fn metrics(State(app): State<App>) -> Result<Response, Problem> {
    let events = app.beside(|keeper| keeper.store().count()).await?;
    let known = app.keeper().known();
    let machines = known.yard.machines.len() as u64;
    let aside = known.state.flags.len() as u64;
    let text = app.metrics().text(&[
        ("muster_events", "Events held.", events),
        ("muster_machines", "Machines of the yard.", machines),
        ("muster_set_aside", "Events of the yard kept and set aside.", aside),
    ]);
    let kind = HeaderValue::from_static("text/plain; version=0.0.4; charset=utf-8");
    Ok(([(header::CONTENT_TYPE, kind)], text).into_response())
}

/// Who is signed in.
#[utoipa::path(get, path = "/api/v1/me", tag = "people",
    responses((status = 200, body = Me), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn me(State(app): State<App>, who: Who) -> Result<Json<Me>, Problem> {
    let person = who.person.clone();
    let has_pin = app.beside(move |keeper| pin::is_set(keeper, &person)).await?;
    Ok(Json(Me {
        person: who.person.to_string(),
        role: who.standing.role.to_string(),
        rights: who.standing.rights.iter().map(ToString::to_string).collect(),
        demonstration: matches!(app.doors(), Doors::Demonstration(_)),
        has_pin,
        prints: PRINTS,
        now: app.now().to_string(),
    }))
}

/// The kinds of problem there are: what `type` of a problem refers to.
pub async fn problems() -> Html<String> {
    let row = |kind: Kind| {
        let (name, status, title) = kind.parts();
        format!("<tr id=\"{name}\"><td><code>{name}</code></td><td>{}</td><td>{title}</td></tr>", status.as_u16())
    };
    let rows: String = Kind::ALL.into_iter().map(row).collect();
    Html(format!(
        "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>Problems</title><h1>Kinds of problem</h1>\
         <table><thead><tr><th>Name</th><th>Status</th><th>Meaning</th></tr></thead><tbody>{rows}</tbody></table></html>"
    ))
}

/// No such door.
pub async fn nowhere(uri: axum::http::Uri) -> Problem {
    Problem::new(Kind::NotFound, format!("nothing is at {}: /api/v1/openapi.json lists what is", uri.path()))
}

/// A door that does not open so.
pub async fn otherwise(method: axum::http::Method, uri: axum::http::Uri) -> Response {
    let detail = format!("{} is not answered at {}: /api/v1/openapi.json lists what is", method, uri.path());
    let mut problem = Problem::new(Kind::Unreadable, detail);
    problem.status = StatusCode::METHOD_NOT_ALLOWED.as_u16();
    problem.into_response()
}
