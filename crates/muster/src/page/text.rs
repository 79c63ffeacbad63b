//! Words and figures of the page, safe to stand in HTML.

use muster_core::{
    calendar::Moment,
    judge::{Figure, Outcome, Verdict},
    quantity::show,
};

/// How the one layer a limit may come from is shown: the line weakens with the authority.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Layer {
    /// What a source's text begins with, and its CSS class.
    pub(crate) key: &'static str,
    /// On the ruler.
    pub(crate) short: &'static str,
    /// On its tag.
    pub(crate) long: &'static str,
}

const LAYERS: [Layer; 6] = [
    Layer { key: "law", short: "law", long: "law" },
    Layer { key: "house", short: "house", long: "house rule" },
    Layer { key: "sheet", short: "sheet", long: "handbook" },
    Layer { key: "marking", short: "part", long: "on the part" },
    Layer { key: "machine", short: "machine", long: "this machine" },
    Layer { key: "practice", short: "practice", long: "practice" },
];

/// A text that stands in HTML, in an element or an attribute, as it is.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}

/// A sentence of the core as it is set on the page: "±" tight to its figure, and never parted from its reading.
pub(crate) fn prose(text: &str) -> String {
    escaped(&text.replace(" ± ", "\u{a0}±"))
}

/// The layer a source names, and what else it says.
pub(crate) fn source(text: &str) -> (Option<Layer>, &str) {
    let named = text.split_once(": ").and_then(|(key, rest)| {
        let layer = LAYERS.iter().find(|layer| layer.key == key)?;
        Some((Some(*layer), rest))
    });
    named.unwrap_or((None, text))
}

/// The layer an outcome's limit comes from.
pub(crate) fn layer(outcome: &Outcome) -> Option<Layer> {
    source(outcome.source.as_deref()?).0
}

/// Whether it is off and still to be set: a step, not a verdict.
pub(crate) fn is_to_set(outcome: &Outcome) -> bool {
    outcome.verdict == Verdict::Unseen && outcome.reason.starts_with("to set:")
}

/// A reason with the name of its check, as one sentence.
pub(crate) fn named(outcome: &Outcome) -> String {
    let figure_first = outcome.figure.is_some()
        && (is_to_set(outcome) || outcome.reason.starts_with(|c: char| c.is_ascii_digit() || c == '\u{2212}'));
    let colon = if figure_first { "" } else { ":" };
    format!("{}{colon} {}", outcome.name, outcome.reason)
}

/// A number with fixed decimals, thin groups and a true minus.
pub(crate) fn figure_text(value: f64, decimals: usize) -> String {
    show::grouped(&format!("{value:.decimals$}"))
}

/// A reading with its expanded uncertainty: `1.0 ±0.5 mm`.
pub(crate) fn with_uncertainty(figure: &Figure) -> String {
    let doubt = figure.expanded_u;
    let nothing = 0.5 * 10_f64.powf(-(figure.decimals as f64));
    let decimals = if doubt < nothing { figure.decimals + 1 } else { figure.decimals };
    let cold = if figure.gauge.is_some() { " cold" } else { "" };
    let value = figure_text(figure.value, figure.decimals);
    unit(&format!("{value} ±{}", figure_text(doubt, decimals)), figure) + cold
}

/// The limits in words: `at least 2.0 mm`.
pub(crate) fn limit_text(figure: &Figure) -> String {
    let number = |value: f64| figure_text(value, figure.decimals);
    match (figure.at_least, figure.at_most) {
        (Some(low), Some(high)) => format!("within {} to {}", number(low), unit(&number(high), figure)),
        (Some(low), None) => format!("at least {}", unit(&number(low), figure)),
        (None, Some(high)) => format!("at most {}", unit(&number(high), figure)),
        (None, None) => "limit not known".into(),
    }
}

/// What is left to the limit, or how far past it: the words and the figure.
pub(crate) fn margin_text(figure: &Figure) -> (&'static str, String) {
    let words = if figure.margin < 0.0 { "past by" } else { "margin" };
    (words, unit(&figure_text(figure.margin.abs(), figure.decimals), figure))
}

/// A sentence: with a capital and a full stop.
pub(crate) fn sentence(text: &str) -> String {
    let text = text.trim();
    let mut letters = text.chars();
    let Some(first) = letters.next() else { return String::new() };
    let stop = if text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{}{}{stop}", first.to_uppercase(), letters.as_str())
}

/// A number of things: `1 check`, `3 checks`.
pub(crate) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// A moment told from another: the clock alone where both are of one day.
pub(crate) fn moment_beside(text: &str, other: &str) -> String {
    match (Moment::parse(text), Moment::parse(other)) {
        (Ok(moment), Ok(other)) if moment.date() == other.date() => {
            format!("<time datetime=\"{}\">{}</time>", escaped(text), moment.clock())
        }
        _ => moment(text),
    }
}

/// A stored moment as people read it, marked up; as it stands where it is none.
pub(crate) fn moment(text: &str) -> String {
    match Moment::parse(text) {
        Ok(moment) => {
            format!("<time datetime=\"{}\">{} {}</time>", escaped(text), moment.date(), moment.clock())
        }
        Err(_) => escaped(text),
    }
}

fn unit(number: &str, figure: &Figure) -> String {
    match figure.unit {
        "" => number.into(),
        "°" => format!("{number}°"),
        symbol => format!("{number}{}{symbol}", show::UNIT_SPACE),
    }
}
