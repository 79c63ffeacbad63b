//! Findings and workshop jobs of a machine, and what moves them on.

use futures_util::FutureExt as _;
use leptos::{prelude::*, task::spawn_local};
use muster_core::{
    calendar,
    catalogue::ClassRow,
    judge::Context,
    record::{
        id::EventId,
        judged,
        machine_state::{FindingState, Job, MachineState},
        payload::{FindingClassed, FindingClosed, JobMoved, JobOpened, JobState, Kind, Right},
    },
    words::Class,
};
use muster_wire::command::Asked;

use super::{
    act::{Act, Doing, Field, named, nothing, nth, optional},
    hand::holds,
};
use crate::{
    clock,
    ui::{date_text, toast, when},
    words::t,
    yard::{Yard, yard},
};

/// The findings that are open.
pub(super) fn findings(state: &MachineState) -> AnyView {
    let open: Vec<_> = state.open_findings().map(|(id, of)| finding(state, id, of)).collect();
    let count = open.len();
    view! {
        <section class="part-of">
            <div class="rulehead"><h2>{t!("findings")}</h2><span class="cap">{count}</span></div>
            {if open.is_empty() { nothing() } else { open.into_iter().collect_view().into_any() }}
        </section>
    }
    .into_any()
}

fn finding(state: &MachineState, id: EventId, of: &FindingState) -> AnyView {
    let yard = yard();
    let photos = state.photos.values().filter(|photo| photo.of == Some(id)).map(|photo| {
        view! { <img class="photo" src=format!("/api/v1/photos/{}", photo.sha256) alt=t!("photo-of", what = of.raised.what.as_str()) loading="lazy"/> }
    });
    let photos = photos.collect_view();
    let glyph = if of.class == Class::Minor { "watch" } else { "hold" };
    let (closes, classes) = (state.machine.clone(), state.machine.clone());
    let close: Doing = Box::new(move |answers| {
        let payload = FindingClosed { machine: closes.clone(), finding: id, how: nth(&answers, 0) };
        async move { yard.write(payload).await.map(drop) }.boxed_local()
    });
    let class: Doing = Box::new(move |answers| {
        let class = nth(&answers, 0).parse().unwrap_or(Class::Dangerous);
        let defect = optional(&nth(&answers, 2));
        let payload = FindingClassed { machine: classes.clone(), finding: id, class, defect, why: nth(&answers, 1) };
        async move { yard.write(payload).await.map(drop) }.boxed_local()
    });
    let mut fields = vec![Field::Choice(t!("class"), choices()), Field::Text(t!("its-why"), true)];
    fields.extend(of_law(yard, state, of));
    let named = named_defect(yard, state, of).map(|says| view! { <p class="cap">{t!("defect-is", what = says)}</p> });
    view! {
        <article class="reason">
            <svg class="glyph" width="22" height="22" aria-hidden="true"><use href=format!("#g-{glyph}")></use></svg>
            <div>
                <h3>{of.raised.what.clone()}</h3>
                <p>{t!("finding-by", class = of.class.as_str(), by = yard.name(of.by.0.as_str()), at = when(of.by.1))}</p>
                {named}
                {photos}
                <div class="acts-row">
                    {yard.may(Kind::FindingClosed).then(|| view! { <Act label=t!("close-finding") fields=vec![Field::Text(t!("how-settled"), true)] doing=close done=t!("finding-closed")/> })}
                    {yard.may(Kind::FindingClassed).then(|| view! { <Act label=t!("class-finding") fields=fields doing=class done=t!("finding-classed")/> })}
                </div>
            </div>
        </article>
    }
    .into_any()
}

fn choices() -> Vec<(String, String)> {
    Class::ALL.iter().rev().map(|class| (class.to_string(), class.to_string())).collect()
}

/// The law pack's defects where it was found, as key and words; none where it was found at no check or the pack is silent.
fn defects(yard: Yard, state: &MachineState, of: &FindingState) -> Vec<(String, String)> {
    let of_check = |context: &Context<'_>| {
        let check = of.raised.check.as_ref().and_then(|id| context.check(id))?;
        let says = |row: &ClassRow| (row.key.clone(), format!("{}: {}", row.class, row.when));
        Some(context.defects(check).into_iter().map(says).collect())
    };
    let rules = yard.rules();
    let found = yard.with(|held| {
        let known = held.known();
        let machine = judged::machine(&known.yard, state)?;
        let context = Context::of(&rules.catalogue, &known.yard, &state.machine, clock::now())?;
        of_check(&Context { machine: &machine, ..context })
    });
    found.flatten().unwrap_or_default()
}

