//! One row of the form: what it asks, its limits, what stands on the paper, the box ticked, what it comes to.

use leptos::{prelude::*, task::spawn_local, wasm_bindgen::JsCast as _};
use muster_core::{
    check::{Check, DateOf, Yields},
    instrument::Instrument,
    judge::Outcome,
    record::payload::{ObservationMade, Payload, ReadingTaken},
    words::{Class, Seen},
};

use muster_draw::merge;

use super::{
    super::{
        about::{comma, planned},
        course::Step,
        fields::Fields,
        finding::defects,
        gauges::{chosen, fitting},
        head::said,
        look::seen_word,
    },
    due::{Due, Kept, Row, Typing},
};
use crate::{
    ui::{Pressed, VerdictWord, toast},
    words::t,
    yard::NotDone,
};

/// A row.
#[component]
pub(super) fn RowOf(typing: Typing, step: Step, number: usize) -> impl IntoView {
    let Some((row, instruments)) = untrack(|| begin(typing, &step, number)) else { return ().into_any() };
    let told = Memo::new(move |_| row.told());
    let place = NodeRef::<leptos::html::Li>::new();
    // Whoever leaves the row has said what stands in it.
    let left = move |event: leptos::ev::FocusEvent| {
        let to = event.related_target().and_then(|to| to.dyn_into::<web_sys::Node>().ok());
        let stays = place.get_untracked().is_some_and(|place| place.contains(to.as_ref()));
        if !stays {
            write(row);
        }
    };
    let check = row.check.get_value();
    let last = untrack(|| {
        let about = typing.about()?;
        let answer = about.last(&check.id)?;
        Some(format!("{} · {}", said(answer), answer.at.date()))
    });
    let sound = match &check.yields {
        Yields::Look(look) => Some(format!("{}: {}", seen_word(Seen::Sound), look.sound)),
        _ => None,
    };
    let limits = step.limits.into_iter().chain(sound).map(|line| view! { <p>{line}</p> }).collect_view();
    view! {
        <li class="trow" node_ref=place on:focusout=left aria-label=check.name.clone()>
            <div class="tname"><b>{number}" "{check.name.clone()}</b>
                <p class="cap">{last.unwrap_or_else(|| t!("none-yet"))}</p></div>
            <div class="tlimits">{limits}</div>
            <div class="ttoday">{today(row, &check, instruments)}</div>
            <div class="tboxes">{boxes(row, &check)}</div>
            <div class="ttold" role="status">{move || came_to(row, told)}</div>
            {move || beside(row)}
            {move || row.trouble.get().map(|why| view! { <p class="err twide" role="alert">{why}</p> })}
        </li>
    }
    .into_any()
}

fn begin(typing: Typing, step: &Step, number: usize) -> Option<(Row, Vec<Instrument>)> {
    let about = typing.about()?;
    let check = about.check(&step.check)?.clone();
    let context = about.context(typing.at)?;
    let walk = about.walk(typing.walk)?;
    let class = context.class(&check, planned(walk)).0;
    let defects = defects(&context, &check);
    let (mut found, mut set, mut with, mut instruments) = (None, None, None, Vec::new());
    if let Yields::Read(measure) = &check.yields {
        let fields = || Fields::of(&context, measure, &walk.form, comma(&typing.yard, typing.walk));
        (found, set) = (Some(fields()), measure.settable.as_ref().map(|_| fields()));
        instruments = fitting(&about, measure);
        with = chosen(&about, &check, &instruments, &step.cannot);
        let of = instruments.iter().find(|of| Some(&of.id) == with.as_ref());
        of.into_iter().for_each(|of| [found, set].into_iter().flatten().for_each(|fields| fields.read_with(of)));
    }
    let row = Row {
        typing,
        number,
        check: StoredValue::new(check),
        found,
        set,
        with: RwSignal::new(with),
        day: RwSignal::default(),
        seen: RwSignal::new(None),
        places: RwSignal::default(),
        why: RwSignal::default(),
        what: RwSignal::default(),
        class: RwSignal::new(class),
        defect: RwSignal::default(),
        defects: StoredValue::new(defects),
        kept: RwSignal::new(Kept::default()),
        trouble: RwSignal::new(None),
    };
    Some((row, instruments))
}

