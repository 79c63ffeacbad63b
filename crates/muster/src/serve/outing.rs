//! An outing worked out by the server, for whoever has no app: the same figures as on a phone and by `muster outing`.

#![expect(unused_qualifications, reason = "utoipa's macros write them")]

use axum::{
    Json,
    extract::{
        Path, Query, State,
        rejection::{JsonRejection, QueryRejection},
    },
};
use muster_core::{
    outing::Asked,
    quantity::text::DecimalSign,
    record::{judged, rights::View},
};
use muster_wire::outing::OutingTold;
use serde::Deserialize;
use serde_json::Value;
use utoipa::IntoParams;

use super::{
    app::App,
    body::Object,
    problem::{Kind, Problem},
    read::moment,
    who::Who,
};

/// When it leaves.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Leaves {
    /// When the outing leaves, ISO 8601 with offset; without it now.
    on: Option<String>,
}

/// What an outing does to a machine, and whether it is fit for that. What was told and cannot be stands among its `faults`
/// and leaves it unseen at best; the rest is worked out. Nothing is written: a release binds it.
#[utoipa::path(post, path = "/api/v1/machines/{machine}/outing", tag = "yard",
    params(("machine" = String, Path, description = "Fleet number"), Leaves),
    request_body(content = OutingTold, description = "The outing as it is told"),
    responses((status = 200, body = Value, description = "The assessment: verdict, items, what to do when, figures"),
        (status = 400, body = Problem), (status = 401, body = Problem), (status = 403, body = Problem),
        (status = 404, body = Problem), (status = 413, body = Problem), (status = 415, body = Problem)))]
pub async fn outing(
    State(app): State<App>,
    who: Who,
    Path(id): Path<String>,
    query: Result<Query<Leaves>, QueryRejection>,
    told: Result<Object<Asked>, JsonRejection>,
) -> Result<Json<Value>, Problem> {
    who.sees(View::Machine)?;
    let Query(leaves) = query?;
    let Object(told) = told?;
    let from = moment("on", leaves.on.as_deref())?.unwrap_or_else(|| app.now());
    let outing = told.read(from, DecimalSign::Point);
    app.beside(move |keeper| {
        let state = keeper.machine(&id)?.ok_or_else(|| Problem::not_found("machine", &id))?;
        let known = keeper.known();
        let rules = (&**keeper.catalogue(), &*known.yard);
        let (_, assessed) =
            judged::outing(rules, &state, from, &outing).ok_or_else(|| Problem::not_found("machine", &id))?;
        let written = serde_json::to_value(&assessed);
        written.map(Json).map_err(|error| Problem::new(Kind::Fault, format!("it cannot be written: {error}")))
    })
    .await
}
