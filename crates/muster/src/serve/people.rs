//! People: who is here, added, changed, erased; their passwords and PINs.

use std::collections::BTreeMap;

use axum::{
    Json,
    extract::{
        Path, Query, State,
        rejection::{JsonRejection, QueryRejection},
    },
    http::{HeaderMap, StatusCode, Uri},
    response::{IntoResponse, Response},
};
use muster_core::record::{id::PersonId, payload::Kind as Written, rights::View};

use super::{
    app::App,
    body::Object,
    guard::Address,
    lists::{Form, as_csv, is_csv},
    problem::{Kind, Problem},
    sign_in::{confided, let_in},
    who::Who,
};
use muster_wire::people::{
    AddPerson, Added, ChangePerson, Link, PasswordAsked, PersonView, Pin, PinGuess, PinHashes, PinsAsked, Why, parsed,
};

use crate::list::{For, List, Part};
use crate::people::{account, code::Purpose, names, pin, qr};

/// Everybody, with name, role and rights.
#[utoipa::path(get, path = "/api/v1/people", tag = "people", params(Form), responses(
    (status = 200, content((Vec<PersonView> = "application/json"), (String = "text/csv"))),
    (status = 400, body = Problem), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn people(
    State(app): State<App>,
    who: Who,
    query: Result<Query<Form>, QueryRejection>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    who.sees(View::People)?;
    if is_csv(query?.0.format.as_deref(), &headers)? {
        let of = For { role: who.standing.role, now: app.now() };
        return as_csv(&app, (List::People, Part::default()), of, &headers).await;
    }
    let people = app.beside(|keeper| {
        let (names, state) = (names::all(keeper)?, keeper.known().state);
        let view = |(person, of): (&PersonId, &_)| PersonView::of(person, of, names.get(person));
        Ok::<_, Problem>(Json(state.people.iter().map(view).collect::<Vec<_>>()))
    });
    people.await.map(IntoResponse::into_response)
}

/// Adds a person; how they sign in is given to them as a link.
#[utoipa::path(post, path = "/api/v1/people", tag = "people", request_body = AddPerson, responses(
    (status = 201, body = Added), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem)))]
pub async fn add(
    State(app): State<App>,
    who: Who,
    asked: Result<Object<AddPerson>, JsonRejection>,
) -> Result<(StatusCode, Json<Added>), Problem> {
    who.writes(Written::PersonAdded)?;
    let (Object(asked), now) = (asked?, app.now());
    let (role, rights) = asked.standing()?;
    let fresh = names::Fresh { name: asked.name, role, rights };
    let person = app.written(move |keeper| names::add(keeper, fresh, &who.person, now)).await?;
    Ok((StatusCode::CREATED, Json(Added { person: person.to_string() })))
}

/// Changes a person's name, role, rights, or whether they may act.
#[utoipa::path(patch, path = "/api/v1/people/{person}", tag = "people", request_body = ChangePerson,
    params(("person" = String, Path, description = "The person")),
    responses((status = 204), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(person): Path<String>,
    asked: Result<Object<ChangePerson>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    who.writes(Written::PersonChanged)?;
    let (person, Object(asked), now) = (parsed("person", &person)?, asked?, app.now());
    let (role, rights) = asked.standing()?;
    let change = names::Change { name: asked.name, role, rights, active: asked.active };
    app.written(move |keeper| names::change(keeper, &person, change, &who.person, now)).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// Erases a person: their name cannot be read any more, by anybody. What they did stays, without it.
#[utoipa::path(delete, path = "/api/v1/people/{person}", tag = "people",
    params(("person" = String, Path, description = "The person"), Why),
    responses((status = 204), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem), (status = 404, body = Problem), (status = 422, body = Problem)))]
