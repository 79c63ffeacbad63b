//! What is docked under a round: the step, the keypad or the answers, and the way on.

use leptos::{prelude::*, task::spawn_local};
use muster_core::{
    check::Yields,
    judge::{Outcome, Verdict},
    record::payload::{ReadingTaken, Saw, ThingSet, Typed},
    words::{Depth, Seen},
};

use super::{
    asked::{answer_word, comes_to, defects, in_context, which},
    digits::Digits,
    parts::chip,
    row::Going,
    walk::{Walk, beginning, last_own, open_today, saw, walk_round},
    well::{Kind, Well, outcome, waits},
};
use crate::{
    ui::{Icon, toast},
    words::t,
    yard::NotDone,
};

/// What a further figure at a check is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Again {
    /// It was set since.
    Act,
    /// The one before was a slip of the keys.
    Slip,
    /// Read once more: both count.
    Repeat,
}

/// The dock.
#[component]
pub(super) fn Dock(
    /// The round.
    going: Going,
    /// Whether it is a look.
    is_look: bool,
    /// What ends it.
    end: Callback<()>,
) -> impl IntoView {
    let (again, busy) = (RwSignal::new(None::<Again>), RwSignal::new(false));
    let well = Memo::new(move |_| going.wells.with(|wells| wells.get(going.active.get()).cloned()));
    let at_hand = Signal::derive(move || well.get().and_then(|well| going.typed.get(well.slot).copied()));
    let units = Signal::derive(move || {
        let own = well.with(|well| well.as_ref().map(|well| well.units(going)).unwrap_or_default());
        own.iter().take(3).map(|unit| unit.symbol()).collect::<Vec<_>>()
    });
    Effect::new(move |_| {
        let unit = going.unit_now();
        if going.unit.get_untracked() != unit {
            going.unit.set(unit);
        }
    });
    let other = Signal::derive(move || {
        let count = going.wells.with(Vec::len);
        (count > 1)
            .then(|| {
                going.wells.with(|wells| wells.get((going.active.get() + 1) % count).map(|well| well.label.clone()))
            })
            .flatten()
    });
    let turn = Callback::new(move |()| {
        let count = going.wells.with_untracked(Vec::len).max(1);
        going.active.update(|active| *active = (*active + 1) % count);
    });
    let asks_which = asks_anew(well);
    let answers = move || well.get().filter(|_| is_look).map(|well| looks(going, well, (asks_which, busy)));
    let pad = move || (!is_look).then(|| view! { <Digits at_hand units unit=going.unit last=other on_last=turn/> });
    let says = Signal::derive(move || next_says(going, well.get()));
    let on = move |_| on_next(going, (again, busy), end);
    let back = move || match going.before() {
        Some(machine) => {
            let label = t!("back-to", machine = machine.as_str());
            view! {
                <button class="btn btn--icon" aria-label=label on:click=move |_| going.go(Some(machine.clone()))><Icon name="back"/></button>
            }
            .into_any()
        }
        None => view! { <span></span> }.into_any(),
    };
    view! {
        <section class="dock" aria-label=t!("dock")>
            {move || step(going, well.get(), again)}
            {move || going.asks_why.get().then(|| why(going, well.get(), busy))}
            {pad}
            {answers}
            <footer class="foot three">
                {back}
                {move || going.at.get().map(|_| view! {
                    <button class="btn btn--wrap kdim" aria-expanded=move || going.asks_why.get().to_string()
                        on:click=move |_| going.asks_why.update(|asks| *asks = !*asks)>{t!("kerb-could-not-see")}</button>
                })}
                <button class="btn btn--primary btn--lg" class:is-busy=move || busy.get() on:click=on>
                    <span>{move || says.get()}</span><Icon name="next"/>
                </button>
            </footer>
        </section>
    }
    .into_any()
}

/// For which answer it is asked which defect it is; for none at another well.
fn asks_anew(well: Memo<Option<Well>>) -> RwSignal<Option<Seen>> {
    let asks = RwSignal::new(None::<Seen>);
    Effect::new(move |_| {
        well.track();
        asks.set(None);
    });
    asks
}

