//! Letting a machine out: conditions to tick, who rides, till when, who signs, as known when.

use std::{collections::BTreeSet, sync::Arc};

use leptos::prelude::*;
use muster_core::{
    calendar::{Moment, days_later},
    judge::{Judgement, Verdict},
    record::{
        id::PersonId,
        payload::{Kind, Right, Role},
    },
    words::Use,
};
use muster_wire::command::{Asked, Release};

use super::start::use_word;
use crate::{
    clock,
    words::t,
    yard::{NotDone, Yard, yard},
};

/// A time past by less than this is today's, in seconds.
const JUST_PAST_S: i64 = 15 * 60;

/// What is asked before it goes out.
#[derive(Clone, Copy)]
pub(super) struct Leave {
    /// The use.
    pub(super) one: RwSignal<Use>,
    /// Back at, hours and minutes.
    pub(super) back: RwSignal<String>,
    riders: RwSignal<Vec<String>>,
    ticked: RwSignal<BTreeSet<String>>,
    reason: RwSignal<String>,
}

/// The next time a clock shows this; none for what is no time.
pub(in crate::screens) fn moment_at(clock_time: &str) -> Option<Moment> {
    let now = clock::now();
    let written = now.to_string();
    let offset = written.get(written.len().checked_sub(6)?..)?;
    let on = |date| Moment::parse(&format!("{date}T{clock_time}:00{offset}")).ok();
    let today = on(now.date())?;
    if now.seconds_since(today) > JUST_PAST_S { on(days_later(now.date(), 1)) } else { Some(today) }
}

impl Leave {
    /// As the last walk-round and the roster have it.
    pub(super) fn of(yard: &Yard, machine: &str) -> Self {
        let now = clock::now();
        let judgement = yard.machine(machine).map(|seen| seen.judgement);
        let back = judgement.as_ref().and_then(|of| Moment::parse(of.back.as_deref()?).ok());
        let back = back.filter(|back| *back > now).unwrap_or_else(|| now.later_by(4 * 3600));
        let one = judgement.and_then(|of| of.planned).unwrap_or(Use::Range);
        Self {
            one: RwSignal::new(one),
            back: RwSignal::new(back.clock()),
            riders: RwSignal::new(rostered(yard, machine, now)),
            ticked: RwSignal::new(BTreeSet::new()),
            reason: RwSignal::new(String::new()),
        }
    }

    /// The machine judged for this outing.
    pub(super) fn judged(self, yard: &Yard, machine: &str) -> Option<Arc<Judgement>> {
        let seen = yard.machine(machine)?;
        let (one, back) = (self.one.get(), moment_at(&self.back.get()));
        let same = seen.judgement.planned == Some(one)
            && seen.judgement.back.as_deref().and_then(|of| Moment::parse(of).ok()).map(Moment::clock)
                == back.map(Moment::clock);
        match back {
            Some(back) if !same => {
                let outing = muster_core::form::Outing { planned: one, back, distance: None };
                yard.judge_for(machine, outing).map(Arc::new)
            }
            _ => Some(seen.judgement),
        }
    }

    /// Whether every condition is ticked.
    pub(super) fn is_ticked(self, conditions: &[String]) -> bool {
        self.ticked.with(|ticked| conditions.iter().all(|says| ticked.contains(says)))
    }

    /// Asks for the release.
    pub(super) async fn sign(self, yard: Yard, machine: String) -> Result<(), NotDone> {
        let from = clock::now();
        let to = moment_at(&self.back.get_untracked()).ok_or_else(|| NotDone(t!("no-time")))?;
        let one = self.one.get_untracked();
        let reason = self.reason.get_untracked().trim().to_owned();
        let asked = Release {
            machine,
            outing: format!("{} {}\u{2013}{}", use_word(one), from.clock(), to.clock()),
            uses: vec![one.as_str().to_owned()],
            riders: self.riders.get_untracked(),
            from: from.to_string(),
            to: to.to_string(),
            reason: Some(reason).filter(|reason| !reason.is_empty()),
            ..Release::default()
        };
        yard.act(Asked::Release(asked)).await.map(|_| ())
    }
}

/// Who rides it next by today's roster.
pub(in crate::screens) fn rostered(yard: &Yard, machine: &str, now: Moment) -> Vec<String> {
    let riders = yard.with(|held| {
        let rows = held.known().state.rosters.get(&now.date().to_string()).map(|(rows, _)| rows.clone());
        let next = rows.into_iter().flatten().filter(|row| row.machine == machine && row.to > now);
        next.min_by_key(|row| row.from).and_then(|row| row.rider).map(|rider| rider.to_string())
    });
    riders.flatten().into_iter().collect()
}

