//! Devices: which there are, codes to enrol one, enrolment, revocation.

use axum::{
    Json,
    extract::{
        Path, Query, State,
        rejection::{JsonRejection, QueryRejection},
    },
    http::{HeaderMap, StatusCode, Uri},
};
use muster_core::record::{id::PersonId, payload::Kind as Written, rights::View};

use super::{app::App, body::Object, problem::Problem, who::Who};
use muster_wire::{
    devices::{CodeAsked, DeviceView, Enrol, Enrolled},
    people::{Link, Why, parsed},
};

use crate::people::{
    code::Purpose,
    enrol::{self, Enrolment},
    qr,
};

/// Every device, with how far its series is held.
#[utoipa::path(get, path = "/api/v1/devices", tag = "people", responses(
    (status = 200, body = Vec<DeviceView>), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn devices(State(app): State<App>, who: Who) -> Result<Json<Vec<DeviceView>>, Problem> {
    who.sees(View::Devices)?;
    app.beside(|keeper| {
        let (heads, state) = (keeper.store().heads()?, keeper.known().state);
        let view = |(id, of): (&_, &_)| DeviceView::of(*id, of, heads.of(*id), *id == keeper.here());
        Ok::<_, Problem>(Json(state.devices.iter().map(view).collect()))
    })
    .await
}

/// Draws a code that enrols one device within ten minutes, as a link and a QR code.
#[utoipa::path(post, path = "/api/v1/devices/codes", tag = "people", request_body = CodeAsked, responses(
    (status = 201, body = Link), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem), (status = 404, body = Problem)))]
pub async fn code(
    State(app): State<App>,
    who: Who,
    (headers, uri): (HeaderMap, Uri),
    asked: Result<Object<CodeAsked>, JsonRejection>,
) -> Result<(StatusCode, Json<Link>), Problem> {
    let (person, now) = (asked?.0.read()?, app.now());
    let base = app.base(&headers, &uri);
    let lasts_s = Purpose::OwnDevice(who.person.clone()).lasts_s();
    let code = app.beside(move |keeper| enrol::draw(keeper, person.as_ref(), &who.person, now)).await?;
    Ok((StatusCode::CREATED, Json(qr::link(&format!("{base}/enrol#{code}"), lasts_s))))
}

/// Enrols the device that sends this: it brings the code, its key, and proves that it holds it.
#[utoipa::path(post, path = "/api/v1/devices", tag = "people", request_body = Enrol, responses(
    (status = 201, body = Enrolled), (status = 400, body = Problem), (status = 403, body = Problem),
    (status = 409, body = Problem), (status = 429, body = Problem)))]
pub async fn enrol(
    State(app): State<App>,
    asked: Result<Object<Enrol>, JsonRejection>,
) -> Result<(StatusCode, Json<Enrolled>), Problem> {
    let Object(Enrol { code, key, label, signature }) = asked?;
    let (of, now) = (Enrolment { code, key, label, signature }, app.now());
    let device = app.written(move |keeper| enrol::enrol(keeper, &of, now)).await?;
    Ok((StatusCode::CREATED, Json(Enrolled { device: device.to_string() })))
}

/// Revokes a device: what it wrote later than what is held now is kept, and flagged.
#[utoipa::path(delete, path = "/api/v1/devices/{device}", tag = "people",
    params(("device" = String, Path, description = "The device"), Why),
    responses((status = 204), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn revoke(
    State(app): State<App>,
    who: Who,
    Path(device): Path<String>,
    why: Result<Query<Why>, QueryRejection>,
) -> Result<StatusCode, Problem> {
    who.writes(Written::DeviceRevoked)?;
    let (device, why, now, by): (_, _, _, PersonId) = (parsed("device", &device)?, why?.0.why, app.now(), who.person);
    app.written(move |keeper| enrol::revoke(keeper, device, why, &by, now)).await?;
    Ok(StatusCode::NO_CONTENT)
}
