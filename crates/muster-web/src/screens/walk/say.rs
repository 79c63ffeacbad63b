//! What is said beside an answer: a note, or why something could not be seen.

use leptos::prelude::*;
use muster_core::{record::payload::Saw, words::Seen};

use super::{
    look,
    walking::{Sheet, Walking},
};
use crate::words::t;

/// A note that goes with the answer.
#[component]
pub(super) fn NoteSheet(walking: Walking) -> impl IntoView {
    let before = walking.note.get_untracked();
    let cancel = move |_| {
        walking.note.set(before.clone());
        walking.sheet.set(Sheet::None);
    };
    view! {
        <main>
            <section class="sheet sheet--whole">
                <h1>{t!("note")}</h1>
                <p class="cap">{t!("note-says")}</p>
                <label class="field"><span>{t!("in-plain-words")}</span><textarea class="input" rows="4" bind:value=walking.note></textarea></label>
            </section>
        </main>
        <footer class="foot foot--two">
            <button class="btn" on:click=cancel>{t!("cancel")}</button>
            <button class="btn btn--primary btn--lg" on:click=move |_| walking.sheet.set(Sheet::None)>{t!("keep-note")}</button>
        </footer>
    }
}

/// Why it could not be seen: it stays unseen, with the reason.
#[component]
pub(super) fn WhySheet(walking: Walking) -> impl IntoView {
    let why = RwSignal::new(String::new());
    let common =
        [t!("why-no-stand"), t!("why-dark"), t!("why-dirt"), t!("why-hot"), t!("why-alone"), t!("why-no-gauge")];
    let chips = common.map(|word| {
        let (own, set) = (word.clone(), word.clone());
        let on = move || if why.with(|why| *why == own) { "true" } else { "false" };
        view! { <button class="chip" aria-pressed=on on:click=move |_| why.set(set.clone())>{word}</button> }
    });
    let save = move |_| {
        let said = why.get_untracked().trim().to_owned();
        walking.sheet.set(Sheet::None);
        look::write(walking, Saw::One(Seen::CouldNotSee), (!said.is_empty()).then_some(said));
    };
    let empty = move || why.with(|why| why.trim().is_empty());
    view! {
        <main>
            <section class="sheet sheet--whole">
                <h1>{t!("could-not-see-why")}</h1>
                <p class="cap">{t!("unseen-never-fit")}</p>
                <div class="words">{chips.into_iter().collect_view()}</div>
                <label class="field"><span>{t!("in-plain-words")}</span><input class="input" bind:value=why/></label>
            </section>
        </main>
        <footer class="foot foot--two">
            <button class="btn" on:click=move |_| walking.sheet.set(Sheet::None)>{t!("cancel")}</button>
            <button class="btn btn--primary btn--lg" class:is-off=empty disabled=empty on:click=save>{t!("save-unseen")}</button>
        </footer>
    }
}
