//! A reading: its wells, the gauge it is read with, and what it comes to while the digits are pressed.

use std::time::Duration;

use leptos::{prelude::*, task::spawn_local};
use muster_core::{
    check::Yields,
    instrument::Instrument,
    judge::{Context, Outcome},
    record::{
        payload::{ReadingTaken, ThingSet, Typed},
        provisional::{self, Tried},
    },
    words::Use,
    yard::Units,
};
use muster_draw::{gauge::gauge, merge, ruler::Tone};

use super::{
    about::{About, comma, planned},
    fields::{Fields, Of},
    gauges::{chosen, fitting, reads, recall},
    head::{Foot, More, Told, Where},
    look,
    onward::{Onward, Step},
    walking::{Sheet, Walking},
    worked::{Wells, Worked, is_not_expected},
};
use crate::{clock, pace::Pace, ui::Keypad, words::t};

/// After so long what a key needs is made ready: the screen stands then, and a thumb is not there yet.
const WARM: Duration = Duration::from_millis(120);
/// What is worked out for that: one digit as the first key types it, and figures on either side of most limits.
const SUPPOSED: [&str; 3] = ["2", "0.4", "230"];

/// What a reading is typed into.
#[derive(Clone, Copy)]
pub(super) struct Reading {
    pub(super) walking: Walking,
    pub(super) fields: Fields,
    /// The instrument's number.
    with: RwSignal<Option<String>>,
    /// Why it was far off.
    pub(super) why: RwSignal<String>,
    /// It corrects one's own last answer.
    slip: RwSignal<bool>,
    /// It was set, and is to be read again.
    pub(super) acted: RwSignal<bool>,
}

/// A reading.
#[component]
pub(super) fn ReadAnswer(walking: Walking) -> impl IntoView {
    let Some((reading, instruments)) = untrack(|| begin(walking)) else { return ().into_any() };
    let Reading { fields, .. } = reading;
    fields.follow();
    let told = Memo::new(move |_| reading.painted().told());
    set_timeout(move || spawn_local(reading.warm()), WARM);
    let pressed = UnsyncCallback::new(move |pressed| fields.press(pressed));
    let could_not = move |_| walking.sheet.set(Sheet::CouldNotSee);
    view! {
        <main tabindex="0">
            <Where walking/>
            <Told walking/>
            <Wells fields/>
            <Worked reading told/>
            <section class="sec with">
                <With reading instruments/>
                <button class="btn btn--quiet" on:click=could_not>{t!("could-not-read")}</button>
            </section>
            <More walking/>
        </main>
        <section class="dock" aria-label=t!("answer-and-go-on")>
            <Step reading told/>
            // The keys stay while one types: only another field changes their fourth column.
            <Keypad pressed sign=fields.sign() column=Memo::new(move |_| fields.column())/>
            <Foot walking><Onward reading told/></Foot>
        </section>
    }
    .into_any()
}

fn begin(walking: Walking) -> Option<(Reading, Vec<Instrument>)> {
    let (about, id) = (walking.about()?, walking.check());
    let check = about.check(&id)?;
    let Yields::Read(measure) = &check.yields else { return None };
    let context = about.context(clock::now())?;
    let form = &about.walk(walking.walk)?.form;
    let fields = Fields::of(&context, measure, form, comma(&walking.yard, walking.walk));
    let instruments = fitting(&about, measure);
    let cannot = walking.course().and_then(|course| Some(course.find(&id)?.1.cannot.clone())).unwrap_or_default();
    let first = chosen(&about, check, &instruments, &cannot);
    let with = RwSignal::new(first.clone());
    let unit = |id: &Option<String>| {
        if let Some(of) = instruments.iter().find(|of| Some(&of.id) == id.as_ref()) {
            fields.read_with(of);
        }
    };
    unit(&first);
    recall(walking, reads(measure), with, fields, instruments.clone());
    let signal = RwSignal::new;
    let reading =
        Reading { walking, fields, with, why: RwSignal::new(String::new()), slip: signal(false), acted: signal(false) };
    Some((reading, instruments))
}