/// Writes what the row says and is not written yet, when its turn comes.
pub(super) fn write(row: Row) {
    if untrack(|| row.due()).is_empty() {
        return settle(row, None);
    }
    let turn = row.typing.turn.get_value();
    let owner = Owner::current();
    spawn_local(async move {
        let _turn = turn.lock().await;
        let mut trouble = None;
        for due in untrack(|| row.kept.try_get().map(|_| row.due())).unwrap_or_default() {
            match one(row, &due).await {
                Ok(()) => row.keep(due),
                Err(why) => {
                    trouble = Some(why.to_string());
                    break;
                }
            }
        }
        match (&trouble, row.trouble.try_get_untracked(), owner) {
            // Whoever went elsewhere meanwhile is told there.
            (Some(why), None, Some(owner)) => owner.with(|| toast(t!("not-written", why = why.as_str()))),
            _ => settle(row, trouble),
        }
    });
}

/// Says on the row and to the form whether it was taken.
fn settle(row: Row, trouble: Option<String>) {
    let wrong = trouble.is_some();
    let _ = row.trouble.try_set(trouble);
    let _ = row.typing.wrong.try_update(|rows| if wrong { rows.insert(row.number) } else { rows.remove(&row.number) });
}

async fn one(row: Row, due: &Due) -> Result<(), NotDone> {
    let Typing { yard, at, .. } = row.typing;
    match due {
        Due::Answer(answer) => {
            let corrects = untrack(|| row.own_last());
            let answer = match answer.clone() {
                Payload::ReadingTaken(of) => Payload::from(ReadingTaken { corrects, ..*of }),
                Payload::ObservationMade(of) => Payload::from(ObservationMade { corrects, ..*of }),
                other => other,
            };
            yard.write_at(answer, at).await?;
        }
        Due::Set(set, again) => {
            yard.write_at(set.clone(), at).await?;
            yard.write_at(again.clone(), at).await?;
        }
        Due::Finding(finding) => _ = yard.write_at(finding.clone(), at).await?,
    }
    Ok(())
}

/// What stands on the paper: figures with the gauge, a day, or where something was seen.
fn today(row: Row, check: &Check, instruments: Vec<Instrument>) -> AnyView {
    match &check.yields {
        Yields::Read(_) => {
            let found = row.found.map(|fields| wells(fields, &check.name));
            let set = row.set.map(|fields| {
                let says = t!("after-setting");
                let named = format!("{}, {says}", check.name);
                view! { <details class="tset"><summary>{says}</summary>{wells(fields, &named)}</details> }
            });
            view! { {found}{gauge(row, instruments)}{set} }.into_any()
        }
        Yields::Date(of) => {
            let is_code = *of == DateOf::Made { tyre_code: true };
            let (kind, hint) = if is_code { ("text", t!("tyre-code")) } else { ("date", String::new()) };
            view! { <input class="input" type=kind placeholder=hint aria-label=check.name.clone() bind:value=row.day/> }
                .into_any()
        }
        Yields::Look(look) if look.places.is_empty() => ().into_any(),
        Yields::Look(look) => {
            let each = look.places.iter().cloned().map(|place| {
                let own = place.clone();
                let on = move || row.places.with(|places| places.contains(&own));
                let touch = {
                    let place = place.clone();
                    move |_| row.places.update(|places| if !places.remove(&place) { places.insert(place.clone()); })
                };
                view! { <label class="tickbox"><input type="checkbox" prop:checked=on on:change=touch/><span>{place}</span></label> }
            });
            let each = each.collect_view();
            // Where it is not sound; sound is sound everywhere.
            view! { <fieldset class="tplaces" hidden=move || !row.asks_finding()><legend class="cap">{t!("where-it-is")}</legend>{each}</fieldset> }
                .into_any()
        }
    }
}

