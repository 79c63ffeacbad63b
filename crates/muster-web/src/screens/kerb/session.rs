//! A class let out: one release for each machine chosen, with what is refused beside it; what one may not let out is planned
//! for whoever may.

use std::collections::{BTreeMap, BTreeSet};

use leptos::{prelude::*, task::spawn_local};
use muster_core::{
    calendar::Moment, form::Outing, judge::Verdict, outing::Asked as Told, record::payload::Kind, words::Use,
};
use muster_wire::command::{Asked, Release};

use super::{
    parts::{Bar, Words},
    riding::{self, Riding},
};
use crate::{
    clock,
    ui::{Banner, Lacking, Sign, VerdictWord, toast},
    words::t,
    yard::{Yard, yard},
};

/// A machine of the list, judged for the session.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Seat {
    id: String,
    model: String,
    verdict: Verdict,
    /// What stands against it, or what it goes out on.
    says: String,
    may: May,
}

/// What may be done with a machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum May {
    /// It may be let out.
    GoOut,
    /// It may be planned for somebody else to sign.
    BePlanned,
    Nothing,
}

/// The machines chosen, by what is to be signed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Chosen {
    /// Let out here.
    out: Vec<String>,
    /// Planned for somebody else.
    planned: Vec<String>,
}

#[derive(Clone, Copy)]
struct Session {
    yard: Yard,
    name: RwSignal<String>,
    till: RwSignal<String>,
    one: RwSignal<String>,
    chosen: RwSignal<BTreeSet<String>>,
    way: RwSignal<String>,
    riding: StoredValue<BTreeMap<String, Riding>>,
    owner: StoredValue<Option<Owner>>,
    told: RwSignal<BTreeMap<String, Result<String, String>>>,
    trouble: RwSignal<Option<String>>,
    busy: RwSignal<bool>,
}

impl Session {
    fn new(yard: Yard) -> Self {
        Self {
            yard,
            name: RwSignal::new(String::new()),
            till: RwSignal::new(till()),
            one: RwSignal::new(Use::Range.to_string()),
            chosen: RwSignal::new(BTreeSet::new()),
            way: RwSignal::new(String::new()),
            riding: StoredValue::new(BTreeMap::new()),
            owner: StoredValue::new(Owner::current()),
            told: RwSignal::new(BTreeMap::new()),
            trouble: RwSignal::new(None),
            busy: RwSignal::new(false),
        }
    }

    fn one(self) -> Use {
        self.one.get().parse().unwrap_or(Use::Range)
    }

    /// Who rides a machine.
    fn riding(self, machine: &str) -> Option<Riding> {
        if let Some(riding) = self.riding.with_value(|all| all.get(machine).copied()) {
            return Some(riding);
        }
        let riding = Riding::new(&self.yard, &self.owner.get_value()?);
        self.riding.update_value(|all| _ = all.insert(machine.to_owned(), riding));
        Some(riding)
    }

    /// The outings of a machine's riders, as they are told.
    fn told_of(self, riding: Riding) -> Vec<Told> {
        self.to().map(|back| riding.told(self.one(), back, &self.way.get())).unwrap_or_default()
    }

    /// What is chosen. What the machine or its riders come to and nobody here may let out is for somebody else.
    fn split(self, seats: &[Seat]) -> Chosen {
        let plans = self.yard.may(Kind::OutingPlanned);
        let holds = |machine: &str| {
            let told = self.riding(machine).map(|riding| self.told_of(riding)).unwrap_or_default();
            let worked = riding::worked(&self.yard, machine, &told).unwrap_or_default();
            worked.iter().any(|of| of.verdict >= Verdict::Unseen)
        };
        let goes = |seat: &&Seat| seat.may == May::GoOut && !(plans && holds(&seat.id));
        let chosen = self.chosen.get();
        let (out, planned): (Vec<&Seat>, Vec<&Seat>) =
            seats.iter().filter(|seat| chosen.contains(&seat.id)).partition(goes);
        let ids = |seats: Vec<&Seat>| seats.into_iter().map(|seat| seat.id.clone()).collect();
        Chosen { out: ids(out), planned: ids(planned) }
    }