/// The choice of a defect, for who may say afterwards which it is.
fn of_law(yard: Yard, state: &MachineState, of: &FindingState) -> Option<Field> {
    let mut defects = defects(yard, state, of);
    if defects.is_empty() || !yard.has(Right::LowerClass) {
        return None;
    }
    defects.insert(0, (String::new(), t!("defect-as-named")));
    Some(Field::Choice(t!("which-of-laws"), defects))
}

/// The words of the defect that was named.
fn named_defect(yard: Yard, state: &MachineState, of: &FindingState) -> Option<String> {
    let named = of.defect.as_ref()?;
    defects(yard, state, of).into_iter().find(|(key, _)| key == named).map(|(_, says)| says)
}

/// Jobs that are not proven.
pub(super) fn jobs(state: &MachineState) -> AnyView {
    let yard = yard();
    let cards: Vec<_> = state.unproven().map(|(id, of)| job(yard, state, id, of)).collect();
    let count = cards.len();
    view! {
        <div class="rulehead"><h2>{t!("its-jobs-open")}</h2><span class="cap">{count}</span></div>
        {if cards.is_empty() { nothing() } else { cards.into_iter().collect_view().into_any() }}
    }
    .into_any()
}

/// A way to open one.
pub(super) fn job_acts(state: &MachineState) -> AnyView {
    let yard = yard();
    let machine = state.machine.clone();
    let open: Doing = Box::new(move |answers| {
        let (findings, tags) = (named(&nth(&answers, 2)), named(&nth(&answers, 3)));
        let (machine, job, why) = (machine.clone(), nth(&answers, 0), nth(&answers, 1));
        let payload = JobOpened { machine, job, why, findings, tags, planned: optional(&nth(&answers, 4)) };
        async move { yard.write(payload).await.map(drop) }.boxed_local()
    });
    let kinds = yard.rules().jobs.iter().map(|kind| (kind.id.clone(), kind.name.clone())).collect();
    let findings = state.open_findings().map(|(id, of)| (id.to_string(), of.raised.what.clone())).collect::<Vec<_>>();
    let tags = state.hanging().map(|(id, of)| (id.to_string(), of.hung.why.clone())).collect::<Vec<_>>();
    let mut fields = vec![Field::Choice(t!("kind-of-job"), kinds), Field::Text(t!("its-why"), true)];
    fields.push(Field::Ticks(if findings.is_empty() { t!("no-findings") } else { t!("puts-right") }, findings));
    fields.push(Field::Ticks(if tags.is_empty() { t!("no-tags") } else { t!("lifts-tags") }, tags));
    fields.push(Field::Day(t!("planned-for")));
    view! { {yard.may(Kind::JobOpened).then(|| view! { <Act label=t!("open-job") fields=fields doing=open done=t!("job-opened")/> })} }
    .into_any()
}

