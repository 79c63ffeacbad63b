//! The page of one machine's verdict: one HTML file that needs nothing beside it, for a phone, a desk and paper.

mod font;
mod foot;
mod plate;
mod reason;

use muster_core::{
    judge::{Judgement, Verdict},
    words::Use,
};

use muster_draw::{
    GLYPHS,
    number::{self, capital, escaped},
};

const STYLE: &str = include_str!("style.css");

/// Returns the page of a judgement, as HTML: the planned use's verdict, what clears it, its conditions, every reason
/// worst first with its margin ruler, what is fit, and what all of it rests on.
///
/// It names no other file and runs no script. Whatever a form brought in is escaped. `yard_name` heads the page.
#[must_use]
pub fn page(judgement: &Judgement, yard_name: &str) -> String {
    let planned = planned_use(judgement);
    let verdict = judgement.planned().map_or(Verdict::Unseen, |planned| planned.verdict);
    let machine = escaped(&judgement.machine);
    let mut body = String::new();
    body.push_str(&plate::plate(judgement));
    body.push_str("<div class=\"cols\">\n<div class=\"act\">\n");
    body.push_str(&plate::conditions(judgement));
    body.push_str(&plate::clears(judgement));
    body.push_str("</div>\n<div class=\"why\">\n");
    body.push_str(&reason::reasons(judgement, planned));
    body.push_str("</div>\n<div class=\"rest\">\n");
    body.push_str(&reason::fits(judgement));
    body.push_str("</div>\n</div>\n");
    format!(
        "<!doctype html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <title>{machine}: {verdict} · {yard}</title>\n<style>{font}\n{STYLE}</style>\n</head>\n<body>\n{GLYPHS}\
         <div class=\"sheet\">\n<header class=\"mast\"><p class=\"yard\">{yard}</p>\
         <p class=\"when\">{when}</p></header>\n<main>\n<h1><b>{machine}</b> <span>{model}</span></h1>\n{body}</main>\n\
         {foot}</div>\n</body>\n</html>\n",
        yard = escaped(yard_name),
        font = font::face(),
        when = escaped(&number::moment(&judgement.judged_at)),
        model = escaped(&judgement.model),
        foot = foot::foot(judgement),
    )
}

/// The use the page leads with: the planned one, else the range, as the core has it.
fn planned_use(judgement: &Judgement) -> Use {
    judgement.planned().map_or(Use::Range, |planned| planned.one)
}

/// Uses as a list in words: `Road, passenger`.
fn listed(uses: &[Use]) -> String {
    capital(&uses.iter().map(|one| one.as_str()).collect::<Vec<_>>().join(", "))
}
