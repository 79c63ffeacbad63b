//! What stops a machine and what was read on it, worst first, each reading as a ruler; and charts over the distance.

use std::collections::BTreeMap;

use leptos::prelude::*;
use muster_core::{
    check::Yields,
    judge::{Context, Judgement, Outcome, PlaceFigure, Verdict, coming},
    limit::Limit,
    quantity::{Distance, Unit, convert},
    record::machine_state::MachineState,
    words::Use,
};
use muster_draw::{
    chart::{Chart, Point},
    gauge::{authority, gauge_ahead},
    merge::{Merged, is_to_set, unfit},
    number::sentence,
    ruler::{Ruler, Tone},
};
use muster_wire::{
    latest::CheckLatest,
    readings::{CheckReadings, ReadingsView},
};

use super::{
    ahead::Foretold,
    asked::{Asked, Door, carried_only},
    turns::{READINGS, Taken, Turns},
};
use crate::{
    ui::{Drawn, day_text, fold, when_text},
    words::t,
    yard::Yard,
};

/// Every reason it is not fit for a use, worst first; what was measured has its ruler among the readings.
pub(super) fn reasons(yard: Yard, judgement: &Judgement) -> AnyView {
    let planned = judgement.planned().map_or(Use::Range, |of| of.one);
    let all = unfit(judgement, planned);
    let (bare, told): (Vec<&Merged<'_>>, Vec<&Merged<'_>>) = all.iter().partition(|merged| merged.is_bare());
    let differ = |merged: &Merged<'_>| merged.uses.len() < Use::ALL.len();
    let reasons = told.into_iter().map(|merged| {
        let outcome = merged.outcome;
        let uses = differ(merged).then(|| merged.uses.iter().map(|one| one.as_str()).collect::<Vec<_>>().join(", "));
        let name = if outcome.check.starts_with("finding.") { t!("its-finding") } else { outcome.name.clone() };
        view! {
            <article class="reason">
                <svg class="glyph" width="24" height="24" role="img" aria-label=outcome.verdict.as_str()><use href=format!("#g-{}", outcome.verdict)></use></svg>
                <div>
                    <h3>{uses.map(|uses| format!("{uses}: "))} {name}</h3>
                    <p>{sentence(&yard.said(&outcome.reason))}</p>
                    {merged.todo().map(|todo| view! { <p class="todo">{sentence(&yard.said(&todo))}</p> })}
                    {by_whom(yard, outcome)}
                </div>
            </article>
        }
    });
    let reasons = reasons.collect_view();
    let mut names: Vec<String> = bare.iter().map(|merged| merged.outcome.name.clone()).collect();
    names.dedup();
    let count = names.len();
    let unlooked = (count > 0).then(|| {
        view! {
            <article class="reason">
                <svg class="glyph" width="24" height="24" role="img" aria-label=t!("unseen")><use href="#g-unseen"></use></svg>
                <details><summary><b>{t!("not-looked", count = count)}</b></summary><p>{names.join(", ")}</p></details>
            </article>
        }
    });
    let none = all.is_empty().then(|| view! { <p class="nothing cap">{t!("nothing-stops")}</p> });
    view! {
        <div class="rulehead"><h2>{t!("what-stops")}</h2><span class="cap">{t!("worst-first")}</span></div>
        <div class="reasons">{none}{reasons}{unlooked}</div>
    }
    .into_any()
}

fn by_whom(yard: Yard, outcome: &Outcome) -> Option<AnyView> {
    let (by, at) = outcome.by.as_deref().zip(outcome.at.as_deref())?;
    Some(view! { <p class="cap">{t!("seen-by", by = yard.name(by), at = when_text(at))}</p> }.into_any())
}

/// Readings shown in one column, unless more are not fit; the rest is a touch away.
const SHOWN: usize = 4;

