//! A judgement as a page for a browser: one file without scripts that reads the same on a phone, at a desk and on paper.

mod drawing;
mod ruler;
mod text;

use std::fmt::Write as _;

use muster_core::{
    judge::{Judgement, Outcome, UseVerdict, Verdict},
    words::Use,
};

use self::text::{count, escaped, is_to_set, margin_text, moment, moment_beside, prose, sentence, source};

/// Tokens and rules.
const STYLE: &str = include_str!("page.css");
/// Verdict glyphs and hatches, referred to by the page.
const GLYPHS: &str = include_str!("glyphs.svg");
/// How many signs of a hash are shown: enough to tell two apart by eye.
const HASH_SHOWN: usize = 12;

/// Returns the page of a judgement in a yard: the planned use's verdict, then every reason worst first.
pub(crate) fn page(judgement: &Judgement, yard_name: &str) -> String {
    let title = escaped(&format!("{} {}, {yard_name}", judgement.machine, judgement.model));
    let mut out = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n\
         <title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n{GLYPHS}<div class=\"page\">\n"
    );
    head(&mut out, judgement, yard_name);
    out.push_str("<main>\n");
    if let Some(planned) = judgement.planned() {
        plate(&mut out, judgement, planned);
        conditions(&mut out, planned);
        out.push_str("<div class=\"columns\">\n");
        reasons(&mut out, judgement, planned);
        fit(&mut out, planned);
        out.push_str("</div>\n");
    }
    out.push_str("</main>\n");
    foot(&mut out, judgement);
    out.push_str("</div>\n</body>\n</html>\n");
    out
}

fn head(out: &mut String, judgement: &Judgement, yard_name: &str) {
    let (machine, model) = (escaped(&judgement.machine), escaped(&judgement.model));
    _ = writeln!(
        out,
        "<header class=\"bar\"><h1>{machine} <span>{model}</span></h1><p>{}</p></header>",
        escaped(yard_name)
    );
}

/// The verdict of the planned use, its gravest reason, and the other uses.
fn plate(out: &mut String, judgement: &Judgement, planned: &UseVerdict) {
    let verdict = planned.verdict;
    let back = judgement
        .back
        .as_deref()
        .map(|back| format!(", back {}", moment_beside(back, &judgement.judged_at)))
        .unwrap_or_default();
    let why = planned.reasons().next().map_or_else(
        || format!("All {} fit.", count(planned.outcomes.len(), "check", "checks")),
        |worst| sentence(&text::named(worst)),
    );
    let word = capital(verdict.as_str());
    _ = write!(
        out,
        "<section class=\"plate {verdict}\">{}<div><p class=\"for\">For {}{back}</p>\
         <h2 class=\"word\">{word}</h2><p class=\"may\"><b>{}</b> {}</p></div>",
        glyph(verdict, 64),
        use_words(planned.one),
        may(verdict),
        prose(&why)
    );
    out.push_str("<ul class=\"uses\">");
    if judgement.uses.iter().all(|other| other.verdict == verdict) {
        _ = write!(out, "<li class=\"verdict\">{}<span>{verdict} for every use</span></li>", glyph(verdict, 18));
    } else {
        let (first, rest): (Vec<_>, Vec<_>) = judgement.uses.iter().partition(|other| other.one == planned.one);
        for other in first.into_iter().chain(rest) {
            let (one, verdict) = (other.one, other.verdict);
            _ = write!(out, "<li class=\"verdict\">{}<span>{one} {verdict}</span></li>", glyph(verdict, 18));
        }
    }
    out.push_str("</ul></section>\n");
}

fn conditions(out: &mut String, planned: &UseVerdict) {
    if planned.conditions.is_empty() {
        return;
    }
    let lead = if matches!(planned.verdict, Verdict::Watch) { "May go out on condition" } else { "Conditions besides" };
    _ = writeln!(out, "<section class=\"conditions\"><h2>{lead}</h2><ul>");
    for condition in &planned.conditions {
        _ = writeln!(out, "<li>{}</li>", prose(&sentence(condition)));
    }
    out.push_str("</ul></section>\n");
}

/// A reason, and the uses it is told for beside the planned one; none named means the planned one.
struct Told<'j> {
    outcome: &'j Outcome,
    uses: Vec<Use>,
}

impl Told<'_> {
    /// Whether one text tells both, as for checks that lapsed alike.
    fn joins(&self, other: &Self) -> bool {
        let (one, two) = (self.outcome, other.outcome);
        let plain = |outcome: &Outcome| outcome.figure.is_none() && outcome.set.is_none() && outcome.working.is_empty();
        plain(one)
            && plain(two)
            && one.verdict == two.verdict
            && one.class == two.class
            && one.reason == two.reason
            && one.todo == two.todo
            && one.source == two.source
            && self.uses == other.uses
    }
}

