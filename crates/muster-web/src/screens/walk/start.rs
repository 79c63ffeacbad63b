//! The start of a walk-round: no hold tag, key on its hook; how far, what for, the state found.

use leptos::{prelude::*, task::spawn_local};
use muster_core::{
    quantity::{Unit, convert},
    record::{
        id::EventId,
        machine_state::MachineState,
        payload::{Planned, WalkRoundOpened},
    },
    state::{Heat, Power, Stance, State},
    words::{Depth, Use},
    yard::Units,
};
use serde::{Deserialize, Serialize};

use super::{
    about::About,
    course::{Course, standing},
    walking::{END, Goer, address, goer},
};
use crate::{
    clock, route,
    ui::{Banner, FirstLine, Icon, Lacking, after, toast},
    words::t,
    yard::{Yard, yard},
};

/// Air is taken as read lately for so long, in seconds.
const AIR_S: i64 = 2 * 3600;
/// An outing is back so much later unless somebody says otherwise, in seconds.
const OUT_S: i64 = 4 * 3600;

/// Air as it was last typed.
#[derive(Clone, Serialize, Deserialize)]
struct Air {
    figure: String,
    at_s: i64,
}

/// What is asked before the first check.
#[derive(Clone, Copy)]
pub(super) struct Asked {
    pub(super) no_tag: RwSignal<bool>,
    pub(super) key: RwSignal<bool>,
    pub(super) depth: RwSignal<Depth>,
    one: RwSignal<Use>,
    pub(super) back: RwSignal<String>,
    heat: RwSignal<Heat>,
    power: RwSignal<Power>,
    stance: RwSignal<Stance>,
    odometer: RwSignal<String>,
    air: RwSignal<String>,
}

/// The start.
#[component]
pub(crate) fn StartScreen() -> impl IntoView {
    let (yard, params) = (yard(), route::params());
    let id = Memo::new(move |_| params.read().get("machine").unwrap_or_default());
    let there = Memo::new(move |_| yard.machine(&id.get()).is_some());
    let body = move || match there.get() {
        true => view! { <Start id=id.get()/> }.into_any(),
        false => view! { <main><Lacking title=t!("walk-round")/></main> }.into_any(),
    };
    view! { <div class="phone touch">{body}</div> }
}

#[component]
fn Start(id: String) -> impl IntoView {
    let (yard, go) = (yard(), goer());
    let machine = StoredValue::new(id.clone());
    let asked = untrack(|| begin(&yard, &id));
    let busy = RwSignal::new(false);
    recall_air(&yard, asked.air);
    let open = UnsyncCallback::new(move |()| {
        let Some(payload) = untrack(|| payload(&yard, &machine.get_value(), asked)) else { return };
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        keep_air(&yard, asked.air.get_untracked());
        after(async move { yard.write(payload).await }, move |done| {
            let _ = busy.try_set(false);
            match done {
                Ok(ids) => ids.first().copied().into_iter().for_each(|walk| {
                    let first = untrack(|| next_of(&yard, &machine.get_value(), walk));
                    go.get_value()(&address(&machine.get_value(), walk, &first));
                }),
                Err(why) => toast(t!("not-written", why = why.to_string())),
            }
        });
    });
    let to_machine = move || go.get_value()(&format!("/machines/{}", machine.get_value()));
    let model = yard.machine(&id).map(|seen| seen.judgement.model.clone());
    let ready = move || asked.no_tag.get();
    view! {
        <header class="bar">
            <button class="hit" aria-label=t!("to-the-machine") on:click=move |_| to_machine()><Icon name="back"/></button>
            <div class="id"><b>{id.clone()}</b><span>{model}</span></div>
        </header>
        <Banner/>
        <main tabindex="0">
            <section class="check"><h1>{t!("walk-round")}</h1></section>
            <Resume machine=id/>
            <FirstLine machine=machine.get_value() no_tag=asked.no_tag key=asked.key/>
            <What asked/>
            <Found asked/>
            <Figures asked/>
        </main>
        <footer class="foot foot--one">
            <button class="btn btn--lg" class:btn--primary=ready class:is-off=move || !ready() class:is-busy=move || busy.get() disabled=move || !ready() on:click=move |_| open.run(())>
                {move || match ready() { true => t!("walk-begin"), false => t!("look-for-tag-first") }}" "<Icon name="next"/>
            </button>
        </footer>
    }
}

pub(super) fn begin(yard: &Yard, id: &str) -> Asked {
    let now = clock::now();
    let seen = yard.machine(id);
    let planned = seen.as_ref().and_then(|seen| seen.judgement.planned);
    // Lately back, its tyres are warm.
    let warm =
        seen.as_ref().and_then(|seen| seen.state.last_return()).is_some_and(|back| now.seconds_since(back) < 3 * 3600);
    Asked {
        no_tag: RwSignal::new(false),
        key: RwSignal::new(false),
        depth: RwSignal::new(Depth::BeforeRide),
        one: RwSignal::new(planned.unwrap_or(Use::Range)),
        back: RwSignal::new(now.later_by(OUT_S).clock()),
        heat: RwSignal::new(if warm { Heat::Warm } else { Heat::Cold }),
        power: RwSignal::new(Power::Off),
        stance: RwSignal::new(About::of(yard, id).map_or(Stance::SideStand, |about| about.stands())),
        odometer: RwSignal::new(String::new()),
        air: RwSignal::new(String::new()),
    }
}

