//! The reasons, worst first, each with its ruler, its limit's source and what to do; and what is fit, in few words.

use muster_core::{
    judge::{Figure, Judgement, Outcome, Set, Verdict},
    words::Use,
};

use muster_draw::{
    draw,
    gauge::{authority, gauge, margin_text},
    glyph,
    merge::{Merged, is_to_set, unfit},
    number::{capital, counted, escaped, moment, sentence, small, with_unit},
    ruler::{Ruler, Tone, value_and_u},
};

use super::{listed, plate::for_several};

/// What is not fit: first what counts for the planned use, and whatever is on hold for any; then the rest.
pub(super) fn reasons(judgement: &Judgement, planned: Use) -> String {
    let (first, rest): (Vec<_>, Vec<_>) = unfit(judgement, planned)
        .into_iter()
        .partition(|merged| merged.uses.contains(&planned) || merged.outcome.verdict == Verdict::Hold);
    let mut out = section("Reasons", "worst first", &first, planned);
    if first.is_empty() {
        out.push_str(&format!(
            "<section class=\"sec\"><h2>Reasons</h2><p class=\"none\">Nothing speaks against it for use: {planned}.</p>\
             </section>\n"
        ));
    }
    out.push_str(&section("Other uses", &format!("not asked for use: {planned}"), &rest, planned));
    out
}

