//! Writing: commands, events of other devices, and news of what was written.

#![expect(unused_qualifications, reason = "utoipa's macros write them")]

use std::{convert::Infallible, time::Duration};

use axum::{
    Json,
    extract::{
        Query, State,
        rejection::{JsonRejection, QueryRejection},
    },
    http::StatusCode,
    response::sse::{Event, KeepAlive, Sse},
};
use futures_core::Stream;
use muster_core::{
    calendar::Moment,
    record::{
        decide::Command,
        event::{Entry, Signed},
        heads::Stretch,
        rights::View,
    },
};
use serde::{Deserialize, Serialize};
use tokio::sync::broadcast::error::RecvError;
use utoipa::{IntoParams, ToSchema};

use super::{
    app::App,
    body::Object,
    problem::{Kind, Problem},
    read::{minute, tagged},
    who::Who,
};
use muster_wire::{
    command::Asked,
    glance::Glances,
    sync::{Batch, Carried, Holds, Lacking, Received},
};

use crate::{
    keeper::{Keeper, hex},
    people::names,
};

/// Most events in one batch; a device sends the rest in the next.
pub const MAX_BATCH: usize = 1000;
/// Most bytes answered to one question for what is missing.
const MAX_STRETCH: usize = 1 << 20;
/// Least bytes read of each series, so that many series still get on.
const MIN_STRETCH: usize = 1 << 14;

/// What a command wrote.
#[derive(Debug, Serialize, ToSchema)]
pub struct Written {
    /// The events, in order.
    pub events: Vec<String>,
}

/// When it happened.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct When {
    /// The moment past, ISO 8601 with offset, as somebody noted it on paper; without it, now. It says nothing of the
    /// order, and only `write` takes it: a decision is made now.
    at: Option<String>,
}

impl When {
    fn moment(self, now: Moment, command: &Command) -> Result<Moment, Problem> {
        let Some(at) = self.at else { return Ok(now) };
        if !matches!(command, Command::Write(_)) {
            return Err(Problem::new(Kind::Unreadable, "at: only `write` may have happened before; leave it out"));
        }
        let at = Moment::parse(&at).map_err(|error| Problem::new(Kind::Unreadable, format!("at: {error}")))?;
        if at > now {
            return Err(Problem::new(Kind::Unreadable, format!("at: {at} is still to come, it is {now}")));
        }
        Ok(at)
    }
}

/// Carries out a command: decided by the same rules as on a phone, durable when answered.
#[utoipa::path(post, path = "/api/v1/commands", tag = "record", params(When), request_body = Asked, responses(
    (status = 201, body = Written), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem), (status = 404, body = Problem), (status = 409, body = Problem),
    (status = 413, body = Problem), (status = 415, body = Problem), (status = 422, body = Problem),
))]
pub async fn command(
    State(app): State<App>,
    who: Who,
    when: Result<Query<When>, QueryRejection>,
    asked: Result<Object<Asked>, JsonRejection>,
) -> Result<(StatusCode, Json<Written>), Problem> {
    let Object(asked) = asked?;
    let (command, outing) = asked.read()?;
    let now = when?.0.moment(app.now(), &command)?;
    let events = app.written(move |keeper| keeper.act_for(command, &who.person, now, outing)).await?;
    Ok((StatusCode::CREATED, Json(Written { events: events.iter().map(ToString::to_string).collect() })))
}

/// What is held here, and by whose key it is served.
#[derive(Debug, Serialize, ToSchema)]
pub struct Offers {
    /// The head of each device's series.
    pub heads: std::collections::BTreeMap<String, u64>,
    /// Ed25519 public key of this installation: a device that holds nothing yet trusts the record from here on.
    pub key: String,
}

impl Offers {
    fn of(heads: &muster_core::record::heads::Heads, keeper: &Keeper) -> Self {
        Self { heads: Holds::from(heads).heads, key: hex(&keeper.public_key()) }
    }
}

