//! Wear estimated when somebody asks, and not only in the first hour of a day.

use axum::{Json, extract::State};
use muster_core::record::payload::Kind as Written;
use muster_wire::forecast::Estimated;

use super::{
    app::App,
    problem::{Kind, Problem},
    who::Who,
};

/// Estimates wear anew from the whole record and writes it down, for verdicts on every phone. Where nothing of wear has come
/// since the last estimate nothing is written: the same record gives the same estimate.
#[utoipa::path(post, path = "/api/v1/forecast", tag = "record",
    responses((status = 200, body = Estimated), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn estimate(State(app): State<App>, who: Who) -> Result<Json<Estimated>, Problem> {
    who.writes(Written::ForecastEstimated)?;
    let now = app.now();
    let written = app
        .written(move |keeper| {
            let is_due = keeper.known().yard.forecast.is_none() || keeper.has_grown_since_estimate()?;
            if is_due {
                keeper.note_estimate(&who.person, now)?;
            }
            let known = keeper.known().yard.forecast.clone();
            let known = known.ok_or_else(|| Problem::new(Kind::Fault, "the estimate does not count"))?;
            let parts = known.kinds.iter().map(|kind| kind.rows.len()).sum();
            let (hash, at, kinds) = (known.hash.clone(), known.at.to_string(), known.kinds.len());
            Ok::<_, Problem>(Estimated { written: is_due, hash, at, kinds, parts })
        })
        .await?;
    Ok(Json(written))
}
