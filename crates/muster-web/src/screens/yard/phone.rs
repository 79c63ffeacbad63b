//! The yard on a phone: grouped by what to do, worst first, the search under the thumb.

use leptos::{html, prelude::*, task::spawn_local};
use leptos_router::components::A;
use muster_core::judge::Verdict;

use super::{
    Filters,
    board::{Board, By, Counts},
    row,
};
use crate::{
    pace::Pace,
    screens::machine::used,
    ui::{Banner, Beside, Icon, Mast, Sorted, Span, Waits, starts},
    words::t,
};

/// The list waits for every verdict this long, ms; then it begins with those there are.
const PATIENCE_MS: f64 = 2000.0;
/// Heights of what is in the list, px: fixed, so that rows out of view need not be drawn.
const HEAD: f64 = 40.0;
const PLAIN: f64 = 68.0;
const WITH_USES: f64 = 94.0;

/// Lines drawn beside those in view.
const BESIDE: Beside = Beside { beyond: 8, step: 1 };
/// Lines drawn before the view was measured.
const FIRST: usize = 8;

/// A line of the list.
#[derive(Clone, Debug, PartialEq)]
enum Line {
    Head(Verdict, usize),
    Machine(String, bool),
}

impl Line {
    fn height(&self, scale: f64) -> f64 {
        scale
            * match self {
                Self::Head(..) => HEAD,
                Self::Machine(_, false) => PLAIN,
                Self::Machine(_, true) => WITH_USES,
            }
    }

    fn key(&self) -> String {
        match self {
            Self::Head(verdict, count) => format!("{verdict} {count}"),
            Self::Machine(id, uses) => format!("{id} {uses}"),
        }
    }
}

/// The yard on a phone.
#[component]
pub(super) fn PhoneYard() -> impl IntoView {
    let board: Board = expect_context();
    board.sorted.set(Sorted { by: By::Number, falling: false });
    let (counts, order) = (board.counts(), board.order());
    let waits_since = StoredValue::new(None::<f64>);
    let lines = Memo::new(move |before: Option<&Vec<Line>>| {
        // The order stays where only verdicts change.
        board.judged.track();
        let Counts { all, waiting, .. } = counts.get();
        let now = js_sys::Date::now();
        let since = (waiting > 0).then(|| waits_since.get_value().unwrap_or(now));
        waits_since.set_value(since);
        if board.is_only_named() && waiting == all {
            return order.get().into_iter().map(|id| Line::Machine(id, false)).collect();
        }
        // Groups that are still being filled would push each other under the thumb.
        if since.is_some_and(|since| now - since < PATIENCE_MS) {
            return before.cloned().unwrap_or_default();
        }
        grouped(board, &order.get())
    });
    // The list comes a turn after what frames it.
    let is_framed = RwSignal::new(false);
    spawn_local(async move {
        Pace::begin().turn().await;
        is_framed.try_set(true);
    });
    view! {
        <div class="phone touch">
            <Mast title=t!("yard-today")/>
            <Banner/>
            <main class="ymain">
            <h1 class="vh">{t!("yard-today")}</h1>
            <div class="scroller" role="group" aria-label=t!("filter")><Filters board counts short=true/></div>
            <LastUsed board/>
            {move || if is_framed.get() { view! { <Lines board lines counts/> }.into_any() } else { view! { <div class="ylines"></div> }.into_any() }}
            <Find board/>
            </main>
        </div>
    }
}

