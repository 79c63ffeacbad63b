//! Draws a margin ruler as SVG: x in per cent, y in px, so that type keeps its size at every width.

use std::fmt::Write as _;

use crate::{
    fan::fan,
    number::escaped,
    ruler::{Anchor, Label, Ruler, Tone},
};

/// The ruler at full size, 84 px high, 54 without a reading, 168 with what is to come; `says` is its one sentence for who cannot see it.
#[must_use]
pub fn full(ruler: &Ruler, says: &str) -> String {
    let height = match (&ruler.reading, &ruler.ahead) {
        (None, _) => 54,
        (Some(_), None) => 84,
        (Some(_), Some(_)) => 168,
    };
    let mut out = format!(
        "<svg class=\"ruler {}\" width=\"100%\" height=\"{height}\" role=\"img\" aria-label=\"{}\">\
         <rect y=\"22\" width=\"100%\" height=\"26\" class=\"r-body\"/>",
        ruler.tone.name(),
        escaped(says)
    );
    body(&mut out, ruler, 22, 26);
    line(&mut out, ("0", "100%"), (22, 22), "r-edge");
    line(&mut out, ("0", "100%"), (48, 48), "r-base");
    ticks(&mut out, ruler);
    for (index, x) in ruler.pencil.iter().enumerate() {
        let at_x = percent(*x);
        let (from, class) = if index + 1 == ruler.pencil.len() { (13, "r-last") } else { (16, "r-hist") };
        line(&mut out, (&at_x, &at_x), (from, 22), class);
    }
    for x in &ruler.notches {
        at(
            &mut out,
            *x,
            0,
            "<path class=\"r-notch\" d=\"M0 16V54\"/><path class=\"r-notchcap\" d=\"M-5.5 15H5.5L0 23Z\"/>",
        );
    }
    for label in &ruler.limits {
        text(&mut out, label, 11, "r-limlab");
    }
    if let Some(x) = ruler.target {
        at(&mut out, x, 0, "<path class=\"r-target\" d=\"M0 15L5 21L0 27L-5 21Z\"/>");
    }
    if let Some(label) = &ruler.set {
        text(&mut out, label, 11, "r-note r-strong");
    }
    if let Some(label) = &ruler.new {
        text(&mut out, label, 11, "r-note");
    }
    if let Some(x) = ruler.gauge {
        let at_x = percent(x);
        line(&mut out, (&at_x, &at_x), (22, 48), "r-ghostline");
        at(&mut out, x, 48, "<path class=\"r-ghost\" d=\"M0 1.5L6.5 13H-6.5Z\"/>");
    }
    reading(&mut out, ruler);
    if let Some(ahead) = &ruler.ahead {
        fan(&mut out, ruler, ahead);
    }
    out.push_str("</svg>");
    out
}

fn ticks(out: &mut String, ruler: &Ruler) {
    for tick in &ruler.ticks {
        let x = percent(tick.x);
        let (to, class) = if tick.is_major { (31, "r-maj") } else { (27, "r-min") };
        line(out, (&x, &x), (22, to), class);
        if let Some(figure) = &tick.figure {
            put(out, format_args!("<text x=\"{x}\" y=\"44\" text-anchor=\"middle\" class=\"r-num\">{figure}</text>"));
        }
    }
}

/// The ruler for a table, 21 px high, pointer and bar only: always beside the margin in figures, so it is not read out.
#[must_use]
pub fn mini(ruler: &Ruler) -> String {
    let mut out = format!(
        "<svg class=\"ruler ruler--mini {}\" height=\"21\" aria-hidden=\"true\">\
         <rect y=\"4\" width=\"100%\" height=\"9\" class=\"r-body\"/>",
        ruler.tone.name()
    );
    body(&mut out, ruler, 4, 9);
    if let Some(reading) = &ruler.reading {
        rect(&mut out, (reading.margin.from, reading.margin.width()), (10, 4), "r-margin");
    }
    line(&mut out, ("0", "100%"), (13, 13), "r-base");
    for x in &ruler.notches {
        let x = percent(*x);
        line(&mut out, (&x, &x), (1, 17), "r-notch");
    }
    if let Some(reading) = &ruler.reading {
        at(&mut out, reading.x, 13, "<path class=\"r-pointer\" d=\"M0-10V0M0-1L5 7H-5Z\"/>");
    }
    out.push_str("</svg>");
    out
}

