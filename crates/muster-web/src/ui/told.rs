//! Words of the core with people's names for their ids: the record knows people by ids, people know each other by name.

use leptos::prelude::*;

use crate::yard::Yard;

impl Yard {
    /// A sentence of the core with the names of the people in it, as far as they are known here.
    pub(crate) fn told(&self, text: &str) -> String {
        let is_of_id = |letter: char| letter.is_ascii_alphanumeric() || letter == '-';
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        self.names.with(|names| {
            while let Some(from) = rest.find(is_of_id) {
                let (before, word) = rest.split_at(from);
                let (word, after) = word.split_at(word.find(|letter| !is_of_id(letter)).unwrap_or(word.len()));
                out.push_str(before);
                out.push_str(names.get(word).filter(|name| !name.is_empty()).map_or(word, String::as_str));
                rest = after;
            }
        });
        out.push_str(rest);
        out
    }
}
