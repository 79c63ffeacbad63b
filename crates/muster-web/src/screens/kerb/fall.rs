//! A fall noted in half a minute, the rider first; then a look at what it ended.

use leptos::{prelude::*, task::spawn_local};
use leptos_router::{NavigateOptions, components::A, hooks::use_navigate};
use muster_core::{
    judge::Verdict,
    record::{id::PersonId, payload::FallNoted},
    words::Depth,
};

use super::{
    asked::ended_by_fall,
    looks::Looks,
    parts::{Bar, Taps, Words, addressed, with_unit},
    walk::open_today,
};
use crate::{
    clock,
    ui::{Banner, Lacking, Sign, toast},
    words::t,
    yard::yard,
};

/// What is being noted.
#[derive(Clone, Copy)]
struct Noting {
    machine: Memo<String>,
    rider: RwSignal<String>,
    how: RwSignal<String>,
    side: RwSignal<String>,
    touched: RwSignal<Vec<String>>,
    more: RwSignal<String>,
    odometer: RwSignal<String>,
    trouble: RwSignal<Option<String>>,
    busy: RwSignal<bool>,
    looking: RwSignal<bool>,
}

impl Noting {
    fn new(machine: Memo<String>) -> Self {
        let text = || RwSignal::new(String::new());
        let (rider, how, side, more, odometer) = (text(), text(), text(), text(), text());
        let (touched, trouble) = (RwSignal::new(Vec::new()), RwSignal::new(None));
        let (busy, looking) = (RwSignal::new(false), RwSignal::new(false));
        Self { machine, rider, how, side, touched, more, odometer, trouble, busy, looking }
    }

    /// How it fell, in one line that names nobody.
    fn line(self) -> String {
        let touched = self.touched.get().join(", ");
        let touched = if touched.is_empty() { touched } else { t!("touched", parts = touched) };
        let all = [self.how.get(), self.side.get(), touched, self.more.get().trim().to_owned()];
        all.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; ")
    }
}

/// The screen.
#[component]
pub(crate) fn Fall() -> impl IntoView {
    let (yard, machine) = (yard(), addressed());
    let noting = Noting::new(machine);
    let known = Memo::new(move |_| yard.machine(&machine.get()).is_some());
    // With the yard the server's time is known: what was shown before would be the phone's.
    let began = Memo::new(move |_| known.get().then(|| clock::now().clock()));
    let beside = move || match began.get() {
        Some(at) => format!("{} · {at}", machine.get()),
        None => machine.get(),
    };
    view! {
        <div class="phone touch">
            <Bar title=t!("fall") beside=Signal::derive(beside) sub=t!("fall-takes")
                back=Signal::derive(move || format!("/machines/{}", machine.get())) leave=t!("leave-fall")/>
            <div class="state" role="status"><span>{t!("rider-first")}</span><span>{t!("kerb-key-off")}</span></div>
            <Banner/>
            {move || match (known.get(), noting.looking.get()) {
                (false, _) => view! { <main tabindex="0"><Lacking title=t!("fall")/></main> }.into_any(),
                (true, false) => untrack(|| note(noting)),
                (true, true) => untrack(|| look(noting)),
            }}
        </div>
    }
}