/// Every reading against its limits, worst first, with its chart where more than one is known.
pub(super) fn readings(
    (yard, door): (Yard, Door),
    context: &Context<'_>,
    (state, judgement): (&MachineState, &Judgement),
    known: Taken,
    turns: Turns,
) -> AnyView {
    let km = state.odometer().map(Distance::km);
    let planned = judgement.planned().map_or(Use::Range, |of| of.one);
    let mut worst: BTreeMap<&str, &Outcome> = BTreeMap::new();
    let first = judgement.uses.iter().filter(|of| of.one == planned);
    let others = judgement.uses.iter().filter(|of| of.one != planned);
    for outcome in first.chain(others).flat_map(|of| &of.outcomes).filter(|of| of.figure.is_some()) {
        let kept = worst.entry(&outcome.check).or_insert(outcome);
        if outcome.verdict > kept.verdict {
            *kept = outcome;
        }
    }
    let foretold: Vec<Foretold> =
        coming(context, &state.forms(), planned).iter().map(|coming| Foretold::of(yard, coming, km)).collect();
    let estimated = yard.estimated().filter(|_| !foretold.is_empty());
    let mut outcomes: Vec<&Outcome> = worst.into_values().collect();
    outcomes.sort_by(|a, b| a.gravity(b));
    let unfit = outcomes.iter().filter(|outcome| outcome.verdict != Verdict::Fit).count();
    let mut parts: Vec<_> = outcomes
        .into_iter()
        .filter_map(|outcome| {
            let ahead = foretold.iter().find(|of| of.check == outcome.check && outcome.one == planned).cloned();
            part((yard, door), context, (outcome, ahead), known)
        })
        .collect();
    let is_none = parts.is_empty();
    let shown = if turns.is_tall() { unfit.max(SHOWN) } else { parts.len() };
    let rest = parts.split_off(parts.len().min(shown));
    let a_piece = parts.len().div_ceil(READINGS.into()).max(1);
    let parts = parts.into_iter().enumerate().map(|(at, part)| {
        // The worst are drawn first, the rest as the browser has its turns.
        let piece = u8::try_from(at / a_piece).unwrap_or(READINGS);
        let turn = turns.reading(piece);
        (move || turn.get().then(|| untrack(|| part(piece)))).into_any()
    });
    let rest = (!rest.is_empty()).then(|| {
        let label = t!("more-fit", count = rest.len());
        let drawn = move || Some(rest.iter().map(|part| untrack(|| part(READINGS))).collect_view().into_any());
        fold("more", view! { <span class="btn btn--sm">{label}</span> }, drawn)
    });
    let none = is_none.then(|| view! { <p class="nothing cap">{t!("no-readings")}</p> });
    view! {
        <div class="rulehead rulehead--gap"><h2>{t!("readings")}</h2><span class="cap">{match &estimated { Some(on) => t!("worst-first-ahead", on = day_text(on)), None => t!("worst-first") }}</span></div>
        {none}
        <div class="parts">{parts.collect_view()}</div>
        {rest}
    }
    .into_any()
}

/// A reading, ready to be drawn in its piece.
fn part(
    (yard, door): (Yard, Door),
    context: &Context<'_>,
    (outcome, ahead): (&Outcome, Option<Foretold>),
    known: Taken,
) -> Option<impl Fn(u8) -> AnyView + Send + 'static> {
    let tone = Tone::Judged(outcome.verdict);
    Ruler::of(outcome.figure.as_ref()?, tone, authority(outcome).0)?;
    let (limits, is_raw) = (limits_of(context, &outcome.check, outcome.one), is_raw(context, &outcome.check));
    let (outcome, way) = (outcome.clone(), untrack(|| yard.way_unit()));
    Some(move |piece| {
        let (check, known) = (outcome.check.clone(), known.of(piece));
        // Drawn again only where more of it is known.
        let own =
            Memo::new(move |_| known.with(|known| known.as_ref()?.checks.iter().find(|of| of.check == check).cloned()));
        drawn((yard, door), (&outcome, ahead.as_ref()), (limits, is_raw, way), own)
    })
}

fn drawn(
    (yard, door): (Yard, Door),
    (outcome, ahead): (&Outcome, Option<&Foretold>),
    (limits, is_raw, way): (Option<Limits>, bool, Unit),
    known: Memo<Option<CheckLatest>>,
) -> AnyView {
    let tone = if is_to_set(outcome) { Tone::Set } else { Tone::Judged(outcome.verdict) };
    let (tag, line, rest) = authority(outcome);
    let set = outcome
        .set
        .as_ref()
        .map(|set| t!("its-was-set", found = set.found.as_str(), now = set.now.as_str(), act = set.act.as_str()));
    let source = (!tag.is_empty()).then(|| view! { <span class=format!("src src--{line}")>{tag}</span> });
    // What was read before comes from the record: till it is here the ruler stands without.
    let ruler = {
        let (own, fan) = (outcome.clone(), ahead.and_then(|of| of.ahead.clone()));
        move || {
            let figure = own.figure.as_ref()?;
            let read = known.with(|known| known.as_ref().filter(|_| is_raw).map(|known| before(known, &own)));
            let read = read.unwrap_or_default();
            gauge_ahead(&own, figure, &read, (tone, fan.as_ref())).map(|markup| view! { <Drawn markup/> })
        }
    };
    let ahead = ahead.filter(|_| outcome.figure.as_ref().is_some_and(|figure| figure.margin > 0.0));
    let ahead = ahead.map(|of| view! { <p class="cap ahead">{of.says.clone()}</p> });
    // What a tyre loses is told from its whole record, as the chart is.
    let leak = move || {
        let said = known.with(|known| known.as_ref().and_then(|known| known.leak.clone()));
        said.map(|said| view! { <p class="cap ahead">{sentence(&yard.said(&said))}</p> })
    };
    let name = outcome.name.clone();
    let chart = trend((yard, door), outcome.check.clone(), (limits, way), known);
    view! {
        <section class="part gauge" aria-label=name.clone()>
            <div class="ph">
                <svg class="glyph" width="18" height="18" role="img" aria-label=outcome.verdict.as_str()><use href=format!("#g-{}", outcome.verdict)></use></svg>
                <h3>{name.clone()}</h3>
                <span class="cap">{(outcome.one != Use::Range && outcome.verdict != Verdict::Fit).then(|| outcome.one.as_str())}</span>
            </div>
            {ruler}
            <p class="srcline">{source} " " <span class="cap">{rest.to_owned()}</span> {set.map(|set| view! { <span class="cap">{set}</span> })}</p>
            {ahead}
            {leak}
            {by_whom(yard, outcome)}
            {chart}
        </section>
    }
    .into_any()
}

