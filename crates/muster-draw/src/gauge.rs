//! A figure's ruler with what stands under it, and whose limit it is.

use muster_core::judge::{Figure, Outcome, PlaceFigure};

use crate::{
    draw,
    fan::Ahead,
    number::{escaped, figure_text, with_unit},
    ruler::{Ruler, Tone, value_and_u},
};

/// A ruler at full size with its margin, the gauge's own figure and places under it; none where there is no limit.
#[must_use]
pub fn gauge(outcome: &Outcome, figure: &Figure, tone: Tone) -> Option<String> {
    gauge_after(outcome, figure, &[], tone)
}

/// The same with what was read before, oldest first in the figure's unit, marked over its edge.
#[must_use]
pub fn gauge_after(outcome: &Outcome, figure: &Figure, read: &[f64], tone: Tone) -> Option<String> {
    gauge_ahead(outcome, figure, read, (tone, None))
}

/// The same with what is to come, under it.
#[must_use]
pub fn gauge_ahead(
    outcome: &Outcome,
    figure: &Figure,
    read: &[f64],
    (tone, ahead): (Tone, Option<&Ahead>),
) -> Option<String> {
    let (tag, _, _) = authority(outcome);
    let ruler = Ruler::with_ahead(figure, read, (tone, ahead), tag)?;
    let margin = margin_text(figure);
    let gauge = figure.gauge.map(|gauge| {
        format!("<span>{} on the gauge</span>", with_unit(&figure_text(gauge, figure.decimals), figure.unit))
    });
    let mut says = aria(outcome, figure, tone);
    if let Some(ahead) = &ruler.ahead {
        says.push(' ');
        says.push_str(&ahead.says);
    }
    Some(format!(
        "<figure class=\"gauge\">{}<figcaption>{margin}{}{}</figcaption></figure>",
        draw::full(&ruler, &says),
        gauge.unwrap_or_default(),
        places(figure),
    ))
}

/// The ruler in one sentence: what, value ± U, limit, margin, verdict.
#[must_use]
pub fn aria(outcome: &Outcome, figure: &Figure, tone: Tone) -> String {
    let unit = |value: f64| with_unit(&figure_text(value, figure.decimals), figure.unit);
    let limit = match (figure.at_least, figure.at_most) {
        (Some(low), Some(high)) => format!("within {} to {}", figure_text(low, figure.decimals), unit(high)),
        (Some(low), None) => format!("at least {}", unit(low)),
        (None, Some(high)) => format!("at most {}", unit(high)),
        (None, None) => String::new(),
    };
    if !figure.value.is_finite() {
        return format!("{}: no reading, {limit}.", outcome.name);
    }
    let gauge = figure.gauge.map(|gauge| format!(" cold, {} on the gauge", unit(gauge))).unwrap_or_default();
    format!(
        "{}: {}{gauge}; {limit}; {}; {}.",
        outcome.name,
        with_unit(&value_and_u(figure), figure.unit),
        margin_words(figure),
        tone.said()
    )
}

/// The margin in words: `margin 1.4 mm`, `past by 0.2 mm`.
#[must_use]
pub fn margin_words(figure: &Figure) -> String {
    let margin = with_unit(&figure_text(figure.margin.abs(), figure.decimals), figure.unit);
    if figure.margin < 0.0 { format!("past by {margin}") } else { format!("margin {margin}") }
}

/// The same as markup, its amount strong.
#[must_use]
pub fn margin_text(figure: &Figure) -> String {
    if !figure.margin.is_finite() {
        return "<span>no reading</span>".to_owned();
    }
    let words = margin_words(figure);
    let split = words.find(|character: char| character.is_ascii_digit()).unwrap_or(0);
    let (said, amount) = words.split_at(split);
    format!("<span>{said}<b>{}</b></span>", escaped(amount))
}

fn places(figure: &Figure) -> String {
    if figure.places.len() < 2 {
        return String::new();
    }
    let told = |place: &PlaceFigure| format!("{} {}", escaped(&place.place), figure_text(place.value, figure.decimals));
    format!("<span>{}</span>", figure.places.iter().map(told).collect::<Vec<_>>().join(", "))
}

/// The authority of a limit: its word on the tag, its line, and what the tag leaves unsaid.
#[must_use]
pub fn authority(outcome: &Outcome) -> (&'static str, &'static str, &str) {
    let source = outcome.source.as_deref().unwrap_or_default();
    let (layer, rest) = source.split_once(": ").unwrap_or(("", source));
    match layer {
        "law" => ("law", "law", rest),
        "sheet" if rest.to_lowercase().contains("handbook") => ("handbook", "book", rest),
        "sheet" => ("sheet", "book", rest),
        "marking" => ("on the part", "machine", rest),
        "machine" => ("this machine", "machine", rest),
        "practice" => ("general practice", "practice", rest),
        "house" => ("house rule", "book", rest),
        _ if outcome.rests_on_law => ("law", "law", source),
        _ => ("", "practice", source),
    }
}