fn note(noting: Noting) -> AnyView {
    let pair = |of: String| (of.clone(), of);
    let hows = [t!("how-walking"), t!("how-riding"), t!("how-braking"), t!("how-standing"), t!("how-hit")];
    let sides = [t!("side-left"), t!("side-right"), t!("side-both")];
    let parts = [
        t!("part-bar-end"),
        t!("part-lever"),
        t!("part-peg"),
        t!("part-mirror"),
        t!("part-pedal"),
        t!("part-lamp"),
        t!("part-tank"),
        t!("part-exhaust"),
        t!("part-wheel"),
    ];
    let yard = yard();
    let due = Memo::new(move |_| {
        let due = ended_by_fall(yard, &noting.machine.get()).into_iter().filter(|of| of.is_due).count();
        if open_today(yard, &noting.machine.get(), Depth::AfterAFall).is_some() { due } else { 0 }
    });
    let unfinished = move || {
        (due.get() > 0).then(|| {
            view! {
                <div class="notice"><span></span><div>
                    <p>{t!("look-unfinished", count = due.get())}</p>
                    <button class="btn" on:click=move |_| noting.looking.set(true)>{t!("look-on")}</button>
                </div></div>
            }
        })
    };
    view! {
        <main tabindex="0">
            <h1 class="vh">{t!("fall-of", machine = noting.machine.get_untracked())}</h1>
            <p class="caution first">{t!("rider-caution")}</p>
            {unfinished}
            <section class="fall" aria-label=t!("kerb-note-fall")>
                {riders(noting)}
                <Words label=t!("how") choices=hows.map(pair).to_vec() value=noting.how/>
                <Words label=t!("side") choices=sides.map(pair).to_vec() value=noting.side/>
                <Taps label=t!("what-touched") words=parts.to_vec() tapped=noting.touched/>
                <div class="form">
                    <label class="field"><span>{t!("fall-more")}</span><input class="input" autocomplete="off" bind:value=noting.more/></label>
                    <label class="field"><span>{t!("odometer-optional")}</span>
                        <input class="input" inputmode="decimal" autocomplete="off" bind:value=noting.odometer/></label>
                </div>
                {move || noting.trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
            </section>
        </main>
        <footer class="foot pair">
            <button class="btn btn--wrap" on:click=move |_| save(noting, false)>{t!("save-look-later")}</button>
            <button class="btn btn--primary btn--lg" class:is-busy=move || noting.busy.get() on:click=move |_| save(noting, true)>{t!("save-look-now")}</button>
        </footer>
    }
    .into_any()
}

/// Who may have ridden: who is out on it, who has it on today's roster; then everybody.
fn riders(noting: Noting) -> AnyView {
    let yard = yard();
    let machine = noting.machine.get_untracked();
    let today = clock::now().date().to_string();
    let likely: Vec<PersonId> = yard
        .with(|held| {
            let out = held.machine(&machine).into_iter().flat_map(|state| state.out());
            let out = out.flat_map(|(_, of)| of.released.riders.clone()).collect::<Vec<_>>();
            let rows = held.known().state.rosters.get(&today).map(|(rows, _)| rows.as_slice()).unwrap_or_default();
            let rostered = rows.iter().filter(|row| row.machine == machine).filter_map(|row| row.rider.clone());
            out.into_iter().chain(rostered).collect()
        })
        .unwrap_or_default();
    let mut people: Vec<(String, String)> = Vec::new();
    for person in &likely {
        let id = person.to_string();
        if !people.iter().any(|(of, _)| *of == id) {
            people.push((id.clone(), yard.name(&id)));
        }
    }
    let mut others: Vec<(String, String)> = yard.names.get_untracked().into_iter().collect();
    others.retain(|(id, name)| !name.is_empty() && !people.iter().any(|(of, _)| of == id));
    others.sort_by(|a, b| a.1.cmp(&b.1));
    let options = others.into_iter().map(|(id, name)| view! { <option value=id>{name}</option> }).collect_view();
    let mut choices = people;
    choices.push((String::new(), t!("not-said")));
    view! {
        <Words label=t!("rider") choices value=noting.rider/>
        <label class="frow"><span>{t!("other-rider")}</span>
            <select class="input" on:change=move |event| noting.rider.set(event_target_value(&event))>
                <option value="">"–"</option>{options}
            </select>
        </label>
    }
    .into_any()
}

fn save(noting: Noting, look: bool) {
    if noting.busy.get_untracked() {
        return;
    }
    let (yard, navigate) = (yard(), use_navigate());
    let unit = untrack(|| yard.way_unit()).symbol();
    let machine = noting.machine.get_untracked();
    let noted = FallNoted {
        machine: machine.clone(),
        how: untrack(|| noting.line()),
        rider: noting.rider.get_untracked().parse().ok(),
        about_rider: None,
        odometer: with_unit(&noting.odometer.get_untracked(), unit),
    };
    if noted.how.is_empty() {
        noting.trouble.set(Some(t!("say-how")));
        return;
    }
    noting.busy.set(true);
    spawn_local(async move {
        let done = yard.write(noted).await;
        noting.busy.set(false);
        match done {
            Ok(_) if look => {
                toast(t!("fall-noted", machine = machine.as_str()));
                noting.looking.set(true);
            }
            Ok(_) => {
                toast(t!("fall-noted-later", machine = machine.as_str()));
                navigate(&format!("/machines/{machine}"), NavigateOptions::default());
            }
            Err(why) => noting.trouble.set(Some(why.to_string())),
        }
    });
}

fn look(noting: Noting) -> AnyView {
    let machine = noting.machine;
    let worst = RwSignal::new(None::<(Verdict, String)>);
    view! {
        <main tabindex="0">
            <h1 class="vh">{t!("look-after-fall", machine = machine.get_untracked())}</h1>
            <Looks machine=machine.get_untracked() worst/>
        </main>
        <footer class="foot pair">
            {move || match worst.get() {
                Some((Verdict::Hold, why)) => view! {
                    <button class="btn btn--wrap" on:click=move |_| end(machine, None)>{t!("summary-no-tag")}</button>
                    {signing(machine, why)}
                }.into_any(),
                _ => view! {
                    <A href=format!("/machines/{}", machine.get()) attr:class="btn btn--wrap">{t!("look-later")}</A>
                    <button class="btn btn--primary btn--lg" on:click=move |_| end(machine, None)>{t!("summary")}</button>
                }.into_any(),
            }}
        </footer>
    }
    .into_any()
}

/// The tag that keeps it in is signed as any is.
fn signing(machine: Memo<String>, why: String) -> impl IntoView {
    let ready = UnsyncCallback::new(|()| true);
    let signed = UnsyncCallback::new(move |()| end(machine, Some(why.clone())));
    view! { <Sign label=Signal::stored(t!("hang-hold-tag")) what=t!("sign-tag") class="btn--hold" ready signed/> }
}

/// Closes the look, hangs a tag if asked to, and shows what it comes to.
fn end(machine: Memo<String>, tag: Option<String>) {
    let (yard, navigate) = (yard(), use_navigate());
    let machine = machine.get_untracked();
    spawn_local(async move {
        if let Some(walk) = open_today(yard, &machine, Depth::AfterAFall) {
            let closed =
                muster_core::record::payload::WalkRoundClosed { machine: machine.clone(), walk_round: walk.opening };
            if let Err(why) = yard.write(closed).await {
                return toast(why.to_string());
            }
        }
        if let Some(why) = tag {
            let asked = muster_wire::command::Asked::Tag { machine: machine.clone(), why, number: None };
            match yard.act(asked).await {
                Ok(_) => toast(t!("kerb-tag-hung", machine = machine.as_str())),
                Err(why) => return toast(why.to_string()),
            }
        }
        navigate(&format!("/machines/{machine}/summary"), NavigateOptions::default());
    });
}
