//! How closely a form is set so that it takes one page: reckoned from its texts, then tried. Measuring every way costs as
//! much as setting it, four times over; a guess that is a line off costs one more try, or a form a little closer than needed.

use serde_json::Value;

use crate::paper::Size;

/// Ways to set a form, each closer than the one before: roomy; rows closer together; cautions alone in place of methods;
/// those closer together. `form.typ` takes them by number.
const WAYS: usize = 4;

/// A point, in millimetres.
const PT_MM: f64 = 25.4 / 72.0;
/// What a letter takes on average, and a line with what parts it from the next, in sizes of the font; measured over the forms
/// of the demonstration.
const LETTER: f64 = 0.44;
const LINE: f64 = 1.17;
const BETWEEN: f64 = 0.5;
/// Height of the answer's boxes, in millimetres.
const TICKS_MM: f64 = 7.3;

/// How a form is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Way {
    /// Which of the ways it is set in.
    pub(crate) way: usize,
    /// How many pages it should take; on more, the next way is tried.
    pub(crate) pages: usize,
}

impl Way {
    /// The roomiest way that should take no more pages than the closest.
    pub(crate) fn first(form: &Value, size: Size) -> Self {
        let pages = pages(form, size, WAYS - 1);
        let way = (0..WAYS - 1).find(|way| self::pages(form, size, *way) <= pages).unwrap_or(WAYS - 1);
        Self { way, pages }
    }

    /// The next closer way for what has taken so many pages; none where it is well as it is, or the closest already.
    pub(crate) fn closer(self, pages: usize) -> Option<Self> {
        (pages > self.pages && self.way + 1 < WAYS).then_some(Self { way: self.way + 1, ..self })
    }
}

fn pages(form: &Value, size: Size, way: usize) -> usize {
    let (height, first) = (height(form, size, way), room(form, size, way));
    let rest = sheet(size).0 - 32.0;
    let further = ((height - first) / rest).ceil().max(0.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few pages, and never below none")]
    let further = further as usize;
    1 + further
}

/// Height of a sheet and the width between its margins, in millimetres.
const fn sheet(size: Size) -> (f64, f64) {
    match size {
        Size::A4 => (297.0, 186.0),
        Size::Letter => (279.4, 191.9),
    }
}

/// What a form's table has room for on the page that has its head and foot, in millimetres.
fn room(form: &Value, size: Size, way: usize) -> f64 {
    let (sheet, wide) = sheet(size);
    let notes: usize = list(form, "deferred").map(|text| letters(text) + 2).sum();
    let notes = if notes == 0 { 0.0 } else { 1.6 + text(notes + 26, wide, 8.0) };
    sheet - 23.0 - if is_close(way) { 92.8 } else { 94.0 } - notes
}

/// Height of a form's table, in millimetres.
fn height(form: &Value, size: Size, way: usize) -> f64 {
    let name = sheet(size).1 - 142.8;
    let inset = if is_close(way) { 0.5 } else { 0.65 };
    let groups = list(form, "groups").map(|group| {
        let rows: f64 = list(group, "rows").map(|row| of_row(row, name, inset, way < 2)).sum();
        rows + 3.3 + if is_close(way) { 1.0 } else { 1.1 }
    });
    groups.sum::<f64>() + 2.0 + 2.0 * inset
}

const fn is_close(way: usize) -> bool {
    way % 2 == 1
}

fn of_row(row: &Value, name: f64, inset: f64, with_method: bool) -> f64 {
    let last = text(letters(&row["last"]).max(8), 19.2, 9.0) + if row["last"].is_null() { 0.0 } else { 3.0 };
    let limits = list(row, "limits").map(|one| {
        let said = letters(&one["bound"]) + letters(&one["set"]);
        let source = letters(&one["layer"]) + letters(&one["source"]) + 5;
        // Two sizes on the same lines: as many letters of the larger.
        text(said + source * 7 / 8, 52.2, 8.2) + BETWEEN * 8.2 * PT_MM
    });
    let sound = if row["sound"].is_null() { 0.0 } else { text(letters(&row["sound"]) + 7, 52.2, 7.8) };
    let unknown = if row["unknown"] == true { text(48, 52.2, 8.2) } else { 0.0 };
    let must = limits.sum::<f64>() + sound + unknown;
    let places: usize = list(row, "places").map(|text| letters(text) + 2).sum();
    let with = list(row, "with").map(letters).sum::<usize>();
    let today = match (row["unit"].is_null(), places) {
        (true, 0) => 0.0,
        (true, _) => text(places, 26.2, 7.2),
        (false, 0) => 4.6 + if with > 0 { text(with + 5, 26.2, 7.2) + 1.0 } else { 0.0 },
        (false, _) => 9.0 + text(with + letters(&row["unit"]) + 7, 26.2, 7.2),
    };
    let cells = text(letters(&row["name"]) + 4, name, 9.0).max(last).max(must).max(today) + 2.0 * inset;
    let cannot: usize = list(row, "cannot").map(|text| letters(text) + 2).sum();
    let caution = if row["caution"].is_null() { 0 } else { letters(&row["caution"]) + 10 };
    let method: usize = if with_method { list(row, "method").map(|text| letters(text) + 1).sum() } else { 0 };
    let how = cannot + caution + method;
    let told = if how == 0 { 0.0 } else { text(how, 146.2, 7.8) + 0.9 };
    (cells + told).max(TICKS_MM + 2.0 * inset)
}

/// Height of a text on lines of a width, in millimetres.
fn text(letters: usize, wide: f64, size: f64) -> f64 {
    let size = size * PT_MM;
    #[expect(clippy::cast_precision_loss, reason = "no text has so many letters")]
    let lines = (letters as f64 * LETTER * size / wide).ceil().max(1.0);
    lines * LINE * size - BETWEEN * size
}

fn letters(of: &Value) -> usize {
    of.as_str().map_or(0, |text| text.chars().count())
}

fn list<'v>(of: &'v Value, name: &str) -> impl Iterator<Item = &'v Value> {
    of[name].as_array().into_iter().flatten()
}