fn section(title: &str, note: &str, reasons: &[Merged<'_>], planned: Use) -> String {
    if reasons.is_empty() {
        return String::new();
    }
    let mut rows = String::new();
    let mut told: Vec<bool> = vec![false; reasons.len()];
    for (index, reason) in reasons.iter().enumerate() {
        if told.get(index).copied().unwrap_or(true) {
            continue;
        }
        let alike = |other: &Merged<'_>| other.is_bare() && other.uses == reason.uses && other.todo() == reason.todo();
        let group: Vec<&Merged<'_>> =
            if reason.is_bare() { reasons.iter().filter(|other| alike(other)).collect() } else { Vec::new() };
        if group.len() > 1 {
            for (other, told) in reasons.iter().zip(&mut told) {
                *told |= alike(other);
            }
            rows.push_str(&together(&group, planned));
        } else {
            rows.push_str(&one(reason, planned));
        }
    }
    format!("<section class=\"sec\"><h2>{title} <span>{note}</span></h2><ol class=\"reasons\">{rows}</ol></section>\n")
}

/// Several checks nobody has looked at, told in one.
fn together(group: &[&Merged<'_>], planned: Use) -> String {
    let Some(first) = group.first() else { return String::new() };
    let class = group.iter().map(|merged| merged.outcome.class).max().unwrap_or(first.outcome.class);
    let mut causes: Vec<(&str, Vec<String>)> = Vec::new();
    for outcome in group.iter().map(|merged| merged.outcome) {
        match causes.iter_mut().find(|(cause, _)| *cause == outcome.reason) {
            Some((_, names)) => names.push(small(&outcome.name)),
            None => causes.push((&outcome.reason, vec![small(&outcome.name)])),
        }
    }
    let told = |(cause, names): &(&str, Vec<String>)| {
        format!("<p><b>{}</b>: {}</p>", escaped(&capital(&names.join(", "))), escaped(&small(&sentence(cause))))
    };
    let title = capital(&counted(group.len(), "check", "checks"));
    format!(
        "<li class=\"reason unseen\">{}<div>{}{}{}</div><div class=\"under\">{}</div></li>",
        glyph("unseen", 24),
        heading(&prefixed(&first.uses, planned, &format!("{title} unseen")), &format!("up to class {class}")),
        causes.iter().map(told).collect::<String>(),
        draw::unseen(),
        todo(first.todo().map(|todo| for_several(&todo)), Tone::Judged(Verdict::Unseen)),
    )
}

fn one(reason: &Merged<'_>, planned: Use) -> String {
    let outcome = reason.outcome;
    let tone = tone(outcome);
    let why = outcome.reason.strip_prefix("to set:").unwrap_or(&outcome.reason);
    // The planned use's rulers are drawn in full; another use has its own limits, so a short one beside its margin.
    let draw = if reason.uses.contains(&planned) { gauge } else { short };
    let gauge = outcome.figure.as_ref().and_then(|figure| draw(outcome, figure, tone));
    let name = prefixed(&reason.uses, planned, &outcome.name);
    format!(
        "<li class=\"reason {}\">{}<div>{}<p class=\"why\">{}</p></div>{}<div class=\"under\">{}{}{}{}{}</div></li>",
        tone.name(),
        glyph(tone.name(), 24),
        heading(&name, &format!("{}, class {}", tone.said(), outcome.class)),
        escaped(&sentence(why)),
        gauge.unwrap_or_default(),
        if reason.is_bare() { draw::unseen() } else { "" },
        outcome.set.as_ref().map(|set| format!("<p class=\"set\">{}</p>", set_line(set))).unwrap_or_default(),
        todo(reason.todo(), tone),
        source(outcome),
        details(outcome),
    )
}

fn tone(outcome: &Outcome) -> Tone {
    if is_to_set(outcome) { Tone::Set } else { Tone::Judged(outcome.verdict) }
}

fn heading(name: &str, said: &str) -> String {
    format!("<h3>{} <span class=\"kick\">{}</span></h3>", escaped(name), escaped(said))
}

/// A reason that is not one of the planned use says whose it is.
fn prefixed(uses: &[Use], planned: Use, name: &str) -> String {
    if uses.contains(&planned) { name.to_owned() } else { format!("{}: {}", listed(uses), small(name)) }
}

fn todo(todo: Option<String>, tone: Tone) -> String {
    let Some(todo) = todo else { return String::new() };
    let mark = if tone == Tone::Set { glyph("set", 20) } else { String::new() };
    format!("<p class=\"do {}\">{mark}<span>{}</span></p>", tone.name(), escaped(&sentence(&todo)))
}

fn short(outcome: &Outcome, figure: &Figure, tone: Tone) -> Option<String> {
    let ruler = Ruler::of(figure, tone, authority(outcome).0)?;
    Some(format!("<div class=\"under\"><p class=\"short\">{}{}</p></div>", draw::mini(&ruler), margin_text(figure)))
}

fn source(outcome: &Outcome) -> String {
    let (tag, line, rest) = authority(outcome);
    let tag = if tag.is_empty() { String::new() } else { format!("<span class=\"src src--{line}\">{tag}</span>") };
    let who = [outcome.by.as_deref().map(escaped), outcome.at.as_deref().map(|at| escaped(&moment(at)))];
    let who = who.into_iter().flatten().collect::<Vec<_>>().join(", ");
    let rest = if rest.is_empty() { String::new() } else { format!("<span>{}</span>", escaped(rest)) };
    let who = if who.is_empty() { String::new() } else { format!("<span class=\"who\">{who}</span>") };
    if tag.is_empty() && rest.is_empty() && who.is_empty() {
        return String::new();
    }
    format!("<p class=\"from\">{tag}{rest}{who}</p>")
}

fn details(outcome: &Outcome) -> String {
    if outcome.working.is_empty() {
        return String::new();
    }
    let rows: String = outcome.working.iter().map(|line| format!("<li>{}</li>", escaped(&sentence(line)))).collect();
    format!(
        "<details><summary>Working<span class=\"vh\">: {}</span></summary><ul>{rows}</ul></details>",
        escaped(&small(&outcome.name))
    )
}

fn set_line(set: &Set) -> String {
    let act = if set.act.is_empty() { String::new() } else { format!(", {}", escaped(&set.act)) };
    format!("set: found {}{act}, now <b>{}</b>", escaped(&set.found), escaped(&set.now))
}

/// What is fit for the planned use: what was set, each reading with its margin, and the looks in one run of names.
pub(super) fn fits(judgement: &Judgement) -> String {
    let Some(planned) = judgement.planned() else { return String::new() };
    let fit: Vec<&Outcome> = planned.outcomes.iter().filter(|outcome| outcome.verdict == Verdict::Fit).collect();
    if fit.is_empty() {
        return String::new();
    }
    let rows: String = fit.iter().filter_map(|outcome| fit_row(outcome, outcome.figure.as_ref()?)).collect();
    let rows = if rows.is_empty() { rows } else { format!("<ul class=\"fits\">{rows}</ul>") };
    let named = |outcome: &&Outcome| {
        let reason = if outcome.reason == "sound" { String::new() } else { format!(" ({})", outcome.reason) };
        format!("{}{}", small(&outcome.name), reason)
    };
    let looks: Vec<String> = fit.iter().filter(|outcome| outcome.figure.is_none()).map(named).collect();
    let looks = if looks.is_empty() {
        looks.join("")
    } else {
        format!("<p class=\"looks\"><b>Looked at:</b> {}</p>", escaped(&sentence(&looks.join(", "))))
    };
    format!(
        "<section class=\"sec fit\"><h2>{}{} fit <span>for use: {}</span></h2>{rows}{looks}</section>\n",
        glyph("fit", 20),
        capital(&counted(fit.len(), "check", "checks")),
        planned.one
    )
}

fn fit_row(outcome: &Outcome, figure: &Figure) -> Option<String> {
    let (tag, _, _) = authority(outcome);
    let ruler = Ruler::of(figure, Tone::Judged(outcome.verdict), tag)?;
    let set = outcome.set.as_ref().map(|set| format!("<span class=\"set\">{}</span>", set_line(set)));
    Some(format!(
        "<li><span class=\"name\">{}</span><span class=\"value\">{}</span>{}<span class=\"left\">{}</span>{}</li>",
        escaped(&outcome.name),
        with_unit(&value_and_u(figure), figure.unit),
        draw::mini(&ruler),
        margin_text(figure),
        set.unwrap_or_default()
    ))
}
