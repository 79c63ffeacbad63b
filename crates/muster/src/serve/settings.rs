//! What of the server is set and is no event: the owner's.

use axum::{
    Json,
    body::Bytes,
    extract::{DefaultBodyLimit, State, rejection::JsonRejection},
};

use super::{
    app::App,
    body::Object,
    guard::PROXIES,
    problem::{Kind, Problem},
    who::Who,
};
use crate::printed::{self, MAX_MARK};
use muster_wire::settings::{ChangeSettings, MOST_PROXIES, SettingsView};

/// How the server is set.
#[utoipa::path(get, path = "/api/v1/settings", tag = "about", responses(
    (status = 200, body = SettingsView), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn settings(State(app): State<App>, who: Who) -> Result<Json<SettingsView>, Problem> {
    who.owns()?;
    view(app).await
}

/// Sets it. It is so at once, and after a restart.
#[utoipa::path(patch, path = "/api/v1/settings", tag = "about", request_body = ChangeSettings, responses(
    (status = 200, body = SettingsView), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem), (status = 415, body = Problem)))]
pub async fn change(
    State(app): State<App>,
    who: Who,
    asked: Result<Object<ChangeSettings>, JsonRejection>,
) -> Result<Json<SettingsView>, Problem> {
    who.owns()?;
    let Object(asked) = asked?;
    if let Some(proxies) = asked.proxies {
        if proxies > MOST_PROXIES {
            let what = format!("proxies: 0 to {MOST_PROXIES}, the servers of your own that stand before this one");
            return Err(Problem::new(Kind::Unreadable, what));
        }
        app.beside(move |keeper| keeper.store().put_setting(PROXIES, Some(&proxies.to_string()))).await?;
        app.guards().believe(proxies);
    }
    view(app).await
}

/// Takes a file as the school's mark, which stands on every paper that the server prints from then on.
#[utoipa::path(put, path = "/api/v1/settings/mark", tag = "paper",
    request_body(content = Vec<u8>, description = "SVG, PNG or JPEG, at most 256 KiB", content_type = "application/octet-stream"),
    responses((status = 200, body = SettingsView), (status = 401, body = Problem), (status = 403, body = Problem),
        (status = 413, body = Problem), (status = 422, body = Problem), (status = 501, body = Problem)))]
pub async fn put_mark(State(app): State<App>, who: Who, file: Bytes) -> Result<Json<SettingsView>, Problem> {
    who.owns()?;
    set_mark(&app, Some(file.to_vec())).await?;
    view(app).await
}

/// Prints without a mark from then on.
#[utoipa::path(delete, path = "/api/v1/settings/mark", tag = "paper", responses(
    (status = 200, body = SettingsView), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn drop_mark(State(app): State<App>, who: Who) -> Result<Json<SettingsView>, Problem> {
    who.owns()?;
    set_mark(&app, None).await?;
    view(app).await
}

/// How large a mark may be.
pub(super) fn limit() -> DefaultBodyLimit {
    DefaultBodyLimit::max(MAX_MARK)
}

async fn set_mark(app: &App, file: Option<Vec<u8>>) -> Result<(), Problem> {
    let now = app.now();
    app.beside(move |keeper| printed::set_mark(keeper, file, now)).await
}

async fn view(app: App) -> Result<Json<SettingsView>, Problem> {
    let proxies = app.guards().proxies();
    let mark = app.beside(printed::known_mark).await?;
    Ok(Json(SettingsView { proxies, mark }))
}
