//! A judgement as a page for a browser: its text, as it is printed.

use muster_core::judge::{Judgement, Verdict};

use super::paper::marked;

/// The page of a judgement in a yard.
pub(crate) fn page(judgement: &Judgement, yard: &str) -> String {
    let mut body = String::new();
    for one in &judgement.uses {
        body.push_str(&format!("<h2>{}: {}</h2>\n<ul>\n", one.one, marked(one.verdict)));
        for outcome in one.outcomes.iter().filter(|outcome| outcome.verdict != Verdict::Fit) {
            let todo = outcome.todo.as_deref().unwrap_or_default();
            let source = outcome.source.as_deref().unwrap_or_default();
            body.push_str(&format!(
                "<li><b>{}: {}</b>. {} <i>{}</i> <small>{}</small></li>\n",
                marked(outcome.verdict),
                escaped(&outcome.name),
                escaped(&outcome.reason),
                escaped(todo),
                escaped(source)
            ));
        }
        body.push_str("</ul>\n");
    }
    let title = escaped(&format!("{} {}, {yard}", judgement.machine, judgement.model));
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n<title>{title}</title>\n<h1>{title}</h1>\n\
         <p>Judged at {}.</p>\n{body}</html>\n",
        escaped(&judgement.judged_at)
    )
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
