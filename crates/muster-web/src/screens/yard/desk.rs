//! The yard on a desk: one row a machine, only those in view drawn, sorted by any head, moved through by keys.

use std::{collections::BTreeMap, time::Duration};

use leptos::{html, leptos_dom::helpers::TimeoutHandle, prelude::*, task::spawn_local};
use leptos_router::{NavigateOptions, hooks::use_navigate};
use muster_core::{calendar::days_between, words::Use};
use wasm_bindgen::JsCast;

use super::{
    Filters,
    board::{Board, By, Counts, RunsOut},
    need::NeedStrip,
    row,
};
use crate::{
    pace::Pace,
    ui::{Banner, Beside, Icon, Mast, SortHead, Sorted, Span, date_text, month_text, starts},
    words::t,
};

/// A row's height before one was measured, px: larger type makes them taller.
const ROW: f64 = 27.0;
/// Rows drawn this much otherwise than was measured, px, are measured anew.
const HEIGHT_PX: f64 = 0.01;
/// So long after it was last moved the page stands still.
const STILL: Duration = Duration::from_millis(150);
/// Rows drawn before the view was measured.
const FIRST: usize = 24;
/// Rows drawn beside those in view; few at a time, as each costs its frame as much as any other.
const BESIDE: Beside = Beside { beyond: 4, step: 2 };
/// Columns of the table.
const COLUMNS: &str = "11";
/// Rows a page key moves by.
const PAGE: usize = 20;

/// The yard on a desk.
#[component]
pub(crate) fn DeskYard() -> impl IntoView {
    let board: Board = expect_context();
    let (counts, order) = (board.counts(), board.order());
    let search = NodeRef::<html::Input>::new();
    let body = NodeRef::<html::Tbody>::new();
    let height = RwSignal::new(ROW);
    let span = rows_in_view(body, order, height);
    let at = RwSignal::new(0_usize);
    slash_searches(search);
    let keys = move |event: leptos::ev::KeyboardEvent| {
        let last = order.with_untracked(Vec::len).saturating_sub(1);
        let Some(to) = moved(&event.key(), at.get_untracked().min(last), last) else { return };
        event.prevent_default();
        at.set(to);
        go_to(body, order, to, height);
    };
    let navigate = use_navigate();
    // A row is its link as a whole.
    let open = move |event: leptos::ev::MouseEvent| {
        let near = |of: &web_sys::Element, what: &str| of.closest(what).ok().flatten();
        let target = event.target().and_then(|of| of.dyn_into::<web_sys::Element>().ok());
        let row = target.filter(|of| near(of, "a").is_none()).and_then(|of| near(&of, "tr.row"));
        let link = row.and_then(|row| row.query_selector("a").ok().flatten());
        if let Some(href) = link.and_then(|link| link.get_attribute("href")) {
            navigate(&href, NavigateOptions::default());
        }
    };
    reach(body, span, at, board);
    let reached = move |event: leptos::ev::FocusEvent| {
        let target = event.target().and_then(|of| of.dyn_into::<web_sys::Element>().ok());
        let row = target.and_then(|of| of.closest("tr.row").ok().flatten());
        let index = row.and_then(|row| row.get_attribute("aria-rowindex")?.parse::<usize>().ok());
        if let Some(place) = index.and_then(|index| index.checked_sub(2)) {
            at.set(place);
        }
    };
    let visible = move || {
        let span = span.get();
        let ids: Vec<String> =
            order.with(|order| order.get(span.from..span.to.min(order.len())).unwrap_or_default().to_vec());
        board.looks_at(&ids);
        (span.from..).zip(ids).collect::<Vec<_>>()
    };
    let rows = move |count: usize| f64::from(u32::try_from(count).unwrap_or(0)) * height.get();
    let before = Memo::new(move |_| rows(span.get().from));
    let after = Memo::new(move |_| rows(order.with(Vec::len).saturating_sub(span.get().to)));
    view! {
        <div class="desk">
            <Mast/>
            <Banner/>
            <main>
                <Head board counts search go=Callback::new(move |()| { at.set(0); go_to(body, order, 0, height); })/>
                <NeedStrip board/>
                <table class="t yard" aria-rowcount=move || (order.with(Vec::len) + 1).to_string() on:keydown=keys>
                    <caption class="vh">{t!("yard-caption")}</caption>
                    <Heads board/>
                    <tbody node_ref=body on:click=open on:focusin=reached>
                        <tr class="gaprow" aria-hidden="true" hidden=move || before.get() == 0.0><td colspan=COLUMNS style:height=move || format!("{}px", before.get())></td></tr>
                        <For each=visible key=|row: &(usize, String)| row.clone() let((place, id))>
                            <DeskRow board place id/>
                        </For>
                        <tr class="gaprow" aria-hidden="true" hidden=move || after.get() == 0.0><td colspan=COLUMNS style:height=move || format!("{}px", after.get())></td></tr>
                    </tbody>
                </table>
                <Tail board order counts/>
            </main>
        </div>
    }
}

