//! Reads one TOML file key by key, so that one bad row costs that row and is named with its line.

use alloc::{
    borrow::{Cow, ToOwned},
    format,
    string::{String, ToString},
    vec::Vec,
};
use core::{fmt, ops::Range, str::FromStr};

use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

use super::value::{Held, Mismatch};
use crate::{
    calendar::{self, Moment},
    quantity::{Amount, Bounds, Kind, text, text::DecimalSign},
    sorted::sort,
};

/// The largest file read, in bytes. A year of forms for one machine is a tenth of it; more is a mistake.
pub const MAX_BYTES: usize = 1 << 20;

/// A thing wrong in a file: where, and what to do. Whatever it does not touch is still used.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    /// The file as it was named.
    pub file: String,
    /// The line, from 1; 0 where the whole file is meant.
    pub line: usize,
    /// What is wrong, what is allowed and the remedy.
    pub what: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}: {}", self.file, self.what),
            line => write!(f, "{}:{line}: {}", self.file, self.what),
        }
    }
}

/// A text and where it stands.
pub(crate) type Text = Spanned<String>;

/// One row of an array of tables, or a table, and where it begins.
pub(crate) struct Row<'t> {
    table: DeTable<'t>,
    span: Range<usize>,
    name: &'static str,
}

/// One file being read, and what was wrong in it so far.
pub(crate) struct Reader<'t> {
    file: &'t str,
    text: &'t str,
    sign: DecimalSign,
    problems: Vec<Problem>,
    /// A place and its line: the next one asked for is mostly a little below.
    last: (usize, usize),
}

impl<'t> Reader<'t> {
    /// Reads rows that stand in no file: those of the record.
    pub(crate) fn of_record(name: &'t str, sign: DecimalSign) -> Self {
        Self { file: name, text: "", sign, problems: Vec::new(), last: (0, 1) }
    }

    /// Opens a file's text: too large or broken places become problems, the rest can be read.
    pub(crate) fn open(file: &'t str, text: &'t str, sign: DecimalSign) -> (Self, Row<'t>) {
        let mut reader = Self { file, text, sign, problems: Vec::new(), last: (0, 1) };
        if text.len() > MAX_BYTES {
            let size = text.len() / 1000;
            reader.say(0..0, format!("the file has {size} kB, at most {} kB are read", MAX_BYTES / 1000));
            reader.text = "";
        }
        let (table, errors) = DeTable::parse_recoverable(reader.text);
        // After the first break the parser guesses; its later errors mostly repeat the first.
        for error in errors.iter().take(8) {
            let message = error.message().trim_end_matches('.').to_owned();
            reader.say(error.span().unwrap_or(0..0), message);
        }
        let span = table.span();
        (reader, Row { table: table.into_inner(), span, name: "file" })
    }

    /// Notes something wrong at a place.
    pub(crate) fn say(&mut self, span: Range<usize>, what: impl Into<String>) {
        let line = self.line(&span);
        self.problems.push(Problem { file: self.file.to_string(), line, what: what.into() });
    }

    /// The line a place is on, from 1.
    pub(crate) fn line(&mut self, span: &Range<usize>) -> usize {
        let (from, line) = if self.last.0 <= span.start { self.last } else { (0, 1) };
        let between = self.text.as_bytes().get(from..span.start).unwrap_or_default();
        self.last = (span.start, line + between.iter().filter(|byte| **byte == b'\n').count());
        self.last.1
    }

    /// How many things were wrong so far.
    pub(crate) fn count(&self) -> usize {
        self.problems.len()
    }

    /// What was wrong, in the order of the lines.
    pub(crate) fn into_problems(mut self) -> Vec<Problem> {
        sort(&mut self.problems);
        self.problems.dedup();
        self.problems
    }

    /// Reads a figure of a kind.
    pub(crate) fn amount(&mut self, kind: Kind, text: &Text) -> Option<Amount> {
        text::read(kind, text.get_ref(), self.sign).map_err(|e| self.say(text.span(), e.to_string())).ok()
    }

    /// Reads a figure that must lie within a narrower range.
    pub(crate) fn amount_within(&mut self, kind: Kind, text: &Text, bounds: Bounds) -> Option<Amount> {
        text::read_within(kind, text.get_ref(), self.sign, bounds)
            .map_err(|e| self.say(text.span(), e.to_string()))
            .ok()
    }

    /// Reads a word of a fixed list.
    pub(crate) fn word<T: FromStr<Err: fmt::Display>>(&mut self, text: &Text) -> Option<T> {
        let word = text.get_ref();
        word.parse().map_err(|e| self.say(text.span(), format!("`{}`: {e}", clip(word)))).ok()
    }
}

/// At most forty characters of what was given, for a message.
pub(crate) fn clip(text: &str) -> Cow<'_, str> {
    match text.char_indices().nth(40) {
        Some((end, _)) => Cow::Owned(format!("{}…", text.get(..end).unwrap_or_default())),
        None => Cow::Borrowed(text),
    }
}

