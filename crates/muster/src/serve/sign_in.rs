//! Signing in and out, the first owner, a new password by a link.

use axum::{
    Json,
    extract::{State, rejection::JsonRejection},
    http::{HeaderMap, HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
};
use muster_core::record::id::PersonId;

use super::{
    app::{App, Doors},
    body::Object,
    guard::{Address, is_browser},
    limit::counted_as,
    problem::{Kind, Problem},
};
use muster_wire::people::{FirstOwner, NewPassword, SignIn, SignedIn};

use crate::people::{NotLet, account, first, session};

/// Attempts to sign in that one address may make in an hour, whoever as.
const MOST_OF_ADDRESS: u32 = 600;

/// Signs in. A browser is given a cookie that no script reads, a program a token for `Authorization: Bearer`.
#[utoipa::path(post, path = "/api/v1/sign-in", tag = "people", request_body = SignIn, responses(
    (status = 200, body = SignedIn), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem), (status = 422, body = Problem), (status = 429, body = Problem)))]
pub async fn sign_in(
    State(app): State<App>,
    address: Address,
    headers: HeaderMap,
    asked: Result<Object<SignIn>, JsonRejection>,
) -> Result<Response, Problem> {
    let Object(asked) = asked?;
    let now = confided(&app, address)?;
    let name = format!("sign-in from {}", counted_as(address.0));
    let tried = app
        .beside(move |keeper| keeper.store().count_act(&name, now.timestamp(), now.later_by(-3600).timestamp()))
        .await?;
    if tried > MOST_OF_ADDRESS {
        return Err(NotLet::Wait(3600).into());
    }
    let person = app
        .hashed(move |keeper, attempts| account::sign_in(keeper, attempts, &asked.person, &asked.password, now))
        .await?;
    let_in(&app, &headers, person).await
}

/// Ends the session.
#[utoipa::path(delete, path = "/api/v1/sign-in", tag = "people", responses(
    (status = 204), (status = 403, body = Problem), (status = 503, body = Problem)))]
pub async fn sign_out(State(app): State<App>, headers: HeaderMap) -> Result<Response, Problem> {
    let secure = app.is_secure();
    if let Some(token) = session::token(&headers, secure) {
        app.beside(move |keeper| session::end(&**keeper.store(), &token)).await?;
    }
    Ok((StatusCode::NO_CONTENT, [(header::SET_COOKIE, line(&session::no_cookie(secure))?)]).into_response())
}

/// Makes the first owner of a record that has nobody, by the code of the link shown on the server's terminal.
#[utoipa::path(post, path = "/api/v1/first", tag = "people", request_body = FirstOwner, responses(
    (status = 200, body = SignedIn), (status = 400, body = Problem), (status = 403, body = Problem),
    (status = 409, body = Problem), (status = 422, body = Problem), (status = 429, body = Problem)))]
pub async fn first_owner(
    State(app): State<App>,
    address: Address,
    headers: HeaderMap,
    asked: Result<Object<FirstOwner>, JsonRejection>,
) -> Result<Response, Problem> {
    let Object(asked) = asked?;
    let now = confided(&app, address)?;
    let owner = first::Owner { name: asked.name, password: asked.password };
    let person =
        app.hashed(move |keeper, attempts| first::begin_by_code(keeper, attempts, &asked.code, &owner, now)).await?;
    let_in(&app, &headers, person).await
}

/// Sets a password by the code of a link that the owner gave.
#[utoipa::path(post, path = "/api/v1/password", tag = "people", request_body = NewPassword, responses(
    (status = 200, body = SignedIn), (status = 400, body = Problem), (status = 403, body = Problem),
    (status = 422, body = Problem), (status = 429, body = Problem)))]
pub async fn password_by_code(
    State(app): State<App>,
    address: Address,
    headers: HeaderMap,
    asked: Result<Object<NewPassword>, JsonRejection>,
) -> Result<Response, Problem> {
    let Object(asked) = asked?;
    let now = confided(&app, address)?;
    let person = app
        .hashed(move |keeper, attempts| account::change_by_code(keeper, attempts, &asked.code, &asked.password, now))
        .await?;
    let_in(&app, &headers, person).await
}

/// Begins a session and says so.
pub(super) async fn let_in(app: &App, headers: &HeaderMap, person: PersonId) -> Result<Response, Problem> {
    let (of, now) = (person.clone(), app.now());
    let token = app.beside(move |keeper| session::begin(&**keeper.store(), &of, now)).await?;
    let cookie = line(&session::cookie(&token, app.is_secure()))?;
    let token = (!is_browser(headers)).then_some(token);
    Ok(([(header::SET_COOKIE, cookie)], Json(SignedIn { person: person.to_string(), token })).into_response())
}

/// Passwords are taken by HTTPS, or on this machine; the demonstration has none. Answers with the time.
pub(super) fn confided(app: &App, address: Address) -> Result<muster_core::calendar::Moment, Problem> {
    if matches!(app.doors(), Doors::Demonstration(_)) {
        return Err(Problem::new(Kind::Refused, "the demonstration has no sign-in: everybody acts as its owner"));
    }
    if !app.is_secure() && !address.0.to_canonical().is_loopback() {
        let detail =
            "a password would go over the network unencrypted: reach the server by HTTPS, or on its own machine";
        return Err(Problem::new(Kind::Refused, detail));
    }
    Ok(app.now())
}

fn line(text: &str) -> Result<HeaderValue, Problem> {
    HeaderValue::from_str(text).map_err(|_| Problem::new(Kind::Fault, "the cookie cannot be written"))
}
