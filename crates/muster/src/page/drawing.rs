//! Draws a margin ruler as SVG: no viewBox, x in per cent and y in px, so that type never shrinks.

use std::fmt::Write as _;

use muster_core::{
    judge::{Figure, Outcome, Verdict},
    quantity::show,
};

use super::{
    ruler::{Ruler, Span},
    text::{escaped, figure_text, is_to_set, limit_text, with_uncertainty},
};

/// How much of the narrowest phone's ruler a character of a label takes, per cent.
const CHARACTER: f64 = 2.55;
/// The same for the larger figure below the pointer.
const LARGE_CHARACTER: f64 = 3.1;
/// What the same label takes of a ruler of 440 px, where the page shows more of them.
const WIDE_SHARE: f64 = 0.64;
/// How far a label may run into the margin of the page, per cent.
const BESIDE_PAGE: f64 = 4.5;

/// The ruler of a reading at full size; none where there is nothing to draw.
pub(crate) fn full(outcome: &Outcome) -> Option<String> {
    let figure = outcome.figure.as_ref()?;
    let ruler = Ruler::of(figure)?;
    let mut out = format!(
        "<svg class=\"ruler {}\" width=\"100%\" height=\"84\" role=\"img\" aria-label=\"{}\">\n",
        tone(outcome),
        escaped(&sentence(outcome, figure))
    );
    strip(&mut out, &ruler, (22.0, 26.0));
    graduation(&mut out, &ruler);
    line(&mut out, "r-edge", Span { from: 0.0, to: 100.0 }, (22.0, 22.0));
    line(&mut out, "r-base", Span { from: 0.0, to: 100.0 }, (48.0, 48.0));
    for notch in notches(&ruler) {
        shape(
            &mut out,
            notch,
            0.0,
            "<path class=\"r-notch\" d=\"M0 16V54\"/><path class=\"r-cap\" d=\"M-5.5 15H5.5L0 23Z\"/>",
        );
    }
    if let Some(target) = ruler.target {
        shape(&mut out, target, 0.0, "<path class=\"r-target\" d=\"M0 15L5 21L0 27L-5 21Z\"/>");
    }
    labels(&mut out, &ruler, outcome, figure);
    if let Some(gauge) = ruler.gauge {
        upright(&mut out, "r-ghostline", gauge, (22.0, 48.0));
        shape(&mut out, gauge, 48.0, "<path class=\"r-ghost\" d=\"M0 1.5L6.5 13H-6.5Z\"/>");
    }
    bar(&mut out, ruler.margin, (49.0, 6.0));
    upright(&mut out, "r-needle", ruler.pointer, (22.0, 48.0));
    line(&mut out, "r-whisk", ruler.whisker, (64.0, 64.0));
    upright(&mut out, "r-whisk", ruler.whisker.from, (60.0, 68.0));
    upright(&mut out, "r-whisk", ruler.whisker.to, (60.0, 68.0));
    shape(&mut out, ruler.pointer, 48.0, "<path class=\"r-pointer\" d=\"M0 0L7 16H-7Z\"/>");
    reading(&mut out, &ruler, figure);
    out.push_str("</svg>");
    Some(out)
}

/// The ruler of a reading for a row of a list: pointer and bar only. The margin in figures stands beside it.
pub(crate) fn mini(outcome: &Outcome) -> Option<String> {
    let ruler = Ruler::of(outcome.figure.as_ref()?)?;
    let mut out = format!(
        "<svg class=\"ruler ruler--mini {}\" width=\"100%\" height=\"21\" aria-hidden=\"true\">\n",
        tone(outcome)
    );
    strip(&mut out, &ruler, (4.0, 9.0));
    bar(&mut out, ruler.margin, (10.0, 4.0));
    line(&mut out, "r-base", Span { from: 0.0, to: 100.0 }, (13.5, 13.5));
    for notch in notches(&ruler) {
        upright(&mut out, "r-notch", notch, (1.0, 17.0));
    }
    shape(&mut out, ruler.pointer, 13.0, "<path class=\"r-pointer\" d=\"M0 -10V0M0 -1L5 7H-5Z\"/>");
    out.push_str("</svg>");
    Some(out)
}

