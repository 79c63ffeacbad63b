//! Days and times as people here say them: in the yard's own zone, in the language spoken.

use std::cell::RefCell;

use jiff::civil::Date;
use js_sys::{Array, Function, Intl::DateTimeFormat, Object, Reflect};
use leptos::prelude::*;
use muster_core::calendar::Moment;

use crate::clock;

/// How a moment is written.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    /// 07:52
    Clock,
    /// 24 Nov
    Day,
    /// Tue 24 Nov 2026
    Long,
    /// 24 Nov 2025
    Year,
    /// Nov 2025
    Month,
}

/// Hours and minutes.
pub(crate) fn clock_of(at: Moment) -> String {
    written(at, Form::Clock)
}

/// The time if it is today, else the day and the time.
pub(crate) fn when(at: Moment) -> String {
    if is_today(at) { clock_of(at) } else { format!("{}, {}", day(at), clock_of(at)) }
}

/// The day, with its year unless it is this one.
pub(crate) fn day(at: Moment) -> String {
    let this_year = at.date().year() == clock::now().date().year();
    written(at, if this_year { Form::Day } else { Form::Year })
}

/// The day of the week, the day, the year.
pub(crate) fn long_day(at: Moment) -> String {
    written(at, Form::Long)
}

/// A day that has no time, as [`day`] says one.
pub(crate) fn date_text(date: Date) -> String {
    day_text(&date.to_string())
}

/// The month and year of a day that has no time.
pub(crate) fn month_text(date: Date) -> String {
    noon(&date.to_string(), |at| written(at, Form::Month))
}

/// A day as the record or the server writes it; as it stands where it is none.
pub(crate) fn day_text(text: &str) -> String {
    noon(text, day)
}

fn noon(text: &str, says: impl FnOnce(Moment) -> String) -> String {
    // Noon in Greenwich is the same day nearly everywhere; where it is not, no yard is.
    Moment::parse(&format!("{text}T12:00:00+00:00")).map_or_else(|_| text.to_owned(), says)
}

/// A moment as the record or the server writes it; as it stands where it is none.
pub(crate) fn when_text(text: &str) -> String {
    Moment::parse(text).map_or_else(|_| text.to_owned(), when)
}

/// Whether a moment lies on this day.
pub(crate) fn is_today(at: Moment) -> bool {
    let now = clock::now();
    // No year is written where days are too far apart to be one: what writes it would have to be made.
    now.seconds_since(at).abs() < 2 * 86_400 && written(at, Form::Day) == written(now, Form::Day)
}

/// Whether days can be written at once: a browser's first takes a slow phone a tenth of a second.
pub(crate) fn writes_days() -> bool {
    WRITERS.with_borrow(|all| !all.is_empty())
}

/// Makes what writes days.
pub(crate) fn prepare_days(zone: Option<String>) {
    writer_of(Form::Day, zone);
}

/// What writes a form in a zone.
type Writer = (Form, Option<String>, Function);

thread_local! {
    /// Kept, for to make one takes a browser longer than to write a hundred days with it.
    static WRITERS: RefCell<Vec<Writer>> = const { RefCell::new(Vec::new()) };
}

fn written(at: Moment, form: Form) -> String {
    let zone = use_context::<crate::yard::Yard>().and_then(|yard| yard.time_zone());
    let date = js_sys::Date::new(&(at.timestamp().as_millisecond() as f64).into());
    writer_of(form, zone)
        .call1(&wasm_bindgen::JsValue::UNDEFINED, &date)
        .ok()
        .and_then(|text| text.as_string())
        .unwrap_or_default()
}

/// What writes a form in a zone, made once.
fn writer_of(form: Form, zone: Option<String>) -> Function {
    let kept = WRITERS.with_borrow(|all| {
        all.iter().find(|(of, its_zone, _)| *of == form && *its_zone == zone).map(|(.., writer)| writer.clone())
    });
    kept.unwrap_or_else(|| {
        let writer = writer(form, zone.as_deref());
        WRITERS.with_borrow_mut(|all| all.push((form, zone, writer.clone())));
        writer
    })
}

fn writer(form: Form, zone: Option<&str>) -> Function {
    let options = Object::new();
    let fields: &[(&str, &str)] = match form {
        Form::Clock => &[("hour", "2-digit"), ("minute", "2-digit"), ("hourCycle", "h23")],
        Form::Day => &[("day", "numeric"), ("month", "short")],
        Form::Year => &[("day", "numeric"), ("month", "short"), ("year", "numeric")],
        Form::Month => &[("month", "short"), ("year", "numeric")],
        Form::Long => &[("weekday", "short"), ("day", "numeric"), ("month", "short"), ("year", "numeric")],
    };
    for (name, value) in fields {
        // Setting a field of a fresh object cannot fail.
        let _ = Reflect::set(&options, &(*name).into(), &(*value).into());
    }
    if let Some(zone) = zone {
        let _ = Reflect::set(&options, &"timeZone".into(), &zone.into());
    }
    let spoken: Array = window().navigator().languages();
    DateTimeFormat::new(&spoken, &options).format()
}
