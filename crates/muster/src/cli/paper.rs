//! What is printed: wrapped to the width there is, coloured where that is wanted, written at one stroke.

use std::{
    env,
    io::{self, IsTerminal, Write},
};

use muster_core::judge::Verdict;

use super::arguments::Color;

/// Narrower, and figures would break from their limits.
const MIN_WIDTH: usize = 40;
/// Wider, and the eye loses the line.
const MAX_WIDTH: usize = 110;
/// Where nobody says.
const USUAL_WIDTH: usize = 80;

/// A text being laid out.
#[derive(Debug)]
pub(crate) struct Paper {
    text: String,
    width: usize,
    colour: bool,
}

/// How a text is set off, where colours are wanted; it always says the same without.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ink {
    /// As everything else.
    Plain,
    /// A heading.
    Strong,
    /// Beside the point: sources, working.
    Faint,
    /// As a verdict.
    Verdict(Verdict),
}

impl Paper {
    /// An empty paper for standard output.
    pub(crate) fn new(color: Color) -> Self {
        let terminal = io::stdout().is_terminal();
        let asked = env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
        let seen = || terminal_size::terminal_size().filter(|_| terminal).map(|(width, _)| usize::from(width.0));
        let width: usize = asked.or_else(seen).unwrap_or(USUAL_WIDTH);
        let refused = env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        let dumb = env::var_os("TERM").is_some_and(|term| term == "dumb");
        let colour = match color {
            Color::Always => true,
            Color::Never => false,
            Color::Auto => terminal && !refused && !dumb,
        };
        Self { text: String::new(), width: width.clamp(MIN_WIDTH, MAX_WIDTH), colour }
    }

    /// An empty paper of the usual width without colours.
    pub(crate) fn plain() -> Self {
        Self { text: String::new(), width: USUAL_WIDTH, colour: false }
    }

    /// How wide it is, in characters.
    pub(crate) fn width(&self) -> usize {
        self.width
    }

    /// A line as it is; an empty one parts paragraphs.
    pub(crate) fn line(&mut self, text: &str) {
        self.text.push_str(text.trim_end());
        self.text.push('\n');
    }

    /// A heading.
    pub(crate) fn heading(&mut self, text: &str) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        let text = self.ink(Ink::Strong, text);
        self.line(&text);
    }

    /// Text behind a label, its further lines under the text.
    pub(crate) fn hung(&mut self, label: &str, ink: Ink, text: &str) {
        self.hung_behind(label, label.chars().count(), ink, text);
    }

    /// Text behind a label that is already inked and takes `indent` characters.
    pub(crate) fn hung_behind(&mut self, label: &str, indent: usize, ink: Ink, text: &str) {
        let room = self.width.saturating_sub(indent).max(MIN_WIDTH / 2);
        for (index, piece) in wrapped(text, room).iter().enumerate() {
            let head = if index == 0 { label.to_string() } else { " ".repeat(indent) };
            let piece = self.ink(ink, piece);
            self.line(&format!("{head}{piece}"));
        }
    }

    /// A text in an ink, if colours are wanted.
    pub(crate) fn ink(&self, ink: Ink, text: &str) -> String {
        let code = match ink {
            _ if !self.colour || text.is_empty() => return text.into(),
            Ink::Plain => return text.into(),
            Ink::Strong => "1",
            Ink::Faint => "2",
            Ink::Verdict(Verdict::Hold) => "1;7",
            Ink::Verdict(Verdict::Unseen) => "1;35",
            Ink::Verdict(Verdict::Watch) => "33",
            Ink::Verdict(Verdict::Fit) => "36",
        };
        format!("\u{1b}[{code}m{text}\u{1b}[0m")
    }

    /// What was laid out so far.
    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// Writes it to standard output.
    ///
    /// # Errors
    /// What the output refuses; a reader that has gone is none.
    pub(crate) fn print(&mut self) -> io::Result<()> {
        let text = std::mem::take(&mut self.text);
        print(&text)
    }
}

/// Writes a text to standard output.
///
/// # Errors
/// What the output refuses; a reader that has gone is none.
pub(crate) fn print(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        done => done,
    }
}

/// Writes a line to standard error, beside the answer.
pub(crate) fn note(text: &str) {
    // Where nobody listens there is nobody to tell.
    let _heard = writeln!(io::stderr().lock(), "{text}");
}

/// A verdict with the mark it can be told by without reading: `x hold`.
pub(crate) fn marked(verdict: Verdict) -> String {
    format!("{} {verdict}", mark(verdict))
}

/// The mark of a verdict.
fn mark(verdict: Verdict) -> char {
    match verdict {
        Verdict::Hold => 'x',
        Verdict::Unseen => '?',
        Verdict::Watch => '!',
        Verdict::Fit => '+',
    }
}

/// A number of things: `1 machine`, `3 machines`.
pub(crate) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// Breaks a text at spaces, never at no-break spaces, so that no line is longer than `room` unless one word is.
fn wrapped(text: &str, room: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut length = 0;
    for word in text.split([' ', '\n']).filter(|word| !word.is_empty()) {
        let long = word.chars().count();
        if length > 0 && length + 1 + long > room {
            lines.push(std::mem::take(&mut line));
            length = 0;
        }
        if length > 0 {
            line.push(' ');
            length += 1;
        }
        line.push_str(word);
        length += long;
    }
    lines.push(line);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_breaks_at_spaces_and_never_inside_a_figure() {
        assert_eq!(wrapped("at least 1.6\u{a0}mm today", 12), ["at least", "1.6\u{a0}mm today"]);
        assert_eq!(wrapped("", 12), [""]);
        assert_eq!(wrapped("unbreakable-word here", 5), ["unbreakable-word", "here"]);
    }

    #[test]
    fn every_verdict_is_told_apart_without_colour() {
        let marks: Vec<String> = Verdict::ALL.iter().map(|verdict| marked(*verdict)).collect();
        assert_eq!(marks, ["+ fit", "! watch", "? unseen", "x hold"]);
    }
}