pub async fn erase(
    State(app): State<App>,
    who: Who,
    Path(person): Path<String>,
    why: Result<Query<Why>, QueryRejection>,
) -> Result<StatusCode, Problem> {
    who.writes(Written::PersonErased)?;
    let (person, why, now) = (parsed("person", &person)?, why?.0.why, app.now());
    app.written(move |keeper| names::erase(keeper, &person, why, &who.person, now)).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// Sets one's own password; for somebody else, whoever may change people is given a link that sets it once.
#[utoipa::path(post, path = "/api/v1/people/{person}/password", tag = "people", request_body = PasswordAsked,
    params(("person" = String, Path, description = "The person")),
    responses((status = 200, description = "One's own: signed in anew", body = muster_wire::people::SignedIn),
        (status = 201, description = "Somebody else's", body = Link), (status = 400, body = Problem),
        (status = 401, body = Problem), (status = 403, body = Problem), (status = 404, body = Problem),
        (status = 422, body = Problem), (status = 429, body = Problem)))]
pub async fn password(
    State(app): State<App>,
    (who, address): (Who, Address),
    Path(person): Path<String>,
    (headers, uri): (HeaderMap, Uri),
    asked: Result<Object<PasswordAsked>, JsonRejection>,
) -> Result<Response, Problem> {
    let (person, Object(asked)): (PersonId, _) = (parsed("person", &person)?, asked?);
    if person == who.person {
        let now = confided(&app, address)?;
        let of = person.clone();
        app.hashed(move |keeper, attempts| {
            account::change(keeper, attempts, &of, (&asked.current, &asked.password), now)
        })
        .await?;
        return let_in(&app, &headers, person).await;
    }
    who.writes(Written::PersonChanged)?;
    let base = app.base(&headers, &uri);
    let now = app.now();
    let code = app.beside(move |keeper| account::draw(keeper, &person, now)).await?;
    let link = qr::link(&format!("{base}/password#{code}"), Purpose::Password.lasts_s());
    Ok((StatusCode::CREATED, Json(link)).into_response())
}

/// Sets one's own PIN, for phones that people share.
#[utoipa::path(post, path = "/api/v1/people/{person}/pin", tag = "people", request_body = Pin,
    params(("person" = String, Path, description = "The person: oneself")),
    responses((status = 204), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem)))]
pub async fn set_pin(
    State(app): State<App>,
    who: Who,
    Path(person): Path<String>,
    asked: Result<Object<Pin>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    let Object(asked) = asked?;
    if parsed::<PersonId>("person", &person)? != who.person {
        return Err(Problem::new(Kind::NoRight, "a PIN is set by the person whose it is"));
    }
    app.hashed(move |keeper, attempts| pin::set(keeper, attempts, &who.person, &asked.pin)).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// Checks a PIN: that somebody here means this act as this person's. It signs nobody in.
#[utoipa::path(post, path = "/api/v1/people/{person}/pin/check", tag = "people", request_body = PinGuess,
    params(("person" = String, Path, description = "The person")),
    responses((status = 204), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem), (status = 429, body = Problem)))]
pub async fn check_pin(
    State(app): State<App>,
    who: Who,
    Path(person): Path<String>,
    asked: Result<Object<PinGuess>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    who.sees(View::Machine)?;
    let (person, Object(asked), now): (PersonId, _, _) = (parsed("person", &person)?, asked?, app.now());
    let checked = app.hashed(move |keeper, attempts| pin::check(keeper, attempts, &person, &asked.pin, now)).await;
    checked.map(|()| StatusCode::NO_CONTENT)
}

/// The PINs' hashes, for an enrolled phone that people share, so that it can ask for one without signal.
#[utoipa::path(post, path = "/api/v1/sync/pins", tag = "sync", request_body = PinsAsked, responses(
    (status = 200, body = PinHashes), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem)))]
pub async fn pins(
    State(app): State<App>,
    who: Who,
    asked: Result<Object<PinsAsked>, JsonRejection>,
) -> Result<Json<PinHashes>, Problem> {
    who.syncs()?;
    let ((device, at, signature), now) = (asked?.0.read()?, app.now());
    let hashes = app.beside(move |keeper| pin::hashes(keeper, device, (at, signature), now)).await?;
    let people: BTreeMap<String, String> = hashes.into_iter().map(|(person, phc)| (person.to_string(), phc)).collect();
    Ok(Json(PinHashes { people }))
}
