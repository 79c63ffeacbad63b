//! Paper: printed and written down as printed; and known again by the hash of its file.

use std::str::FromStr;

use axum::{
    Json,
    body::Bytes,
    extract::{DefaultBodyLimit, Path, State, rejection::JsonRejection},
    http::{HeaderMap, Uri},
    response::Response,
};
use muster_core::{
    hash,
    record::{
        payload::{Document, Kind as Written, PaperSize},
        rights::{View, shows},
    },
    yard::Units,
};
use muster_wire::paper::{PaperAsked, PaperVerdict, PapersResting};

use super::{
    app::App,
    body::Object,
    problem::{Kind, Problem},
    who::Who,
};
use crate::printed::{self, Asked, NotPrinted, Sheet};

/// The largest file that is looked at, in bytes.
const MAX_FILE: usize = 64 << 20;
/// The most machines whose morning is printed at a door: a form each, within the time a request may take.
#[cfg(feature = "paper")]
const MOST_FORMS: usize = 100;

/// Names the event by which a paper was written down.
#[cfg(feature = "paper")]
const ISSUED: axum::http::HeaderName = axum::http::HeaderName::from_static("muster-issued");

/// Prints a paper. Unless it is a draft the record is told, so that the file is known again.
#[utoipa::path(post, path = "/api/v1/paper/{document}", tag = "paper", request_body = PaperAsked,
    params(("document" = String, Path, description = "form, walk-round, tag, slip, dossier, yard, sheet or stickers")),
    responses((status = 200, description = "The file; `muster-issued` names the event that says it was printed",
            body = Vec<u8>, content_type = "application/pdf"),
        (status = 400, body = Problem), (status = 401, body = Problem), (status = 403, body = Problem),
        (status = 404, body = Problem), (status = 413, body = Problem), (status = 415, body = Problem),
        (status = 422, body = Problem), (status = 501, body = Problem)))]
pub async fn print(
    State(app): State<App>,
    who: Who,
    Path(document): Path<String>,
    (headers, uri): (HeaderMap, Uri),
    asked: Result<Object<PaperAsked>, JsonRejection>,
) -> Result<Response, Problem> {
    who.writes(Written::PaperIssued)?;
    let document: Document = document.parse().map_err(|_| Problem::not_found("paper", &document))?;
    who.sees(shows(document))?;
    let Object(asked) = asked?;
    let sheet = Sheet {
        size: asked.size.as_deref().map_or(Ok(PaperSize::A4), |size| word("size", size))?,
        mark: None,
        address: Some(app.base(&headers, &uri)),
    };
    let units = match asked.units.as_deref() {
        None => None,
        Some("si") => Some(Units::Si),
        Some("us") => Some(Units::Us),
        Some(_) => return Err(Problem::new(Kind::Unreadable, "units: si or us")),
    };
    let draft = asked.draft;
    let asked = read(document, asked)?;
    made(app, who, (asked, sheet), units, draft).await
}

/// Whether a file was printed from this record, byte for byte.
#[utoipa::path(post, path = "/api/v1/paper/verify", tag = "paper",
    request_body(content = Vec<u8>, description = "The file, as it was printed", content_type = "application/octet-stream"),
    responses((status = 200, body = PaperVerdict), (status = 400, body = Problem), (status = 401, body = Problem), (status = 403, body = Problem),
        (status = 413, body = Problem)))]
pub async fn verify(State(app): State<App>, who: Who, file: Bytes) -> Result<Json<PaperVerdict>, Problem> {
    if file.is_empty() {
        return Err(Problem::new(Kind::Unreadable, "no file: send its bytes as they were printed"));
    }
    known(app, who, hash::of_bytes(&file)).await
}

/// Whether a file of this hash was printed from this record.
#[utoipa::path(get, path = "/api/v1/paper/issued/{sha256}", tag = "paper",
    params(("sha256" = String, Path, description = "SHA-256 of the file, 64 hexadecimal digits")),
    responses((status = 200, body = PaperVerdict), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem)))]
pub async fn issued(
    State(app): State<App>,
    who: Who,
    Path(sha256): Path<String>,
) -> Result<Json<PaperVerdict>, Problem> {
    known(app, who, sha256).await
}

/// The papers that rest on what their code says: an event, or the yard's files as they were.
#[utoipa::path(get, path = "/api/v1/paper/resting-on/{hash}", tag = "paper",
    params(("hash" = String, Path, description = "The hash that the code says, 64 hexadecimal digits")),
    responses((status = 200, body = PapersResting), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem)))]
pub async fn resting(
    State(app): State<App>,
    who: Who,
    Path(hash): Path<String>,
) -> Result<Json<PapersResting>, Problem> {
    looks(&who, &hash)?;
    let with_names = who.sees(View::People).is_ok();
    app.beside(move |keeper| printed::resting_on(keeper, &hash, with_names).map(Json)).await
}