/// The payload as it is asked; none where the time cannot be read.
pub(super) fn payload(yard: &Yard, machine: &str, asked: Asked) -> Option<WalkRoundOpened> {
    let units = yard.with(|held| held.known().yard.units).unwrap_or_default();
    let (way, degrees) = match units {
        Units::Si => ("km", "°C"),
        Units::Us => ("mi", "°F"),
    };
    let figure = |typed: String, unit: &str| {
        Some(typed.trim().to_owned()).filter(|of| !of.is_empty()).map(|of| format!("{of} {unit}"))
    };
    let back = super::release::moment_at(&asked.back.get())?;
    Some(WalkRoundOpened {
        machine: machine.to_owned(),
        depth: asked.depth.get(),
        found: State { heat: asked.heat.get(), power: asked.power.get(), stance: asked.stance.get() },
        no_hold_tag: Some(asked.no_tag.get()),
        key_on_hook: Some(asked.key.get()),
        odometer: figure(asked.odometer.get(), way),
        air: figure(asked.air.get(), degrees),
        barometer: None,
        ridden: None,
        planned: Some(Planned { one: asked.one.get(), back, distance: None }),
        comma: speaks_comma(),
    })
}

/// Whether the language spoken here writes a decimal comma.
fn speaks_comma() -> bool {
    let tag = window().navigator().language().unwrap_or_default();
    let written = js_sys::Number::from(1.5).to_locale_string(&tag);
    written.as_string().is_some_and(|written| written.contains(','))
}

/// The check to go to first.
fn next_of(yard: &Yard, machine: &str, walk: EventId) -> String {
    let next = || {
        let about = About::of(yard, machine)?;
        let course = Course::of(&about, walk)?;
        course.next(0, |check| standing(&about, walk, check)).map(|step| step.check.clone())
    };
    next().unwrap_or_else(|| END.to_owned())
}

fn recall_air(yard: &Yard, air: RwSignal<String>) {
    let Some(disk) = yard.disk() else { return };
    spawn_local(async move {
        let Ok(Some(of)) = disk.recall::<Air>("walk air").await else { return };
        if clock::now().timestamp().as_second() - of.at_s < AIR_S {
            let _ = air.try_set(of.figure);
        }
    });
}

fn keep_air(yard: &Yard, figure: String) {
    let Some(disk) = yard.disk().filter(|_| !figure.trim().is_empty()) else { return };
    let of = Air { figure, at_s: clock::now().timestamp().as_second() };
    // What is not remembered is typed again.
    spawn_local(async move { _ = disk.remember("walk air", &of).await });
}

/// Walk-rounds of today that are open: whoever comes goes on where the other stopped.
#[component]
fn Resume(machine: String) -> impl IntoView {
    let (yard, go) = (yard(), goer());
    let machine = StoredValue::new(machine);
    let rows = move || {
        let seen = yard.machine(&machine.get_value())?;
        let rows: Vec<_> = open_today(&seen.state).into_iter().map(|walk| row(&yard, machine, walk, go)).collect();
        (!rows.is_empty()).then_some(rows)
    };
    view! {
        {move || rows().map(|rows| view! { <section class="sec"><div class="notice"><Icon name="next"/><div>{rows}</div></div></section> })}
    }
}

fn open_today(state: &MachineState) -> Vec<EventId> {
    let today = clock::now().date();
    let open = |form: &muster_core::form::Form| form.closed.is_none() && form.opened.date() == today;
    let mut open: Vec<_> = state.walk_rounds.iter().filter(|(_, of)| open(&of.form)).collect();
    open.sort_by_key(|(_, of)| std::cmp::Reverse(of.form.opened));
    open.into_iter().map(|(id, _)| *id).collect()
}

fn row(yard: &Yard, machine: StoredValue<String>, walk: EventId, go: Goer) -> Option<impl IntoView + use<>> {
    let about = About::of(yard, &machine.get_value())?;
    let form = &about.walk(walk)?.form;
    let course = Course::of(&about, walk)?;
    let done = course.steps.iter().filter(|step| about.answers(walk, &step.check).next().is_some()).count();
    let own = yard.person().is_some_and(|me| me.as_str() == form.by);
    let who = yard.name(&form.by);
    let says = t!("open-walk", who = who.as_str(), at = form.opened.clock(), done = done, all = course.steps.len());
    let word = if own { t!("go-on") } else { t!("take-over-walk") };
    let resume = {
        let yard = *yard;
        move |_| {
            let first = untrack(|| next_of(&yard, &machine.get_value(), walk));
            go.get_value()(&address(&machine.get_value(), walk, &first));
        }
    };
    Some(view! { <p>{says}</p><button class="btn btn--primary" on:click=resume>{word}</button> })
}

