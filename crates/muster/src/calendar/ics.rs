//! A calendar as text (RFC 5545, with the name and the refreshing of RFC 7986).

use jiff::tz::Offset;
use muster_core::calendar::{Moment, days_later};

use super::{Calendar, Entry, When};

/// The longest line, in octets without its end (RFC 5545, section 3.1).
const MAX_OCTETS: usize = 75;

/// The calendar's text, its lines ended by CRLF and folded.
#[must_use]
pub fn text(calendar: &Calendar) -> String {
    let mut lines = vec![
        "BEGIN:VCALENDAR".to_string(),
        "VERSION:2.0".to_string(),
        format!("PRODID:-//Muster//{}//EN", env!("CARGO_PKG_VERSION")),
        "CALSCALE:GREGORIAN".to_string(),
        format!("NAME:{}", escaped(&calendar.name)),
        format!("X-WR-CALNAME:{}", escaped(&calendar.name)),
        "REFRESH-INTERVAL;VALUE=DURATION:PT1H".to_string(),
    ];
    for entry in &calendar.entries {
        lines.extend(event(entry, calendar.made));
    }
    lines.push("END:VCALENDAR".to_string());
    lines.iter().map(|line| fold(line)).collect()
}

fn event(entry: &Entry, made: Moment) -> Vec<String> {
    let mut lines = vec![
        "BEGIN:VEVENT".to_string(),
        format!("UID:{}", escaped(&entry.uid)),
        format!("DTSTAMP:{}", utc(made)),
        format!("SUMMARY:{}", escaped(&entry.summary)),
        format!("DESCRIPTION:{}", escaped(&entry.description)),
    ];
    match entry.when {
        // The end is the first day after (section 3.6.1).
        When::Day(day) => lines.extend([
            format!("DTSTART;VALUE=DATE:{}", date(day)),
            format!("DTEND;VALUE=DATE:{}", date(days_later(day, 1))),
        ]),
        When::Span(from, to) => {
            lines.push(format!("DTSTART:{}", utc(from)));
            // An end must be later than its beginning (section 3.8.2.2); without one it ends where it begins.
            lines.extend((to > from).then(|| format!("DTEND:{}", utc(to))));
        }
    }
    // Nobody is busy for it: the day stays free in whatever else the calendar shows.
    lines.extend(["TRANSP:TRANSPARENT".to_string(), "END:VEVENT".to_string()]);
    lines
}

fn date(day: jiff::civil::Date) -> String {
    format!("{:04}{:02}{:02}", day.year(), day.month(), day.day())
}

/// A moment in UTC, so that no table of time zones has to go with it.
fn utc(moment: Moment) -> String {
    let at = Offset::UTC.to_datetime(moment.timestamp());
    format!("{}T{:02}{:02}{:02}Z", date(at.date()), at.hour(), at.minute(), at.second())
}

/// A text's characters as they stand in a value (section 3.3.11); control characters have no place in one.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.replace("\r\n", "\n").chars() {
        match c {
            '\\' | ';' | ',' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            c if c.is_control() && c != '\t' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// One line ended by CRLF, cut between characters into pieces of at most 75 octets, each but the first begun by a space.
#[must_use]
pub fn fold(line: &str) -> String {
    let mut out = String::with_capacity(line.len() + line.len() / MAX_OCTETS * 3 + 2);
    let mut octets = 0;
    for c in line.chars() {
        if octets + c.len_utf8() > MAX_OCTETS {
            out.push_str("\r\n ");
            octets = 1;
        }
        out.push(c);
        octets += c.len_utf8();
    }
    out.push_str("\r\n");
    out
}

/// The lines of a text, put together again.
#[must_use]
pub fn unfold(text: &str) -> Vec<String> {
    let whole = text.replace("\r\n ", "").replace("\r\n\t", "");
    let mut lines: Vec<String> = whole.split("\r\n").map(ToString::to_string).collect();
    lines.pop_if(|last| last.is_empty());
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date as day;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_is_folded_is_unfolded(lines in proptest::collection::vec("[^\r\n]{1,200}", 1..5)) {
            let folded: String = lines.iter().map(|line| fold(line)).collect();
            for line in folded.split("\r\n") {
                prop_assert!(line.len() <= MAX_OCTETS, "{line:?}");
            }
            // A line never begins with white space: its name stands there.
            let lines: Vec<String> = lines.iter().map(|line| format!("X:{line}")).collect();
            let folded: String = lines.iter().map(|line| fold(line)).collect();
            prop_assert_eq!(unfold(&folded), lines);
        }

        #[test]
        fn a_text_is_escaped_within_its_line(text in "(?s).{0,40}") {
            let line = escaped(&text);
            prop_assert!(!line.chars().any(|c| c.is_control() && c != '\t'), "{line:?}");
            // Section 3.3.11, read back: the reverse of what was written.
            let mut back = String::new();
            let mut chars = line.chars();
            while let Some(c) = chars.next() {
                match (c, c == '\\') {
                    (_, true) => back.push(match chars.next() { Some('n') => '\n', Some(c) => c, None => panic!("cut") }),
                    (c, _) => back.push(c),
                }
            }
            let plain = |c: char| if c.is_control() && !matches!(c, '\t' | '\n') { ' ' } else { c };
            prop_assert_eq!(back, text.replace("\r\n", "\n").chars().map(plain).collect::<String>());
        }
    }

    #[test]
    fn days_and_times_are_written_as_the_standard_says() {
        let moment = |text| Moment::parse(text).unwrap();
        let entry = |when| Entry { uid: "a@b".into(), summary: "x; y, z".into(), description: "1\n2".into(), when };
        let made = moment("2026-11-24T08:00:00+01:00");
        let span = When::Span(moment("2026-11-24T09:00:00+01:00"), moment("2026-11-24T12:30:00+01:00"));
        let entries = vec![entry(When::Day(day(2026, 12, 31))), entry(span), entry(When::Span(made, made))];
        let lines = unfold(&text(&Calendar { name: "Yard".into(), made, entries }));
        for line in [
            "DTSTAMP:20261124T070000Z",
            "SUMMARY:x\\; y\\, z",
            "DESCRIPTION:1\\n2",
            "DTSTART;VALUE=DATE:20261231",
            "DTEND;VALUE=DATE:20270101",
            "DTSTART:20261124T080000Z",
            "DTEND:20261124T113000Z",
        ] {
            assert!(lines.iter().any(|one| one == line), "{line} is not in {lines:?}");
        }
        assert_eq!(lines.iter().filter(|line| line.starts_with("DTEND")).count(), 2);
    }
}
