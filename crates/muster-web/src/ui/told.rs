//! Words of the core with people's names for their ids: the record knows people by ids, people know each other by name.

use leptos::prelude::*;

use super::day_text;
use crate::yard::Yard;

/// How long a day is as the record writes it: year, month, day.
const DAY: usize = "2026-11-24".len();

impl Yard {
    /// A sentence of the core with the names of the people in it, as far as they are known here.
    pub(crate) fn told(&self, text: &str) -> String {
        self.names.with(|names| {
            let name = |word: &str| names.get(word).filter(|name| !name.is_empty()).cloned();
            in_words(text, name)
        })
    }

    /// The same with days as people say them.
    pub(crate) fn said(&self, text: &str) -> String {
        let is_day = |word: &str| word.len() == DAY && word.starts_with(|first: char| first.is_ascii_digit());
        in_words(&self.told(text), |word| is_day(word).then(|| day_text(word)))
    }
}

/// A sentence with other words for some of it.
fn in_words(text: &str, other: impl Fn(&str) -> Option<String>) -> String {
    let is_of_word = |letter: char| letter.is_ascii_alphanumeric() || letter == '-';
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(from) = rest.find(is_of_word) {
        let (before, word) = rest.split_at(from);
        let (word, after) = word.split_at(word.find(|letter| !is_of_word(letter)).unwrap_or(word.len()));
        out.push_str(before);
        match other(word) {
            Some(other) => out.push_str(&other),
            None => out.push_str(word),
        }
        rest = after;
    }
    out.push_str(rest);
    out
}
