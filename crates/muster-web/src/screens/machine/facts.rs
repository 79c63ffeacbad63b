//! A machine's plate and what is known of it; what is not known is not there.

use std::sync::Arc;

use leptos::prelude::*;
use leptos_router::components::A;
use muster_core::{
    calendar::Moment,
    check::{DateOf, Yields},
    form::Said,
    judge::{Context, Judgement, Verdict},
    record::machine_state::MachineState,
    state::Station,
    words::Use,
};
use muster_draw::{
    number::{figure_text, with_unit},
    plan::Stop,
    ready::stations,
};
use muster_wire::glance::station_of;

use crate::{
    ui::{StationMap, UseWords, date_text, use_words, verdict_word, when},
    words::t,
    yard::Yard,
};

/// Verdict, uses, stations, facts.
pub(super) fn facts(yard: Yard, context: &Context<'_>, state: &Arc<MachineState>, judgement: &Judgement) -> AnyView {
    let planned = judgement.planned();
    let verdict = planned.map_or(Verdict::Unseen, |of| of.verdict);
    let words = use_words(judgement);
    let differ = words.len() > 1;
    let drawn = planned.map_or([None; 6], |of| stations(of, |check| station_of(context, state, check)));
    let stops = Station::ALL
        .iter()
        .zip(drawn)
        .filter_map(|(station, verdict)| Some((*station, Stop::Done(verdict?))))
        .collect::<Vec<_>>();
    let conditions = planned.map(|of| of.conditions.clone()).unwrap_or_default();
    let known = judgement.known_at.as_deref().and_then(|at| Moment::parse(at).ok()).map(when);
    let out = state.out().next().map(|(_, of)| {
        let riders: Vec<String> = of.released.riders.iter().map(|rider| yard.name(rider.as_str())).collect();
        t!(
            "released-for",
            outing = of.released.outing.as_str(),
            riders = riders.join(", "),
            till = when(of.released.to)
        )
    });
    view! {
        <section class="facts" aria-label=t!("its-plate-here")>
            <p class="cap crumbs"><A href="/">{t!("yard")}</A> " / " {t!("machine")}</p>
            <div class="mhead"><h1 class="bigno">{state.machine.clone()}</h1><span>{judgement.model.clone()}</span></div>
            <div class=format!("plate plate--m {verdict}") role="status">
                <svg class="glyph" width="40" height="40" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
                <div><div class="word">{verdict_word(verdict)}</div>{(!differ).then(|| view! { <span class="cap">{t!("every-use")}</span> })}</div>
                {differ.then(|| view! { <UseWords words size=18/> })}
            </div>
            {(!conditions.is_empty()).then(|| view! { <p class="conditions">{t!("on-condition", what = conditions.join(", "))}</p> })}
            <p class="asknown"><span>{out.unwrap_or_else(|| t!("not-out"))}</span>{known.map(|at| view! { <b>{t!("as-known", at = at)}</b> })}</p>
            <StationMap stops/>
        </section>
    }
    .into_any()
}

/// What is known of it beside its verdict.
pub(super) fn known(yard: Yard, context: &Context<'_>, state: &Arc<MachineState>, _: &Judgement) -> AnyView {
    let rows = rows(yard, context, state).into_iter().map(|(name, value)| view! { <dt>{name}</dt><dd>{value}</dd> });
    view! { <section class="factlist" aria-label=t!("facts")><dl class="kv">{rows.collect_view()}</dl></section> }
        .into_any()
}

fn rows(yard: Yard, context: &Context<'_>, state: &Arc<MachineState>) -> Vec<(String, String)> {
    let (machine, sheet) = (context.machine, context.sheet);
    let odometer = state.odometer().map(|odometer| yard.way(odometer.km()));
    let newest = state.walk_rounds.values().map(|walk_round| &walk_round.form).max_by_key(|form| form.opened);
    let key = newest.and_then(|form| form.key_on_hook).filter(|_| state.out().next().is_none());
    let with = state
        .out()
        .next()
        .map(|(_, of)| of.released.riders.iter().map(|of| yard.name(of.as_str())).collect::<Vec<_>>().join(", "));
    let last = newest
        .map(|form| t!("walked-by", depth = form.depth.as_str(), by = yard.name(&form.by), at = when(form.opened)));
    let one = |name: String, value: Option<String>| value.filter(|value| !value.is_empty()).map(|value| (name, value));
    let mut rows: Vec<(String, String)> = [
        one(t!("odometer"), odometer),
        one(t!("with-whom"), with),
        one(t!("its-key"), key.map(|there| if there { t!("key-there") } else { t!("key-gone") })),
        one(t!("last-walk-round"), last),
        one(t!("last-return"), state.last_return().map(when)),
        one(t!("its-first-use"), machine.traits.first_use.map(date_text)),
        one(t!("its-vin"), machine.vin.clone()),
        one(t!("its-plate"), machine.plate.clone()),
        one(t!("category"), machine.traits.category.clone()),
        one(t!("displacement"), machine.traits.displacement_cc.map(|cc| with_unit(&figure_text(cc, 0), "cm³"))),
        one(t!("power"), sheet.power_kw.map(|kw| with_unit(&figure_text(kw, 1), "kW"))),
        one(t!("handbook"), Some(sheet.handbook.clone())),
    ]
    .into_iter()
    .flatten()
    .collect();
    rows.extend(papers(context, state));
    for change in &machine.modifications {
        rows.push((t!("changed"), change.what.clone()));
    }
    for part in state.parts.values().filter(|part| part.removed.is_none()) {
        let at =
            part.mounted.odometer.clone().or_else(|| part.mounted.on.clone()).unwrap_or_else(|| t!("before-unknown"));
        let marked = part.mounted.marking.as_ref().map(|marking| format!(", {marking}")).unwrap_or_default();
        rows.push((t!("mounted-part", place = part.mounted.place.replace('.', " ")), format!("{at}{marked}")));
    }
    rows
}

/// Papers with the day they run out.
fn papers(context: &Context<'_>, state: &MachineState) -> Vec<(String, String)> {
    let of_paper = |check: &&muster_core::check::Check| matches!(check.yields, Yields::Date(DateOf::Expires));
    let forms = state.forms();
    let checks = context.checks().filter(of_paper);
    let last = checks.filter_map(|check| {
        let living = muster_core::judge::living(check, &forms, Use::Road, context.now).ok()?;
        let given = living.groups.last()?.last()?;
        let Said::Day(day, _) = given.answer.said else { return None };
        Some((check.name.clone(), t!("till-day", day = date_text(day))))
    });
    last.collect()
}
