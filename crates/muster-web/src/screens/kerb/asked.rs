//! What the core asks of a machine, as a screen shows it.

use muster_core::{
    check::{Check, Yields},
    equipment::Holds,
    judge::{self, Context, Verdict},
    record::{judged, machine_state::MachineState},
    words::{Class, Depth, Seen, Use},
};

use leptos::prelude::*;

use crate::{clock, words::t, yard::Yard};

/// Reads a machine in its context: as its record has it, now; none if the yard has no such machine.
pub(super) fn in_context<T>(yard: Yard, id: &str, read: impl FnOnce(&Context<'_>, &MachineState) -> T) -> Option<T> {
    let rules = yard.rules();
    yard.with(|held| {
        let known = held.known();
        let state = held.machine(id)?;
        let machine = judged::machine(&known.yard, state)?;
        let context = Context::of(&rules.catalogue, &known.yard, id, clock::now())?;
        Some(read(&Context { machine: &machine, ..context }, state))
    })?
}

/// Whether a check is asked of a machine at all.
pub(super) fn applies(context: &Context<'_>, check: &Check) -> bool {
    let equipment = &context.machine.traits.equipment;
    check.applies.holds(equipment) != Holds::No && check.requires.lacking(equipment).is_empty()
}

/// One check a fall has ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Ended {
    /// Its id.
    pub(super) check: String,
    /// Its name.
    pub(super) name: String,
    /// Its first line of how.
    pub(super) how: String,
    /// What can hurt someone here.
    pub(super) caution: Option<String>,
    /// How grave a defect is.
    pub(super) class: Class,
    /// How long it takes, in seconds.
    pub(super) seconds: u32,
    /// Whether it is answered by a look; a reading is taken in a walk-round.
    pub(super) is_look: bool,
    /// Whether it has no answer since.
    pub(super) is_due: bool,
    /// What the law pack says may be wrong, where its classes differ.
    pub(super) defects: Vec<Defect>,
}

/// A defect of the law pack: what it is named by, its class, its words.
pub(super) type Defect = (String, Class, String);

/// What the law pack says may be wrong at a check, gravest first; none where all is as grave and nothing hangs on which.
pub(super) fn defects(context: &Context<'_>, check: &Check, one: Use) -> Vec<Defect> {
    let (rows, gravest) = (context.defects(check), context.class(check, one).0);
    if rows.iter().all(|row| row.class == gravest) {
        return Vec::new();
    }
    rows.into_iter().map(|row| (row.key.clone(), row.class, row.when.clone())).collect()
}

/// The chips that name a defect, and one for whoever is not sure; `now` is the one that is named.
pub(super) fn which(
    defects: Vec<Defect>,
    now: Option<&str>,
    chosen: impl Fn(Option<String>) + Copy + 'static,
) -> AnyView {
    let each = defects.into_iter().map(|(key, class, when)| {
        let says = format!("{when}: {class}");
        let is_it = (now == Some(key.as_str())).to_string();
        view! { <button class="chip chip--wrap" aria-pressed=is_it on:click=move |_| chosen(Some(key.clone()))>{says}</button> }
    });
    let each = each.collect_view();
    view! {
        <div class="kagain"><p class="cap">{t!("which-defect")}</p>
            <div class="chips" role="group" aria-label=t!("which-defect")>{each}
                <button class="chip" on:click=move |_| chosen(None)>{t!("which-none")}</button></div></div>
    }
    .into_any()
}

/// The checks whose answers a fall ends on this machine, in walking order.
pub(super) fn ended_by_fall(yard: Yard, id: &str) -> Vec<Ended> {
    let judgement = yard.machine(id).map(|seen| seen.judgement);
    let planned = judgement.as_ref().and_then(|of| of.planned()).map(|of| (of.one, of.outcomes.as_slice()));
    let (one, outcomes) = planned.unwrap_or((Use::Range, &[]));
    let ended = |context: &Context<'_>, state: &MachineState| {
        let checks = judge::asked(context, &state.forms(), Depth::AfterAFall, one);
        checks
            .into_iter()
            .map(|check| Ended {
                check: check.id.clone(),
                name: check.name.clone(),
                how: context.method(check).first().cloned().unwrap_or_default(),
                caution: context.caution(check),
                class: context.class(check, one).0,
                seconds: check.seconds,
                is_look: matches!(check.yields, Yields::Look(_)),
                defects: defects(context, check, one),
                is_due: outcomes.iter().any(|of| of.check == check.id && of.verdict == Verdict::Unseen),
            })
            .collect()
    };
    in_context(yard, id, ended).unwrap_or_default()
}

/// The verdict an answer of a look comes to by itself.
pub(super) const fn comes_to(seen: Seen, class: Class) -> Verdict {
    match (seen, class) {
        (Seen::CouldNotSee, _) => Verdict::Unseen,
        (Seen::Sound, _) => Verdict::Fit,
        (Seen::Doubtful, Class::Dangerous) | (Seen::Defective, Class::Major | Class::Dangerous) => Verdict::Hold,
        (Seen::Doubtful | Seen::Defective, _) => Verdict::Watch,
    }
}

/// The word of an answer in the language spoken.
pub(super) fn answer_word(seen: Seen) -> String {
    match seen {
        Seen::Sound => t!("kerb-sound"),
        Seen::Doubtful => t!("kerb-doubtful"),
        Seen::Defective => t!("kerb-defective"),
        Seen::CouldNotSee => t!("kerb-could-not-see"),
    }
}