/// What is to be done at the well at hand, and what a further figure would be.
fn step(going: Going, well: Option<Well>, again: RwSignal<Option<Again>>) -> AnyView {
    let Some(well) = well.filter(|well| well.kind != Kind::Look) else { return ().into_any() };
    let (now, _) = outcome(going.yard, &well.machine, &well.check);
    let todo =
        now.as_ref().filter(|of| of.figure.is_some() || of.verdict == Verdict::Hold).and_then(|of| of.todo.clone());
    let set = now.as_ref().is_some_and(waits);
    let line = todo.map(|todo| {
        let (class, icon) = match &now {
            Some(of) if of.verdict == Verdict::Hold => ("do hold", "warn"),
            Some(of) if of.verdict == Verdict::Watch => ("do watch", "warn"),
            _ => ("do set", "set"),
        };
        view! { <div class=class role="status"><Icon name=icon/><span><b>{well.label.clone()}": "</b>{todo}</span></div> }
    });
    let has_own = open_today(going.yard, &well.machine, Depth::BeforeRide)
        .is_some_and(|walk| last_own(going.yard, &well.machine, walk.opening, &well.check).is_some());
    let act = act_of(going, &well);
    again.set(has_own.then_some(if set && act.is_some() { Again::Act } else { Again::Slip }));
    let ways = has_own.then(|| {
        let one = move |way: Again, says: String| chip(says, move || again.get() == Some(way), move || again.set(Some(way)));
        view! {
            <div class="chips kagain" role="group" aria-label=t!("further-figure")>
                {act.map(|act| one(Again::Act, act))}{one(Again::Slip, t!("slip"))}{one(Again::Repeat, t!("read-again"))}
            </div>
        }
    });
    view! { {line}{ways} }.into_any()
}

/// The act that sets what a check reads, in a word.
fn act_of(going: Going, well: &Well) -> Option<String> {
    in_context(going.yard, &well.machine, |context, _| match &context.check(&well.check)?.yields {
        Yields::Read(measure) => measure.settable.as_ref().map(|of| of.act.clone()),
        _ => None,
    })?
}

/// Why it could not be seen: a word, one tap.
fn why(going: Going, well: Option<Well>, busy: RwSignal<bool>) -> AnyView {
    let Some(well) = well else { return ().into_any() };
    let reasons = [t!("why-not-here"), t!("why-no-tool"), t!("kerb-why-dark"), t!("why-covered"), t!("kerb-why-hot")];
    let each = reasons.map(|reason| {
        let (well, says) = (well.clone(), reason.clone());
        view! {
            <button class="chip" on:click=move |_| {
                going.asks_why.set(false);
                write_look(going, well.clone(), Look { because: Some(reason.clone()), ..Look::of(Seen::CouldNotSee) }, busy);
            }>{says}</button>
        }
    });
    view! { <div class="chips kagain" role="group" aria-label=t!("why-not-seen")>{each.collect_view()}</div> }
        .into_any()
}

/// What is said of a look.
struct Look {
    seen: Seen,
    because: Option<String>,
    defect: Option<String>,
}

impl Look {
    const fn of(seen: Seen) -> Self {
        Self { seen, because: None, defect: None }
    }
}

