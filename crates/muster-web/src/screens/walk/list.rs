//! All checks of a walk-round, with how each stands: to jump to one.

use leptos::prelude::*;
use muster_core::state::Station;

use super::{
    course::{Course, Standing, standing},
    head::said,
    walking::{END, Sheet, Walking},
};
use crate::{
    ui::{StationMap, station_name, verdict_word},
    words::t,
};

/// All checks.
#[component]
pub(super) fn ListSheet(walking: Walking) -> impl IntoView {
    let jump = move |check: &str| {
        walking.sheet.set(Sheet::None);
        walking.go_to(check);
    };
    view! {
        <main>
            <section class="sec"><h1 class="list-h">{t!("all-checks")}</h1></section>
            <Checks walking jump=UnsyncCallback::new(move |check: String| jump(&check)) left_alone=false/>
        </main>
        <footer class="foot foot--two">
            <button class="btn" on:click=move |_| walking.sheet.set(Sheet::None)>{t!("back-to-check")}</button>
            <button class="btn btn--primary btn--lg" on:click=move |_| jump(END)>{t!("to-the-end")}</button>
        </footer>
    }
}

/// The checks by station, in the order they are walked.
#[component]
pub(super) fn Checks(
    walking: Walking,
    jump: UnsyncCallback<String>,
    /// Only what is left.
    left_alone: bool,
) -> impl IntoView {
    let rows = move || {
        let (about, course) = (walking.about()?, walking.course()?);
        let of = |check: &str| standing(&about, walking.walk, check);
        let here = course.find(&walking.check()).map(|(_, step)| step.station);
        let stops = course.stops(of);
        let mut out = Vec::new();
        let mut last: Option<Station> = None;
        for step in &course.steps {
            let standing = of(&step.check);
            if left_alone && matches!(standing, Standing::Answered(_)) {
                continue;
            }
            if last != Some(step.station) {
                last = Some(step.station);
                out.push(view! { <li class="grp"><h2>{station_name(step.station)}</h2></li> }.into_any());
            }
            let answer = about.answers(walking.walk, &step.check).next_back().map(|(_, answer)| said(answer));
            let (id, name) = (step.check.clone(), step.name.clone());
            out.push(view! {
                <li><button class="crow" on:click=move |_| jump.run(id.clone())>{mark(standing)}<span class="nm">{name}</span><span class="cap">{answer}</span></button></li>
            }.into_any());
        }
        let deferred = deferred(&course);
        let map = (!left_alone).then(|| view! { <div class="sec"><StationMap stops here/></div> });
        Some(view! { {map}<ul class="clist">{out}</ul>{deferred} })
    };
    view! { {rows} }
}

/// What cannot be looked at in the state found.
fn deferred(course: &Course) -> impl IntoView + use<> {
    let rows: Vec<_> = course
        .deferred
        .iter()
        .map(|(name, why)| view! { <li><b>{name.clone()}</b><span>{why.clone()}</span></li> })
        .collect();
    (!rows.is_empty()).then(|| view! {
        <section class="sec"><div class="sec-h"><h2>{t!("not-now-checks")}</h2></div><ul class="deferred">{rows}</ul></section>
    })
}

fn mark(standing: Standing) -> impl IntoView {
    match standing {
        Standing::ToCome => view! { <span class="mark"><i class="todo"></i><span class="vh">{t!("to-come")}</span></span> }.into_any(),
        Standing::ToSet => view! { <span class="mark"><svg class="icon" width="20" height="20" aria-hidden="true"><use href="#i-set"></use></svg><span class="vh">{t!("still-to-set")}</span></span> }.into_any(),
        Standing::Answered(verdict) => view! {
            <span class="mark"><svg class="glyph" width="20" height="20" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg><span class="vh">{verdict_word(verdict)}</span></span>
        }.into_any(),
    }
}