/// A mini ruler without a reading: one dashed, hatched strip.
#[must_use]
pub fn unseen() -> &'static str {
    "<svg class=\"ruler ruler--mini unseen\" height=\"21\" aria-hidden=\"true\">\
     <rect x=\".5\" y=\"4\" width=\"85%\" height=\"9.5\" class=\"r-off\"/>\
     <line x1=\"86%\" x2=\"86%\" y1=\"1\" y2=\"17\" class=\"r-notch\" stroke-dasharray=\"3 2\"/></svg>"
}

fn body(out: &mut String, ruler: &Ruler, y: u32, height: u32) {
    for span in &ruler.past {
        rect(out, (span.from, span.width()), (y, height), "r-past");
    }
    for span in &ruler.guard {
        rect(out, (span.from, span.width()), (y, height), "r-guard");
    }
}

fn reading(out: &mut String, ruler: &Ruler) {
    let Some(reading) = &ruler.reading else { return };
    rect(out, (reading.margin.from, reading.margin.width()), (49, 6), "r-margin");
    let x = percent(reading.x);
    line(out, (&x, &x), (22, 48), "r-needle");
    let (from, to) = (percent(reading.whisker.from), percent(reading.whisker.to));
    line(out, (&from, &to), (64, 64), "r-whisk");
    for end in [&from, &to] {
        line(out, (end, end), (60, 68), "r-whisk");
    }
    at(out, reading.x, 48, "<path class=\"r-pointer\" d=\"M0 0L7 16H-7Z\"/>");
    text(out, &reading.label, 81, "r-val");
}

fn rect(out: &mut String, (x, width): (f64, f64), (y, height): (u32, u32), class: &str) {
    let (x, width) = (percent(x), percent(width));
    put(out, format_args!("<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" class=\"{class}\"/>"));
}

pub(crate) fn line(out: &mut String, (x1, x2): (&str, &str), (y1, y2): (u32, u32), class: &str) {
    put(out, format_args!("<line x1=\"{x1}\" x2=\"{x2}\" y1=\"{y1}\" y2=\"{y2}\" class=\"{class}\"/>"));
}

/// Puts a shape at x: a nested drawing, as a path cannot count in per cent.
pub(crate) fn at(out: &mut String, x: f64, y: impl std::fmt::Display, shape: &str) {
    put(out, format_args!("<svg x=\"{}\" y=\"{y}\" overflow=\"visible\">{shape}</svg>", percent(x)));
}

fn text(out: &mut String, label: &Label, y: u32, class: &str) {
    let anchor = match label.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let dx = if label.dx == 0.0 { String::new() } else { format!(" dx=\"{}\"", label.dx) };
    let (x, text) = (percent(label.x), escaped(&label.text));
    put(out, format_args!("<text x=\"{x}\" y=\"{y}\"{dx} text-anchor=\"{anchor}\" class=\"{class}\">{text}</text>"));
}

pub(crate) fn put(out: &mut String, text: std::fmt::Arguments<'_>) {
    // Writing to a string cannot fail.
    let _ = out.write_fmt(text);
}

pub(crate) fn percent(x: f64) -> String {
    let text = format!("{x:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    format!("{}%", if text == "-0" { "0" } else { text })
}

impl Tone {
    /// The word a tone is told by.
    #[must_use]
    pub const fn said(self) -> &'static str {
        match self {
            Self::Judged(verdict) => verdict.as_str(),
            Self::Set => "to set",
        }
    }
}