/// What is shown: filters, the use, the search; `go` leads from the search into what it found.
#[component]
fn Head(board: Board, counts: Memo<Counts>, search: NodeRef<html::Input>, go: Callback<()>) -> impl IntoView {
    // From the search down into what it found.
    let from_search = move |event: leptos::ev::KeyboardEvent| match event.key().as_str() {
        "ArrowDown" | "Enter" => {
            event.prevent_default();
            go.run(());
        }
        "Escape" => board.sought.set(String::new()),
        _ => {}
    };
    view! {
                <div class="head head--yard">
                    <h1>{t!("yard-today")}</h1>
                    <div class="chips" role="group" aria-label=t!("filter")><Filters board counts/></div>
                    <ByUse board/>
                    <label class="find">
                        <Icon name="find" size=18/>
                        <span class="vh">{t!("find-machine")}</span>
                        <input type="search" placeholder=t!("find-hint") node_ref=search on:keydown=from_search bind:value=board.sought/>
                    </label>
                </div>
    }
}

/// Where a key moves from a row; none for a key that moves nowhere.
fn moved(key: &str, now: usize, last: usize) -> Option<usize> {
    let to = match key {
        "ArrowDown" => now + 1,
        "ArrowUp" => now.saturating_sub(1),
        "PageDown" => now + PAGE,
        "PageUp" => now.saturating_sub(PAGE),
        "Home" => 0,
        "End" => last,
        _ => return None,
    };
    Some(to.min(last))
}

/// The slash key goes to the search, but where somebody types.
fn slash_searches(search: NodeRef<html::Input>) {
    let heard = window_event_listener(leptos::ev::keydown, move |event| {
        let typing = document()
            .active_element()
            .is_some_and(|of| matches!(of.tag_name().as_str(), "INPUT" | "TEXTAREA" | "SELECT"));
        if event.key() == "/"
            && !typing
            && !event.ctrl_key()
            && !event.meta_key()
            && let Some(search) = search.get_untracked()
        {
            event.prevent_default();
            let _ = search.focus();
        }
    });
    on_cleanup(move || heard.remove());
}

/// The heads, each of which sorts.
#[component]
fn Heads(board: Board) -> impl IntoView {
    view! {
                    <thead><tr aria-rowindex="1">
                        <SortHead by=By::Number sorted=board.sorted words=t!("col-number")/>
                        <SortHead by=By::Model sorted=board.sorted words=t!("col-model")/>
                        <SortHead by=By::Verdict sorted=board.sorted words=t!("col-verdict")/>
                        <SortHead by=By::Stations sorted=board.sorted words=t!("col-stations")/>
                        <SortHead by=By::Check sorted=board.sorted words=t!("col-check")/>
                        <SortHead by=By::Margin sorted=board.sorted words=t!("col-margin") class="n margin"/>
                        <SortHead by=By::Due sorted=board.sorted words=t!("col-due")><RunsOutFirst board/></SortHead>
                        <SortHead by=By::Who sorted=board.sorted words=t!("col-who")/>
                        <SortHead by=By::Next sorted=board.sorted words=t!("col-next") class="opt-col"/>
                        <SortHead by=By::Jobs sorted=board.sorted words=t!("col-jobs") class="n"/>
                        <SortHead by=By::Tags sorted=board.sorted words=t!("col-tags") class="n"/>
                    </tr></thead>
    }
}

/// What is said where nothing is found, and while some are still judged.
#[component]
fn Tail(board: Board, order: Memo<Vec<String>>, counts: Memo<Counts>) -> impl IntoView {
    view! {
                {move || order.with(Vec::is_empty).then(|| view! {
                    <p class="none" role="status">
                        <span>{if counts.get().all == 0 { t!("no-machines") } else { t!("none-found") }}</span>
                        <button class="btn btn--sm" on:click=move |_| { board.sought.set(String::new()); board.shown.set(super::Shown::All); }>{t!("show-all")}</button>
                    </p>
                })}
                <p class="cap counted" role="status">{move || { let counts = counts.get(); (counts.waiting > 0).then(|| t!("judging", left = counts.waiting)) }}</p>
    }
}

