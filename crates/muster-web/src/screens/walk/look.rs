//! A look-and-feel check: four answers of equal size, each with what it leads to here; one touch answers and goes on.

use std::collections::BTreeMap;

use leptos::prelude::*;
use muster_core::{
    check::{Look, Yields},
    form::Said,
    judge::Verdict,
    record::{
        id::EventId,
        payload::{ObservationMade, Saw},
    },
    words::{Class, Seen},
};

use super::{
    about::planned,
    head::{Foot, More, Told, Where},
    walking::{Sheet, Walking},
};
use crate::{
    ui::{Icon, verdict_word},
    words::t,
};

/// A look-and-feel check.
#[component]
pub(super) fn LookAnswer(walking: Walking) -> impl IntoView {
    let Some((look, class)) = untrack(|| asked(walking)) else { return ().into_any() };
    let seen = RwSignal::new(BTreeMap::<String, Seen>::new());
    let place = RwSignal::new(None::<String>);
    let places = StoredValue::new(look.places.clone());
    let pick = UnsyncCallback::new(move |answer: Seen| {
        if answer == Seen::CouldNotSee {
            walking.sheet.set(Sheet::CouldNotSee);
            return;
        }
        let Some(saw) = places.with_value(|places| taken(places, place, seen, answer)) else { return };
        write(walking, saw, None);
    });
    let answered = move || walking.about().and_then(|about| own_answer(&about, walking));
    let choices = [Seen::Sound, Seen::Doubtful, Seen::Defective, Seen::CouldNotSee];
    let choices = choices.map(|answer| {
        let says = match answer {
            Seen::Sound => look.sound.clone(),
            Seen::Doubtful => look.doubtful.clone(),
            Seen::Defective => look.defective.clone(),
            Seen::CouldNotSee => t!("say-why"),
        };
        view! { <Choice answer class says answered=Signal::derive(answered) pick/> }
    });
    let has_places = !look.places.is_empty();
    view! {
        <main tabindex="0">
            <Where walking/>
            <Told walking/>
            {has_places.then(|| view! { <Places places=look.places.clone() place seen/> })}
            <p class="class-line">{class_words(class)}</p>
            <More walking/>
        </main>
        <section class="dock" aria-label=t!("answer-and-go-on")>
            <div class="choices" role="group" aria-label=t!("answer-this")>{choices.into_iter().collect_view()}</div>
            <Foot walking>
                <button class="btn btn--lg" class:btn--primary=move || answered().is_some() class:is-off=move || answered().is_none()
                    on:click=move |_| walking.go_on()>
                    {move || if answered().is_some() { t!("walk-next") } else { t!("skip") }} <Icon name="next"/>
                </button>
            </Foot>
        </section>
    }
    .into_any()
}

/// Writes an observation; one's own last answer here is a slip that it corrects. What is not sound asks for a finding.
pub(super) fn write(walking: Walking, saw: Saw, why: Option<String>) {
    let worst = match &saw {
        Saw::One(seen) => *seen,
        Saw::Places(places) => places.values().copied().max().unwrap_or(Seen::CouldNotSee),
    };
    let payload = ObservationMade {
        machine: walking.machine(),
        walk_round: walking.walk,
        check: walking.check(),
        saw,
        class: None,
        defect: None,
        why,
        note: walking.noted(),
        corrects: untrack(|| own_last(walking)),
    };
    walking.write(payload, move |_| match worst {
        Seen::Doubtful | Seen::Defective => walking.sheet.set(Sheet::Finding),
        Seen::Sound | Seen::CouldNotSee => walking.go_on(),
    });
}

/// One's own last answer to the check in this walk-round.
pub(super) fn own_last(walking: Walking) -> Option<EventId> {
    let me = walking.yard.person()?;
    let about = walking.about()?;
    let check = walking.check();
    about.answers(walking.walk, &check).rfind(|(_, answer)| answer.by == me.as_str()).map(|(id, _)| id)
}

fn own_answer(about: &super::about::About, walking: Walking) -> Option<Seen> {
    let check = walking.check();
    let (_, answer) = about.answers(walking.walk, &check).next_back()?;
    match &answer.said {
        Said::Saw(seen) => seen.iter().map(|(_, seen)| *seen).max(),
        _ => None,
    }
}

