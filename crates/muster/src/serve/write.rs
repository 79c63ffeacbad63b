//! Writing: commands, events of other devices, and news of what was written.

use std::{convert::Infallible, time::Duration};

use axum::{
    Json,
    extract::{State, rejection::JsonRejection},
    http::StatusCode,
    response::sse::{Event, KeepAlive, Sse},
};
use futures_core::Stream;
use muster_core::record::{
    event::{Entry, Signed},
    heads::Stretch,
    payload::Role,
    rights::View,
};
use serde::Serialize;
use tokio::sync::broadcast::error::RecvError;
use utoipa::ToSchema;

use super::{
    app::App,
    problem::{Kind, Problem},
    who::Who,
};
use crate::{
    api::{
        command::Asked,
        sync::{Batch, Holds, Lacking, SignedEvent},
    },
    keeper::{Keeper, Received},
};

/// Most events in one batch; a device sends the rest in the next.
pub const MAX_BATCH: usize = 1000;
/// Most bytes answered to one question for what is missing.
const MAX_STRETCH: usize = 1 << 20;

/// What a command wrote.
#[derive(Debug, Serialize, ToSchema)]
pub struct Written {
    /// The events, in order.
    pub events: Vec<String>,
}

/// Carries out a command: decided by the same rules as on a phone, durable when answered.
#[utoipa::path(post, path = "/api/v1/commands", tag = "record", request_body = Asked, responses(
    (status = 201, body = Written), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem), (status = 404, body = Problem), (status = 409, body = Problem),
    (status = 413, body = Problem), (status = 415, body = Problem), (status = 422, body = Problem),
))]
pub async fn command(
    State(app): State<App>,
    who: Who,
    asked: Result<Json<Asked>, JsonRejection>,
) -> Result<(StatusCode, Json<Written>), Problem> {
    let Json(asked) = asked?;
    let (command, outing) = asked.read()?;
    let now = app.now();
    let (events, cursor) = app
        .beside(move |keeper| {
            let events = keeper.act_for(command, &who.person, now, outing)?;
            Ok::<_, Problem>((events, keeper.store().count()?))
        })
        .await?;
    app.announce(cursor);
    Ok((StatusCode::CREATED, Json(Written { events: events.iter().map(ToString::to_string).collect() })))
}

/// How far each device's series is held here.
#[utoipa::path(get, path = "/api/v1/sync", tag = "sync",
    responses((status = 200, body = Holds), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn heads(State(app): State<App>, who: Who) -> Result<Json<Holds>, Problem> {
    may_sync(&who)?;
    app.beside(|keeper| keeper.store().heads().map(|heads| Json(Holds::from(&heads)))).await
}

/// What a device lacks of what is held here, as far as one answer carries.
#[utoipa::path(post, path = "/api/v1/sync/missing", tag = "sync", request_body = Holds, responses(
    (status = 200, body = Lacking), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem), (status = 413, body = Problem), (status = 415, body = Problem)))]
pub async fn missing(
    State(app): State<App>,
    who: Who,
    holds: Result<Json<Holds>, JsonRejection>,
) -> Result<Json<Lacking>, Problem> {
    may_sync(&who)?;
    let Json(holds) = holds?;
    let Some(mine) = holds.heads() else {
        return Err(Problem::new(Kind::Unreadable, "heads: a device is 16 hexadecimal digits"));
    };
    app.beside(move |keeper| {
        let stretches: Vec<Stretch> = mine.missing(&keeper.store().heads()?);
        let (mut events, mut left): (Vec<SignedEvent>, usize) = (Vec::new(), MAX_STRETCH);
        for stretch in stretches {
            if left == 0 {
                return Ok(Json(Lacking { events, more: true }));
            }
            let wanted = stretch.to + 1 - stretch.from;
            let found = keeper.store().stretch(stretch, left)?;
            let all = found.len() as u64 == wanted;
            left = left.saturating_sub(found.iter().map(|stored| stored.signed.event.len()).sum());
            events.extend(found.into_iter().map(|stored| stored.signed.into()));
            if !all {
                return Ok(Json(Lacking { events, more: true }));
            }
        }
        Ok::<_, Problem>(Json(Lacking { events, more: false }))
    })
    .await
}