/// The list itself: only what is in view is drawn.
#[component]
fn Lines(board: Board, lines: Memo<Vec<Line>>, counts: Memo<Counts>) -> impl IntoView {
    let list = NodeRef::<html::Div>::new();
    let scale = type_scale();
    let span = RwSignal::new(Span { from: 0, to: FIRST });
    // Where one looked last.
    let seen = StoredValue::new(0.0);
    let tops = Memo::new(move |_| lines.with(|lines| starts(lines.iter().map(|line| line.height(scale)))));
    let look = move || {
        // The frame may come when the screen has gone.
        let Some(Some(list)) = list.try_get_untracked() else { return };
        let (top, high) = (f64::from(list.scroll_top()), f64::from(list.client_height()));
        let moved = top - seen.try_update_value(|seen| std::mem::replace(seen, top)).unwrap_or(top);
        let Some(now) = tops.try_with_untracked(|tops| Span::of(tops, (top, top + high), moved, BESIDE)) else {
            return;
        };
        if span.get_untracked() != now {
            span.set(now);
        }
    };
    Effect::new(move || {
        tops.track();
        request_animation_frame(look);
    });
    let visible = move || {
        let span = span.get();
        let visible = lines
            .with(|lines| lines.get(span.from.min(lines.len())..span.to.min(lines.len())).unwrap_or_default().to_vec());
        let ids = visible.iter().filter_map(|line| match line {
            Line::Machine(id, _) => Some(id.clone()),
            Line::Head(..) => None,
        });
        board.looks_at(&ids.collect::<Vec<_>>());
        visible
    };
    let before = move || tops.with(|tops| tops.get(span.get().from).copied().unwrap_or(0.0));
    let after = move || {
        tops.with(|tops| {
            let end = tops.last().copied().unwrap_or(0.0);
            end - tops.get(span.get().to).copied().unwrap_or(end)
        })
    };
    view! {
            <div class="ylines" node_ref=list on:scroll=move |_| look()>
                <div style:height=move || format!("{}px", before())></div>
                <ul class="ylist">
                    <For each=visible key=Line::key let:line>
                        {match line {
                            Line::Head(verdict, count) => view! {
                                <li class="ygrp" style:height=format!("{}px", HEAD * scale)><h2>{todo(verdict)}</h2><span class="cap">{count}</span></li>
                            }.into_any(),
                            Line::Machine(id, uses) => view! { <PhoneRow board id high=(if uses { WITH_USES } else { PLAIN }) * scale/> }.into_any(),
                        }}
                    </For>
                </ul>
                <div style:height=move || format!("{}px", after())></div>
                {move || lines.with(Vec::is_empty).then(|| match counts.get() {
                    Counts { waiting: 1.., .. } => view! { <Waits/> }.into_any(),
                    counts => view! { <p class="sec" role="status">{if counts.all == 0 { t!("no-machines") } else { t!("none-found") }}</p> }.into_any(),
                })}
            </div>
    }
}

/// The machines opened last on this device.
#[component]
fn LastUsed(board: Board) -> impl IntoView {
    let last =
        move || board.machines.with(|there| used().into_iter().filter(|id| there.contains(id)).collect::<Vec<_>>());
    view! {
            {move || {
                let last = last();
                (!last.is_empty()).then(|| view! {
                    <nav class="lastused" aria-label=t!("last-used")>
                        <span class="cap">{t!("last-used")}</span>
                        {last.into_iter().map(|id| view! { <A href=format!("/machines/{id}")>{id.clone()}</A> }).collect_view()}
                    </nav>
                })
            }}
    }
}

/// Search and scan, under the thumb.
#[component]
fn Find(board: Board) -> impl IntoView {
    view! {
            <div class="foot foot--find">
                <label class="find">
                    <Icon name="find" size=22/>
                    <span class="vh">{t!("find-machine")}</span>
                    <input type="search" placeholder=t!("find-hint") bind:value=board.sought/>
                </label>
                <A href="/scan" attr:class="btn btn--primary">{t!("scan")}</A>
            </div>
    }
}

/// Larger type makes taller rows.
fn type_scale() -> f64 {
    let style = document().document_element().and_then(|root| window().get_computed_style(&root).ok().flatten());
    let size = style.and_then(|style| style.get_property_value("font-size").ok());
    let px: Option<f64> = size.and_then(|size| size.trim_end_matches("px").parse().ok());
    (px.unwrap_or(16.0) / 16.0).max(1.0)
}

fn todo(verdict: Verdict) -> String {
    match verdict {
        Verdict::Hold => t!("group-hold"),
        Verdict::Unseen => t!("group-unseen"),
        Verdict::Watch => t!("group-watch"),
        Verdict::Fit => t!("group-fit"),
    }
}

/// The machines under what to do with them; what is not judged yet is unseen.
fn grouped(board: Board, order: &[String]) -> Vec<Line> {
    let one = board.one.get();
    let rows: Vec<(Verdict, String, bool)> = order
        .iter()
        .map(|id| {
            let glance = board.glance(id);
            let verdict = glance.as_ref().and_then(|glance| glance.of(one)).map_or(Verdict::Unseen, |of| of.verdict);
            (verdict, id.clone(), glance.is_some_and(|glance| glance.differs()))
        })
        .collect();
    let mut lines = Vec::new();
    for verdict in [Verdict::Hold, Verdict::Unseen, Verdict::Watch, Verdict::Fit] {
        let group: Vec<Line> = rows
            .iter()
            .filter(|(of, ..)| *of == verdict)
            .map(|(_, id, uses)| Line::Machine(id.clone(), *uses))
            .collect();
        if !group.is_empty() {
            lines.push(Line::Head(verdict, group.len()));
            lines.extend(group);
        }
    }
    lines
}

#[component]
fn PhoneRow(board: Board, id: String, high: f64) -> impl IntoView {
    let (row, href) = (board.row(id.clone()), format!("/machines/{id}"));
    let inside = move || row::of_phone(board, &id, row.get().0.as_deref());
    view! { <li style:height=format!("{high}px")><a href=href inner_html=inside></a></li> }
}