/// People who may ride: id and name.
pub(in crate::screens) fn people(yard: &Yard) -> Vec<(String, String)> {
    let rides = |role: Role| role != Role::Auditor;
    let ids: Vec<PersonId> = yard
        .with(|held| {
            let people = held.known().state.people.iter();
            let may = people.filter(|(_, of)| of.standing().is_some_and(|of| of.active && rides(of.role)));
            may.map(|(id, _)| id.clone()).collect()
        })
        .unwrap_or_default();
    let mut people: Vec<(String, String)> = ids.iter().map(|id| (id.to_string(), yard.name(id.as_str()))).collect();
    people.sort_by(|a, b| a.1.cmp(&b.1));
    people
}

/// What it is let out for: use, till when, who rides, conditions, who signs.
#[component]
pub(super) fn LeaveForm(leave: Leave, #[prop(into)] judgement: Signal<Option<Arc<Judgement>>>) -> impl IntoView {
    let yard = yard();
    let conditions = move || {
        let one = leave.one.get();
        let of = judgement.get();
        of.and_then(|of| of.uses.iter().find(|of| of.one == one).map(|of| of.conditions.clone())).unwrap_or_default()
    };
    let boxes = move || {
        let each = conditions().into_iter().map(|says| {
            let (own, set) = (says.clone(), says.clone());
            let on = move || leave.ticked.with(|ticked| ticked.contains(&own));
            let tick = move |event| {
                let on = event_target_checked(&event);
                leave.ticked.update(|ticked| _ = if on { ticked.insert(set.clone()) } else { ticked.remove(&set) });
            };
            view! { <label class="tickbox"><input type="checkbox" prop:checked=on on:change=tick/><span>{says}</span></label> }
        });
        each.collect_view()
    };
    let against = move || {
        let one = leave.one.get();
        let stops =
            judgement.get().is_some_and(|of| of.uses.iter().any(|of| of.one == one && of.verdict >= Verdict::Unseen));
        stops && yard.has(Right::Override) && yard.may(Kind::Released)
    };
    let known = move || {
        let of = judgement.get()?;
        let at = of.known_at.clone().unwrap_or_else(|| of.judged_at.clone());
        Some(t!("as-known-at", at = Moment::parse(&at).map_or(at, Moment::clock)))
    };
    let signer = move || yard.person().map(|me| t!("who-signs", who = yard.name(me.as_str())));
    view! {
        <section class="sec">
            <div class="sec-h"><h2>{t!("release")}</h2></div>
            {boxes}
            <div class="two-up">
                <label class="field"><span>{t!("back-at")}</span><input class="input" type="time" required bind:value=leave.back/></label>
                <Riders leave/>
            </div>
            <Show when=against>
                <label class="field"><span>{t!("reason-against")}</span><textarea class="input" rows="2" bind:value=leave.reason></textarea></label>
            </Show>
            <p class="asknown"><span>{signer}</span><b>{known}</b></p>
        </section>
    }
}

#[component]
fn Riders(leave: Leave) -> impl IntoView {
    let yard = yard();
    let options = move || {
        let chosen = leave.riders.get();
        let each = people(&yard).into_iter().filter(|(id, _)| !chosen.contains(id));
        each.map(|(id, name)| view! { <option value=id>{name}</option> }).collect_view()
    };
    let add = move |event: leptos::ev::Event| {
        let id = event_target_value(&event);
        if !id.is_empty() {
            leave.riders.update(|riders| riders.push(id));
        }
    };
    let chips = move || {
        let each = leave.riders.get().into_iter().map(|id| {
            let name = yard.name(&id);
            let label = t!("take-off-rider", name = name.as_str());
            let drop = move |_| leave.riders.update(|riders| riders.retain(|of| *of != id));
            view! { <button type="button" class="chip" aria-pressed="true" aria-label=label on:click=drop>{name}" ×"</button> }
        });
        each.collect_view()
    };
    view! {
        <div>
            <label class="field"><span>{t!("who-rides")}</span>
                <select class="input" on:change=add><option value="">{t!("add-rider")}</option>{options}</select></label>
            <div class="chips riders">{chips}</div>
        </div>
    }
}
