//! What happened to a machine, newest first: the whole from the server, or what this device carries.

use leptos::prelude::*;
use muster_core::calendar::Moment;
use muster_wire::history::{Happened, HappenedView, HistoryView};

use super::asked::{Asked, Door, carried_only};
use crate::{
    ui::{day, fold, when_text},
    words::t,
    yard::Yard,
};

/// Lines shown before the rest is asked for.
const SHOWN: usize = 12;

/// The timeline: what is carried till the whole is told.
pub(super) fn history(yard: Yard, door: Door) -> AnyView {
    let told = door.ask::<HistoryView>("history");
    (move || {
        let held = || door.held(|state, _| Some(HistoryView::of(state)));
        Some(match told.get() {
            Asked::Told(view) => lines(yard, view, true),
            Asked::Waits => lines(yard, held()?, false),
            Asked::Not(why) => view! { {carried_only(why)} {lines(yard, held()?, false)} }.into_any(),
        })
    })
    .into_any()
}

fn lines(yard: Yard, view: HistoryView, is_whole: bool) -> AnyView {
    let mut lines = view.lines;
    let count = lines.len();
    let rest = lines.split_off(count.min(SHOWN));
    let drawn = lines.iter().map(|of| line(yard, of)).collect_view();
    let rest = (!rest.is_empty()).then(|| {
        let label = t!("show-more", count = rest.len());
        let draw = move || {
            Some(view! { <ol class="tl">{rest.iter().map(|of| line(yard, of)).collect_view()}</ol> }.into_any())
        };
        fold("more", view! { <span class="btn btn--sm">{label}</span> }, draw)
    });
    let said = if is_whole { t!("history-whole", count = count) } else { t!("history-held", count = count) };
    view! { <p class="cap">{said}</p> <ol class="tl">{drawn}</ol> {rest} }.into_any()
}

fn line(yard: Yard, of: &HappenedView) -> Option<AnyView> {
    let at = Moment::parse(&of.at).ok()?;
    let mark = match glyph(of) {
        Some(glyph) => view! { <svg class="glyph" width="16" height="16" aria-hidden="true"><use href=format!("#g-{glyph}")></use></svg> }.into_any(),
        None => view! { <i class="dot"></i> }.into_any(),
    };
    let (what, more) = said(yard, of);
    Some(
        view! { <li>{mark}<span class="d">{day(at)}</span><div><b>{what}</b><span class="cap">{more}</span></div></li> }
            .into_any(),
    )
}

fn glyph(of: &HappenedView) -> Option<&str> {
    let grave = of.grave.as_deref();
    match of.kind {
        Happened::WalkRound | Happened::Part => None,
        Happened::Release => grave,
        Happened::Finding if grave == Some("minor") => Some("watch"),
        Happened::Finding | Happened::Tag => Some("hold"),
    }
}

/// What happened, and what more there is to say of it.
fn said(yard: Yard, of: &HappenedView) -> (String, String) {
    let by = of.by.as_deref().map(|by| yard.name(by)).unwrap_or_default();
    let what = of.what.as_str();
    match of.kind {
        Happened::WalkRound => {
            (t!("its-walked", depth = what), t!("answers-by", count = of.answers.unwrap_or_default(), by = by))
        }
        Happened::Release => {
            let back = if of.is_over { t!("came-back") } else { t!("still-out") };
            (t!("its-released", outing = what), format!("{by}, {back}"))
        }
        Happened::Finding => {
            let state = if of.is_over { t!("closed") } else { t!("open") };
            let class = of.grave.as_deref().unwrap_or_default();
            (what.to_owned(), t!("finding-line", class = class, by = by, state = state))
        }
        Happened::Tag => {
            let lifted = if of.is_over { t!("lifted") } else { t!("hangs") };
            (t!("tagged", why = what), format!("{by}, {}, {lifted}", when_text(&of.at)))
        }
        Happened::Part => (t!("part-mounted", place = what.replace('.', " ")), of.odometer.clone().unwrap_or_default()),
    }
}