/// How far, what for, back when.
#[component]
pub(super) fn What(asked: Asked) -> impl IntoView {
    let depths = Depth::ALL.iter().map(|depth| {
        let on = move || asked.depth.get() == *depth;
        view! { <option value=depth.as_str() selected=on>{depth_word(*depth)}</option> }
    });
    let choose = move |event: leptos::ev::Event| {
        if let Ok(depth) = event_target_value(&event).parse() {
            asked.depth.set(depth);
        }
    };
    view! {
        <section class="sec form">
            <div class="sec-h"><h2>{t!("what-for")}</h2></div>
            <Chips label=t!("use") all=Use::ALL.iter().map(|one| (*one, use_word(*one))).collect() chosen=asked.one/>
            <div class="two-up">
                <label class="field"><span>{t!("back-at")}</span><input class="input" type="time" required bind:value=asked.back/></label>
                <label class="field"><span>{t!("depth")}</span><select class="input" on:change=choose>{depths.collect_view()}</select></label>
            </div>
        </section>
    }
}

/// The state it was found in.
#[component]
pub(super) fn Found(asked: Asked) -> impl IntoView {
    let heat = vec![(Heat::Cold, t!("cold")), (Heat::Warm, t!("warm")), (Heat::Hot, t!("hot"))];
    let power = vec![(Power::Off, t!("key-off")), (Power::On, t!("key-on")), (Power::Running, t!("engine-runs"))];
    let stance = vec![
        (Stance::SideStand, t!("on-side-stand")),
        (Stance::Upright, t!("held-upright")),
        (Stance::FrontRaised, t!("front-raised")),
        (Stance::RearRaised, t!("rear-raised")),
    ];
    view! {
        <section class="sec">
            <div class="sec-h"><h2>{t!("as-found")}</h2></div>
            <Chips label=t!("heat") all=heat chosen=asked.heat/>
            <Chips label=t!("key") all=power chosen=asked.power/>
            <Chips label=t!("stance") all=stance chosen=asked.stance/>
        </section>
    }
}

/// Odometer and air.
#[component]
pub(super) fn Figures(asked: Asked) -> impl IntoView {
    let yard = yard();
    let params = route::params();
    let us = yard.with(|held| held.known().yard.units == Units::Us).unwrap_or_default();
    let known = move || {
        let seen = yard.machine(&params.read().get("machine").unwrap_or_default())?;
        let km = seen.state.odometer()?.km();
        Some(format!("{:.0}", convert(km, Unit::Kilometre, yard.way_unit())))
    };
    let (way, degrees) = if us { ("mi", "°F") } else { ("km", "°C") };
    view! {
        <section class="sec form">
            <div class="two-up">
                <label class="field"><span>{t!("odometer-in", unit = way)}</span>
                    <input class="input" inputmode="decimal" autocomplete="off" placeholder=known bind:value=asked.odometer/></label>
                <label class="field"><span>{t!("air-in", unit = degrees)}</span>
                    <input class="input" inputmode="decimal" autocomplete="off" bind:value=asked.air/></label>
            </div>
            {move || known().map(|known| {
                let says = t!("odometer-still", odometer = known.as_str(), unit = way);
                view! { <button type="button" class="btn btn--sm odo" on:click=move |_| asked.odometer.set(known.clone())>{says}</button> }
            })}
            <p class="cap">{t!("odometer-why")}</p>
        </section>
    }
}

/// One of a few, by touch.
#[component]
fn Chips<T: Copy + PartialEq + Send + Sync + 'static>(
    label: String,
    all: Vec<(T, String)>,
    chosen: RwSignal<T>,
) -> impl IntoView {
    let each = all.into_iter().map(|(one, word)| {
        let on = move || if chosen.get() == one { "true" } else { "false" };
        view! { <button type="button" class="chip" aria-pressed=on on:click=move |_| chosen.set(one)>{word}</button> }
    });
    view! { <div class="chips" role="group" aria-label=label>{each.collect_view()}</div> }
}

/// A use in the language spoken.
pub(in crate::screens) fn use_word(one: Use) -> String {
    match one {
        Use::Range => t!("use-range"),
        Use::Road => t!("use-road"),
        Use::Passenger => t!("use-passenger"),
        Use::Dark => t!("use-dark"),
    }
}

/// A depth in the language spoken.
pub(super) fn depth_word(depth: Depth) -> String {
    match depth {
        Depth::BeforeRide => t!("depth-before-ride"),
        Depth::Full => t!("depth-full"),
        Depth::Intake => t!("depth-intake"),
        Depth::Handover => t!("depth-handover"),
        Depth::AfterAFall => t!("depth-after-a-fall"),
        Depth::BackInService => t!("depth-back-in-service"),
    }
}