/// One job: what for, on which day, how far it is, what it lifts, where it can be moved, and its proof.
pub(crate) fn job(yard: Yard, state: &MachineState, id: EventId, of: &Job) -> AnyView {
    let kind = yard.rules().jobs.iter().find(|kind| kind.id == of.opened.job).map(|kind| kind.name.clone());
    let name = kind.unwrap_or_else(|| of.opened.job.clone());
    let now = of.state.0;
    let lifts = lifts(state, of);
    let steps = [JobState::Open, JobState::Waiting, JobState::InHand, JobState::Done, JobState::Proven];
    let path = steps.into_iter().map(|step| {
        let here = step == now;
        view! { <li class:is-here=here aria-current=here.then_some("step")>{step.as_str()}</li> }
    });
    let moving = Moving::of(state, id, of);
    holds(move || moving.is_begun());
    let may_plan = may_plan(now);
    // Its own state is among them: a new day alone.
    let moves = steps.into_iter().filter(|to| now.moves_to(*to) || may_plan && *to == now);
    let moves = moves.map(|to| moving.button(yard, to)).collect_view();
    let Moving { note, day, trouble, .. } = moving;
    let proves = {
        let machine = state.machine.clone();
        move |_| {
            let asked = Asked::Prove { machine: machine.clone(), job: id.to_string() };
            spawn_local(async move {
                match yard.act(asked).await {
                    Ok(_) => toast(t!("job-proven")),
                    Err(why) => _ = trouble.try_set(Some(named_checks(yard, &why.to_string()))),
                }
            });
        }
    };
    let may = yard.may(Kind::JobMoved);
    view! {
        <article class="job" aria-label=name.clone()>
            <h3>{name.clone()}</h3>
            <p>{of.opened.why.clone()}</p>
            {of.planned.as_ref().map(|day| view! { <p class="cap">{t!("planned-for-day", day = day_of(day))}</p> })}
            <ol class="steps">{path.collect_view()}</ol>
            <ul class="cap">{lifts}</ul>
            {may.then(|| view! {
                <label class="field"><span>{t!("its-note")}</span><input class="input" bind:value=note/></label>
                {may_plan.then(|| view! { <label class="field"><span>{t!("planned-for")}</span><input class="input" type="date" bind:value=day/></label> })}
                <div class="acts-row">
                    {moves}
                    {(now == JobState::Done).then(|| view! { <button class="btn btn--primary btn--sm" on:click=proves>{t!("prove")}</button> })}
                </div>
            })}
            {move || trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
        </article>
    }
    .into_any()
}

/// Whether work in a state can be planned for a day: what is done cannot.
fn may_plan(now: JobState) -> bool {
    matches!(now, JobState::Open | JobState::Waiting | JobState::InHand)
}

/// What is typed at a job before it is moved on.
#[derive(Clone, Copy)]
struct Moving {
    machine: StoredValue<String>,
    job: EventId,
    from: (JobState, EventId),
    note: RwSignal<String>,
    /// The day typed, and the one it is planned for.
    day: RwSignal<String>,
    planned: RwSignal<String>,
    trouble: RwSignal<Option<String>>,
}

impl Moving {
    fn of(state: &MachineState, job: EventId, of: &Job) -> Self {
        let planned = of.planned.clone().unwrap_or_default();
        Self {
            machine: StoredValue::new(state.machine.clone()),
            job,
            from: of.state,
            note: RwSignal::new(String::new()),
            day: RwSignal::new(planned.clone()),
            planned: RwSignal::new(planned),
            trouble: RwSignal::new(None),
        }
    }

    fn is_other_day(self) -> bool {
        self.day.with(|day| self.planned.with(|planned| day != planned))
    }

    fn is_begun(self) -> bool {
        self.note.with(|note| !note.is_empty()) || self.is_other_day()
    }

    /// A button that moves it to a state, or where that is its own, to the day typed.
    fn button(self, yard: Yard, to: JobState) -> AnyView {
        let go = move |_| self.go(yard, to);
        if to != self.from.0 {
            return view! { <button class="btn btn--sm" on:click=go>{t!("move-to", state = to.as_str())}</button> }
                .into_any();
        }
        let differs = move || self.is_other_day() && !self.day.with(String::is_empty);
        let plan =
            move || differs().then(|| view! { <button class="btn btn--sm" on:click=go>{t!("plan-day")}</button> });
        view! { {plan} }.into_any()
    }

    fn go(self, yard: Yard, to: JobState) {
        let ((now, from), typed) = (self.from, self.day.get_untracked());
        let payload = JobMoved {
            machine: self.machine.get_value(),
            job: self.job,
            from,
            to,
            note: optional(self.note.get_untracked().trim()),
            ended: Vec::new(),
            planned: optional(&typed).filter(|_| may_plan(now) && untrack(|| self.is_other_day())),
        };
        spawn_local(async move {
            match yard.write(payload).await {
                Ok(_) => {
                    toast(if to == now { t!("job-planned") } else { t!("job-is", state = to.as_str()) });
                    self.note.try_set(String::new());
                    self.planned.try_set(typed);
                }
                Err(why) => _ = self.trouble.try_set(Some(why.to_string())),
            }
        });
    }
}

/// A day as people read it.
fn day_of(planned: &str) -> String {
    calendar::date(planned).map_or_else(|| planned.to_owned(), date_text)
}

/// What a job puts right and lifts when it is proven.
fn lifts(state: &MachineState, of: &Job) -> AnyView {
    let findings = of.opened.findings.iter().filter_map(|id| state.findings.get(id)).map(|of| of.raised.what.clone());
    let tags = of
        .opened
        .tags
        .iter()
        .filter_map(|id| state.tags.get(id))
        .map(|tag| t!("lifts-tag", why = tag.hung.why.as_str()));
    findings
        .map(|what| t!("rights-finding", what = what))
        .chain(tags)
        .map(|text| view! { <li>{text}</li> })
        .collect_view()
        .into_any()
}

/// A refusal names checks by their ids: people know them by name.
fn named_checks(yard: Yard, text: &str) -> String {
    let rules = yard.rules();
    let named = text.split(' ').map(|word| match rules.catalogue.check(word.trim_end_matches([',', ';', ':'])) {
        Some(check) => format!("“{}”", check.name),
        None => word.to_owned(),
    });
    named.collect::<Vec<_>>().join(" ")
}