/// The answers of a look, each with what it comes to; of what is not sound, which defect it is, where that decides.
fn looks(going: Going, well: Well, (asks_which, busy): (RwSignal<Option<Seen>>, RwSignal<bool>)) -> AnyView {
    let told = in_context(going.yard, &well.machine, |context, _| {
        let check = context.check(&well.check)?;
        let Yields::Look(look) = &check.yields else { return None };
        let one = outcome(going.yard, &well.machine, &well.check).1;
        let says = [look.sound.clone(), look.doubtful.clone(), look.defective.clone()];
        Some((context.class(check, one).0, says, defects(context, check, one)))
    });
    let Some((class, says, defects)) = told.flatten() else { return ().into_any() };
    let is_apart = !defects.is_empty();
    let label = format!("{}: {}", well.machine, well.label);
    let (well, defects) = (StoredValue::new(well), StoredValue::new(defects));
    let each = [Seen::Sound, Seen::Doubtful, Seen::Defective].into_iter().zip(says).map(|(seen, says)| {
        let verdict = comes_to(seen, class);
        view! {
            <button class=format!("choice {verdict}") on:click=move |_| match seen {
                Seen::Doubtful | Seen::Defective if is_apart => asks_which.set(Some(seen)),
                _ => write_look(going, well.get_value(), Look::of(seen), busy),
            }>
                <svg class="glyph" width="30" height="30" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
                <span><b>{answer_word(seen)}</b><small>{says}</small></span>
            </button>
        }
    });
    let chips = move || {
        let seen = asks_which.get()?;
        let chosen = move |defect| write_look(going, well.get_value(), Look { defect, ..Look::of(seen) }, busy);
        Some(which(defects.get_value(), None, chosen))
    };
    view! { {chips}<div class="choices" role="group" aria-label=label>{each.collect_view()}</div> }.into_any()
}

/// Writes a look or that nothing could be seen, then goes to the next well or machine.
fn write_look(going: Going, well: Well, look: Look, busy: RwSignal<bool>) {
    let Look { seen, because, defect } = look;
    if busy.get_untracked() {
        return;
    }
    busy.set(true);
    let next = untrack(|| going.next());
    spawn_local(async move {
        let done = match walk(going, &well.machine).await {
            Ok(walk) => {
                let said = match (&well.place, seen) {
                    (Some(place), of) if of != Seen::CouldNotSee => Saw::Places([(place.clone(), of)].into()),
                    _ => Saw::One(seen),
                };
                saw(going.yard, (&well.machine, walk), &well.check, said, (because, defect)).await
            }
            Err(why) => Err(why),
        };
        busy.set(false);
        let stays = untrack(|| going.wells.with(|wells| wells.len() > well.slot + 1));
        match done {
            Err(why) => toast(why.to_string()),
            Ok(()) if stays => going.active.set(well.slot + 1),
            Ok(()) => going.go(next),
        }
    });
}

/// The walk-round of a machine of this round; one that is opened here is closed with the round.
async fn walk(going: Going, machine: &str) -> Result<Walk, NotDone> {
    let begin = going
        .once
        .with_value(|once| beginning(going.yard, machine, Depth::BeforeRide, once.heat, (once.air.clone(), true)));
    let walk = walk_round(going.yard, begin).await?;
    if walk.is_new {
        going.opened.with_value(|opened| {
            if let Ok(mut opened) = opened.lock() {
                opened.insert(machine.to_owned(), walk.opening);
            }
        });
    }
    Ok(walk)
}

/// What is typed at the check at hand: its figures by place, and the tyre's temperature.
struct Given {
    well: Well,
    figures: Vec<(Option<String>, String)>,
    tyre: Option<String>,
    /// The first well of the check nothing is typed in.
    missing: Option<Well>,
    /// The first well of the check that comes after, to be read on this machine.
    then: Option<Well>,
}

fn given(going: Going, well: Option<Well>) -> Option<Given> {
    let well = well?;
    let wells = going.wells.get();
    let typed = |of: &Well| going.typed.get(of.slot).map(|typed| typed.get()).unwrap_or_default();
    let group = || wells.iter().filter(|of| of.check == well.check);
    let figures: Vec<_> = group()
        .filter(|of| of.kind == Kind::Figure && !typed(of).is_empty())
        .map(|of| (of.place.clone(), typed(of)))
        .collect();
    let tyre = group().find(|of| of.kind == Kind::Tyre).map(&typed).filter(|text| !text.is_empty());
    if figures.is_empty() && tyre.is_none() {
        return None;
    }
    let missing = group().find(|of| typed(of).is_empty()).cloned();
    let others = wells.iter().filter(|of| of.check != well.check && of.slot > well.slot);
    let then = others.filter(|of| of.kind == Kind::Figure).find(|of| !is_answered(going, of)).cloned();
    Some(Given { well, figures, tyre, missing, then })
}