    /// When it ends: today, by the clock here.
    fn to(self) -> Option<Moment> {
        let now = clock::now().to_string();
        let (day, offset) = (now.get(..10)?, now.get(19..)?);
        let till = self.till.get();
        Moment::parse(&format!("{day}T{till}:00{offset}")).ok()
    }
}

/// In three hours, but today.
fn till() -> String {
    let (now, then) = (clock::now(), clock::now().later_by(3 * 3600));
    if then.date() == now.date() { then.clock() } else { "23:59".to_owned() }
}

/// The screen.
#[component]
pub(crate) fn SessionScreen() -> impl IntoView {
    let yard = yard();
    let known = Memo::new(move |_| yard.is_known());
    view! {
        <div class="phone touch">
            <Bar title=t!("session") beside=t!("session-beside") sub=String::new() back="/".to_owned() leave=t!("to-the-yard")/>
            <Banner/>
            // The server's time is known with the yard: till then the end of a session cannot be proposed.
            {move || match known.get() {
                true => untrack(|| filled(yard)),
                false => view! { <main tabindex="0"><Lacking title=t!("session")/></main> }.into_any(),
            }}
        </div>
    }
}

fn filled(yard: Yard) -> AnyView {
    let session = Session::new(yard);
    let seats = Memo::new(move |_| seats(session));
    let uses = Use::ALL.iter().map(|one| (one.to_string(), one.to_string())).collect::<Vec<_>>();
    let chosen = Memo::new(move |_| seats.with(|seats| session.split(seats)));
    let heard = move || yard.link.with(|link| link.heard).unwrap_or_else(clock::now).clock();
    view! {
            <main tabindex="0">
                <h1 class="vh">{t!("session-of")}</h1>
                <section class="fall" aria-label=t!("session")>
                    <div class="form">
                        <label class="field"><span>{t!("session-name")}</span><input class="input" autocomplete="off" bind:value=session.name/></label>
                        <label class="field"><span>{t!("session-till")}</span><input class="input" type="time" bind:value=session.till/></label>
                        <label class="field"><span>{t!("way-in", unit = session.yard.way_unit().symbol())}</span><input class="input" inputmode="decimal" autocomplete="off" bind:value=session.way/></label>
                    </div>
                    <Words label=t!("session-use") choices=uses value=session.one/>
                </section>
                <section class="sec"><div class="sec-h"><h2>{t!("machines")}</h2><span class="cap">{move || t!("kerb-as-known", at = heard())}</span></div></section>
                <ul class="kseats">{move || seats.get().into_iter().map(|seat| row(session, seat)).collect_view()}</ul>
            </main>
            <footer class="foot one">
                {move || session.trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
                {move || plan(session, chosen)}
                {move || sign(session, chosen)}
            </footer>
    }
    .into_any()
}

/// Lets out what may go; nothing where all that is chosen is for somebody else, or one may let nothing out.
fn sign(session: Session, chosen: Memo<Chosen>) -> Option<AnyView> {
    let (out, planned) = chosen.with(|of| (of.out.len(), of.planned.len()));
    if !session.yard.may(Kind::Released) || (out == 0 && planned > 0) {
        return None;
    }
    let ready = UnsyncCallback::new(move |()| is_ready(session));
    let signed = UnsyncCallback::new(move |()| act(session, chosen.with_untracked(|of| of.out.clone()), Deed::LetOut));
    // What is signed says how many: it is asked anew with each choice.
    let what = t!("sign-session", count = out);
    let label = Signal::stored(t!("sign-and-release", count = out));
    Some(view! { <Sign label what class="btn--primary" ready signed/> }.into_any())
}

/// Plans what somebody else has to sign; nothing where nothing chosen is.
fn plan(session: Session, chosen: Memo<Chosen>) -> Option<AnyView> {
    let planned = chosen.with(|of| of.planned.len());
    // Who lets nothing out sees from the first what is to be done here.
    if planned == 0 && session.yard.may(Kind::Released) {
        return None;
    }
    let now = move || chosen.with_untracked(|of| of.planned.clone());
    let ready = UnsyncCallback::new(move |()| is_ready(session) && are_ridden(session, &now()));
    let signed = UnsyncCallback::new(move |()| act(session, now(), Deed::Plan));
    let what = t!("sign-plans", count = planned);
    let label = Signal::stored(t!("plan-for-others", count = planned));
    Some(view! { <Sign label what class="btn--wrap" ready signed/> }.into_any())
}

/// Every machine, judged for the return; those that may go first.
fn seats(session: Session) -> Vec<Seat> {
    let (yard, one) = (session.yard, session.one());
    let Some(back) = session.to() else { return Vec::new() };
    let outing = Outing { planned: one, back, distance: None };
    let mut seats: Vec<Seat> = yard.machines().iter().filter_map(|id| seat(yard, id, outing)).collect();
    seats.sort_by_key(|seat| seat.may);
    seats
}

fn seat(yard: Yard, id: &str, outing: Outing) -> Option<Seat> {
    let seen = yard.machine(id)?;
    let judged = yard.judge_for(id, outing)?;
    let of = judged.uses.iter().find(|of| of.one == outing.planned)?;
    let out = seen.state.out().next().map(|(_, of)| t!("kerb-out-till", at = of.released.to.clock()));
    let tagged = seen.state.hanging().next().map(|_| t!("tag-on-bar"));
    let stopped = of.reasons().next().map(|of| format!("{}: {}", of.name, of.reason));
    let stopped = stopped.filter(|_| of.verdict >= Verdict::Unseen);
    let may = match (&stopped, yard.may(Kind::Released), yard.may(Kind::OutingPlanned)) {
        _ if out.is_some() || tagged.is_some() => May::Nothing,
        (None, true, _) => May::GoOut,
        (_, _, true) => May::BePlanned,
        _ => May::Nothing,
    };
    let why = out.or(tagged).or(stopped);
    let says = yard.said(&why.unwrap_or_else(|| of.conditions.join(", ")));
    Some(Seat { id: id.to_owned(), model: judged.model.clone(), verdict: of.verdict, says, may })
}

fn row(session: Session, seat: Seat) -> AnyView {
    let id = StoredValue::new(seat.id.clone());
    let is_in = move || session.chosen.with(|all| id.with_value(|id| all.contains(id)));
    let toggle = move |_| {
        session.chosen.update(|all| {
            if !all.remove(&id.get_value()) {
                all.insert(id.get_value());
            }
        });
    };
    let told = move || {
        session.told.with(|told| id.with_value(|id| told.get(id).cloned())).map(|told| match told {
            Ok(done) => view! { <span class="cap" role="status">{done}</span> }.into_any(),
            Err(why) => view! { <span class="err" role="alert">{why}</span> }.into_any(),
        })
    };
    let is_in = Memo::new(move |_| is_in());
    let rider = move || is_in.get().then(|| untrack(|| id.with_value(|id| riders(session, id))))?;
    let text = view! { <span class="no">{seat.id}</span><span>{seat.model}<small class="cap">{seat.says}</small></span><VerdictWord verdict=seat.verdict/> };
    let head = if seat.may != May::Nothing {
        view! { <button class="rb" aria-pressed=move || is_in.get().to_string() on:click=toggle>{text}</button> }
            .into_any()
    } else {
        view! { <div class="rb">{text}</div> }.into_any()
    };
    view! { <li>{head}{rider}{told}</li> }.into_any()
}

/// Its riders, and what is set for them.
fn riders(session: Session, machine: &str) -> Option<AnyView> {
    let riding = session.riding(machine)?;
    let of = machine.to_owned();
    let worked = Memo::new(move |_| riding::worked(&session.yard, &of, &session.told_of(riding)));
    Some(riding::riders(riding, machine, worked))
}

/// Whether it says which session, which machines and till when; what is missing is told.
fn is_ready(session: Session) -> bool {
    let missing = match (session.name.with_untracked(|name| name.trim().is_empty()), untrack(|| session.to())) {
        (true, _) => Some(t!("say-session")),
        _ if session.chosen.with_untracked(BTreeSet::is_empty) => Some(t!("choose-machines")),
        (_, None) => Some(t!("say-till")),
        _ => None,
    };
    session.trouble.set(missing.clone());
    missing.is_none() && !session.busy.get_untracked()
}

/// Whether it says who rides each machine: what is planned is worked out from that, and whoever signs cannot tell.
fn are_ridden(session: Session, machines: &[String]) -> bool {
    let told = |machine: &str| session.riding(machine).map(|riding| session.told_of(riding)).unwrap_or_default();
    let bare: Vec<&str> = untrack(|| machines.iter().filter(|of| told(of).is_empty()).map(String::as_str).collect());
    let missing = match untrack(|| session.one()) {
        _ if bare.is_empty() => None,
        Use::Passenger => Some(t!("plan-passenger")),
        _ => Some(t!("say-riders", machines = bare.join(", "))),
    };
    session.trouble.set(missing.clone());
    missing.is_none()
}

/// What is signed for each machine.
#[derive(Clone, Copy)]
enum Deed {
    LetOut,
    /// What is to be done before is for whoever signs to see done.
    Plan,
}

impl Deed {
    fn asked(self, release: Release, done: Vec<String>) -> Asked {
        match self {
            Self::LetOut => Asked::Release(Release { done, ..release }),
            Self::Plan => Asked::Plan(release),
        }
    }

    /// Of one machine.
    fn says(self, to: Moment) -> String {
        match self {
            Self::LetOut => t!("let-out", at = to.clock()),
            Self::Plan => t!("planned-seat"),
        }
    }

    /// Of all.
    fn told(self, count: usize, name: String) -> String {
        match self {
            Self::LetOut => t!("session-out", count = count, name = name),
            Self::Plan => t!("session-planned", count = count, name = name),
        }
    }
}

/// Does the same with each machine; what is refused stands beside it.
fn act(session: Session, machines: Vec<String>, deed: Deed) {
    let Some(to) = untrack(|| session.to()).filter(|_| !session.busy.get_untracked()) else { return };
    let name = session.name.get_untracked().trim().to_owned();
    let one = untrack(|| session.one());
    session.busy.set(true);
    spawn_local(async move {
        let mut count = 0_usize;
        for machine in machines {
            let riding = session.riding(&machine);
            let told = riding.map(|riding| untrack(|| session.told_of(riding))).unwrap_or_default();
            let worked = untrack(|| riding::worked(&session.yard, &machine, &told)).unwrap_or_default();
            let done = riding.map(|riding| untrack(|| riding.done(&worked))).unwrap_or_default();
            riding.into_iter().for_each(Riding::keep);
            let release = Release {
                machine: machine.clone(),
                outing: name.clone(),
                uses: Vec::from([one.to_string()]),
                riders: riding.map(|riding| untrack(|| riding.ids())).unwrap_or_default(),
                from: clock::now().to_string(),
                to: to.to_string(),
                told,
                ..Release::default()
            };
            let done = session.yard.act(deed.asked(release, done)).await;
            if done.is_ok() {
                count += 1;
                session.chosen.update(|all| _ = all.remove(&machine));
            }
            let told = done.map(|_| deed.says(to)).map_err(|why| session.yard.told(&why.to_string()));
            session.told.update(|all| _ = all.insert(machine, told));
        }
        session.busy.set(false);
        toast(deed.told(count, name));
    });
}