/// By which use the verdicts are shown.
#[component]
fn ByUse(board: Board) -> impl IntoView {
    let one = move |one: Option<Use>| {
        let words = one.map_or_else(|| t!("as-planned"), |one| one.to_string());
        view! { <button aria-pressed=move || (board.one.get() == one).to_string() on:click=move |_| board.one.set(one)>{words}</button> }
    };
    let uses = std::iter::once(None).chain(Use::ALL.iter().copied().map(Some));
    view! { <div class="seg seg--sm" role="group" aria-label=t!("by-use")>{uses.map(one).collect_view()}</div> }
}

/// Sorts by what runs out first, which then stands in the column of what is due.
#[component]
fn RunsOutFirst(board: Board) -> impl IntoView {
    let is_on = Memo::new(move |_| board.sorted.get().by == By::RunsOut);
    let turn = move |_| {
        let by = if is_on.get_untracked() { By::Number } else { By::RunsOut };
        board.sorted.set(Sorted { by, falling: false });
    };
    Effect::new(move || {
        if !is_on.get() {
            if !board.runs_out.with_untracked(|all| all.is_empty()) {
                board.runs_out.set(RunsOut::default());
            }
            return;
        }
        let ids = board.machines.get();
        board.yard.estimated();
        spawn_local(async move {
            let (pace, mut found) = (Pace::begin(), BTreeMap::new());
            for id in ids.iter() {
                found.insert(id.clone(), untrack(|| runs_out(board, id)));
                pace.rest().await;
            }
            if is_on.try_get_untracked() == Some(true) {
                board.runs_out.set(RunsOut::new(found));
            }
        });
    });
    view! { <button class="sort sort--wear" class:is-on=is_on aria-pressed=move || is_on.get().to_string() aria-label=t!("runs-out-first") on:click=turn>{t!("runs-out-short")}</button> }
}

/// Further ahead a month is said, not a day.
const DAYS_SAID: f64 = 60.0;

/// What runs out first on a machine: how many days off, and in words.
fn runs_out(board: Board, id: &str) -> (f64, String) {
    let all = board.yard.foretold(id, Use::Road, |coming| {
        let on = coming.half_day();
        let days = on.map_or(f64::INFINITY, |on| days_between(coming.today, on) as f64);
        (days, coming.forecast.known.name.clone(), on)
    });
    let first = all.into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
    // Near, the day counts; later no day is known well enough to be said.
    let day = |days: f64, on| if days < DAYS_SAID { date_text(on) } else { month_text(on) };
    let told = first.and_then(|(days, what, on)| Some((days, t!("runs-out", what = what, day = day(days, on?)))));
    told.unwrap_or_else(|| (f64::INFINITY, t!("runs-out-never")))
}

/// A row at its place in the order; at another place it is another row.
#[component]
fn DeskRow(board: Board, place: usize, id: String) -> impl IntoView {
    let row = board.row(id.clone());
    let cells = move || row::of_desk(board, &id, row.get().0.as_deref());
    view! { <tr class="row" aria-rowindex=(place + 2).to_string() inner_html=cells></tr> }
}

/// One row is reached by the tab key; arrows move from there.
fn reach(body: NodeRef<html::Tbody>, span: RwSignal<Span>, at: RwSignal<usize>, board: Board) {
    Effect::new(move || {
        let (span, at) = (span.get(), at.get());
        // A row that is judged is drawn anew.
        board.judged.track();
        let Some(body) = body.get() else { return };
        let place = at.clamp(span.from, span.to.max(span.from + 1) - 1);
        // When the rows of now are there.
        request_animation_frame(move || {
            let find = |what: &str| body.query_selector(what).ok().flatten();
            let here = find(&format!("[aria-rowindex=\"{}\"] a", place + 2));
            let before = find("a[tabindex=\"0\"]");
            // An attribute of ours that a browser does not take is none.
            before.filter(|of| Some(of) != here.as_ref()).inspect(|of| _ = of.set_attribute("tabindex", "-1"));
            here.inspect(|of| _ = of.set_attribute("tabindex", "0"));
        });
    });
}