impl Reading {
    /// The same as it was last painted: what is shown of it follows from that.
    pub(super) const fn painted(self) -> Self {
        Self { fields: self.fields.painted(), ..self }
    }

    fn payload(self, figures: Option<Typed>) -> Option<ReadingTaken> {
        let why = self.why.get();
        Some(ReadingTaken {
            machine: self.walking.machine(),
            walk_round: self.walking.walk,
            check: self.walking.check(),
            read: figures?,
            with: self.with.get(),
            tyre: self.fields.temperature(&Of::Tyre),
            air: self.fields.temperature(&Of::Air),
            odometer: None,
            why: Some(why.trim().to_owned()).filter(|why| !why.is_empty()),
            note: self.walking.noted(),
            corrects: if self.slip.get() { look::own_last(self.walking) } else { None },
        })
    }

    /// What it comes to as typed, else as answered, else its limits alone.
    fn told(self) -> Option<Result<Outcome, String>> {
        let (about, id) = (self.walking.about()?, self.walking.check());
        let one = planned(about.walk(self.walking.walk)?);
        let own = about.books.units;
        let units = match about.check(&id).map(|check| &check.yields) {
            Some(Yields::Read(measure)) => self.fields.units(measure, own),
            _ => own,
        };
        let Some(payload) = self.payload(self.fields.figures()) else {
            let answered = about.answers(self.walking.walk, &id).next().is_some() && !self.acted.get();
            let outcome = if answered { about.outcome(&id).cloned() } else { None };
            let context = about.context(clock::now());
            let blank = || provisional::blank(&Context { units, ..context? }, about.check(&id)?, None, one);
            return outcome.or_else(blank).map(Ok);
        };
        self.tried(&about, units, payload, one)
    }

    fn tried(self, about: &About, units: Units, payload: ReadingTaken, one: Use) -> Option<Result<Outcome, String>> {
        let by = self.walking.yard.person()?;
        let tried = Tried {
            catalogue: &about.rules.catalogue,
            yard: &about.books,
            state: &about.state,
            by: &by,
            now: clock::now(),
            units,
        };
        match provisional::outcomes(tried, &payload.into()) {
            Ok(outcomes) => for_use(outcomes, one).map(Ok),
            Err(why) => Some(Err(why)),
        }
    }

    /// Works out figures that nobody typed, low and high: a browser makes code ready when it is first run, and the first
    /// key is not to wait for that.
    async fn warm(self) {
        let pace = Pace::begin();
        for figure in SUPPOSED {
            let tried = || {
                let about = self.walking.about()?;
                let payload = self.payload(self.fields.supposed(figure))?;
                let outcome = self.tried(&about, about.books.units, payload, Use::Range)?.ok()?;
                let tone = if merge::is_to_set(&outcome) { Tone::Set } else { Tone::Judged(outcome.verdict) };
                let drawn = gauge(&outcome, outcome.figure.as_ref()?, tone);
                Some(drawn.map_or(0, |drawn| drawn.len()))
            };
            // Whoever went on has taken what is read along; what it comes to is nobody's.
            if self.walking.sheet.try_get_untracked().is_none() {
                return;
            }
            let _ = std::hint::black_box(untrack(tried));
            pace.turn().await;
        }
        self.fields.rehearse(SUPPOSED[0]).await;
    }

    /// Whether it is to be set, as typed or as answered.
    pub(super) fn is_to_set(self, told: Option<&Result<Outcome, String>>) -> bool {
        let shown = matches!(told, Some(Ok(outcome)) if merge::is_to_set(outcome));
        shown && (!self.acted.get() || self.fields.is_typed())
    }

    /// The word of the act: pumped, adjusted.
    pub(super) fn act(self) -> String {
        let act = || {
            let about = self.walking.about()?;
            match &about.check(&self.walking.check())?.yields {
                Yields::Read(measure) => measure.settable.as_ref().map(|settable| settable.act.clone()),
                _ => None,
            }
        };
        act().unwrap_or_else(|| t!("set-act"))
    }