/// What holds the planned use back, then what holds the others back beyond that, each worst first.
fn reasons(out: &mut String, judgement: &Judgement, planned: &UseVerdict) {
    let here: Vec<Told<'_>> = planned.reasons().map(|outcome| Told { outcome, uses: Vec::new() }).collect();
    let beyond = beyond(judgement, planned);
    if here.is_empty() && beyond.is_empty() {
        return;
    }
    out.push_str("<div class=\"column\">\n");
    list(out, &format!("Why, for {}", use_words(planned.one)), &here);
    list(out, if here.is_empty() { "For other uses" } else { "Beyond that, for other uses" }, &beyond);
    out.push_str("</div>\n");
}

fn beyond<'j>(judgement: &'j Judgement, planned: &UseVerdict) -> Vec<Told<'j>> {
    let mut told: Vec<Told<'j>> = Vec::new();
    for other in judgement.uses.iter().filter(|other| other.one != planned.one) {
        for outcome in other.reasons() {
            let same = |one: &Outcome| {
                one.check == outcome.check && one.verdict == outcome.verdict && one.reason == outcome.reason
            };
            if planned.reasons().any(same) {
                continue;
            }
            match told.iter_mut().find(|told| same(told.outcome)) {
                Some(told) => told.uses.push(other.one),
                None => told.push(Told { outcome, uses: vec![other.one] }),
            }
        }
    }
    told.sort_by(|a, b| a.outcome.gravity(b.outcome));
    told
}