/// How large a file may be.
pub(super) fn limit() -> DefaultBodyLimit {
    DefaultBodyLimit::max(MAX_FILE)
}

async fn known(app: App, who: Who, sha256: String) -> Result<Json<PaperVerdict>, Problem> {
    looks(&who, &sha256)?;
    let with_names = who.sees(View::People).is_ok();
    app.beside(move |keeper| printed::verdict(keeper, &sha256, with_names).map(Json)).await
}

/// Whoever reads what papers show may ask for them by a hash.
fn looks(who: &Who, hash: &str) -> Result<(), Problem> {
    who.sees(View::Machine)?;
    if hash.len() == 64 && hash.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return Ok(());
    }
    Err(Problem::new(Kind::Unreadable, "a SHA-256 is 64 hexadecimal digits"))
}

fn read(document: Document, of: PaperAsked) -> Result<Asked, Problem> {
    let plain = Asked::of(document);
    Ok(Asked {
        machine: of.machine,
        machines: of.machines,
        depth: of.depth.as_deref().map_or(Ok(plain.depth), |depth| word("depth", depth))?,
        planned: of.planned.as_deref().map(|planned| word("use", planned)).transpose()?,
        event: of.event.as_deref().map(|event| word("event", event)).transpose()?,
        numbers: of.number.map(|number| (number, of.count.unwrap_or(1))),
        reader: of.reader.as_deref().map_or(Ok(plain.reader), |reader| word("reader", reader))?,
        ..plain
    })
}

fn word<T: FromStr<Err: std::fmt::Display>>(field: &str, text: &str) -> Result<T, Problem> {
    text.parse().map_err(|error| Problem::new(Kind::Unreadable, format!("{field}: {error}")))
}

#[cfg(feature = "paper")]
async fn made(
    app: App,
    who: Who,
    (asked, sheet): (Asked, Sheet),
    units: Option<Units>,
    draft: bool,
) -> Result<Response, Problem> {
    use axum::{
        http::{HeaderValue, header},
        response::IntoResponse as _,
    };
    use muster_core::record::decide::Command;

    use crate::printed::{Desk, Record};

    if asked.document == Document::Yard && app.keeper().known().yard.machines.len() > MOST_FORMS {
        let detail = format!(
            "the morning's paper of more than {MOST_FORMS} machines takes longer than a request may: print the sheet, and \
             forms by machine, or all of it by `muster paper yard --record`"
        );
        return Err(Problem::new(Kind::Refused, detail));
    }
    let now = app.now();
    let (keeper, photos) = (app.keeper().clone(), app.photos().clone());
    let (printed, event) = app
        .typeset(move |own| {
            let record = Record { keeper, photos, by: Some(who.person.clone()) };
            let desk = Desk::of_record(record, units, now)?;
            let sheet = Sheet { mark: printed::mark(own)?, ..sheet };
            let printed = printed::print(&desk, &asked, &sheet)?;
            if draft {
                return Ok((printed, None));
            }
            let events = own.act(Command::Issue(printed.issued.clone()), &who.person, now)?;
            Ok::<_, Problem>((printed, events.first().copied()))
        })
        .await?;
    let text = |text: String| HeaderValue::from_str(&text).ok();
    let mut response =
        ([(header::CONTENT_TYPE, HeaderValue::from_static("application/pdf"))], printed.bytes).into_response();
    let headers = response.headers_mut();
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("private, no-store"));
    let named = text(format!("inline; filename=\"{}.pdf\"", printed.name));
    named.into_iter().for_each(|named| _ = headers.insert(header::CONTENT_DISPOSITION, named));
    event.and_then(|event| text(event.to_string())).into_iter().for_each(|event| _ = headers.insert(ISSUED, event));
    Ok(response)
}

#[cfg(not(feature = "paper"))]
#[expect(clippy::unused_async, reason = "as where it prints")]
async fn made(_: App, _: Who, _: (Asked, Sheet), _: Option<Units>, _: bool) -> Result<Response, Problem> {
    Err(NotPrinted::NotBuilt.into())
}

impl From<NotPrinted> for Problem {
    fn from(error: NotPrinted) -> Self {
        let kind = match error {
            NotPrinted::NoMachine(machine) => return Self::not_found("machine", &machine),
            NotPrinted::Store(error) => return error.into(),
            NotPrinted::Photo(error) => return error.into(),
            NotPrinted::NotLet(error) => return error.into(),
            NotPrinted::Field { .. } => Kind::Unreadable,
            NotPrinted::Nothing(_) => Kind::Refused,
            #[cfg(feature = "paper")]
            NotPrinted::Refused(_) => Kind::Refused,
            NotPrinted::NotBuilt => Kind::NotBuilt,
            NotPrinted::Fault(_) => Kind::Fault,
        };
        Self::new(kind, error.to_string())
    }
}