    /// Writes what is typed, then goes on.
    pub(super) fn save(self) {
        let Some(payload) = untrack(|| self.payload(self.fields.figures())) else { return self.walking.go_on() };
        self.remember();
        // A second reading is asked for on the spot: whoever reads stays here for it.
        let told = untrack(|| self.told());
        let asks = |of: &Outcome| of.todo.as_deref().is_some_and(|todo| todo.starts_with("Read it a second time"));
        let stays = told.is_some_and(|told| told.is_ok_and(|of| is_not_expected(&of) && asks(&of)));
        self.walking.write(payload, move |_| {
            self.fields.clear();
            if !stays {
                self.walking.go_on();
            }
        });
    }

    /// Writes what was found if it is typed, then that it was set; what follows is read again.
    pub(super) fn set(self) {
        let (walking, act) = (self.walking, untrack(|| self.act()));
        let found = untrack(|| self.payload(self.fields.figures()));
        let set = ThingSet { machine: walking.machine(), walk_round: walking.walk, check: walking.check(), act };
        self.remember();
        let done = async move {
            if let Some(found) = found {
                walking.yard.write(found).await?;
            }
            walking.yard.write(set).await
        };
        walking.doing(done, move |_| {
            self.acted.set(true);
            self.slip.set(false);
            self.fields.clear();
        });
    }

    fn remember(self) {
        let named = untrack(|| {
            let about = self.walking.about()?;
            match &about.check(&self.walking.check())?.yields {
                Yields::Read(measure) => Some((reads(measure), self.with.get()?)),
                _ => None,
            }
        });
        if let (Some(disk), Some((name, with))) = (self.walking.yard.disk(), named) {
            // What is not remembered is chosen again.
            spawn_local(async move { _ = disk.remember(&name, &with).await });
        }
    }
}

/// The outcome of the use planned, else the gravest.
fn for_use(outcomes: Vec<Outcome>, one: Use) -> Option<Outcome> {
    let planned = outcomes.iter().find(|outcome| outcome.one == one).cloned();
    planned.or_else(|| outcomes.into_iter().max_by_key(|outcome| outcome.verdict))
}

/// The instrument, and whether the figure stands beside an earlier one or corrects a slip.
#[component]
fn With(reading: Reading, instruments: Vec<Instrument>) -> impl IntoView {
    let walking = reading.walking;
    let all = StoredValue::new(instruments);
    let options = move || {
        let now = reading.with.get();
        all.get_value()
            .into_iter()
            .map(|of| {
                let on = Some(&of.id) == now.as_ref();
                view! { <option value=of.id.clone() selected=on>{format!("{} · {}", of.id, of.name)}</option> }
            })
            .collect_view()
    };
    let choose = move |event: leptos::ev::Event| {
        let id = event_target_value(&event);
        all.with_value(|all| {
            if let Some(of) = all.iter().find(|of| of.id == id) {
                reading.fields.read_with(of);
            }
        });
        reading.with.set(Some(id));
    };
    let cannot = move || {
        let (course, with) = (walking.course()?, reading.with.get()?);
        let (_, step) = course.find(&walking.check())?;
        let line = step.cannot.iter().find(|line| line.starts_with(&format!("{with} ")))?.clone();
        Some(view! { <p class="err" role="status">{line}</p> })
    };
    let own = move || look::own_last(walking).is_some() && !reading.acted.get();
    let none = all.with_value(Vec::is_empty);
    view! {
        {if none {
            view! { <p class="err" role="status">{t!("no-instrument")}</p> }.into_any()
        } else {
            view! { <label class="field"><span>{t!("read-with")}</span><select class="input" on:change=choose>{options}</select></label> }.into_any()
        }}
        {cannot}
        <Show when=own>
            <label class="tickbox"><input type="checkbox" bind:checked=reading.slip/><span>{t!("slip-of-keys")}</span></label>
        </Show>
    }
}
