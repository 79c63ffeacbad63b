//! Keeping a machine in: what clears it, the hold tag, the workshop asked.

use leptos::prelude::*;
use muster_core::{
    judge::{Judgement, Outcome, Verdict},
    record::{
        id::EventId,
        job::JobKind,
        payload::{JobOpened, Kind},
    },
    words::Use,
};
use muster_draw::{merge, number::capital};
use muster_wire::command::Asked;

use super::about::About;
use crate::{
    words::t,
    yard::{NotDone, Yard, yard},
};

/// What a tag says.
#[derive(Clone, Copy)]
pub(in crate::screens) struct TagAsked {
    why: RwSignal<String>,
    number: RwSignal<String>,
}

impl TagAsked {
    /// With the gravest reasons in words.
    pub(in crate::screens) fn of(judgement: Option<&Judgement>, one: Use) -> Self {
        let reasons = judgement.map(|of| merge::unfit(of, one)).unwrap_or_default();
        let holds = reasons.iter().filter(|of| of.outcome.verdict == Verdict::Hold).take(3);
        let why: Vec<String> = holds.map(|of| format!("{}: {}", of.outcome.name, of.outcome.reason)).collect();
        Self::saying(why.join("; "))
    }

    /// With a reason in words.
    pub(in crate::screens) fn saying(why: String) -> Self {
        Self { why: RwSignal::new(why), number: RwSignal::new(String::new()) }
    }

    /// Says a reason where none is said yet.
    pub(in crate::screens) fn say(self, why: String) {
        if !self.is_said() {
            self.why.set(why);
        }
    }

    /// Hangs it.
    pub(in crate::screens) async fn hang(self, yard: Yard, machine: String) -> Result<(), NotDone> {
        let number = Some(self.number.get_untracked().trim().to_owned()).filter(|number| !number.is_empty());
        let why = self.why.get_untracked().trim().to_owned();
        yard.act(Asked::Tag { machine, why, number }).await.map(|_| ())
    }

    /// Whether it says why.
    pub(in crate::screens) fn is_said(self) -> bool {
        self.why.with(|why| !why.trim().is_empty())
    }
}

/// What is written on it.
#[component]
pub(in crate::screens) fn TagForm(asked: TagAsked) -> impl IntoView {
    view! {
        <label class="field"><span>{t!("tag-why")}</span><textarea class="input" rows="3" bind:value=asked.why></textarea></label>
        <label class="field"><span>{t!("tag-number")}</span><input class="input" autocomplete="off" bind:value=asked.number/></label>
        <p class="cap">{t!("tag-says")}</p>
    }
}

/// Tags that hang.
#[component]
pub(super) fn Hanging(machine: StoredValue<String>) -> impl IntoView {
    let yard = yard();
    let hanging = move || {
        let seen = yard.machine(&machine.get_value())?;
        let each: Vec<_> = seen
            .state
            .hanging()
            .map(|(_, tag)| {
                let number = tag.hung.number.clone().unwrap_or_default();
                let who = yard.name(tag.by.0.as_str());
                let name = format!("{} {number}", t!("hold-tag"));
                let says = t!("tag-hangs", tag = name.trim(), who = who.as_str(), at = tag.by.1.clock());
                view! { <p><b>{says}</b>" "{tag.hung.why.clone()}</p> }
            })
            .collect();
        (!each.is_empty()).then(|| view! { <section class="sec"><div class="notice" role="status"><svg class="icon" width="24" height="24" aria-hidden="true"><use href="#i-tag"></use></svg><div>{each}</div></div></section> })
    };
    view! { {hanging} }
}

/// What clears a hold or an unseen, step by step.
pub(super) fn clears(judgement: &Judgement, one: Use) -> impl IntoView + use<> {
    let reasons = merge::unfit(judgement, one);
    let stops = reasons.iter().filter(|of| of.uses.contains(&one) && of.outcome.verdict >= Verdict::Unseen);
    let mut rows: Vec<(String, String, String)> = Vec::new();
    let mut unseen = Vec::new();
    for merged in stops {
        if merged.is_bare() {
            unseen.push(merged.outcome.name.clone());
            continue;
        }
        let what = if merge::is_to_set(merged.outcome) {
            t!("clear-set")
        } else if merged.outcome.verdict == Verdict::Hold {
            t!("clear-job")
        } else {
            t!("clear-look")
        };
        rows.push((what, merged.outcome.name.clone(), merged.todo().unwrap_or_default()));
    }
    if !unseen.is_empty() {
        rows.push((t!("clear-walk"), t!("checks-unseen", count = unseen.len()), unseen.join(", ")));
    }
    let rows = rows
        .into_iter()
        .map(|(what, name, todo)| view! { <li><b>{what}</b><span>{capital(&name)}" · "{todo}</span></li> });
    view! { <section class="sec"><div class="sec-h"><h2>{t!("what-clears")}</h2></div><ol class="clear">{rows.collect_view()}</ol></section> }
}

