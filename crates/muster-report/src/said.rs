//! Answers, limits and states in the words paper has room for.

use muster_core::{
    calendar::Moment,
    check::{Check, Shown, Yields},
    form::{Answer, Form, Said},
    judge::Context,
    limit::{Counting, Limit},
    quantity::{Amount, Distance, Temperature, Unit, convert, show},
    state::Station,
    words::Layer,
    yard::Units,
};
use serde_json::{Value, json};

/// A limit as a row of paper: its bound, and who asks for it.
pub(crate) fn limits(context: &Context<'_>, check: &Check, counting: &Counting<'_>) -> Vec<Value> {
    let Yields::Read(measure) = &check.yields else { return Vec::new() };
    let shown = context.shown(measure);
    let target = counting.target.and_then(|row| row.target.map(|target| (row, target)));
    let own = target.filter(|(row, _)| !counting.bounds.contains(row));
    let set = |target: Amount| shown.text(target.value(), target.unit());
    let bounds = counting.bounds.iter().map(|row| {
        let with = target.filter(|(of, _)| of == row).map(|(_, target)| set(target));
        json!({ "bound": bound(row, shown), "set": with, "layer": layer(row.layer), "source": row.provenance.to_string() })
    });
    let set = own.map(|(row, target)| {
        json!({ "bound": Value::Null, "set": set(target), "layer": layer(row.layer), "source": row.provenance.to_string() })
    });
    bounds.chain(set).collect()
}

fn bound(row: &Limit, shown: Shown) -> String {
    let text = |amount: Amount| shown.text(amount.value(), amount.unit());
    match (row.at_least, row.at_most) {
        (Some(least), Some(most)) => format!("{} to {}", shown.figure(least.value(), least.unit()), text(most)),
        (Some(least), None) => format!("at least {}", text(least)),
        (None, Some(most)) => format!("at most {}", text(most)),
        (None, None) => String::new(),
    }
}

/// A layer by the word of its tag.
pub(crate) const fn layer(layer: Layer) -> &'static str {
    match layer {
        Layer::Practice => "practice",
        Layer::Sheet => "handbook",
        Layer::Marking => "on the part",
        Layer::Machine => "this machine",
        Layer::Law => "law",
        Layer::House => "house rule",
    }
}

/// The newest answer a machine's forms give to a check up to now.
pub(crate) fn last<'f>(forms: &[&'f Form], check: &Check, now: Moment) -> Option<&'f Answer> {
    let answers = forms.iter().flat_map(|form| &form.answers);
    answers.filter(|answer| answer.check == check.id && answer.at <= now).max_by_key(|answer| answer.at)
}

/// An answer in the units shown: figures by place, what was seen, a day.
pub(crate) fn answer(context: &Context<'_>, check: &Check, answer: &Answer) -> String {
    let at = |place: &Option<String>| place.as_ref().map(|place| format!("{place} ")).unwrap_or_default();
    match (&answer.said, &check.yields) {
        (Said::Read(figures), Yields::Read(measure)) => {
            let shown = context.shown(measure);
            let one = |(place, value): &(Option<String>, Amount)| {
                format!("{}{}", at(place), shown.figure(value.value(), value.unit()))
            };
            let figures = figures.iter().map(one).collect::<Vec<_>>().join(", ");
            muster_draw::number::with_unit(&figures, shown.unit.symbol())
        }
        (Said::Read(figures), _) => {
            let one = |(place, value): &(Option<String>, Amount)| {
                format!("{}{}", at(place), show::plain(value.value(), value.unit()))
            };
            figures.iter().map(one).collect::<Vec<_>>().join(", ")
        }
        (Said::Saw(seen), _) => match seen.split_first() {
            Some((first, rest)) if rest.iter().all(|other| other.1 == first.1) => first.1.to_string(),
            _ => seen.iter().map(|(place, seen)| format!("{}{seen}", at(place))).collect::<Vec<_>>().join(", "),
        },
        (Said::Day(day, _), _) => day.to_string(),
    }
}

/// An answer as it was read, in the unit it was read in.
pub(crate) fn as_read(answer: &Answer) -> String {
    let at = |place: &Option<String>| place.as_ref().map(|place| format!("{place} ")).unwrap_or_default();
    match &answer.said {
        Said::Read(figures) => figures
            .iter()
            .map(|(place, value)| format!("{}{}", at(place), show::plain(value.value(), value.unit())))
            .collect::<Vec<_>>()
            .join(", "),
        Said::Saw(seen) => {
            seen.iter().map(|(place, seen)| format!("{}{seen}", at(place))).collect::<Vec<_>>().join(", ")
        }
        Said::Day(day, _) => day.to_string(),
    }
}

/// A station's name as a heading.
pub(crate) fn station(station: Station) -> String {
    muster_draw::number::capital(&station.as_str().replace('-', " "))
}

/// A moment as people of the yard read it.
pub(crate) fn moment(at: Moment) -> String {
    format!("{}\u{a0}{}", at.date(), at.clock())
}

/// A stored moment, ISO 8601, as people of the yard read it.
pub(crate) fn stored(text: &str) -> String {
    Moment::parse(text).map_or_else(|_| text.to_string(), moment)
}

/// A distance in the units shown.
pub(crate) fn distance(at: Distance, units: Units) -> String {
    match units {
        Units::Si => show::rounded(at.km(), 0, Unit::Kilometre),
        Units::Us => show::rounded(convert(at.km(), Unit::Kilometre, Unit::Mile), 0, Unit::Mile),
    }
}

/// A temperature in the units shown.
pub(crate) fn temperature(of: Temperature, units: Units) -> String {
    let unit = if units == Units::Us { Unit::Fahrenheit } else { Unit::Celsius };
    show::rounded(convert(of.kelvin(), Unit::Kelvin, unit), 0, unit)
}

/// Whether bytes are a picture that can be printed: a damaged one would stop the whole document.
pub(crate) fn is_picture(bytes: &[u8]) -> bool {
    image::load_from_memory(bytes).is_ok()
}
