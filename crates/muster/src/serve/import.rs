//! Tables taken in: machines and readings as CSV, shown first, then written.

#![expect(unused_qualifications, reason = "utoipa's macros write them")]

use axum::{
    Json,
    extract::{
        Query, State,
        rejection::{QueryRejection, StringRejection},
    },
};
use muster_core::record::payload::Kind as Written;
use muster_wire::import::ImportReport;
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    app::App,
    problem::{Kind, Problem},
    who::Who,
};
use crate::import::{By, Decimal, How, NotTaken, Order, What, take};

/// How a table is taken in.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Asked {
    /// Say what would become of each row, and write nothing.
    #[serde(default, rename = "dry-run")]
    dry_run: bool,
    /// point or comma: what stands before the decimals; without it as the delimiter suggests.
    decimal: Option<String>,
    /// day-first or month-first: how a day like 03/04/2019 is read; without it such a day is refused.
    dates: Option<String>,
}

/// Takes in machines: columns machine, sheet, and if need be row, plate, vin, first_use, category, displacement, service.
#[utoipa::path(post, path = "/api/v1/import/machines", tag = "record", params(Asked),
    request_body(content = String, content_type = "text/csv"), responses(
        (status = 200, body = ImportReport), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem), (status = 413, body = Problem)))]
pub async fn machines(
    State(app): State<App>,
    who: Who,
    query: Result<Query<Asked>, QueryRejection>,
    text: Result<String, StringRejection>,
) -> Result<Json<ImportReport>, Problem> {
    who.writes(Written::MachineRegistered)?;
    taken(app, who, What::Machines, (query?.0, text?)).await
}

/// Takes in readings: columns machine, check (or part), value, at (or date, with its time if it is known), and if need be
/// unit, place, odometer, instrument, person, air, tyre, heat, why, note. Rows of one machine and moment become one walk-round.
#[utoipa::path(post, path = "/api/v1/import/readings", tag = "record", params(Asked),
    request_body(content = String, content_type = "text/csv"), responses(
        (status = 200, body = ImportReport), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem), (status = 413, body = Problem)))]
pub async fn readings(
    State(app): State<App>,
    who: Who,
    query: Result<Query<Asked>, QueryRejection>,
    text: Result<String, StringRejection>,
) -> Result<Json<ImportReport>, Problem> {
    who.writes(Written::ReadingTaken)?;
    taken(app, who, What::Readings, (query?.0, text?)).await
}

async fn taken(app: App, who: Who, what: What, (asked, text): (Asked, String)) -> Result<Json<ImportReport>, Problem> {
    let decimal = match asked.decimal.as_deref() {
        None => None,
        Some("point") => Some(Decimal::Point),
        Some("comma") => Some(Decimal::Comma),
        Some(_) => return Err(Problem::new(Kind::Unreadable, "decimal: point or comma")),
    };
    let dates = match asked.dates.as_deref() {
        None => None,
        Some("day-first") => Some(Order::DayFirst),
        Some("month-first") => Some(Order::MonthFirst),
        Some(_) => return Err(Problem::new(Kind::Unreadable, "dates: day-first or month-first")),
    };
    let (how, now) = (How { dry_run: asked.dry_run, decimal, dates }, app.now());
    let report = app.written(move |keeper| take(keeper, what, &text, how, By { person: &who.person, now })).await?;
    Ok(Json(report))
}

impl From<NotTaken> for Problem {
    fn from(error: NotTaken) -> Self {
        match error {
            NotTaken::Sheet(error) => Self::new(Kind::Unreadable, error.to_string()),
            NotTaken::NotDone(error) => error.into(),
        }
    }
}