fn asked(walking: Walking) -> Option<(Look, Class)> {
    let about = walking.about()?;
    let walk = about.walk(walking.walk)?;
    let check = about.check(&walking.check())?;
    let Yields::Look(look) = &check.yields else { return None };
    let context = about.context(crate::clock::now())?;
    Some((look.clone(), context.class(check, planned(walk)).0))
}

/// What is seen so far with this answer; none while places are left.
fn taken(
    places: &[String],
    place: RwSignal<Option<String>>,
    seen: RwSignal<BTreeMap<String, Seen>>,
    answer: Seen,
) -> Option<Saw> {
    let mut all = seen.get_untracked();
    match place.get_untracked() {
        None if all.is_empty() => return Some(Saw::One(answer)),
        None => places.iter().for_each(|place| _ = all.entry(place.clone()).or_insert(answer)),
        Some(one) => {
            all.insert(one, answer);
            seen.set(all.clone());
            place.set(None);
            if places.iter().any(|place| !all.contains_key(place)) {
                return None;
            }
        }
    }
    let same = all.values().all(|one| *one == answer);
    Some(if same { Saw::One(answer) } else { Saw::Places(all) })
}

/// What an answer comes to at a check of a class.
fn leads_to(answer: Seen, class: Class) -> (Verdict, String) {
    match (answer, class) {
        (Seen::Sound, _) => (Verdict::Fit, String::new()),
        (Seen::Doubtful, Class::Dangerous) => (Verdict::Hold, t!("second-looks")),
        (Seen::Defective, Class::Major | Class::Dangerous) => (Verdict::Hold, String::new()),
        (Seen::Doubtful | Seen::Defective, _) => (Verdict::Watch, String::new()),
        (Seen::CouldNotSee, _) => (Verdict::Unseen, String::new()),
    }
}

fn class_words(class: Class) -> String {
    match class {
        Class::Minor => t!("class-minor-says"),
        Class::Major => t!("class-major-says"),
        Class::Dangerous => t!("class-dangerous-says"),
    }
}

/// The word of an answer.
pub(super) fn seen_word(seen: Seen) -> String {
    match seen {
        Seen::Sound => t!("sound"),
        Seen::Doubtful => t!("doubtful"),
        Seen::Defective => t!("defective"),
        Seen::CouldNotSee => t!("could-not-see"),
    }
}

#[component]
fn Choice(
    answer: Seen,
    class: Class,
    says: String,
    #[prop(into)] answered: Signal<Option<Seen>>,
    pick: UnsyncCallback<Seen>,
) -> impl IntoView {
    let (verdict, how) = leads_to(answer, class);
    let how = if how.is_empty() { says } else { format!("{how}. {says}") };
    let pressed = move || if answered.get() == Some(answer) { "true" } else { "false" };
    view! {
        <button class=format!("choice {verdict}") aria-pressed=pressed on:click=move |_| pick.run(answer)>
            <svg class="glyph" width="30" height="30" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
            <span><b>{seen_word(answer)}</b><small><em>{verdict_word(verdict).to_lowercase()}</em>" · "{how}</small></span>
        </button>
    }
}

/// Places that are told apart: touched, the next answer is for that one alone; untouched, for all that have none.
#[component]
fn Places(
    places: Vec<String>,
    place: RwSignal<Option<String>>,
    seen: RwSignal<BTreeMap<String, Seen>>,
) -> impl IntoView {
    let chips = places.into_iter().map(|name| {
        let (own, shown) = (name.clone(), name.clone());
        let (for_on, for_word) = (name.clone(), name);
        let on = move || if place.get().as_ref() == Some(&for_on) { "true" } else { "false" };
        let word =
            move || seen.with(|seen| seen.get(&for_word).map(|seen| format!(": {}", seen_word(*seen).to_lowercase())));
        let touch = move |_| {
            let same = place.get_untracked().as_ref() == Some(&own);
            place.set((!same).then(|| own.clone()));
        };
        view! { <button class="chip" aria-pressed=on on:click=touch>{shown}{word}</button> }
    });
    view! {
        <section class="sec">
            <div class="sec-h"><h2>{t!("places")}</h2><span class="cap">{t!("places-say")}</span></div>
            <div class="chips">{chips.collect_view()}</div>
        </section>
    }
}