/// A value of a row that stands in no file.
pub(crate) enum Given {
    /// A text.
    Text(String),
    /// A list of texts.
    Texts(Vec<String>),
    /// Lists of texts by place.
    Places(Vec<(String, Vec<String>)>),
    /// True or false.
    Truth(bool),
}

impl Given {
    fn value<'t>(self) -> Spanned<DeValue<'t>> {
        let text = |text: String| Spanned::new(0..0, DeValue::String(Cow::Owned(text)));
        let list = |texts: Vec<String>| DeValue::Array(texts.into_iter().map(text).collect());
        let value = match self {
            Self::Text(one) => return text(one),
            Self::Texts(texts) => list(texts),
            Self::Truth(truth) => DeValue::Boolean(truth),
            Self::Places(places) => {
                let mut table = DeTable::new();
                for (place, texts) in places {
                    table.insert(Spanned::new(0..0, Cow::Owned(place)), Spanned::new(0..0, list(texts)));
                }
                DeValue::Table(table)
            }
        };
        Spanned::new(0..0, value)
    }
}

impl<'t> Row<'t> {
    /// A row that stands in no file.
    pub(crate) fn of_record(name: &'static str, given: impl IntoIterator<Item = (&'static str, Given)>) -> Self {
        let mut table = DeTable::new();
        for (key, value) in given {
            table.insert(Spanned::new(0..0, Cow::Borrowed(key)), value.value());
        }
        Self { table, span: 0..0, name }
    }

    /// Where the row begins.
    pub(crate) fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Whether a key holds a text.
    pub(crate) fn is_text(&self, key: &str) -> bool {
        self.table.get(key).is_some_and(|value| matches!(value.get_ref(), DeValue::String(_)))
    }

    /// Whether a key holds a table.
    pub(crate) fn is_table(&self, key: &str) -> bool {
        self.table.get(key).is_some_and(|value| matches!(value.get_ref(), DeValue::Table(_)))
    }

    /// Whether a key is there at all.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Takes the table `key`, if a table is what stands there.
    pub(crate) fn table_if(&mut self, reader: &mut Reader<'_>, key: &'static str) -> Option<Self> {
        if self.is_table(key) { self.table(reader, key) } else { None }
    }

    /// Takes one key out; absent or wrong is none, wrong is said.
    pub(crate) fn take<T: Held>(&mut self, reader: &mut Reader<'_>, key: &str) -> Option<T> {
        let value = self.table.remove(key)?;
        match T::held(&value) {
            Ok(value) => Some(value),
            Err(Mismatch { span, what }) => {
                reader.say(span, format!("{key}: {what}"));
                None
            }
        }
    }

    /// Takes one key out that must be there.
    pub(crate) fn need<T: Held>(&mut self, reader: &mut Reader<'_>, key: &str) -> Option<T> {
        if !self.table.contains_key(key) {
            reader.say(self.span(), format!("{} has no `{key}`", self.name));
            return None;
        }
        self.take(reader, key)
    }

    /// Takes a text key.
    pub(crate) fn text(&mut self, reader: &mut Reader<'_>, key: &str) -> Option<Text> {
        self.take(reader, key)
    }

    /// Takes a word of a fixed list.
    pub(crate) fn word<T: FromStr<Err: fmt::Display>>(&mut self, reader: &mut Reader<'_>, key: &str) -> Option<T> {
        let text = self.text(reader, key)?;
        reader.word(&text)
    }

    /// Takes a list of words of a fixed list.
    pub(crate) fn words<T: FromStr<Err: fmt::Display>>(
        &mut self,
        reader: &mut Reader<'_>,
        key: &str,
    ) -> Option<Vec<T>> {
        let texts: Vec<Text> = self.take(reader, key)?;
        Some(texts.iter().filter_map(|text| reader.word(text)).collect())
    }

    /// Takes a figure of a kind.
    pub(crate) fn amount(&mut self, reader: &mut Reader<'_>, key: &str, kind: Kind) -> Option<Amount> {
        let text = self.text(reader, key)?;
        reader.amount(kind, &text)
    }

    /// Takes a date and time with its offset, written as TOML's own or as a text.
    pub(crate) fn moment(&mut self, reader: &mut Reader<'_>, key: &str) -> Option<Moment> {
        let (text, span) = self.when(reader, key)?;
        Moment::parse(&text).map_err(|e| reader.say(span, format!("{key}: {e}"))).ok()
    }

    /// Takes a date.
    pub(crate) fn date(&mut self, reader: &mut Reader<'_>, key: &str) -> Option<jiff::civil::Date> {
        let (text, span) = self.when(reader, key)?;
        let date = calendar::date(&text);
        if date.is_none() {
            reader.say(span, format!("{key}: `{}` is not a date: write it like 2026-11-24", clip(&text)));
        }
        date
    }

    fn when(&mut self, reader: &mut Reader<'_>, key: &str) -> Option<(String, Range<usize>)> {
        let value = self.table.remove(key)?;
        let span = value.span();
        match value.into_inner() {
            DeValue::Datetime(datetime) => Some((datetime.to_string(), span)),
            DeValue::String(text) if text.trim().is_empty() => None,
            DeValue::String(text) => Some((text.into_owned(), span)),
            _ => {
                reader.say(span, format!("{key}: a date is needed, written like 2026-11-24"));
                None
            }
        }
    }

    /// Takes the rows of `[[key]]`.
    pub(crate) fn rows(&mut self, reader: &mut Reader<'_>, key: &'static str) -> Vec<Row<'t>> {
        let Some(value) = self.table.remove(key) else { return Vec::new() };
        let span = value.span();
        let DeValue::Array(array) = value.into_inner() else {
            reader.say(span, format!("{key} must be rows: write [[{key}]]"));
            return Vec::new();
        };
        let mut rows = Vec::new();
        for element in array {
            let span = element.span();
            match element.into_inner() {
                DeValue::Table(table) => rows.push(Row { table, span, name: key }),
                _ => reader.say(span, format!("each {key} must be a table: write [[{key}]]")),
            }
        }
        rows
    }

    /// Takes the table `[key]`.
    pub(crate) fn table(&mut self, reader: &mut Reader<'_>, key: &'static str) -> Option<Row<'t>> {
        let value = self.table.remove(key)?;
        let span = value.span();
        match value.into_inner() {
            DeValue::Table(table) => Some(Row { table, span, name: key }),
            _ => {
                reader.say(span, format!("{key} must be a table: write [{key}]"));
                None
            }
        }
    }

    /// Takes every key that is left, with the place of the key, as texts or lists of texts.
    pub(crate) fn lists(&mut self, reader: &mut Reader<'_>) -> Vec<(Text, Vec<Text>)> {
        let mut out = Vec::new();
        for (key, value) in core::mem::take(&mut self.table) {
            let name = Spanned::new(key.span(), key.get_ref().to_string());
            let span = value.span();
            let values = match value.get_ref() {
                DeValue::String(text) => Some(alloc::vec![Spanned::new(span.clone(), text.to_string())]),
                DeValue::Array(_) => Vec::<Text>::held(&value).ok(),
                _ => None,
            };
            match values {
                Some(values) => out.push((name, values)),
                None => reader.say(span, format!("{}: a text or a list of texts is needed", name.get_ref())),
            }
        }
        out
    }

    /// Says which keys nobody asked for.
    pub(crate) fn finish(self, reader: &mut Reader<'_>, allowed: &str) {
        for key in self.table.keys() {
            let what = format!("unknown key `{}` in {}; allowed are: {allowed}", clip(key.get_ref()), self.name);
            reader.say(key.span(), what);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::vec;

    #[test]
    fn a_bad_row_is_named_with_its_line_and_costs_only_itself() {
        let text =
            "a = 1\n[[row]]\nx = \"32 psi\"\n[[row]]\nx = \"32 mm\"\n[[row]]\nx = 3\n[[row]]\nx = \"30 psi\"\ny = 1\n";
        let (mut reader, mut file) = Reader::open("f.toml", text, DecimalSign::Point);
        let mut seen = vec![];
        for mut row in file.rows(&mut reader, "row") {
            seen.push(row.amount(&mut reader, "x", Kind::GaugePressure).map(Amount::value));
            row.finish(&mut reader, "x");
        }
        file.finish(&mut reader, "row");
        assert_eq!(seen, [Some(32.0), None, None, Some(30.0)]);
        let said: Vec<String> = reader.into_problems().iter().map(ToString::to_string).collect();
        assert_eq!(said.len(), 4, "{said:?}");
        assert_eq!(said[0], "f.toml:1: unknown key `a` in file; allowed are: row");
        assert!(said[1].starts_with("f.toml:5: `mm` does not measure a gauge pressure"), "{said:?}");
        assert!(said[2].starts_with("f.toml:7: x: a text is needed, not this integer: write it in quotes"), "{said:?}");
        assert_eq!(said[3], "f.toml:10: unknown key `y` in row; allowed are: x");
    }

    #[test]
    fn broken_deep_and_huge_files_are_refused_in_words() {
        for text in ["a = [[", "a = \"x", "\u{0}", &"[".repeat(100_000), &"a".repeat(MAX_BYTES + 1)] {
            let (reader, _) = Reader::open("f.toml", text, DecimalSign::Point);
            let problems = reader.into_problems();
            assert!(!problems.is_empty() && problems.iter().all(|problem| !problem.what.is_empty()));
        }
    }
}
