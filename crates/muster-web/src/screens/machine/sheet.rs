//! A machine's sheet: every limit with its ±, its source and its page; and every check's last answer with when it lapses.

use std::sync::Arc;

use leptos::prelude::*;
use muster_core::{
    check::{Check, Measure, Yields},
    equipment::Holds,
    judge::{Context, Judgement, Outcome, Unanswered},
    limit::Limit,
    quantity::Amount,
    record::{
        lapse::{Lapse, lapses},
        machine_state::MachineState,
    },
    words::{Layer, Use},
};
use muster_draw::{
    draw,
    gauge::authority,
    number::{figure_text, sentence, with_unit},
    ruler::{Ruler, Tone},
};

use crate::{
    ui::{date_text, when},
    words::t,
    yard::Yard,
};

/// Every limit that counts for the planned use.
pub(super) fn sheet(context: &Context<'_>, judgement: &Judgement) -> AnyView {
    let planned = judgement.planned().map_or(Use::Range, |of| of.one);
    let outcomes = judgement.planned().map(|of| of.outcomes.as_slice()).unwrap_or_default();
    let equipment = &context.machine.traits.equipment;
    let applies = |check: &&Check| check.applies.holds(equipment) != Holds::No;
    let rows: Vec<AnyView> = context
        .catalogue
        .checks
        .iter()
        .filter(applies)
        .filter_map(|check| {
            let Yields::Read(measure) = &check.yields else { return None };
            let outcome = outcomes.iter().find(|outcome| outcome.check == check.id);
            row(context, check, measure, planned, outcome)
        })
        .collect();
    let count = rows.len();
    view! {
            <p class="cap">{t!("sheet-for", count = count, one = planned.as_str())}</p>
            <div class="wide" role="region" tabindex="0" aria-label=t!("sheet-of", machine = context.machine.id.as_str())>
                <table class="t">
                    <thead><tr>
                        <th scope="col">{t!("check")}</th><th scope="col" class="n">{t!("new-or-set")}</th><th scope="col" class="n">{t!("limit")}</th>
                        <th scope="col" class="n">{t!("plus-minus")}</th><th scope="col">{t!("source")}</th><th scope="col">{t!("new-to-limit")}</th>
                    </tr></thead>
                    <tbody>{rows.into_iter().collect_view()}</tbody>
                </table>
            </div>
    }
    .into_any()
}

fn row(
    context: &Context<'_>,
    check: &Check,
    measure: &Measure,
    one: Use,
    outcome: Option<&Outcome>,
) -> Option<AnyView> {
    let counting = context.limits(check, one);
    let shown = context.shown(measure);
    let text = |amount: Amount| shown.text(amount.value(), amount.unit());
    let begins = counting.target.and_then(|row| row.target).or(counting.new).map(text).unwrap_or_default();
    let bound = |row: &&Limit| match (row.at_least, row.at_most) {
        (Some(low), Some(high)) => Some(format!("{} – {}", shown.figure(low.value(), low.unit()), text(high))),
        (Some(low), None) => Some(format!("≥ {}", text(low))),
        (None, Some(high)) => Some(format!("≤ {}", text(high))),
        (None, None) => None,
    };
    let bounds: Vec<(String, &Limit)> = counting.bounds.iter().filter_map(|row| Some((bound(row)?, *row))).collect();
    if bounds.is_empty() && begins.is_empty() {
        return None;
    }
    let limits = bounds.iter().map(|(text, _)| view! { <div class="lim"><b>{text.clone()}</b></div> }).collect_view();
    let sources = bounds.iter().map(|(_, row)| {
        let (tag, line) = tag(row.layer);
        view! { <div class="lim"><span class=format!("src src--{line}")>{tag}</span> " " <span class="cap">{row.provenance.to_string()}</span></div> }
    });
    let sources = sources.collect_view();
    let figure = outcome.and_then(|outcome| Some((outcome, outcome.figure.as_ref()?)));
    let u = figure.map(|(_, figure)| {
        format!("±{}", with_unit(&figure_text(figure.expanded_u, figure.decimals.max(1)), figure.unit))
    });
    let ruler =
        figure.and_then(|(outcome, figure)| Ruler::of(figure, Tone::Judged(outcome.verdict), authority(outcome).0));
    let ruler = ruler.map_or_else(|| draw::unseen().to_owned(), |ruler| draw::mini(&ruler));
    Some(
        view! {
            <tr>
                <th scope="row">{check.name.clone()}</th><td class="n dim" data-of=t!("new-or-set")>{begins}</td>
                <td class="n" data-of=t!("limit")>{limits}</td><td class="n dim">{u}</td><td class="from">{sources}</td><td><span class="mini" inner_html=ruler></span></td>
            </tr>
        }
        .into_any(),
    )
}

/// A layer's word and the line of its tag: the line weakens with the authority.
fn tag(layer: Layer) -> (String, &'static str) {
    match layer {
        Layer::Law => (t!("layer-law"), "law"),
        Layer::Sheet => (t!("layer-sheet"), "book"),
        Layer::Marking => (t!("layer-marking"), "machine"),
        Layer::Machine => (t!("layer-machine"), "machine"),
        Layer::House => (t!("layer-house"), "book"),
        Layer::Practice => (t!("layer-practice"), "practice"),
    }
}

/// Every check's last answer, and when it lapses for the planned use.
pub(super) fn answers(yard: Yard, context: &Context<'_>, state: &Arc<MachineState>, judgement: &Judgement) -> AnyView {
    let planned = judgement.planned().map_or(Use::Range, |of| of.one);
    let rows = lapses(context, state, planned).into_iter().map(|lapse| answer(yard, lapse)).collect_view();
    view! {
            <p class="cap">{t!("for-use", one = planned.as_str())}</p>
            <div class="wide" role="region" tabindex="0" aria-label=t!("last-answers")>
                <table class="t">
                    <thead><tr><th scope="col">{t!("check")}</th><th scope="col">{t!("answered")}</th><th scope="col">{t!("counts")}</th><th scope="col">{t!("lapses")}</th></tr></thead>
                    <tbody>{rows}</tbody>
                </table>
            </div>
    }
    .into_any()
}

fn answer(yard: Yard, lapse: Lapse<'_>) -> AnyView {
    let name = lapse.check.name.clone();
    let (answered, counts, ends) = match lapse.last {
        Ok(last) => {
            let day = last.expires.or(last.until).map(|day| t!("after-day", day = date_text(day)));
            let km = last.left_km.map(|km| t!("in-way", way = yard.way(km.max(0.0))));
            let ends: Vec<String> = day.into_iter().chain(km).collect();
            let ends = if ends.is_empty() { t!("with-outing") } else { ends.join(", ") };
            (t!("seen-by", by = yard.name(&last.by), at = when(last.on)), last.counts, ends)
        }
        Err(Unanswered::Never) => (t!("never"), String::new(), t!("to-do")),
        Err(Unanswered::CouldNotSee(why)) => {
            (sentence(&t!("its-could-not-see", why = why)), String::new(), t!("to-do"))
        }
        Err(Unanswered::Lapsed(how)) => (sentence(&how), String::new(), t!("to-do")),
    };
    view! { <tr><th scope="row">{name}</th><td>{answered}</td><td class="dim">{counts}</td><td data-of=t!("lapses")>{ends}</td></tr> }
        .into_any()
}
