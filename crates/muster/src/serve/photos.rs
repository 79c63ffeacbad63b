//! Photos: sent in pieces that can be taken up again, read by their hash.

#![expect(unused_qualifications, reason = "utoipa's macros write them")]

use axum::{
    Json,
    body::Bytes,
    extract::{DefaultBodyLimit, Path, Query, State, rejection::QueryRejection},
    http::{HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
};
use muster_core::record::{
    payload::Kind as EventKind,
    rights::{View, may_write},
};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::{
    app::App,
    problem::{Kind, Problem},
    who::Who,
};
use crate::{
    people::retention,
    store::photos::{MAX_BYTES, PhotoError, PhotoId, Upload},
};

/// How far an upload is.
#[derive(Debug, Serialize, ToSchema)]
pub struct UploadView {
    /// Bytes held: send what follows.
    pub held: u64,
    /// The photo kept of it, if it is whole: re-encoded, upright, without metadata.
    pub photo: Option<PhotoView>,
}

/// A photo that is kept.
#[derive(Debug, Serialize, ToSchema)]
pub struct PhotoView {
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Its size in bytes.
    pub bytes: u64,
}

/// Where a piece begins.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Piece {
    /// The first byte's place in the original.
    offset: u64,
}

/// How large.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Size {
    /// At most this many pixels wide and high, 16 to 2048; without it as it is kept.
    side: Option<u32>,
}

/// How far an upload is. It is named by the SHA-256 of the original, so that a phone that forgot all else goes on.
#[utoipa::path(get, path = "/api/v1/photos/uploads/{original}", tag = "record",
    params(("original" = String, Path, description = "SHA-256 of the original")),
    responses((status = 200, body = UploadView), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem)))]
pub async fn upload(
    State(app): State<App>,
    who: Who,
    Path(original): Path<String>,
) -> Result<Json<UploadView>, Problem> {
    attaches(&who)?;
    let (photos, original) = (app.photos().clone(), named(&original)?);
    app.beside(move |_| {
        Ok::<_, Problem>(Json(match photos.upload(&original)? {
            Upload::Held(held) => UploadView { held, photo: None },
            Upload::Kept(kept) => UploadView { held: 0, photo: Some(kept.into()) },
        }))
    })
    .await
}

/// Sends a piece. The same piece again changes nothing.
#[utoipa::path(put, path = "/api/v1/photos/uploads/{original}", tag = "record",
    params(("original" = String, Path, description = "SHA-256 of the original"), Piece),
    request_body(content = Vec<u8>, content_type = "application/octet-stream"),
    responses((status = 200, body = UploadView), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem), (status = 409, body = Problem), (status = 413, body = Problem)))]
pub async fn piece(
    State(app): State<App>,
    who: Who,
    Path(original): Path<String>,
    query: Result<Query<Piece>, QueryRejection>,
    bytes: Bytes,
) -> Result<Json<UploadView>, Problem> {
    attaches(&who)?;
    let Query(piece) = query?;
    if bytes.is_empty() {
        return Err(Problem::new(Kind::Unreadable, "send at least one byte; GET says how many are held"));
    }
    if piece.offset > MAX_BYTES {
        return Err(Problem::new(Kind::Unreadable, format!("offset: a photo has at most {MAX_BYTES} bytes")));
    }
    let (photos, original) = (app.photos().clone(), named(&original)?);
    app.beside(move |_| {
        let held = photos.upload_piece(&original, piece.offset, &bytes)?;
        Ok::<_, Problem>(Json(UploadView { held, photo: None }))
    })
    .await
}

/// Ends an upload: the bytes are compared with their name, re-encoded, turned upright and stripped of where and when.
#[utoipa::path(post, path = "/api/v1/photos/uploads/{original}", tag = "record",
    params(("original" = String, Path, description = "SHA-256 of the original")),
    responses((status = 201, body = PhotoView), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem), (status = 409, body = Problem), (status = 413, body = Problem)))]
pub async fn end(
    State(app): State<App>,
    who: Who,
    Path(original): Path<String>,
) -> Result<(StatusCode, Json<PhotoView>), Problem> {
    attaches(&who)?;
    let original = named(&original)?;
    let kept = app.decoded(move |photos| photos.upload_end(&original)).await?;
    Ok((StatusCode::CREATED, Json(kept.into())))
}

/// A photo, by its own SHA-256 or its original's.
#[utoipa::path(get, path = "/api/v1/photos/{photo}", tag = "record",
    params(("photo" = String, Path, description = "SHA-256"), Size),
    responses((status = 200, content_type = "image/jpeg", body = Vec<u8>), (status = 400, body = Problem),
        (status = 401, body = Problem), (status = 403, body = Problem), (status = 404, body = Problem)))]
pub async fn photo(
    State(app): State<App>,
    who: Who,
    Path(name): Path<String>,
    query: Result<Query<Size>, QueryRejection>,
) -> Result<Response, Problem> {
    who.sees(View::Machine)?;
    let Query(size) = query?;
    let id = named(&name)?;
    let bytes = app
        .decoded(move |photos| {
            let Some(kept) = photos.find(&id)? else { return Ok(None) };
            match size.side {
                Some(side) => photos.thumbnail(&kept.id, side.clamp(16, 2048)),
                None => photos.read(&kept.id),
            }
        })
        .await?;
    let Some(bytes) = bytes else {
        let removed = app.beside(move |keeper| retention::removed(keeper, &name).map(|found| (found, name))).await?;
        return Err(match removed {
            (Some((at, why)), name) => {
                Problem::new(Kind::NotFound, format!("photo `{name}` was removed on {} ({why})", at.date()))
            }
            (None, name) => Problem::not_found("photo", &name),
        });
    };
    let headers = [
        (header::CONTENT_TYPE, HeaderValue::from_static("image/jpeg")),
        // Named by its bytes: it never changes.
        (header::CACHE_CONTROL, HeaderValue::from_static("private, max-age=31536000, immutable")),
    ];
    Ok((headers, bytes).into_response())
}

/// Room for a whole piece, beyond the limit of other bodies.
pub(super) fn limit() -> DefaultBodyLimit {
    DefaultBodyLimit::max(usize::try_from(MAX_BYTES).unwrap_or(usize::MAX))
}

fn attaches(who: &Who) -> Result<(), Problem> {
    if may_write(who.standing.role, EventKind::PhotoAttached) {
        return Ok(());
    }
    Err(Problem::new(Kind::NoRight, format!("{} attaches no photos", who.standing.role)))
}

fn named(name: &str) -> Result<PhotoId, Problem> {
    name.parse().map_err(|error| Problem::new(Kind::Unreadable, format!("{error}")))
}

impl From<crate::store::photos::Kept> for PhotoView {
    fn from(kept: crate::store::photos::Kept) -> Self {
        Self { sha256: kept.id.as_str().to_string(), bytes: kept.bytes }
    }
}

impl From<PhotoError> for Problem {
    fn from(error: PhotoError) -> Self {
        let kind = match &error {
            PhotoError::TooLarge(_) => Kind::TooLarge,
            PhotoError::NotAPicture(_) | PhotoError::OtherHash { .. } => Kind::Unreadable,
            PhotoError::Offset { .. } | PhotoError::InUse => Kind::Stale,
            PhotoError::TooManyUploads(_) => Kind::TooOften,
            PhotoError::Damaged(_) | PhotoError::Store(_) => Kind::Unavailable,
        };
        Self::new(kind, error.to_string())
    }
}
