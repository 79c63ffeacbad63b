//! A finding, rising over the check it was found at: how grave, what in words, a photo.

use std::collections::BTreeMap;

use leptos::prelude::*;
use muster_core::{
    check::{Check, Yields},
    form::Said,
    judge::{Context, Verdict},
    record::payload::{FindingRaised, ObservationMade, Role, Saw},
    words::{Class, Seen, Use},
};

use super::{
    about::planned,
    photo::{Shutter, Taken},
    walking::{Sheet, Walking},
};
use crate::{
    clock,
    ui::{Icon, after, toast, verdict_word},
    words::t,
};

/// What is known of the check it is found at.
struct Found {
    name: String,
    class: Class,
    uses: Vec<Use>,
    /// What the law pack says it may be: key, class, words.
    defects: Vec<(String, Class, String)>,
    words: Vec<String>,
    number: usize,
}

/// A finding.
#[component]
pub(super) fn FindingSheet(walking: Walking) -> impl IntoView {
    let Some(found) = untrack(|| found(walking)) else { return ().into_any() };
    let (class, what) = (RwSignal::new(found.class), RwSignal::new(String::new()));
    let photos = RwSignal::new(Vec::<Taken>::new());
    let defect = RwSignal::new(None::<String>);
    let preset = found.class;
    let uses = StoredValue::new(found.uses);
    let leave = move || {
        walking.sheet.set(Sheet::None);
        walking.go_on();
    };
    let save = move |_| {
        let payload = FindingRaised {
            machine: walking.machine(),
            walk_round: Some(walking.walk),
            check: Some(walking.check()),
            what: what.get_untracked().trim().to_owned(),
            class: class.get_untracked(),
            defect: defect.get_untracked(),
            uses: uses.get_value(),
            feedback: walking.yard.role() == Some(Role::Rider),
        };
        let answer = untrack(|| renamed(walking, defect.get()));
        let written = async move {
            if let Some(answer) = answer {
                walking.yard.write(answer).await?;
            }
            walking.yard.write(payload).await
        };
        walking.doing(written, move |ids| {
            keep(walking, photos.get_untracked(), ids.first().copied());
            leave();
        });
    };
    let says = move || match leads_to(class.get()) {
        Verdict::Hold => t!("save-and-hold"),
        _ => t!("save-finding"),
    };
    let hold = move || leads_to(class.get()) == Verdict::Hold;
    let empty = move || what.with(|what| what.trim().is_empty());
    view! {
        <main>
            <section class="check"><p class="found-at">{found.name}</p></section>
            <section class="sheet sheet--whole">
                <div class="finding-h"><h1>{t!("finding-on", number = found.number, machine = walking.machine())}</h1>
                    {move || verdict(leads_to(class.get()))}</div>
                <Photos photos/>
                <p class="cap">{t!("class-preset", class = preset.as_str())}</p>
                <Defects defects=found.defects defect class preset/>
                <Grave class/>
                <p class="cap">{t!("in-plain-words")}</p>
                <Words words=found.words what/>
                <label class="field"><span class="vh">{t!("what-found")}</span><textarea class="input" rows="3" bind:value=what></textarea></label>
            </section>
        </main>
        <footer class="foot foot--two">
            <button class="btn btn--wrap" on:click=move |_| leave()>{t!("no-finding")}</button>
            <button class="btn btn--lg" class:btn--hold=move || hold() && !empty() class:btn--primary=move || !hold() && !empty() class:is-off=empty disabled=empty on:click=save>
                <Icon name="tag"/>" "{says}
            </button>
        </footer>
    }
    .into_any()
}

fn found(walking: Walking) -> Option<Found> {
    let (about, id) = (walking.about()?, walking.check());
    let (check, walk) = (about.check(&id)?, about.walk(walking.walk)?);
    let context = about.context(clock::now())?;
    let class = context.class(check, planned(walk)).0;
    let defects = defects(&context, check);
    let sentences = match &check.yields {
        Yields::Look(look) => format!("{} {}", look.defective, look.doubtful),
        _ => String::new(),
    };
    Some(Found {
        name: check.name.clone(),
        class,
        // A check that names no use binds wherever it is answered.
        uses: if check.uses.count() == 0 { Use::ALL.to_vec() } else { check.uses.iter().collect() },
        defects,
        words: words(&sentences),
        number: about.state.open_findings().count() + 1,
    })
}

/// What the law pack says may be wrong at a check: key, class, words, gravest first.
pub(super) fn defects(context: &Context<'_>, check: &Check) -> Vec<(String, Class, String)> {
    context.defects(check).into_iter().map(|row| (row.key.clone(), row.class, row.when.clone())).collect()
}

/// One's own last answer here with the defect named: without it the gravest of the law pack's would count at the check,
/// whatever the finding says.
fn renamed(walking: Walking, defect: Option<String>) -> Option<ObservationMade> {
    let (about, me, check) = (walking.about()?, walking.yard.person()?, walking.check());
    let (id, answer) = about.answers(walking.walk, &check).rfind(|(_, answer)| answer.by == me.as_str())?;
    let Said::Saw(seen) = &answer.said else { return None };
    let worst = seen.iter().map(|(_, seen)| *seen).max();
    if defect.is_none() || !matches!(worst, Some(Seen::Doubtful | Seen::Defective)) {
        return None;
    }
    let placed = seen.iter().filter_map(|(place, seen)| Some((place.clone()?, *seen))).collect::<BTreeMap<_, _>>();
    let saw = worst.filter(|_| placed.is_empty()).map_or(Saw::Places(placed), Saw::One);
    Some(ObservationMade {
        machine: walking.machine(),
        walk_round: walking.walk,
        check: check.clone(),
        saw,
        class: answer.class,
        defect,
        why: answer.why.clone(),
        note: answer.note.clone(),
        corrects: Some(id),
    })
}