fn wells(fields: Fields, named: &str) -> AnyView {
    let named = StoredValue::new(named.to_owned());
    let count = fields.wells.with_untracked(Vec::len);
    let each = (0..count).map(|index| {
        let of = move || fields.wells.with(|wells| wells.get(index).cloned());
        let label = move || of().map(|well| well.label).filter(|_| count > 1);
        let aria = move || {
            let (label, unit) = of().map(|well| (well.label.clone(), well.unit())).unwrap_or_default();
            named.with_value(|named| format!("{named}, {label}, {unit}"))
        };
        let typed = move || of().map(|well| well.typed.replace('.', &fields.sign().to_string()));
        let standing = move || of().map(|well| well.standing);
        let input = move |event: leptos::ev::Event| {
            let text = event_target_value(&event).trim().replace(',', ".");
            fields.wells.update(|wells| wells.iter_mut().skip(index).take(1).for_each(|well| well.typed.clone_from(&text)));
        };
        let unit = move || of().map(|well| well.unit());
        view! {
            <label class="twell"><span class="cap">{label}</span>
                <span class="tfig"><input class="input" inputmode="decimal" autocomplete="off" aria-label=aria placeholder=standing prop:value=typed on:input=input/>
                {if index == 0 { units(fields) } else { view! { <span class="u">{unit}</span> }.into_any() }}</span></label>
        }
    });
    view! { <div class="twells">{each.collect_view()}</div> }.into_any()
}

/// The unit as it stands on the paper: the gauge's unless another is chosen, the same at all places.
fn units(fields: Fields) -> AnyView {
    let options = move || {
        let column = fields.column();
        let option = |(index, unit): (usize, String)| {
            view! { <option value=index.to_string() selected=index == column.chosen>{unit}</option> }
        };
        column.units.into_iter().enumerate().map(option).collect_view()
    };
    let choose = move |event: leptos::ev::Event| {
        event_target_value(&event).parse().into_iter().for_each(|index| fields.press(Pressed::Unit(index)));
    };
    view! { <select class="input tunit" aria-label=t!("well-unit") on:change=choose>{options}</select> }.into_any()
}

/// The gauge the figures were read with.
fn gauge(row: Row, instruments: Vec<Instrument>) -> AnyView {
    if instruments.is_empty() {
        return view! { <p class="cap">{t!("no-instrument")}</p> }.into_any();
    }
    let all = StoredValue::new(instruments);
    let options = move || {
        let option = |of: Instrument| {
            let own = of.id.clone();
            let on = move || row.with.with(|with| with.as_ref() == Some(&own));
            view! { <option value=of.id.clone() selected=on>{of.id.clone()}</option> }
        };
        all.get_value().into_iter().map(option).collect_view()
    };
    let choose = move |event: leptos::ev::Event| {
        let id = event_target_value(&event);
        all.with_value(|all| {
            let of = all.iter().find(|of| of.id == id);
            of.into_iter()
                .for_each(|of| [row.found, row.set].into_iter().flatten().for_each(|fields| fields.read_with(of)));
        });
        row.with.set(Some(id));
    };
    view! { <label class="twith"><span class="cap">{t!("with-gauge")}</span><select class="input" aria-label=t!("with-gauge") on:change=choose>{options}</select></label> }
        .into_any()
}

/// The boxes: one ticked a row. A figure has no box but that it could not be read.
fn boxes(row: Row, check: &Check) -> AnyView {
    let all: &[Seen] = match check.yields {
        Yields::Look(_) => &[Seen::Sound, Seen::Doubtful, Seen::Defective, Seen::CouldNotSee],
        _ => &[Seen::CouldNotSee],
    };
    let single = all.len() == 1;
    let name = check.id.clone();
    let each = all.iter().map(|seen| {
        let seen = *seen;
        let on = move || row.seen.get() == Some(seen);
        let tick = move |_| {
            let untick = single && row.seen.get_untracked() == Some(seen);
            row.seen.set((!untick).then_some(seen));
            if seen == Seen::Sound {
                write(row);
            }
        };
        let kind = if single { "checkbox" } else { "radio" };
        view! { <label class="tickbox"><input type=kind name=name.clone() prop:checked=on on:change=tick/><span>{seen_word(seen)}</span></label> }
    });
    let each = each.collect_view();
    view! { <fieldset class="tticks"><legend class="vh">{check.name.clone()}</legend>{each}</fieldset> }.into_any()
}

