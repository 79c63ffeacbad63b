//! Drawings as they stand alone on paper: the screens' own rulers, plan and charts in black, and QR codes.

use muster_core::{
    judge::{Figure, Outcome},
    state::Station,
};
use muster_draw::{
    draw,
    gauge::{aria, authority},
    merge::is_to_set,
    plan::{self, Stop},
    ruler::{Ruler, Tone},
};
use qrcode::{EcLevel, QrCode, render::svg};
use serde_json::{Value, json};

use crate::{fonts, paper::Refused};

/// Black on white for what the screens' style sheet colours: shape and hatch tell verdicts apart.
const STYLE: &str = include_str!("../templates/drawings.css");
/// The hatches rulers use, in black.
const HATCHES: &str = "<pattern id=\"p-guard\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" \
    patternTransform=\"rotate(45)\"><path d=\"M0 0V5\" stroke=\"#000\" stroke-width=\"1.6\"/></pattern>\
    <pattern id=\"p-past\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(-45)\">\
    <path d=\"M1 0V6\" stroke=\"#000\" stroke-width=\"1\"/></pattern>\
    <pattern id=\"p-past-hold\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(-45)\">\
    <path d=\"M1.5 0V6\" stroke=\"#000\" stroke-width=\"3\"/></pattern>\
    <pattern id=\"p-unseen\" width=\"4.5\" height=\"4.5\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
    <path d=\"M1 0V4.5\" stroke=\"#000\" stroke-width=\"1.2\"/></pattern>";
/// Room beside a ruler for what its labels reach out, in px.
const BESIDE: u32 = 6;
/// Height of a chart, in px.
const CHART_HEIGHT: u32 = 132;

/// The drawings of one leaf.
#[derive(Debug, Default)]
pub(crate) struct Drawings(pub(crate) Vec<String>);

impl Drawings {
    /// Keeps a drawing and names it for the template: which it is, and its one sentence for who cannot see it.
    pub(crate) fn keep(&mut self, svg: String, says: &str) -> Value {
        self.0.push(svg);
        json!({ "index": self.0.len() - 1, "says": says })
    }

    /// A ruler at full size on `width` px; none where there is no limit.
    pub(crate) fn ruler(&mut self, outcome: &Outcome, figure: &Figure, width: u32) -> Option<Value> {
        let tone = if is_to_set(outcome) { Tone::Set } else { Tone::Judged(outcome.verdict) };
        self.ruler_in(outcome, figure, tone, width)
    }

    /// A ruler to mark by hand: limits, target and past readings' scale, no pointer.
    pub(crate) fn ruler_in(&mut self, outcome: &Outcome, figure: &Figure, tone: Tone, width: u32) -> Option<Value> {
        let ruler = Ruler::of(figure, tone, authority(outcome).0)?;
        let says = aria(outcome, figure, tone);
        let height = if ruler.reading.is_some() { 84 } else { 58 };
        let drawn = standing(&draw::full(&ruler, ""), (width, height), BESIDE);
        Some(self.keep(drawn, &says))
    }

    /// A ruler for a table, on `width` px.
    pub(crate) fn mini(&mut self, outcome: &Outcome, width: u32) -> Option<Value> {
        let figure = outcome.figure.as_ref()?;
        let ruler = Ruler::of(figure, Tone::Judged(outcome.verdict), "")?;
        let says = aria(outcome, figure, Tone::Judged(outcome.verdict));
        let drawn = standing(&draw::mini(&ruler), (width, 21), 2);
        Some(self.keep(drawn, &says))
    }

    /// A chart of readings, on `width` px.
    pub(crate) fn chart(&mut self, drawn: &str, width: u32, says: &str) -> Value {
        self.keep(standing(drawn, (width, CHART_HEIGHT), BESIDE), says)
    }

    /// The station map, its stops numbered as they are walked.
    pub(crate) fn plan(&mut self, asked: impl Fn(Station) -> bool) -> Value {
        let stop = |station| if asked(station) { Stop::ToCome } else { Stop::NotAsked };
        let says = "The machine from above; a dotted line leads round it by its numbered stations.";
        let drawn = plan::plan(stop, None, "").replace("width=\"100%\"", "width=\"720\" height=\"362\"");
        let drawn = standing(&drawn, (720, 362), 0);
        self.keep(drawn, says)
    }
}

/// A drawing of the screens as a file of its own: its size, its style, its hatches.
pub(crate) fn standing(drawn: &str, (width, height): (u32, u32), beside: u32) -> String {
    let (left, whole) = (-i64::from(beside), width + 2 * beside);
    let text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{whole}\" height=\"{height}\" \
         viewBox=\"{left} 0 {whole} {height}\"><style>{STYLE}</style><defs>{HATCHES}</defs>\
         <svg x=\"0\" y=\"0\" width=\"{width}\" height=\"{height}\" overflow=\"visible\">{drawn}</svg></svg>"
    );
    fonts::settable(&text)
}

/// A QR code of level H, so that 30 % of it may be lost, its quiet zone kept.
///
/// # Errors
/// [`Refused::Address`] if the text is longer than a code holds.
pub(crate) fn code(text: &str) -> Result<String, Refused> {
    let code = QrCode::with_error_correction_level(text.as_bytes(), EcLevel::H)
        .map_err(|_| Refused::Address { address: text.to_string() })?;
    Ok(code.render::<svg::Color<'_>>().module_dimensions(4, 4).build())
}
