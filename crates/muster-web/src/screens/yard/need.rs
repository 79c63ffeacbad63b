//! Tomorrow's need: each outing's bays, filled with what may go, and how many are short.

use leptos::prelude::*;
use leptos_router::components::A;
use muster_core::judge::Verdict;

use super::{
    board::Board,
    glance::Glance,
    plans::{Filled, Need},
};
use crate::{
    ui::{Ready, clock_of},
    words::t,
};

/// Bays drawn at most: more are said.
const BAYS: usize = 12;
/// Spare machines named at most.
const SPARE: usize = 3;

/// The outings of the next day against what is fit for them.
#[component]
pub(super) fn NeedStrip(
    /// The rows.
    board: Board,
) -> impl IntoView {
    let counts = board.counts();
    move || {
        // Filled anew as machines are judged.
        counts.track();
        let needs = board.plans.with(|plans| plans.tomorrow.clone());
        if needs.is_empty() {
            return view! { <p class="strip strip--none cap">{t!("tomorrow-none")}</p> }.into_any();
        }
        let machines = board.machines.get();
        let mut taken: Vec<String> = needs.iter().flat_map(|need| need.given.iter().cloned()).collect();
        let strips = needs.into_iter().map(|need| {
            let filled = need.filled(&machines, &taken);
            taken.extend(filled.bays.iter().map(|(id, _)| id.clone()));
            strip(&need, filled)
        });
        strips.collect_view().into_any()
    }
}

fn strip(need: &Need, filled: Filled) -> impl IntoView + use<> {
    let count = |of: Verdict| filled.bays.iter().filter(|(_, verdict)| *verdict == of).count();
    let stopped = count(Verdict::Hold) + count(Verdict::Unseen);
    let mut says = vec![t!("need-fit", count = count(Verdict::Fit))];
    let parts = [
        (count(Verdict::Watch), t!("need-watch", count = count(Verdict::Watch))),
        (stopped, t!("need-stopped", count = stopped)),
        (filled.short, t!("need-short", count = filled.short)),
    ];
    says.extend(parts.into_iter().filter(|(count, _)| *count > 0).map(|(_, text)| text));
    let spare = filled.spare.iter().take(SPARE.min(filled.short)).cloned().collect::<Vec<_>>().join(", ");
    let could = (!spare.is_empty()).then(|| t!("need-spare", machines = spare));
    let uses = need.uses.iter().map(|one| one.as_str()).collect::<Vec<_>>().join(", ");
    let label = t!("need-head", at = clock_of(need.from), name = need.name.as_str(), count = need.wanted);
    let drawn = filled.bays.len().min(if filled.short > 0 { BAYS - 1 } else { BAYS });
    let beyond = filled.bays.len() - drawn;
    let bays = filled.bays.into_iter().take(drawn).map(|(id, verdict)| {
        let stations = Glance::kept(&id).map(|glance| glance.of(None).map_or([None; 6], |of| of.stations));
        view! {
            <li>
                <Ready stations=stations.unwrap_or_default() width=54/>
                <A href=format!("/machines/{id}")>
                    <svg class="glyph" width="14" height="14" role="img" aria-label=verdict.as_str()><use href=format!("#g-{verdict}")></use></svg>
                    {id.clone()}
                </A>
            </li>
        }
    });
    let gap = (filled.short > 0)
        .then(|| view! { <li class="gap"><span>{t!("bays-short", count = filled.short)}</span></li> });
    view! {
        <section class="strip" aria-label=label.clone()>
            <div class="lead">
                <h2>{label.clone()}</h2>
                <p class="cap">{format!("{uses}: {}", says.join(", "))} ". " {could}</p>
            </div>
            <ol class="bays">{bays.collect_view()} {gap}</ol>
            {(beyond > 0).then(|| view! { <span class="cap">{t!("bays-more", count = beyond)}</span> })}
        </section>
    }
}
