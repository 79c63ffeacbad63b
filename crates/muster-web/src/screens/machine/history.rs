//! What happened to a machine, newest first: the whole from the server, or what this device carries.

use leptos::prelude::*;
use muster_core::calendar::Moment;
use muster_wire::machine::MachineView;

use crate::{
    ui::{day, fold, when_text},
    words::t,
    yard::Yard,
};

/// Lines shown before the rest is asked for.
const SHOWN: usize = 12;

struct Line {
    at: Moment,
    glyph: Option<&'static str>,
    what: String,
    more: String,
}

/// The timeline.
pub(super) fn history(yard: Yard, view: &MachineView, whole: bool) -> AnyView {
    let mut lines = lines(yard, view);
    lines.sort_by_key(|line| std::cmp::Reverse(line.at));
    let count = lines.len();
    let rest = lines.split_off(lines.len().min(SHOWN));
    let drawn = lines.iter().map(line).collect_view();
    let rest = (!rest.is_empty()).then(|| {
        let label = t!("show-more", count = rest.len());
        let draw = move || Some(view! { <ol class="tl">{rest.iter().map(line).collect_view()}</ol> }.into_any());
        fold("more", view! { <span class="btn btn--sm">{label}</span> }, draw)
    });
    let said = if whole { t!("history-whole", count = count) } else { t!("history-held", count = count) };
    view! {
        <section class="part-of">
            <div class="rulehead"><h2>{t!("history")}</h2><span class="cap">{said}</span></div>
            <ol class="tl">{drawn}</ol>
            {rest}
        </section>
    }
    .into_any()
}

fn line(line: &Line) -> AnyView {
    let mark = match line.glyph {
        Some(glyph) => view! { <svg class="glyph" width="16" height="16" aria-hidden="true"><use href=format!("#g-{glyph}")></use></svg> }.into_any(),
        None => view! { <i class="dot"></i> }.into_any(),
    };
    view! { <li>{mark}<span class="d">{day(line.at)}</span><div><b>{line.what.clone()}</b><span class="cap">{line.more.clone()}</span></div></li> }.into_any()
}

fn lines(yard: Yard, view: &MachineView) -> Vec<Line> {
    let mut out = Vec::new();
    let mut add = |at: &str, glyph, what: String, more: String| {
        if let Ok(at) = Moment::parse(at) {
            out.push(Line { at, glyph, what, more });
        }
    };
    for of in &view.walk_rounds {
        let more = t!("answers-by", count = of.answers, by = yard.name(&of.by));
        add(&of.opened, None, t!("its-walked", depth = of.depth.as_str()), more);
    }
    for of in &view.releases {
        let worst = ["hold", "unseen", "watch", "fit"]
            .into_iter()
            .find(|verdict| of.verdicts.values().any(|own| own == verdict));
        let back = if of.returned.is_some() { t!("came-back") } else { t!("still-out") };
        add(&of.from, worst, t!("its-released", outing = of.outing.as_str()), format!("{}, {back}", yard.name(&of.by)));
    }
    for of in &view.findings {
        let glyph = if of.class == "minor" { "watch" } else { "hold" };
        let closed = if of.closed.is_some() { t!("closed") } else { t!("open") };
        add(
            &of.at,
            Some(glyph),
            of.what.clone(),
            t!("finding-line", class = of.class.as_str(), by = yard.name(&of.by), state = closed),
        );
    }
    for of in &view.tags {
        let lifted = if of.lifted.is_some() { t!("lifted") } else { t!("hangs") };
        add(
            &of.at,
            Some("hold"),
            t!("tagged", why = of.why.as_str()),
            format!("{}, {}, {lifted}", yard.name(&of.by), when_text(&of.at)),
        );
    }
    for of in view.parts.iter().filter(|of| of.on.is_some()) {
        let on = format!("{}T12:00:00+00:00", of.on.as_deref().unwrap_or_default());
        add(&on, None, t!("part-mounted", place = of.place.replace('.', " ")), of.odometer.clone().unwrap_or_default());
    }
    out
}
