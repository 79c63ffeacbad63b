//! The last leg: what is left, and the closing; from there to the verdict.

use leptos::prelude::*;
use muster_core::record::payload::WalkRoundClosed;

use super::{
    course::{Standing, standing},
    head::Foot,
    list::Checks,
    walking::Walking,
};
use crate::words::t;

/// The end of a walk-round.
#[component]
pub(super) fn End(walking: Walking) -> impl IntoView {
    let counts = Memo::new(move |_| {
        let (about, course) = (walking.about()?, walking.course()?);
        let of = |step: &super::course::Step| standing(&about, walking.walk, &step.check);
        let left = course.steps.iter().filter(|step| !matches!(of(step), Standing::Answered(_))).count();
        Some((left, course.steps.len()))
    });
    let close = move |_| {
        let payload = WalkRoundClosed { machine: walking.machine(), walk_round: walking.walk };
        walking.write(payload, move |_| walking.go(&format!("/machines/{}/summary", walking.machine())));
    };
    let says = move || match counts.get() {
        Some((0, all)) => t!("all-seen", all = all),
        Some((left, all)) => t!("some-left", left = left, all = all),
        None => String::new(),
    };
    let jump = UnsyncCallback::new(move |check: String| walking.go_to(&check));
    let label = move || {
        if counts.get().is_some_and(|(left, _)| left > 0) { t!("close-all-the-same") } else { t!("close-walk") }
    };
    view! {
        <main tabindex="0">
            <section class="check"><h1 tabindex="-1">{t!("walk-end")}</h1><p class="method">{says}</p></section>
            <Checks walking jump left_alone=true/>
        </main>
        <section class="dock" aria-label=t!("answer-and-go-on")>
            <Foot walking><button class="btn btn--primary btn--lg btn--wrap" on:click=close>{label}</button></Foot>
        </section>
    }
}
