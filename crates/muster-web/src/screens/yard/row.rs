//! Rows as markup: a browser reads a row in one piece quicker than it makes forty elements one by one, and while one scrolls
//! there are ten a frame. What a person wrote is escaped here.

use std::fmt::{Display, Write as _};

use leptos::prelude::*;
use muster_core::judge::Verdict;
use muster_draw::{glyph_drawn, number::escaped, ready};

use super::{board::Board, glance::Glance};
use crate::{
    ui::{UseWord, verdict_word},
    words::t,
};

/// A row of the desk's table; before it is judged its name, and the rest as unseen.
pub(super) fn of_desk(board: Board, id: &str, glance: Option<&Glance>) -> String {
    let mut out = String::with_capacity(4096);
    let name = escaped(id);
    put(
        &mut out,
        format_args!(
            "<th scope=\"row\" class=\"no\"><a id=\"row-{name}\" href=\"/machines/{name}\" tabindex=\"-1\">{name}</a></th>"
        ),
    );
    match glance {
        Some(glance) => cells(&mut out, board, glance),
        None => waiting(&mut out, board, id),
    }
    out
}

fn waiting(out: &mut String, board: Board, id: &str) {
    put(out, format_args!("<td>{}</td><td>", escaped(&board.model(id))));
    word(out, Verdict::Unseen, 18, &t!("not-judged"));
    out.push_str("</td><td colspan=\"8\"><div class=\"wait\"></div></td>");
}

fn cells(out: &mut String, board: Board, glance: &Glance) {
    let one = board.one.get();
    let Some(of) = glance.of(one) else { return };
    let next = board.plans.with(|plans| plans.next_of(&glance.id)).unwrap_or_else(|| "–".to_owned());
    put(out, format_args!("<td class=\"model\">{}</td><td>", escaped(&glance.model)));
    match one {
        None => words(out, &glance.words),
        Some(one) => words(out, &[UseWord { uses: one.to_string(), verdict: of.verdict }]),
    }
    put(out, format_args!("</td><td><span class=\"readybox\">{}</span></td>", ready::ready(&of.stations, 60)));
    cut(out, "what", "cut", &of.tight.name);
    put(
        out,
        format_args!(
            "<td class=\"n margin\"><span class=\"mini\">{}</span><span class=\"fig\">{}</span></td>",
            of.tight.ruler.as_deref().unwrap_or_default(),
            escaped(&of.tight.margin)
        ),
    );
    let runs_out = board.runs_out.with(|all| all.get(&glance.id).map(|(_, says)| says.clone()));
    cut(out, "what", "cut", runs_out.as_ref().unwrap_or(&of.due));
    let class = if glance.is_out { "" } else { "dim" };
    put(out, format_args!("<td class=\"{class}\">"));
    if glance.contradictions > 0 {
        put(out, format_args!("<span class=\"clash\">{}</span>", sign("warn", 14, &t!("clash"))));
    }
    let long = if glance.who.chars().count() > SHORT { " class=\"cut cut--who\"" } else { "" };
    put(out, format_args!("<span{long}>{}</span></td>", escaped(&glance.who)));
    cut(out, "opt-col dim", "cut cut--who", &next);
    put(out, format_args!("<td class=\"n\">{}</td><td class=\"n\"><span class=\"tagged\">", some(glance.jobs)));
    if glance.tags > 0 {
        out.push_str(&sign("tag", 16, ""));
        out.push(' ');
    }
    put(out, format_args!("{}</span></td>", some(glance.tags)));
}

/// What stands in a row of the phone's list; before it is judged which machine it is.
pub(super) fn of_phone(board: Board, id: &str, glance: Option<&Glance>) -> String {
    let mut out = String::with_capacity(2048);
    put(&mut out, format_args!("<span class=\"no\">{}</span>", escaped(id)));
    let Some((glance, of)) = glance.and_then(|glance| Some((glance, glance.of(None)?))) else {
        put(&mut out, format_args!("<span class=\"l1\">{}</span>", escaped(&board.model(id))));
        word(&mut out, Verdict::Unseen, 20, &t!("not-judged"));
        out.push_str("<span class=\"l2\"><span class=\"wait\"></span></span>");
        return out;
    };
    let at_home = glance.who == t!("in-yard");
    let who = if at_home { glance.model.clone() } else { format!("{} · {}", glance.model, glance.who) };
    put(&mut out, format_args!("<span class=\"l1\">{}</span>", escaped(&who)));
    word(&mut out, of.verdict, 20, &verdict_word(of.verdict));
    out.push_str("<span class=\"l2\">");
    if let Some(ruler) = &of.tight.ruler {
        put(&mut out, format_args!("<span class=\"mini\">{ruler}</span>"));
    }
    let (name, margin) = (escaped(&of.tight.name), escaped(&of.tight.margin));
    put(&mut out, format_args!("<span class=\"cut\">{name}</span> <b>{margin}</b>"));
    if glance.tags > 0 {
        put(&mut out, format_args!("<span class=\"tagged\">{}</span>", sign("tag", 16, &t!("its-tag-hangs"))));
    }
    out.push_str("</span>");
    if glance.differs() {
        out.push_str("<span class=\"l3\">");
        words(&mut out, &glance.words);
        out.push_str("</span>");
    }
    out
}

/// Verdicts by use as words: the word alone where all uses come to the same.
fn words(out: &mut String, words: &[UseWord]) {
    let alone = words.len() < 2;
    if !alone {
        out.push_str("<span class=\"uses\">");
    }
    for of in words {
        word(out, of.verdict, if alone { 18 } else { 16 }, &of.said(alone));
    }
    if !alone {
        out.push_str("</span>");
    }
}

/// Glyph and word of a verdict.
fn word(out: &mut String, verdict: Verdict, side: u32, says: &str) {
    put(
        out,
        format_args!(
            "<span class=\"verdict {verdict}\">{}<span>{}</span></span>",
            glyph_drawn(&verdict.to_string(), side),
            escaped(says)
        ),
    );
}

/// So few characters are never cut, however narrow the column: what may be cut is clipped and painted by itself.
const SHORT: usize = 11;

fn cut(out: &mut String, cell: &str, class: &str, says: &str) {
    if says.chars().count() <= SHORT {
        return put(out, format_args!("<td class=\"{cell}\">{}</td>", escaped(says)));
    }
    put(out, format_args!("<td class=\"{cell}\"><span class=\"{class}\">{}</span></td>", escaped(says)));
}

/// An icon with its word for who cannot see it.
fn sign(name: &str, side: u32, says: &str) -> String {
    let said = if says.is_empty() { String::new() } else { format!("<span class=\"vh\">{}</span>", escaped(says)) };
    format!(
        "<svg class=\"icon\" width=\"{side}\" height=\"{side}\" aria-hidden=\"true\"><use href=\"#i-{name}\"></use></svg>{said}"
    )
}

/// A count; a dash for none.
fn some(count: usize) -> String {
    match count {
        0 => "<span class=\"dim\">–</span>".to_owned(),
        count => format!("<span class=\"strong\">{count}</span>"),
    }
}

fn put(out: &mut String, what: impl Display) {
    // Writing to a string cannot fail.
    let _ = write!(out, "{what}");
}