/// Its readings over the distance, asked for and drawn when they are looked at; none with too few.
fn trend(
    (yard, door): (Yard, Door),
    check: String,
    (limits, way): (Option<Limits>, Unit),
    known: Memo<Option<CheckLatest>>,
) -> impl Fn() -> Option<AnyView> {
    let count = Memo::new(move |_| known.with(|known| known.as_ref().map_or(0, |known| known.over_distance)));
    let shows = Memo::new(move |_| count.get() > 1);
    move || {
        let limits = limits.filter(|_| shows.get())?;
        let check = check.clone();
        let label = move || t!("over-distance", count = count.get());
        Some(fold("trend", label, move || Some(untrack(|| looked_at((yard, door), check.clone(), (limits, way))))))
    }
}

/// The chart as the server tells it; of what is carried till then and without signal.
fn looked_at((yard, door): (Yard, Door), check: String, (limits, way): (Limits, Unit)) -> AnyView {
    let told = door.ask::<ReadingsView>(&format!("readings?check={check}"));
    let drawn = move |view: &ReadingsView| {
        let markup = view.checks.first().and_then(|of| chart(of, limits, way).draw())?;
        Some(view! { <Drawn markup/> })
    };
    let held = move || {
        door.held(|state, units| {
            let check = yard.rules().catalogue.checks.iter().find(|of| of.id == check)?.clone();
            Some(ReadingsView::of_one(state, &check, units))
        })
    };
    (move || match told.get() {
        Asked::Told(view) => drawn(&view).into_any(),
        Asked::Waits => view! { <p class="cap" role="status">{t!("asking")}</p> }.into_any(),
        Asked::Not(why) => view! { {carried_only(why)} {held().and_then(|view| drawn(&view))} }.into_any(),
    })
    .into_any()
}

/// Whether what is read is judged as it is read: marks of warm tyres would stand beside cold ones.
fn is_raw(context: &Context<'_>, check: &str) -> bool {
    let check = context.check(check);
    check.is_some_and(|check| matches!(&check.yields, Yields::Read(measure) if measure.correction.is_none()))
}

/// What was read before at the place that counts, oldest first.
fn before(known: &CheckLatest, outcome: &Outcome) -> Vec<f64> {
    let Some(figure) = outcome.figure.as_ref().filter(|figure| figure.unit == known.unit) else { return Vec::new() };
    let off = |of: &PlaceFigure| (of.value - figure.value).abs();
    let place = figure.places.iter().min_by(|a, b| off(a).total_cmp(&off(b))).map(|of| of.place.as_str());
    let Some(its) = known.places.iter().find(|of| of.place.as_deref() == place) else { return Vec::new() };
    let read = its.at.iter().zip(&its.values).filter(|(at, _)| outcome.at.as_deref() != Some(at.as_str()));
    read.map(|(_, value)| *value).collect()
}

/// The unit a check is shown in, and its tightest limits for a use in that unit.
type Limits = (&'static str, Option<f64>, Option<f64>);

fn limits_of(context: &Context<'_>, check: &str, one: Use) -> Option<Limits> {
    let check = context.check(check)?;
    let Yields::Read(measure) = &check.yields else { return None };
    let unit = context.shown(measure).unit;
    let counting = context.limits(check, one);
    let in_unit = |amount: muster_core::quantity::Amount| convert(amount.value(), amount.unit(), unit);
    let least = |row: &&Limit| row.at_least.map(in_unit);
    let most = |row: &&Limit| row.at_most.map(in_unit);
    let low = counting.bounds.iter().filter_map(least).reduce(f64::max);
    Some((unit.symbol(), low, counting.bounds.iter().filter_map(most).reduce(f64::min)))
}

fn chart(of: &CheckReadings, (unit, at_least, at_most): Limits, way: Unit) -> Chart {
    let mut places: BTreeMap<Option<String>, Vec<Point>> = BTreeMap::new();
    for reading in &of.readings {
        let Some(km) = reading.odometer_km else { continue };
        let point = Point { km, value: reading.value, set: reading.after.is_some() };
        places.entry(reading.place.clone()).or_default().push(point);
    }
    let places = places.into_iter().collect();
    Chart { name: of.name.clone(), unit, decimals: of.decimals, at_least, at_most, way, places }
}