fn is_answered(going: Going, well: &Well) -> bool {
    outcome(going.yard, &well.machine, &well.check).0.is_some_and(|of| of.verdict != Verdict::Unseen)
}

fn next_says(going: Going, well: Option<Well>) -> String {
    if let Some(given) = given(going, well)
        && let Some(to) = given.missing.or(given.then)
    {
        return t!("next-is", what = to.label);
    }
    match going.next() {
        Some(machine) => t!("next-is", what = machine),
        None => t!("end-round"),
    }
}

/// Goes on: to the next place, or writes what is typed and goes to the next wheel or machine; what has to be set or held
/// keeps the machine at hand.
fn on_next(going: Going, (again, busy): (RwSignal<Option<Again>>, RwSignal<bool>), end: Callback<()>) {
    if busy.get_untracked() {
        return;
    }
    let well = untrack(|| going.wells.with(|wells| wells.get(going.active.get()).cloned()));
    let (given, next) = untrack(|| (given(going, well), going.next()));
    let Some(given) = given else {
        return match next {
            Some(machine) => going.go(Some(machine)),
            None => end.run(()),
        };
    };
    if let Some(missing) = given.missing {
        return going.active.set(missing.slot);
    }
    busy.set(true);
    let way = again.get_untracked();
    spawn_local(async move {
        let done = write(going, &given, way).await;
        busy.set(false);
        if let Err(why) = done {
            return toast(why.to_string());
        }
        let check = given.well.check.clone();
        going.wells.with_untracked(|wells| {
            let own = wells.iter().filter(|of| of.check == check);
            own.filter_map(|of| going.typed.get(of.slot)).for_each(|typed| typed.set(String::new()));
        });
        let now = untrack(|| outcome(going.yard, &given.well.machine, &check).0);
        match (now.is_some_and(|of: Outcome| stays(&of)), given.then) {
            (true, _) => going.active.set(given.well.slot),
            (false, Some(then)) => going.active.set(then.slot),
            (false, None) => going.go(next),
        }
    });
}

fn stays(outcome: &Outcome) -> bool {
    outcome.verdict == Verdict::Hold || waits(outcome)
}

async fn write(going: Going, given: &Given, way: Option<Again>) -> Result<(), NotDone> {
    let (machine, check) = (given.well.machine.clone(), given.well.check.clone());
    let walk = walk(going, &machine).await?;
    let unit = untrack(|| going.unit_now());
    let typed = |text: &str, unit: &str| {
        let text = if walk.comma { text.replace('.', ",") } else { text.to_owned() };
        format!("{text} {unit}").trim().to_owned()
    };
    let read = match given.figures.as_slice() {
        [(None, text)] => Typed::One(typed(text, unit)),
        figures => {
            let places =
                figures.iter().filter_map(|(place, text)| Some((place.clone()?, Vec::from([typed(text, unit)]))));
            Typed::Places(places.collect())
        }
    };
    let before = last_own(going.yard, &machine, walk.opening, &check);
    if way == Some(Again::Act)
        && before.is_some()
        && let Some(act) = untrack(|| act_of(going, &given.well))
    {
        let (machine, check) = (machine.clone(), check.clone());
        going.yard.write(ThingSet { machine, walk_round: walk.opening, check, act }).await?;
    }
    let (with, air) = going.once.with_value(|once| (once.with.clone(), once.air.clone()));
    let taken = ReadingTaken {
        machine,
        walk_round: walk.opening,
        check,
        read,
        with,
        tyre: given.tyre.as_deref().map(|tyre| typed(tyre, "°C")),
        air,
        odometer: None,
        why: None,
        note: None,
        corrects: before.filter(|_| way == Some(Again::Slip)),
    };
    going.yard.write(taken).await.map(|_| ())
}
