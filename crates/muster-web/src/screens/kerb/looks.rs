//! A look at what a fall ended: three answers for each, each written when it is tapped.

use leptos::{prelude::*, task::spawn_local};
use leptos_router::components::A;
use muster_core::{
    form::Said,
    judge::Verdict,
    record::payload::Saw,
    state::Heat,
    words::{Class, Depth, Seen},
};

use super::{
    asked::{Ended, answer_word, comes_to, ended_by_fall, which},
    walk::{beginning, open_today, saw, walk_round},
};
use crate::{
    ui::{FirstLine, VerdictWord, toast},
    words::t,
    yard::{NotDone, Yard, yard},
};

/// An answer: the check, what was seen, which of the law pack's defects it was said to be.
type Given = (String, Seen, Option<String>);

const ANSWERS: [Seen; 3] = [Seen::Sound, Seen::Doubtful, Seen::Defective];

/// The table of looks.
#[component]
pub(super) fn Looks(
    /// The machine.
    machine: String,
    /// The worst that was seen, told outwards, and what it was.
    worst: RwSignal<Option<(Verdict, String)>>,
) -> impl IntoView {
    let yard = yard();
    let own = StoredValue::new(machine);
    let ended = Memo::new(move |_| own.with_value(|machine| ended_by_fall(yard, machine)));
    let rows = ended.get_untracked();
    let seen = Memo::new(move |_| own.with_value(|machine| given(yard, machine)));
    Effect::new(move |_| {
        let given = seen.get();
        let said = ended.get().into_iter().filter_map(|of| {
            let seen = given.iter().rev().find(|(check, ..)| *check == of.check)?.1;
            Some((comes_to(seen, of.class), format!("{}: {}", of.name, answer_word(seen))))
        });
        worst.set(said.max_by_key(|(verdict, _)| *verdict));
    });
    let count = rows.iter().filter(|of| of.is_look).count();
    let minutes = rows.iter().filter(|of| of.is_look).map(|of| of.seconds).sum::<u32>().div_ceil(60);
    let looked = move || {
        let given = seen.get();
        ended.get().iter().filter(|of| of.is_look && given.iter().any(|(check, ..)| *check == of.check)).count()
    };
    let measured: Vec<String> = rows.iter().filter(|of| !of.is_look).map(|of| of.name.clone()).collect();
    let busy = RwSignal::new(false);
    let (no_tag, key) = (RwSignal::new(false), RwSignal::new(false));
    // A look that goes on was begun by its first line.
    let begun = Memo::new(move |_| {
        no_tag.get() || own.with_value(|machine| open_today(yard, machine, Depth::AfterAFall)).is_some()
    });
    let answer = move |check: String, said: (Seen, Option<String>)| {
        if !begun.get_untracked() {
            return toast(t!("look-for-tag-first"));
        }
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        spawn_local(async move {
            let done = write(yard, own.get_value(), key.get_untracked(), (check, said)).await;
            busy.set(false);
            if let Err(why) = done {
                toast(why.to_string());
            }
        });
    };
    let body = rows.into_iter().filter(|of| of.is_look).map(|of| row(of, seen, answer)).collect_view();
    let first = move || {
        let is_open = untrack(|| own.with_value(|machine| open_today(yard, machine, Depth::AfterAFall))).is_some();
        (!is_open).then(|| view! { <FirstLine machine=own.get_value() no_tag key/> })
    };
    view! {
        {first()}
        <section class="sec">
            <div class="sec-h"><h2>{t!("look-minutes", minutes = minutes)}</h2>
                <span class="cap">{move || t!("of-count", done = looked(), count = count)}<span class="opt">{t!("ended-with-fall")}</span></span></div>
            <p class="caution">{t!("look-caution")}</p>
            <p class="kworst" role="status">{move || worst.get().map(|(verdict, what)| view! { <VerdictWord verdict/>" "{what} })}</p>
            <table class="looks">
                <thead><tr><th scope="col">{t!("part")}</th>{ANSWERS.map(|of| view! { <th scope="col">{answer_word(of)}</th> }).collect_view()}</tr></thead>
                <tbody>{body}</tbody>
            </table>
            {(!measured.is_empty()).then(|| view! { <p class="working">{t!("measure-too", checks = measured.join(", "))}</p> })}
            <p class="working"><A href=own.with_value(|machine| format!("/machines/{machine}"))>{t!("look-at-machine")}</A></p>
        </section>
    }
    .into_any()
}

/// Writes an answer into the look that is open, or into one that begins with it.
async fn write(
    yard: Yard,
    machine: String,
    has_key: bool,
    (check, (said, defect)): (String, (Seen, Option<String>)),
) -> Result<(), NotDone> {
    let begin = beginning(yard, &machine, Depth::AfterAFall, Heat::Warm, (None, has_key));
    let walk = walk_round(yard, begin).await?;
    saw(yard, (&machine, walk), &check, Saw::One(said), (None, defect)).await
}

/// What who acts has answered in the look that is open, oldest first.
fn given(yard: Yard, machine: &str) -> Vec<Given> {
    let Some(walk) = open_today(yard, machine, Depth::AfterAFall) else { return Vec::new() };
    let answers = yard.with(|held| {
        let answers = &held.machine(machine)?.walk_rounds.get(&walk.opening)?.form.answers;
        let seen = answers.iter().filter_map(|of| match &of.said {
            Said::Saw(seen) => Some((of.check.clone(), seen.iter().map(|(_, seen)| *seen).max()?, of.defect.clone())),
            _ => None,
        });
        Some(seen.collect())
    });
    answers.flatten().unwrap_or_default()
}

fn row(
    of: Ended,
    given: Memo<Vec<Given>>,
    answer: impl Fn(String, (Seen, Option<String>)) + Copy + Send + Sync + 'static,
) -> AnyView {
    let Ended { check, name, how, caution, class, defects, .. } = of;
    let check = StoredValue::new(check);
    let last = Memo::new(move |_| {
        let given = given.get();
        check.with_value(|check| {
            given.iter().rev().find(|(of, ..)| of == check).map(|(_, seen, defect)| (*seen, defect.clone()))
        })
    });
    let each = ANSWERS.map(|seen| {
        let verdict = comes_to(seen, class);
        let says = t!("look-answer", check = name.as_str(), answer = answer_word(seen).to_lowercase(), verdict = verdict.as_str());
        view! {
            <td><button class=verdict.as_str() aria-label=says aria-pressed=move || last.with(|last| last.as_ref().is_some_and(|(of, _)| *of == seen)).to_string()
                on:click=move |_| answer(check.get_value(), (seen, None))>
                <svg class="glyph" width="22" height="22" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
            </button></td>
        }
    });
    let grave = (class == Class::Dangerous).then(|| t!("class-dangerous"));
    let small = [grave, caution, Some(how)].into_iter().flatten().find(|text| !text.is_empty());
    let defects = StoredValue::new(defects);
    let chips = move || {
        let (seen, now) = last.get().filter(|(seen, _)| matches!(seen, Seen::Doubtful | Seen::Defective))?;
        let all = defects.get_value();
        let chosen = move |defect| answer(check.get_value(), (seen, defect));
        (!all.is_empty()).then(|| view! { <tr><td colspan="4">{which(all, now.as_deref(), chosen)}</td></tr> })
    };
    view! {
        <tr><th scope="row">{name}<small>{small}</small></th>{each.collect_view()}</tr>
        {chips}
    }
    .into_any()
}