/// Takes in events that an enrolled device wrote; sending them again does no harm. What is answered as kept is on disk.
#[utoipa::path(post, path = "/api/v1/sync", tag = "sync", request_body = Batch, responses(
    (status = 200, body = Received), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem), (status = 413, body = Problem), (status = 415, body = Problem)))]
pub async fn receive(
    State(app): State<App>,
    who: Who,
    batch: Result<Json<Batch>, JsonRejection>,
) -> Result<Json<Received>, Problem> {
    may_sync(&who)?;
    let Json(batch) = batch?;
    if batch.events.len() > MAX_BATCH {
        return Err(Problem::new(Kind::TooLarge, format!("at most {MAX_BATCH} events at once: send the rest after")));
    }
    let events: Vec<Signed> = batch.events.into_iter().map(Into::into).collect();
    let (received, cursor) = app
        .beside(move |keeper| {
            let received = keeper.receive(&events)?;
            Ok::<_, Problem>((received, keeper.store().count()?))
        })
        .await?;
    app.announce(cursor);
    Ok(Json(received))
}

/// News: one message for each event written, from a cursor on; then as they come. `Last-Event-ID` takes it up again.
#[utoipa::path(get, path = "/api/v1/news", tag = "sync",
    params(("last-event-id" = Option<u64>, Header, description = "The cursor of the last message seen")),
    responses((status = 200, content_type = "text/event-stream", body = String), (status = 401, body = Problem),
        (status = 403, body = Problem)))]
pub async fn news(
    State(app): State<App>,
    who: Who,
    headers: axum::http::HeaderMap,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Problem> {
    who.sees(View::Yard)?;
    let mut listener = app.listen();
    let asked = headers.get("last-event-id").and_then(|value| value.to_str().ok()).and_then(|text| text.parse().ok());
    let mut cursor: u64 = match asked {
        Some(cursor) => cursor,
        None => app.beside(|keeper| keeper.store().count()).await?,
    };
    let mut closing = app.closing();
    let stream = async_stream::stream! {
        loop {
            let after = cursor;
            let Ok(found) = app.beside(move |keeper| told(keeper, after)).await else { return };
            for (arrival, text) in found {
                cursor = arrival;
                yield Ok(Event::default().id(arrival.to_string()).event("written").data(text));
            }
            tokio::select! {
                heard = listener.recv() => if matches!(heard, Err(RecvError::Closed)) { return },
                _ = closing.wait_for(|closing| *closing) => return,
            }
        }
    };
    Ok(Sse::new(stream).keep_alive(KeepAlive::new().interval(Duration::from_secs(15))))
}

/// What was written behind a cursor: id, kind and machine, no contents.
fn told(keeper: &Keeper, after: u64) -> Result<Vec<(u64, String)>, Problem> {
    let found = keeper.store().since(after, 500)?;
    let line = |stored: &crate::store::Stored| {
        let event = Entry::read(&stored.signed.event).ok().and_then(|entry| entry.event);
        let kind = event.as_ref().map(|event| event.payload.kind().as_str());
        let machine = event.and_then(|event| match event.payload.subject() {
            muster_core::record::payload::Subject::Machine(machine) => Some(machine),
            muster_core::record::payload::Subject::Yard => None,
        });
        serde_json::json!({ "event": stored.id.to_string(), "kind": kind, "machine": machine }).to_string()
    };
    Ok(found.iter().map(|stored| (stored.arrival, line(stored))).collect())
}

/// Phones carry the whole record: who may walk round may sync; riders do not.
fn may_sync(who: &Who) -> Result<(), Problem> {
    if who.standing.role == Role::Rider {
        return Err(Problem::new(Kind::NoRight, "a rider does not carry the record: ask an instructor"));
    }
    Ok(())
}
