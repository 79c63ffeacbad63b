//! Typesets leaves to one PDF, tagged and archival, the same bytes for the same values.

use muster_core::calendar::Moment;
use serde_json::{Value, json};
use typst::{
    diag::SourceDiagnostic,
    foundations::{Bytes, Datetime, Smart},
};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use crate::{
    closer::Way,
    draw, fonts,
    paper::{Leaf, Paper, Pdf, Refused},
    said,
    world::Desk,
};

/// How many documents ago a thing was last used before typesetting forgets it.
const REMEMBERED: usize = 4;

/// Prints documents one after the other into one file.
///
/// # Errors
/// [`Refused`]: a text in a script outside the fonts, a mark that is no picture, an address too long for a code.
pub fn print(leaves: Vec<Leaf>, paper: &Paper) -> Result<Pdf, Refused> {
    let title = match leaves.as_slice() {
        [only] => only.title.clone(),
        several => format!("{}, {} documents", paper.school, several.len()),
    };
    let mut files = Vec::new();
    let mut out = Vec::new();
    let mut ways: Vec<Option<Way>> = Vec::new();
    for leaf in leaves {
        ways.push((leaf.kind == "form").then(|| Way::first(&leaf.data, paper.size)));
        out.push(placed(leaf, paper, &mut files)?);
    }
    let mut head = json!({ "school": paper.school, "title": title });
    fonts::fit(&mut head, "the school's name")?;
    let mark = paper.mark.as_deref().map(kind_of_picture).transpose()?;
    let mut data = json!({
        "head": head,
        "size": paper.size.name(),
        "made": said::moment(paper.made),
        "made_on": date_parts(paper.made),
        "mark": mark,
        "leaves": out,
    });
    files.extend(paper.mark.clone().map(|bytes| ("mark".to_string(), Bytes::new(bytes))));
    let pdf = loop {
        for (leaf, way) in ways.iter().enumerate() {
            data["leaves"][leaf]["way"] = way.map(|way| way.way).into();
        }
        let text = data.to_string();
        let ident = muster_core::hash::of_text(&text);
        let desk = Desk::with(files.iter().cloned().chain([("data.json".to_string(), Bytes::new(text.into_bytes()))]));
        let document: PagedDocument = typst::compile(&desk).output.map_err(|errors| refused(&errors))?;
        if !closer(&mut ways, &document) {
            break export(&document, ident, paper.made);
        }
    };
    typst::comemo::evict(REMEMBERED);
    pdf
}

/// Sets those leaves closer that took more pages than they should; whether there are any.
fn closer(ways: &mut [Option<Way>], document: &PagedDocument) -> bool {
    // Each leaf counts its pages from one.
    let begins: Vec<usize> = (0..document.pages().len()).filter(|at| document.pages()[*at].number == 1).collect();
    let ends = begins.iter().skip(1).copied().chain([document.pages().len()]);
    let mut any = false;
    for ((begin, end), way) in begins.iter().zip(ends).zip(ways) {
        let next = way.and_then(|way| way.closer(end - begin));
        any |= next.is_some();
        *way = next.or(*way);
    }
    any
}

/// A leaf as its template takes it; its pictures go among the files.
fn placed(leaf: Leaf, paper: &Paper, files: &mut Vec<(String, Bytes)>) -> Result<Value, Refused> {
    let Leaf { kind, title, whose, mut data, drawings, photos, seal } = leaf;
    fonts::fit(&mut data, &whose)?;
    let photos: Vec<String> = photos
        .into_iter()
        .map(|bytes| {
            let name = format!("photo-{}", files.len());
            files.push((name.clone(), Bytes::new(bytes)));
            name
        })
        .collect();
    let code = match (&seal, &paper.address) {
        (Some(seal), Some(address)) => Some(draw::code(&seal.text(address))?),
        _ => None,
    };
    let hash = seal.map(|seal| seal.hash);
    Ok(json!({
        "kind": kind, "title": fonts::settable(&title), "data": data, "drawings": drawings, "photos": photos,
        "code": code, "hash": hash,
    }))
}

fn kind_of_picture(bytes: &[u8]) -> Result<&'static str, Refused> {
    match bytes {
        [0x89, b'P', b'N', b'G', ..] if said::is_picture(bytes) => Ok("png"),
        [0xFF, 0xD8, 0xFF, ..] if said::is_picture(bytes) => Ok("jpg"),
        _ if std::str::from_utf8(bytes).is_ok_and(|text| text.contains("<svg")) => Ok("svg"),
        _ => Err(Refused::Mark),
    }
}

fn export(document: &PagedDocument, ident: String, made: Moment) -> Result<Pdf, Refused> {
    let standards = PdfStandards::new(&[PdfStandard::A_2a, PdfStandard::Ua_1])
        .map_err(|error| Refused::Typeset(error.message().to_string()))?;
    let options = PdfOptions {
        ident: Smart::Custom(ident),
        creator: Smart::Custom(Some(format!("Muster {}", env!("CARGO_PKG_VERSION")))),
        timestamp: timestamp(made),
        standards,
        ..PdfOptions::default()
    };
    let bytes = typst_pdf::pdf(document, &options).map_err(|errors| refused(&errors))?;
    Ok(Pdf { bytes, pages: document.pages().len() })
}

fn refused(errors: &[SourceDiagnostic]) -> Refused {
    Refused::Typeset(errors.first().map_or_else(String::new, |error| error.message.to_string()))
}

fn timestamp(made: Moment) -> Option<Timestamp> {
    let [year, month, day, hour, minute, second] = utc_parts(made)?;
    let part = |value: i32| u8::try_from(value).ok();
    let at = Datetime::from_ymd_hms(year, part(month)?, part(day)?, part(hour)?, part(minute)?, part(second)?)?;
    Some(Timestamp::new_utc(at))
}

fn date_parts(moment: Moment) -> [i32; 3] {
    let date = moment.date();
    [i32::from(date.year()), i32::from(date.month()), i32::from(date.day())]
}

/// Year to second, in UTC.
fn utc_parts(moment: Moment) -> Option<[i32; 6]> {
    let zero = Moment::parse("1970-01-01T00:00:00+00:00").ok()?;
    let seconds = moment.seconds_since(zero);
    let days = i32::try_from(seconds.div_euclid(86_400)).ok()?;
    let rest = i32::try_from(seconds.rem_euclid(86_400)).ok()?;
    let date = muster_core::calendar::days_later(zero.date(), days);
    Some([
        i32::from(date.year()),
        i32::from(date.month()),
        i32::from(date.day()),
        rest / 3600,
        rest / 60 % 60,
        rest % 60,
    ])
}