/// How far each device's series is held here.
#[utoipa::path(get, path = "/api/v1/sync", tag = "sync",
    responses((status = 200, body = Offers), (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn heads(State(app): State<App>, who: Who) -> Result<Json<Offers>, Problem> {
    who.syncs()?;
    app.beside(|keeper| keeper.store().heads().map(|heads| Json(Offers::of(&heads, keeper)))).await
}

/// What a phone carries: not the whole record, the events that still say something. It goes on from there as any device does.
#[utoipa::path(get, path = "/api/v1/sync/carried", tag = "sync",
    responses((status = 200, body = Carried), (status = 304, description = "As the ETag names it"),
        (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn carried(
    State(app): State<App>,
    who: Who,
    headers: axum::http::HeaderMap,
) -> Result<axum::response::Response, Problem> {
    who.syncs()?;
    let now = app.now();
    let sees_names = who.sees(View::People).is_ok();
    let carried = app
        .beside(move |keeper| {
            let mut carried = keeper.carried(now)?;
            if sees_names {
                let names = names::all(keeper)?;
                carried.names = names.into_iter().map(|(person, name)| (person.to_string(), name)).collect();
            }
            Ok::<_, Problem>(carried)
        })
        .await?;
    Ok(tagged(&headers, &carried))
}

/// The yard at a glance: what an app shows till it can judge by itself what it carries.
#[utoipa::path(get, path = "/api/v1/sync/glance", tag = "sync",
    responses((status = 200, body = Glances), (status = 304, description = "As the ETag names it"),
        (status = 401, body = Problem), (status = 403, body = Problem)))]
pub async fn glance(
    State(app): State<App>,
    who: Who,
    headers: axum::http::HeaderMap,
) -> Result<axum::response::Response, Problem> {
    who.syncs()?;
    let now = minute(app.now());
    let sees_names = who.sees(View::People).is_ok();
    let glances = app
        .beside(move |keeper| {
            let mut glances = keeper.at_a_glance(now)?;
            if sees_names {
                let out = |id: &str| {
                    glances
                        .rows
                        .iter()
                        .filter_map(|row| row.out.as_ref())
                        .any(|out| out.riders.iter().any(|rider| rider == id))
                };
                let names = names::all(keeper)?.into_iter().map(|(person, name)| (person.to_string(), name));
                glances.names = names.filter(|(person, _)| out(person)).collect();
            }
            Ok::<_, Problem>(glances)
        })
        .await?;
    Ok(tagged(&headers, &glances))
}

/// What a device lacks of what is held here, as far as one answer carries.
#[utoipa::path(post, path = "/api/v1/sync/missing", tag = "sync", request_body = Holds, responses(
    (status = 200, body = Lacking), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem), (status = 413, body = Problem), (status = 415, body = Problem)))]
pub async fn missing(
    State(app): State<App>,
    who: Who,
    holds: Result<Object<Holds>, JsonRejection>,
) -> Result<Json<Lacking>, Problem> {
    who.syncs()?;
    let Object(holds) = holds?;
    let Some(mine) = holds.heads() else {
        return Err(Problem::new(Kind::Unreadable, "heads: a device is 16 hexadecimal digits"));
    };
    app.beside(move |keeper| {
        let stretches: Vec<Stretch> = mine.missing(&keeper.store().heads()?);
        in_causal_order(keeper, &stretches).map(Json)
    })
    .await
}

/// The beginnings of several stretches, as far as one answer carries, so that whatever an event had seen stands before it:
/// a device must be known before its events are.
fn in_causal_order(keeper: &Keeper, stretches: &[Stretch]) -> Result<Lacking, Problem> {
    let each = (MAX_STRETCH / stretches.len().max(1)).max(MIN_STRETCH);
    let (mut found, mut reach) = (Vec::new(), None::<u64>);
    for stretch in stretches {
        let held = keeper.store().stretch(*stretch, each)?;
        let cut = (held.len() as u64) < stretch.to + 1 - stretch.from;
        for (index, stored) in held.iter().enumerate() {
            let entry = Entry::read(&stored.signed.event)
                .map_err(|error| Problem::new(Kind::Unavailable, format!("event {}: {error}", stored.id)))?;
            if cut && index + 1 == held.len() {
                reach = Some(reach.map_or(entry.height, |reach| reach.min(entry.height)));
            }
            found.push((entry.place(), stored.signed.clone()));
        }
    }
    found.sort_by_key(|(place, _)| *place);
    let events = found.into_iter().filter(|(place, _)| reach.is_none_or(|reach| place.height <= reach));
    Ok(Lacking { events: events.map(|(_, signed)| signed.into()).collect(), more: reach.is_some() })
}

/// Takes in events that an enrolled device wrote; sending them again does no harm. What is answered as kept is on disk.
#[utoipa::path(post, path = "/api/v1/sync", tag = "sync", request_body = Batch, responses(
    (status = 200, body = Received), (status = 400, body = Problem), (status = 401, body = Problem),
    (status = 403, body = Problem), (status = 413, body = Problem), (status = 415, body = Problem)))]
pub async fn receive(
    State(app): State<App>,
    who: Who,
    batch: Result<Object<Batch>, JsonRejection>,
) -> Result<Json<Received>, Problem> {
    who.syncs()?;
    let Object(batch) = batch?;
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