/// Why, and what was found, where the box ticked asks for it.
fn beside(row: Row) -> AnyView {
    let why = row.seen.get() == Some(Seen::CouldNotSee) || (row.found.is_some() && asks_why(row));
    if why {
        return view! { <label class="field twide"><span>{t!("why")}</span><input class="input" bind:value=row.why/></label> }.into_any();
    }
    if !row.asks_finding() {
        return ().into_any();
    }
    let named = row.check.with_value(|check| check.name.clone());
    view! {
        <div class="twide two-up" role="group" aria-label=named>
            <label class="field"><span>{t!("what-found")}</span><input class="input" bind:value=row.what/></label>
            {how_grave(row.class)}
            {which(row)}
        </div>
    }
    .into_any()
}

/// Which of the law pack's defects it is; its class comes with it.
fn which(row: Row) -> AnyView {
    let defects = row.defects.get_value();
    if defects.is_empty() {
        return ().into_any();
    }
    let options = defects.into_iter().map(|(key, class, when)| {
        let own = key.clone();
        let on = move || row.defect.with(|defect| *defect == own);
        view! { <option value=key selected=on>{class.as_str()}": "{when}</option> }
    });
    let options = options.collect_view();
    let choose = move |event: leptos::ev::Event| {
        let key = event_target_value(&event);
        let of = row.defects.with_value(|all| all.iter().find(|(own, ..)| *own == key).map(|(_, class, _)| *class));
        of.into_iter().for_each(|class| row.class.set(class));
        row.defect.set(key);
    };
    view! {
        <label class="field twide"><span>{t!("which-defect")}</span>
            <select class="input" on:change=choose><option value="">{t!("which-none")}</option>{options}</select></label>
    }
    .into_any()
}

/// How grave what was found is.
pub(super) fn how_grave(class: RwSignal<Class>) -> AnyView {
    let classes = [(Class::Minor, t!("minor")), (Class::Major, t!("major")), (Class::Dangerous, t!("dangerous"))];
    let options = classes.map(|(one, word)| {
        let on = move || class.get() == one;
        view! { <option value=one.as_str() selected=on>{word}</option> }
    });
    let choose = move |event: leptos::ev::Event| {
        event_target_value(&event).parse().into_iter().for_each(|of| class.set(of));
    };
    view! {
        <label class="field"><span>{t!("how-grave")}</span><select class="input" on:change=choose>{options.into_iter().collect_view()}</select></label>
    }
    .into_any()
}

/// Whether a figure is so far off that the record asks why.
fn asks_why(row: Row) -> bool {
    let far = |outcome: &Outcome| outcome.working.iter().any(|line| line.starts_with("found far off"));
    row.told().is_some_and(|told| told.is_ok_and(|outcome| far(&outcome))) || !row.why.with(String::is_empty)
}

/// What it comes to, and whether it is kept.
fn came_to(row: Row, told: Memo<Option<Result<Outcome, String>>>) -> AnyView {
    let kept = row.is_kept().then(|| view! { <p class="cap">{t!("row-kept")}</p> });
    match told.get() {
        None => ().into_any(),
        Some(Err(why)) => view! { <p class="err">{why}</p> }.into_any(),
        Some(Ok(outcome)) => {
            let todo = outcome.todo.clone().map(|todo| view! { <p class="cap">{todo}</p> });
            let verdict = match merge::is_to_set(&outcome) {
                true => view! { <b>{t!("still-to-set")}</b> }.into_any(),
                false => view! { <VerdictWord verdict=outcome.verdict/> }.into_any(),
            };
            view! { {verdict}<p class="cap">{outcome.reason.clone()}</p>{todo}{kept} }.into_any()
        }
    }
}