/// A list of reasons, those with one and the same text together.
fn list(out: &mut String, heading: &str, told: &[Told<'_>]) {
    if told.is_empty() {
        return;
    }
    let number = count(told.len(), "reason", "reasons");
    _ = writeln!(
        out,
        "<section class=\"sec\"><div class=\"sec-h\"><h2>{heading}</h2><span>{number}</span></div>\n<ol class=\"reasons\">"
    );
    for (index, one) in told.iter().enumerate() {
        if told.iter().take(index).any(|other| other.joins(one)) {
            continue;
        }
        let later = told.iter().skip(index + 1).filter(|other| other.joins(one));
        let names: Vec<&str> = later.map(|other| other.outcome.name.as_str()).collect();
        reason(out, one, &names);
    }
    out.push_str("</ol></section>\n");
}

fn reason(out: &mut String, told: &Told<'_>, also: &[&str]) {
    let outcome = told.outcome;
    let verdict = outcome.verdict;
    let mark = if is_to_set(outcome) { icon("i-set", 24) } else { glyph(verdict, 24) };
    let word = if is_to_set(outcome) { "to set" } else { verdict.as_str() };
    let uses = told.uses.iter().map(|one| one.as_str()).collect::<Vec<_>>().join(", ");
    let uses = if uses.is_empty() { uses } else { format!(" · for {uses}") };
    let names = std::iter::once(outcome.name.as_str()).chain(also.iter().copied()).map(escaped).collect::<Vec<_>>();
    _ = write!(
        out,
        "<li class=\"reason {verdict}\">{mark}<div><p class=\"kind\">{word} · {}{uses}</p><h3>{}</h3><p>{}</p>",
        outcome.class,
        names.join(", "),
        prose(&sentence(&outcome.reason))
    );
    if verdict == Verdict::Unseen && outcome.figure.is_none() {
        out.push_str(drawing::unseen());
    }
    if let Some(set) = &outcome.set {
        let (found, act, now) = (escaped(&set.found), escaped(&set.act), escaped(&set.now));
        _ = write!(out, "<p class=\"set\">set: found {found}, {act}, now <b>{now}</b></p>");
    }
    if let Some(todo) = &outcome.todo {
        _ = write!(out, "<p class=\"do\">{}</p>", prose(&sentence(todo)));
    }
    out.push_str("</div>");
    if let Some((figure, drawing)) = outcome.figure.as_ref().zip(drawing::full(outcome)) {
        let (words, margin) = margin_text(figure);
        _ = write!(
            out,
            "<figure class=\"gauge\">{drawing}<figcaption>{words} <b>{}</b></figcaption></figure>",
            escaped(&margin)
        );
    }
    out.push_str("<div class=\"rests\">");
    rests(out, outcome);
    out.push_str("</div></li>\n");
}

/// What an outcome rests on: its source, who answered, when, and the working.
fn rests(out: &mut String, outcome: &Outcome) {
    if let Some(text) = &outcome.source {
        _ = write!(out, "<p class=\"cap\">{}</p>", tagged(text));
    }
    let by = outcome.by.as_deref().map(escaped);
    let at = outcome.at.as_deref().map(moment);
    let answered: Vec<String> = by.into_iter().chain(at).collect();
    if !answered.is_empty() {
        _ = write!(out, "<p class=\"cap\">answered by {}</p>", answered.join(", "));
    }
    if !outcome.working.is_empty() {
        out.push_str("<details><summary>Working</summary><ul>");
        for line in &outcome.working {
            _ = write!(out, "<li>{}</li>", prose(line));
        }
        out.push_str("</ul></details>");
    }
}

/// The checks that are fit: readings with their rulers, then the names of those that need no more words.
fn fit(out: &mut String, planned: &UseVerdict) {
    let fit: Vec<&Outcome> = planned.outcomes.iter().filter(|outcome| outcome.verdict == Verdict::Fit).collect();
    if fit.is_empty() {
        return;
    }
    let number = count(fit.len(), "check", "checks");
    _ = writeln!(
        out,
        "<div class=\"column\">\n<section class=\"sec\"><div class=\"sec-h\"><h2>Fit for {}</h2><span>{number}</span></div>",
        use_words(planned.one)
    );
    let (figures, looks): (Vec<&Outcome>, Vec<&Outcome>) = fit.into_iter().partition(|one| one.reason != "sound");
    if !figures.is_empty() {
        out.push_str("<ul class=\"fits\">\n");
        for outcome in figures {
            row(out, outcome);
        }
        out.push_str("</ul>\n");
    }
    if !looks.is_empty() {
        _ = writeln!(
            out,
            "<h3 class=\"sound\">{}<span>Sound</span></h3>\n<ul class=\"sounds\">",
            glyph(Verdict::Fit, 18)
        );
        for outcome in looks {
            _ = writeln!(out, "<li>{}</li>", escaped(&outcome.name));
        }
        out.push_str("</ul>\n");
    }
    out.push_str("</section>\n</div>\n");
}

fn row(out: &mut String, outcome: &Outcome) {
    let told = outcome.figure.as_ref().zip(drawing::mini(outcome));
    let class = if told.is_some() { "" } else { " class=\"plain\"" };
    _ = write!(out, "<li{class}>{}<h3>{}</h3>", glyph(Verdict::Fit, 18), escaped(&outcome.name));
    if let Some((figure, drawing)) = told {
        let (words, margin) = margin_text(figure);
        _ = write!(out, "<div class=\"mini\">{drawing}</div><p class=\"left\">{words} <b>{}</b></p>", escaped(&margin));
    }
    _ = write!(out, "<p class=\"said\">{}", prose(&outcome.reason));
    if let Some(set) = &outcome.set {
        _ = write!(out, "; set: found {}, {}, now {}", escaped(&set.found), escaped(&set.act), escaped(&set.now));
    }
    out.push_str("</p></li>\n");
}

/// A source with the tag of its layer.
fn tagged(text: &str) -> String {
    match source(text) {
        (Some(layer), rest) => format!("<span class=\"src {}\">{}</span> {}", layer.key, layer.long, escaped(rest)),
        (None, rest) => escaped(rest),
    }
}

fn foot(out: &mut String, judgement: &Judgement) {
    let known = judgement.known_at.as_deref().map_or_else(|| "nothing known yet".into(), moment);
    _ = writeln!(
        out,
        "<footer><dl><div><dt>Judged at</dt><dd>{}</dd></div><div><dt>As known at</dt><dd>{known}</dd></div>\
         <div><dt>Catalogue</dt><dd class=\"mono\">{}</dd></div><div><dt>Yard</dt><dd class=\"mono\">{}</dd></div></dl>\
         <p>A signature never changes a verdict. Where handbook, law or a qualified mechanic say otherwise, they count.</p>\
         </footer>",
        moment(&judgement.judged_at),
        escaped(&short(&judgement.catalogue)),
        escaped(&short(&judgement.yard))
    );
}

fn may(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Hold => "Must not go out.",
        Verdict::Unseen => "Does not go out until what is missing was seen.",
        Verdict::Watch | Verdict::Fit => "May go out.",
    }
}

fn use_words(one: Use) -> &'static str {
    match one {
        Use::Range => "the range",
        Use::Road => "the road",
        Use::Passenger => "a passenger",
        Use::Dark => "the dark",
    }
}

fn glyph(verdict: Verdict, size: u8) -> String {
    icon(&format!("g-{verdict}"), size)
}

fn icon(id: &str, size: u8) -> String {
    format!("<svg class=\"glyph\" width=\"{size}\" height=\"{size}\" aria-hidden=\"true\"><use href=\"#{id}\"/></svg>")
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map(|first| format!("{}{}", first.to_uppercase(), letters.as_str())).unwrap_or_default()
}

fn short(hash: &str) -> String {
    let start: String = hash.chars().take(HASH_SHOWN).collect();
    if start.len() < hash.len() { format!("{start}…") } else { start }
}

#[cfg(test)]
mod tests;