/// The words to tap: what the catalogue says such a defect looks like, piece by piece.
fn words(sentences: &str) -> Vec<String> {
    let pieces = sentences.split(['.', ',', ';']).map(|piece| piece.trim().trim_start_matches("or ").trim());
    let mut words: Vec<String> = Vec::new();
    for piece in pieces.filter(|piece| !piece.is_empty()).map(muster_draw::number::small) {
        if !words.contains(&piece) {
            words.push(piece);
        }
    }
    words
}

/// What a finding of a class comes to.
const fn leads_to(class: Class) -> Verdict {
    match class {
        Class::Minor => Verdict::Watch,
        Class::Major | Class::Dangerous => Verdict::Hold,
    }
}

fn verdict(verdict: Verdict) -> impl IntoView {
    view! {
        <span class=format!("verdict {verdict}")><svg class="glyph" width="24" height="24" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg><span>{verdict_word(verdict)}</span></span>
    }
}

/// How grave: three of equal size.
#[component]
fn Grave(class: RwSignal<Class>) -> impl IntoView {
    let of = [
        (Class::Minor, "#g-watch", t!("minor"), t!("minor-leads")),
        (Class::Major, "#g-hold", t!("major"), t!("major-leads")),
        (Class::Dangerous, "#i-warn", t!("dangerous"), t!("dangerous-leads")),
    ];
    let each = of.map(|(one, glyph, word, leads)| {
        let on = move || if class.get() == one { "true" } else { "false" };
        view! {
            <button aria-pressed=on on:click=move |_| class.set(one)>
                <svg class="glyph" width="22" height="22" aria-hidden="true"><use href=glyph></use></svg>
                <span><b>{word}</b><br/>{leads}</span>
            </button>
        }
    });
    view! { <div class="sev" role="group" aria-label=t!("how-grave")>{each.into_iter().collect_view()}</div> }
}

/// What the law says it may be, each with its class; none chosen counts as the gravest.
#[component]
fn Defects(
    defects: Vec<(String, Class, String)>,
    defect: RwSignal<Option<String>>,
    class: RwSignal<Class>,
    preset: Class,
) -> impl IntoView {
    if defects.is_empty() {
        return ().into_any();
    }
    let each = defects.into_iter().map(|(key, of, when)| {
        let own = key.clone();
        let is_it = move || defect.with(|defect| defect.as_ref() == Some(&own));
        let on = move || if is_it() { "true" } else { "false" };
        let touch = move |_| {
            let taken_back = defect.with_untracked(|defect| defect.as_ref() == Some(&key));
            defect.set((!taken_back).then(|| key.clone()));
            class.set(if taken_back { preset } else { of });
        };
        view! { <button class="chip chip--wrap" aria-pressed=on on:click=touch>{when}": "<b>{word(of)}</b></button> }
    });
    view! {
        <p class="cap">{t!("which-defect")}</p>
        <div class="chips" role="group" aria-label=t!("which-defect")>{each.collect_view()}</div>
    }
    .into_any()
}

/// The word of a class.
fn word(class: Class) -> String {
    match class {
        Class::Minor => t!("minor"),
        Class::Major => t!("major"),
        Class::Dangerous => t!("dangerous"),
    }
}

#[component]
fn Words(words: Vec<String>, what: RwSignal<String>) -> impl IntoView {
    let each = words.into_iter().map(|word| {
        let (own, add) = (word.clone(), word.clone());
        let on = move || if what.with(|what| what.contains(&own)) { "true" } else { "false" };
        let touch = move |_| {
            what.update(|what| {
                if what.contains(&add) {
                    *what = what.replace(&add, "").trim_matches([' ', ',']).replace(", ,", ",");
                } else {
                    *what = [what.trim(), &add]
                        .iter()
                        .filter(|part| !part.is_empty())
                        .copied()
                        .collect::<Vec<_>>()
                        .join(", ");
                }
            });
        };
        view! { <button class="chip chip--wrap" aria-pressed=on on:click=touch>{word}</button> }
    });
    view! { <div class="words">{each.collect_view()}</div> }
}

#[component]
fn Photos(photos: RwSignal<Vec<Taken>>) -> impl IntoView {
    let taken = UnsyncCallback::new(move |photo: Taken| photos.update(|photos| photos.push(photo)));
    let shown = move || {
        let all = photos.get();
        let each = all.iter().enumerate().filter_map(|(index, photo)| {
            let address = photo.address()?;
            let drop = move |_| photos.update(|photos| _ = photos.remove(index));
            Some(view! {
                <span class="shot"><img src=address alt=t!("photo-number", number = index + 1)/>
                    <button class="btn btn--sm" on:click=drop>{t!("drop-photo")}</button></span>
            })
        });
        each.collect_view()
    };
    let says = move || if photos.with(Vec::is_empty) { t!("photo") } else { t!("another-photo") };
    view! { <div class="shots">{shown}{move || view! { <Shutter says=says() taken/> }}</div> }
}

/// Keeps the photos of a finding that was raised.
fn keep(walking: Walking, photos: Vec<Taken>, of: Option<muster_core::record::id::EventId>) {
    for photo in photos {
        after(photo.keep(walking.yard, walking.machine(), of), |done| done.unwrap_or_else(toast));
    }
}