/// The strip of a check without a reading: hatched and dashed, no mass.
pub(crate) fn unseen() -> &'static str {
    "<svg class=\"ruler strip\" width=\"150\" height=\"11\" aria-hidden=\"true\">\
     <rect class=\"r-off\" x=\"1\" y=\"1\" width=\"148\" height=\"9\"/></svg>"
}

/// What the ruler shows, in one sentence.
fn sentence(outcome: &Outcome, figure: &Figure) -> String {
    let to_set = if is_to_set(outcome) { ", to set" } else { "" };
    format!("{}: {}, {}, {}{to_set}.", outcome.name, with_uncertainty(figure), limit_text(figure), outcome.verdict)
}

fn tone(outcome: &Outcome) -> &'static str {
    if is_to_set(outcome) {
        return "set";
    }
    match outcome.verdict {
        Verdict::Fit => "fit",
        Verdict::Watch => "watch",
        Verdict::Unseen => "unseen",
        Verdict::Hold => "hold",
    }
}

fn notches(ruler: &Ruler) -> impl Iterator<Item = f64> {
    ruler.low.into_iter().chain(ruler.high)
}

fn strip(out: &mut String, ruler: &Ruler, (y, height): (f64, f64)) {
    let mut rect = |class: &str, span: Span| {
        let (x, width) = (percent(span.from), percent(span.to - span.from));
        _ = writeln!(out, "<rect class=\"{class}\" x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"/>");
    };
    rect("r-body", Span { from: 0.0, to: 100.0 });
    for span in &ruler.past {
        rect("r-past", *span);
    }
    for span in &ruler.guard {
        rect("r-guard", *span);
    }
}

fn bar(out: &mut String, span: Span, (y, height): (f64, f64)) {
    let (x, width) = (percent(span.from), percent(span.to - span.from));
    _ = writeln!(out, "<rect class=\"r-margin\" x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"/>");
}

fn graduation(out: &mut String, ruler: &Ruler) {
    for tick in &ruler.ticks {
        let (class, y) = if tick.long { ("r-maj", 31.0) } else { ("r-min", 27.0) };
        upright(out, class, tick.at, (22.0, y));
        if let Some(figure) = tick.figure {
            let text = show::grouped(&format!("{figure:.*}", ruler.decimals));
            let x = percent(tick.at);
            _ = writeln!(out, "<text class=\"r-num\" x=\"{x}\" y=\"44\" text-anchor=\"middle\">{text}</text>");
        }
    }
}

/// Limits first, then the target, then what is new: what collides with one that stands already is dropped.
fn labels(out: &mut String, ruler: &Ruler, outcome: &Outcome, figure: &Figure) {
    let value = |number: f64| figure_text(number, figure.decimals);
    let of = super::text::layer(outcome).map(|layer| format!(" · {}", layer.short)).unwrap_or_default();
    let mut wanted: Vec<Label> = Vec::new();
    match (ruler.low.zip(figure.at_least), ruler.high.zip(figure.at_most)) {
        (Some((low, least)), Some((high, most))) => {
            wanted.push(Label::limit(low, format!("low {}", value(least)), Anchor::End));
            wanted.push(Label::limit(high, format!("high {}", value(most)), Anchor::Start));
        }
        (Some((at, limit)), None) | (None, Some((at, limit))) => {
            wanted.push(Label::limit(at, format!("limit {}{of}", value(limit)), Anchor::End));
        }
        (None, None) => {}
    }
    let target = ruler.target.zip(figure.target);
    wanted.extend(target.map(|(at, target)| Label::note("r-note r-strong", at, format!("set {}", value(target)))));
    wanted.extend(ruler.new.zip(figure.new).map(|(at, new)| Label::note("r-note", at, format!("new {}", value(new)))));
    let mut placed: Vec<Label> = Vec::new();
    for label in wanted {
        let clear = |share: f64| placed.iter().all(|other| label.stands_clear_of(other, share));
        if clear(1.0) {
            label.draw(out, "");
        } else if clear(WIDE_SHARE) {
            label.draw(out, " r-wide");
        } else {
            continue;
        }
        placed.push(label);
    }
}

/// The reading below its pointer.
fn reading(out: &mut String, ruler: &Ruler, figure: &Figure) {
    let text = with_uncertainty(figure);
    let half = text.chars().count() as f64 * LARGE_CHARACTER / 2.0;
    let (anchor, x) = match ruler.pointer {
        at if at < half => ("start", ruler.whisker.from),
        at if at > 100.0 - half => ("end", ruler.whisker.to),
        at => ("middle", at),
    };
    let x = percent(x);
    _ = writeln!(out, "<text class=\"r-val\" x=\"{x}\" y=\"81\" text-anchor=\"{anchor}\">{}</text>", escaped(&text));
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Anchor {
    Start,
    Middle,
    End,
}

/// A label above the ruler.
struct Label {
    class: &'static str,
    at: f64,
    text: String,
    anchor: Anchor,
}

impl Label {
    /// The label of a notch, on the side asked for unless it would leave the ruler.
    fn limit(at: f64, text: String, anchor: Anchor) -> Self {
        let wide = text.chars().count() as f64 * CHARACTER;
        let anchor = match anchor {
            Anchor::End if at - wide < -BESIDE_PAGE => Anchor::Start,
            Anchor::Start if at + wide > 100.0 + BESIDE_PAGE => Anchor::End,
            as_asked => as_asked,
        };
        Self { class: "r-limlab", at, text, anchor }
    }

    /// The label of a mark, centred on it unless it would leave the ruler.
    fn note(class: &'static str, at: f64, text: String) -> Self {
        let half = text.chars().count() as f64 * CHARACTER / 2.0;
        let (anchor, at) = match at {
            at if at < half => (Anchor::Start, at.min(half / 4.0)),
            at if at > 100.0 - half => (Anchor::End, 100.0),
            at => (Anchor::Middle, at),
        };
        Self { class, at, text, anchor }
    }

    /// Whether it does not touch another, where type takes a share of what it takes on the narrowest phone.
    fn stands_clear_of(&self, other: &Self, share: f64) -> bool {
        let (one, other) = (self.span(share), other.span(share));
        one.from > other.to + 2.0 || one.to < other.from - 2.0
    }

    fn span(&self, share: f64) -> Span {
        let wide = self.text.chars().count() as f64 * CHARACTER * share;
        let from = match self.anchor {
            Anchor::Start => self.at,
            Anchor::Middle => self.at - wide / 2.0,
            Anchor::End => self.at - wide,
        };
        Span { from, to: from + wide }
    }

    fn draw(&self, out: &mut String, also: &str) {
        let (anchor, shift) = match self.anchor {
            Anchor::Start if self.class == "r-limlab" => ("start", -6),
            Anchor::End if self.class == "r-limlab" => ("end", 6),
            Anchor::Start => ("start", 0),
            Anchor::Middle => ("middle", 0),
            Anchor::End => ("end", 0),
        };
        let (class, x, text) = (self.class, percent(self.at), escaped(&self.text));
        _ = writeln!(
            out,
            "<text class=\"{class}{also}\" x=\"{x}\" y=\"11\" dx=\"{shift}\" text-anchor=\"{anchor}\">{text}</text>"
        );
    }
}

fn line(out: &mut String, class: &str, span: Span, (y1, y2): (f64, f64)) {
    let (x1, x2) = (percent(span.from), percent(span.to));
    _ = writeln!(out, "<line class=\"{class}\" x1=\"{x1}\" x2=\"{x2}\" y1=\"{y1}\" y2=\"{y2}\"/>");
}

fn upright(out: &mut String, class: &str, at: f64, ends: (f64, f64)) {
    line(out, class, Span { from: at, to: at }, ends);
}

/// A shape in px about a point of the scale.
fn shape(out: &mut String, at: f64, y: f64, path: &str) {
    let x = percent(at);
    _ = writeln!(out, "<svg x=\"{x}\" y=\"{y}\" overflow=\"visible\">{path}</svg>");
}

fn percent(share: f64) -> String {
    let text = format!("{share:.2}");
    format!("{}%", text.trim_end_matches('0').trim_end_matches('.'))
}
