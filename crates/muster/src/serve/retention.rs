//! The house rule on how long names and photos are kept: what it lets go now, and letting it go.

use std::collections::BTreeMap;

use axum::{Json, extract::State};
use muster_core::record::payload::Kind as Written;

use super::{app::App, problem::Problem, who::Who};
use crate::people::{names, retention as held};
use muster_wire::retention::RetentionView;

/// What the house rule would let go now, and what stays and why. Nothing is changed.
#[utoipa::path(get, path = "/api/v1/retention", tag = "record", responses(
    (status = 200, body = RetentionView), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn retention(State(app): State<App>, who: Who) -> Result<Json<RetentionView>, Problem> {
    who.writes(Written::PersonErased)?;
    let now = app.now();
    app.beside(move |keeper| {
        let (decided, names) = (held::look(keeper, now)?, names::all(keeper)?);
        Ok::<_, Problem>(Json(RetentionView::of(&keeper.known().yard.retention, &decided, &names, Vec::new())))
    })
    .await
}

/// Lets go what the house rule lets go now: keys are destroyed, photos' bytes removed, each written down first. It does
/// not come back. What touches an impounded machine stays.
#[utoipa::path(post, path = "/api/v1/retention", tag = "record", responses(
    (status = 200, body = RetentionView), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn retain(State(app): State<App>, who: Who) -> Result<Json<RetentionView>, Problem> {
    who.writes(Written::PersonErased)?;
    who.writes(Written::PhotoRemoved)?;
    let (now, photos) = (app.now(), app.photos().clone());
    app.written(move |keeper| {
        let done = held::retain(keeper, &photos, &who.person, now)?;
        let rule = &keeper.known().yard.retention;
        Ok::<_, Problem>(Json(RetentionView::of(rule, &done.decided, &BTreeMap::new(), done.refused)))
    })
    .await
}