/// Asks the workshop for what puts it right.
#[component]
pub(super) fn Workshop(machine: StoredValue<String>, one: Use, asks: UnsyncCallback<JobOpened>) -> impl IntoView {
    let yard = yard();
    let Some(about) = untrack(|| About::of(&yard, &machine.get_value())) else { return ().into_any() };
    let failing = failing(&about, one);
    let kinds: Vec<JobKind> = fitting(&about, &failing);
    if kinds.is_empty() || !yard.may(Kind::JobOpened) {
        return ().into_any();
    }
    let chosen = RwSignal::new(kinds.first().map(|kind| kind.id.clone()).unwrap_or_default());
    let options: Vec<_> =
        kinds.iter().map(|kind| view! { <option value=kind.id.clone()>{kind.name.clone()}</option> }).collect();
    let why: Vec<String> = failing.iter().map(|(_, outcome)| format!("{}: {}", outcome.name, outcome.reason)).collect();
    let why = StoredValue::new(why.join("; "));
    let choose = move |event: leptos::ev::Event| chosen.set(event_target_value(&event));
    let kinds = StoredValue::new(kinds);
    let ask = move |_| {
        let Some(about) = untrack(|| About::of(&yard, &machine.get_value())) else { return };
        let proves = kinds.with_value(|kinds| {
            kinds.iter().find(|kind| kind.id == chosen.get_untracked()).map(|kind| kind.proves.clone())
        });
        let proves = proves.unwrap_or_default();
        let own = |check: &Option<String>| check.as_ref().is_some_and(|check| proves.contains(check));
        let findings = about.state.open_findings().filter(|(_, of)| own(&of.raised.check)).map(|(id, _)| id).collect();
        let tags: Vec<EventId> = about.state.hanging().map(|(id, _)| id).collect();
        let machine = machine.get_value();
        asks.run(JobOpened {
            machine,
            job: chosen.get_untracked(),
            why: why.get_value(),
            findings,
            tags,
            planned: None,
        });
    };
    let open = move || {
        let seen = yard.machine(&machine.get_value())?;
        let names: Vec<String> = seen.state.unproven().map(|(_, job)| job.opened.job.clone()).collect();
        (!names.is_empty()).then(|| t!("jobs-open", jobs = names.join(", ")))
    };
    view! {
        <section class="sec form">
            <div class="sec-h"><h2>{t!("workshop")}</h2></div>
            {move || open().map(|says| view! { <p class="cap" role="status">{says}</p> })}
            <label class="field"><span>{t!("kind-of-work")}</span><select class="input" on:change=choose>{options}</select></label>
            <button class="btn" on:click=ask>{t!("ask-workshop")}</button>
        </section>
    }
    .into_any()
}

/// What stops it, by the check it stands at.
fn failing(about: &About, one: Use) -> Vec<(String, Outcome)> {
    let stops = merge::unfit(&about.judgement, one);
    let stops = stops.iter().filter(|of| matches!(of.outcome.verdict, Verdict::Hold | Verdict::Watch));
    let found = |outcome: &Outcome| {
        let id: EventId = outcome.check.strip_prefix("finding.")?.parse().ok()?;
        about.state.findings.get(&id)?.raised.check.clone()
    };
    stops.map(|of| (found(of.outcome).unwrap_or_else(|| of.outcome.check.clone()), of.outcome.clone())).collect()
}

/// Kinds of work that are proven by checks that stop it: what proves fewer others first.
fn fitting(about: &About, failing: &[(String, Outcome)]) -> Vec<JobKind> {
    let fits = |kind: &&JobKind| failing.iter().any(|(check, _)| kind.proves.contains(check));
    let mut kinds: Vec<JobKind> = about.rules.jobs.iter().filter(fits).cloned().collect();
    let place = |kind: &JobKind| failing.iter().position(|(check, _)| kind.proves.contains(check));
    kinds.sort_by_key(|kind| (place(kind), kind.proves.len()));
    kinds
}
