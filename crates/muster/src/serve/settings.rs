//! What of the server is set and is no event: the owner's.

use axum::{
    Json,
    extract::{State, rejection::JsonRejection},
};

use super::{
    app::App,
    body::Object,
    guard::PROXIES,
    problem::{Kind, Problem},
    who::Who,
};
use muster_wire::settings::{ChangeSettings, MOST_PROXIES, SettingsView};

/// How the server is set.
#[utoipa::path(get, path = "/api/v1/settings", tag = "about", responses(
    (status = 200, body = SettingsView), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn settings(State(app): State<App>, who: Who) -> Result<Json<SettingsView>, Problem> {
    who.owns()?;
    Ok(Json(SettingsView { proxies: app.guards().proxies() }))
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
    Ok(Json(SettingsView { proxies: app.guards().proxies() }))
}
