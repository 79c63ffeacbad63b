//! What went wrong, as RFC 9457 writes it: `application/problem+json`.

use axum::{
    Json,
    http::{HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use muster_wire::command::NotAsked;

use crate::{keeper::NotDone, list::NoList, people::NotLet, store::StoreError};

/// A problem: what, and what to do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Problem {
    /// What kind of problem: a reference to where it is described, relative to the server.
    #[serde(rename = "type")]
    #[schema(example = "/api/v1/problems#refused")]
    pub kind: String,
    /// The kind in words.
    pub title: String,
    /// The HTTP status.
    pub status: u16,
    /// What happened here, and the remedy.
    pub detail: String,
}

/// The kinds of problem there are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// What was sent cannot be read.
    Unreadable,
    /// Nobody is signed in.
    NotSignedIn,
    /// Signed in, without the right.
    NoRight,
    /// No such thing.
    NotFound,
    /// The rules refuse it.
    Refused,
    /// It has changed meanwhile.
    Stale,
    /// Too large.
    TooLarge,
    /// Too often.
    TooOften,
    /// The store cannot take it now.
    Unavailable,
    /// This server was built without it.
    NotBuilt,
    /// A fault of ours.
    Fault,
}

impl Kind {
    /// All of them, in the order they are described.
    pub const ALL: [Self; 11] = [
        Self::Unreadable,
        Self::NotSignedIn,
        Self::NoRight,
        Self::NotFound,
        Self::Refused,
        Self::Stale,
        Self::TooLarge,
        Self::TooOften,
        Self::Unavailable,
        Self::NotBuilt,
        Self::Fault,
    ];

    /// Name, status and title.
    #[must_use]
    pub const fn parts(self) -> (&'static str, StatusCode, &'static str) {
        match self {
            Self::Unreadable => ("unreadable", StatusCode::BAD_REQUEST, "What was sent cannot be read"),
            Self::NotSignedIn => ("not-signed-in", StatusCode::UNAUTHORIZED, "Nobody is signed in"),
            Self::NoRight => ("no-right", StatusCode::FORBIDDEN, "This needs a right"),
            Self::NotFound => ("not-found", StatusCode::NOT_FOUND, "There is no such thing"),
            Self::Refused => ("refused", StatusCode::UNPROCESSABLE_ENTITY, "The rules refuse it"),
            Self::Stale => ("stale", StatusCode::CONFLICT, "It has changed meanwhile"),
            Self::TooLarge => ("too-large", StatusCode::PAYLOAD_TOO_LARGE, "It is too large"),
            Self::TooOften => ("too-often", StatusCode::TOO_MANY_REQUESTS, "Too often: wait and try again"),
            Self::Unavailable => ("unavailable", StatusCode::SERVICE_UNAVAILABLE, "It cannot be written now"),
            Self::NotBuilt => ("not-built", StatusCode::NOT_IMPLEMENTED, "This server was built without it"),
            Self::Fault => ("fault", StatusCode::INTERNAL_SERVER_ERROR, "A fault of the program"),
        }
    }
}

impl Problem {
    /// A problem of a kind, with what happened and the remedy.
    #[must_use]
    pub fn new(kind: Kind, detail: impl Into<String>) -> Self {
        let (name, status, title) = kind.parts();
        Self {
            kind: format!("/api/v1/problems#{name}"),
            title: title.into(),
            status: status.as_u16(),
            detail: detail.into(),
        }
    }

    /// No such thing.
    #[must_use]
    pub fn not_found(what: &str, name: &str) -> Self {
        Self::new(Kind::NotFound, format!("no {what} `{name}` here"))
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = (status, Json(self)).into_response();
        let kind = HeaderValue::from_static("application/problem+json");
        response.headers_mut().insert(header::CONTENT_TYPE, kind);
        response
    }
}

impl From<NotDone> for Problem {
    fn from(error: NotDone) -> Self {
        use muster_core::record::decide::Refusal;
        let kind = match &error {
            NotDone::Refused(Refusal::Person(_) | Refusal::NoRight { .. } | Refusal::NeedsRight(_)) => Kind::NoRight,
            NotDone::Refused(Refusal::NoMachine(_) | Refusal::NotHere { .. }) => Kind::NotFound,
            NotDone::Refused(
                Refusal::Stale { .. }
                | Refusal::Here { .. }
                | Refusal::Over { .. }
                | Refusal::Out { .. }
                | Refusal::NumberHangs { .. },
            ) => Kind::Stale,
            NotDone::Refused(Refusal::Field { .. } | Refusal::Faults(_)) => Kind::Unreadable,
            NotDone::Refused(_) => Kind::Refused,
            NotDone::Event(_) => Kind::TooLarge,
            NotDone::Store(_) => Kind::Unavailable,
        };
        Self::new(kind, error.to_string())
    }
}

impl From<NotLet> for Problem {
    fn from(error: NotLet) -> Self {
        let kind = match error {
            NotLet::NotDone(error) => return error.into(),
            NotLet::Store(error) => return error.into(),
            NotLet::Photo(error) => return error.into(),
            NotLet::Wrong | NotLet::NoCode | NotLet::NotProven => Kind::NoRight,
            NotLet::Wait(_) => Kind::TooOften,
            NotLet::Begun => Kind::Stale,
            NotLet::Nobody(_) | NotLet::NoMachine(_) | NotLet::NoCalendar(_) => Kind::NotFound,
            NotLet::Field { .. } => Kind::Unreadable,
            NotLet::OwnDevice => Kind::Refused,
            NotLet::Random(_) | NotLet::Hash(_) => Kind::Unavailable,
        };
        Self::new(kind, error.to_string())
    }
}

impl From<NoList> for Problem {
    fn from(error: NoList) -> Self {
        match error {
            NoList::NoMachine(machine) => Self::not_found("machine", &machine),
            NoList::Store(error) => error.into(),
        }
    }
}

impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        Self::new(Kind::Unavailable, error.to_string())
    }
}

impl From<NotAsked> for Problem {
    fn from(error: NotAsked) -> Self {
        Self::new(Kind::Unreadable, error.to_string())
    }
}

impl From<axum::extract::rejection::JsonRejection> for Problem {
    fn from(rejection: axum::extract::rejection::JsonRejection) -> Self {
        let kind = if rejection.status() == StatusCode::PAYLOAD_TOO_LARGE { Kind::TooLarge } else { Kind::Unreadable };
        Self::new(kind, rejection.body_text())
    }
}

impl From<axum::extract::rejection::QueryRejection> for Problem {
    fn from(rejection: axum::extract::rejection::QueryRejection) -> Self {
        Self::new(Kind::Unreadable, rejection.body_text())
    }
}

impl From<axum::extract::rejection::StringRejection> for Problem {
    fn from(rejection: axum::extract::rejection::StringRejection) -> Self {
        let kind = if rejection.status() == StatusCode::PAYLOAD_TOO_LARGE { Kind::TooLarge } else { Kind::Unreadable };
        Self::new(kind, rejection.body_text())
    }
}
