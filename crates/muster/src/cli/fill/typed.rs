//! What is typed at the terminal, line by line, and what it means.

use std::io::{self, BufRead, IsTerminal, Read as _, Write as _};

use anyhow::Result;

use super::super::paper;

/// How long a line may be, in bytes.
const MAX_LINE: u64 = 4096;

/// What was typed.
pub(super) enum Typed {
    /// Nothing: later.
    Empty,
    /// To the one before.
    Back,
    /// Enough, or there is no more input.
    Quit,
    /// Something.
    Text(String),
}

/// Says a line; where nobody reads any more the answers still count.
pub(super) fn say(text: &str) {
    let _read = paper::print(&format!("{text}\n"));
}

/// Asks at the terminal; what is piped in is shown behind its question.
pub(super) fn ask(question: &str) -> Result<Typed> {
    paper::print(&format!("{question} "))?;
    let mut line = Vec::new();
    let stdin = io::stdin();
    let read = stdin.lock().take(MAX_LINE).read_until(b'\n', &mut line)?;
    let Ok(text) = std::str::from_utf8(&line) else {
        say("\n  that was not UTF-8 text: once more");
        return ask(question);
    };
    let text: String = text.chars().filter(|c| !c.is_control()).collect();
    let text = text.trim();
    if !stdin.is_terminal() {
        say(text);
    }
    io::stdout().flush()?;
    Ok(match text {
        _ if read == 0 => Typed::Quit,
        "" => Typed::Empty,
        "back" => Typed::Back,
        "quit" => Typed::Quit,
        text => Typed::Text(text.to_string()),
    })
}

/// Reads `s`, `d what`, `x what`, `c why`, or the words themselves.
pub(super) fn looked(text: &str) -> Result<(&'static str, String), String> {
    const WORDS: [(&str, &str); 4] = [("c", "could not see"), ("s", "sound"), ("d", "doubtful"), ("x", "defective")];
    let text = text.trim();
    for (letter, word) in WORDS {
        for head in [word, letter] {
            let Some(rest) = text.get(..head.len()).filter(|start| start.eq_ignore_ascii_case(head)) else { continue };
            let rest = text.get(rest.len()..).unwrap_or_default();
            if !rest.is_empty() && !rest.starts_with([' ', ':', ',']) {
                continue;
            }
            let rest = rest.trim_start_matches([' ', ':', ',']).trim();
            if letter == "c" && rest.is_empty() {
                return Err("say why: c too dark".into());
            }
            return Ok((word, rest.to_string()));
        }
    }
    Err("s sound, d doubtful, x defective, c and why: could not see".into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_or_the_word_and_the_rest_is_kept() {
        assert_eq!(looked("s"), Ok(("sound", String::new())));
        assert_eq!(looked("X nail by the valve"), Ok(("defective", "nail by the valve".into())));
        assert_eq!(looked("doubtful, oil on it"), Ok(("doubtful", "oil on it".into())));
        assert_eq!(looked("could not see: dark"), Ok(("could not see", "dark".into())));
        assert_eq!(looked("c too dark"), Ok(("could not see", "too dark".into())));
        for wrong in ["c", "could not see", "yes", "sx", "é"] {
            assert!(looked(wrong).is_err(), "{wrong}");
        }
    }
}