/// Which rows are in view, by how far the page is scrolled.
fn rows_in_view(body: NodeRef<html::Tbody>, order: Memo<Vec<String>>, height: RwSignal<f64>) -> RwSignal<Span> {
    let span = RwSignal::new(Span { from: 0, to: FIRST });
    // Where one looked last.
    let seen = StoredValue::new(0.0);
    let look = move || {
        // The frame may come when the screen has gone.
        let Some(Some(body)) = body.try_get_untracked() else { return };
        let rows = order.with_untracked(Vec::len);
        let starts = starts(std::iter::repeat_n(height.get_untracked(), rows));
        let top = -body.get_bounding_client_rect().top();
        let high = window().inner_height().ok().and_then(|height| height.as_f64()).unwrap_or(900.0);
        let moved = top - seen.try_update_value(|seen| std::mem::replace(seen, top)).unwrap_or(top);
        let now = Span::of(&starts, (top, top + high), moved, BESIDE);
        if span.get_untracked() != now {
            span.set(now);
        }
    };
    let frozen = StoredValue::new_local(None::<TimeoutHandle>);
    let scrolled = window_event_listener(leptos::ev::scroll, move |_| {
        hold_columns(body, height.get_untracked(), frozen);
        look();
    });
    // Larger type makes taller rows; to ask while one scrolls would lay the page out at every row.
    let measure = move || {
        let is_other = |drawn: &f64| height.try_get_untracked().is_some_and(|now| (now - *drawn).abs() > HEIGHT_PX);
        if let Some(drawn) = row_height().filter(is_other) {
            height.set(drawn);
        }
        look();
    };
    let resized = window_event_listener(leptos::ev::resize, move |_| measure());
    on_cleanup(move || {
        scrolled.remove();
        resized.remove();
        frozen.try_update_value(Option::take).flatten().inspect(TimeoutHandle::clear);
    });
    Effect::new(move || {
        order.track();
        request_animation_frame(measure);
    });
    span
}

/// Keeps the columns as wide as they are while one scrolls: they stand still under the eye, and each row is laid out by
/// itself (`is-held` in desk.css), so that one that comes has no other weighed anew. At rest they fit what is in them again.
fn hold_columns(body: NodeRef<html::Tbody>, height: f64, frozen: StoredValue<Option<TimeoutHandle>, LocalStorage>) {
    let Some(Some(body)) = body.try_get_untracked() else { return };
    let Some(table) = body.parent_element().and_then(|table| table.dyn_into::<web_sys::HtmlElement>().ok()) else {
        return;
    };
    match frozen.try_update_value(Option::take).flatten() {
        Some(still) => still.clear(),
        None => {
            // A table that cannot be held is weighed as before.
            let _ = table.style().set_property("--columns", &columns(&table));
            let _ = table.style().set_property("--high", &format!("{height}px"));
            let _ = table.class_list().add_1("is-held");
        }
    }
    let rest = move || {
        frozen.try_update_value(Option::take);
        let _ = table.class_list().remove_1("is-held");
    };
    let still = set_timeout_with_handle(rest, STILL).ok();
    frozen.try_update_value(|frozen| *frozen = still);
}

/// How wide the columns are that are shown, as tracks of a grid.
fn columns(table: &web_sys::HtmlElement) -> String {
    let first = table.query_selector("thead th").ok().flatten();
    let heads = std::iter::successors(first, web_sys::Element::next_element_sibling);
    let wide = heads.map(|head| head.get_bounding_client_rect().width()).filter(|wide| *wide > 0.0);
    wide.map(|wide| format!("{wide}px ")).collect()
}

/// A row's height as it is drawn; none before one is.
fn row_height() -> Option<f64> {
    let drawn = document().query_selector(".yard tr.row").ok().flatten();
    drawn.map(|row| row.get_bounding_client_rect().height()).filter(|height| *height > 10.0)
}

/// Brings a row into view and puts the focus there.
fn go_to(body: NodeRef<html::Tbody>, order: Memo<Vec<String>>, place: usize, height: RwSignal<f64>) {
    let Some(id) = order.with_untracked(|order| order.get(place).cloned()) else { return };
    if let Some(body) = body.get_untracked() {
        let height = height.get_untracked();
        let top = body.get_bounding_client_rect().top() + f64::from(u32::try_from(place).unwrap_or(0)) * height;
        let high = window().inner_height().ok().and_then(|height| height.as_f64()).unwrap_or(900.0);
        let by = if top < 60.0 { top - 60.0 } else { (top + 2.0 * height - high).max(0.0) };
        window().scroll_by_with_x_and_y(0.0, by);
    }
    // Drawn in the next frame, if it was not.
    request_animation_frame(move || {
        request_animation_frame(move || {
            if let Some(link) = document().get_element_by_id(&format!("row-{id}")) {
                let _ = JsCast::unchecked_into::<web_sys::HtmlElement>(link).focus();
            }
        });
    });
}
