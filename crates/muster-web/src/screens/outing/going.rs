//! Letting it out for the outing: who rides, why against it, signed; or the hold tag.

use std::collections::BTreeSet;

use leptos::prelude::*;
use muster_core::{
    judge::Verdict,
    outing::{Assessment, bound::asked},
    record::payload::{Kind, Right},
    words::Use,
};
use muster_wire::command::{Asked, Release};

use super::{
    super::walk::{Goer, TagAsked, TagForm, moment_at, people, rostered, use_word},
    Worked,
    told::Told,
};
use crate::{
    clock,
    ui::{PinSheet, Press, after, toast},
    words::t,
    yard::{NotDone, Yard, yard},
};

/// What is being decided.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Deciding {
    /// Nothing yet: it is worked out.
    Nothing,
    /// A release is signed.
    Release,
    /// A plan for somebody else to sign.
    Plan,
    /// A tag is written.
    Tag,
    /// A tag is signed.
    TagSigned,
}

/// What is asked before it goes.
#[derive(Clone, Copy)]
pub(super) struct Going {
    pub(super) machine: StoredValue<String>,
    pub(super) told: Told,
    pub(super) worked: Memo<Option<Worked>>,
    pub(super) ticked: RwSignal<BTreeSet<String>>,
    pub(super) deciding: RwSignal<Deciding>,
    riders: RwSignal<Vec<String>>,
    reason: RwSignal<String>,
    trouble: RwSignal<Option<String>>,
    tag: TagAsked,
    go: Goer,
}

impl Going {
    pub(super) fn of(machine: StoredValue<String>, told: Told, worked: Memo<Option<Worked>>, go: Goer) -> Self {
        let riders = rostered(&yard(), &machine.get_value(), clock::now());
        Self {
            machine,
            told,
            worked,
            ticked: RwSignal::new(BTreeSet::new()),
            deciding: RwSignal::new(Deciding::Nothing),
            riders: RwSignal::new(riders),
            reason: RwSignal::new(String::new()),
            trouble: RwSignal::new(None),
            tag: TagAsked::saying(String::new()),
            go,
        }
    }

    /// What is asked before leaving and ticked, of how much.
    fn made(self) -> (Vec<String>, usize) {
        let asked = self.worked.get().map(|of| asked(std::slice::from_ref(&*of.0))).unwrap_or_default();
        let all = asked.len();
        (self.ticked.with(|ticked| asked.into_iter().filter(|what| ticked.contains(what)).collect()), all)
    }

    fn verdict(self) -> Verdict {
        self.worked.get().map_or(Verdict::Unseen, |of| of.0.verdict)
    }

    /// The release as it is asked for.
    fn asked(self) -> Result<Release, NotDone> {
        let from = clock::now();
        let to = moment_at(&self.told.back.get_untracked()).ok_or_else(|| NotDone(t!("no-time")))?;
        let uses = untrack(|| self.told.outing().uses());
        let one = if uses.contains(Use::Passenger) { Some(Use::Passenger) } else { uses.iter().next() };
        let reason = self.reason.get_untracked().trim().to_owned();
        Ok(Release {
            machine: self.machine.get_value(),
            outing: format!("{} {}\u{2013}{}", one.map(use_word).unwrap_or_default(), from.clock(), to.clock()),
            uses: uses.iter().map(|one| one.to_string()).collect(),
            riders: self.riders.get_untracked(),
            from: from.to_string(),
            to: to.to_string(),
            reason: Some(reason).filter(|reason| !reason.is_empty()),
            told: Vec::from([untrack(|| self.told.asked())]),
            done: untrack(|| self.made()).0,
            ..Release::default()
        })
    }

    /// Plans it for somebody who may sign it.
    async fn plan(self, yard: Yard) -> Result<(), NotDone> {
        let plan = Release { reason: None, done: Vec::new(), ..self.asked()? };
        yard.act(Asked::Plan(plan)).await.map(|_| ())
    }

    async fn sign(self, yard: Yard) -> Result<(), NotDone> {
        yard.act(Asked::Release(self.asked()?)).await.map(|_| ())
    }

    fn run(self, done: impl Future<Output = Result<(), NotDone>> + 'static, says: String) {
        after(done, move |done| {
            self.deciding.set(Deciding::Nothing);
            match done {
                Ok(()) => {
                    toast(says);
                    self.go.get_value()(&format!("/machines/{}", self.machine.get_value()));
                }
                Err(why) => self.trouble.set(Some(why.to_string())),
            }
        });
    }
}

/// Who rides, why against it, who signs.
#[component]
pub(super) fn GoingForm(going: Going) -> impl IntoView {
    let yard = yard();
    let options = move || {
        let chosen = going.riders.get();
        let each = people(&yard).into_iter().filter(|(id, _)| !chosen.contains(id));
        each.map(|(id, name)| view! { <option value=id>{name}</option> }).collect_view()
    };
    let choose = move |event| {
        let id = event_target_value(&event);
        going.riders.set(Some(id).filter(|id| !id.is_empty()).into_iter().collect());
    };
    let chosen = move || {
        let id = going.riders.get().first().cloned()?;
        Some(view! { <option value=id.clone() selected=true>{yard.name(&id)}</option> })
    };
    let against = move || going.verdict() >= Verdict::Unseen || going.made().0.len() < going.made().1;
    let may = move || yard.has(Right::Override) && yard.may(Kind::Released) && against();
    let signer = move || yard.person().map(|me| t!("who-signs", who = yard.name(me.as_str())));
    view! {
        <section class="sec form">
            <div class="sec-h"><h2>{t!("release")}</h2></div>
            <label class="field"><span>{t!("who-rides")}</span>
                <select class="input" on:change=choose><option value="">{t!("rider-not-said")}</option>{chosen}{options}</select></label>
            <Show when=may>
                <label class="field"><span>{t!("reason-outing")}</span><textarea class="input" rows="2" bind:value=going.reason></textarea></label>
            </Show>
            <p class="asknown"><span>{signer}</span></p>
            {move || going.trouble.get().map(|why| view! { <p class="err" role="alert">{yard.told(&why)}</p> })}
        </section>
    }
}

/// The foot: the tag, and the release.
#[component]
pub(super) fn Foot(going: Going) -> impl IntoView {
    let yard = yard();
    let tagged =
        move || yard.machine(&going.machine.get_value()).is_some_and(|seen| seen.state.hanging().next().is_some());
    let pressed = UnsyncCallback::new(move |()| {
        going.trouble.set(None);
        going.deciding.set(Deciding::Release);
    });
    let planned = UnsyncCallback::new(move |()| {
        going.trouble.set(None);
        going.deciding.set(Deciding::Plan);
    });
    let write_tag = move |_| {
        let holds = untrack(|| going.worked.get()).map(|of| why(&of.0)).unwrap_or_default();
        going.tag.say(holds);
        going.deciding.set(Deciding::Tag);
    };
    let label = Signal::derive(move || match going.made() {
        (_, 0) => t!("release"),
        (made, all) if made.len() == all => t!("release-made"),
        (made, all) => t!("release-some-made", made = made.len(), all = all),
    });
    let foot = move || {
        let against = going.verdict() >= Verdict::Unseen;
        let may = yard.may(Kind::Released) && !tagged() && (!against || yard.has(Right::Override));
        let class = if against { "btn--wrap" } else { "btn--primary btn--wrap" };
        // Unseen asks for a look, not for a tag.
        let holds = going.verdict() == Verdict::Hold;
        let tag = if holds { "btn btn--hold btn--lg btn--wrap" } else { "btn btn--wrap" };
        let release = match may {
            false if yard.may(Kind::OutingPlanned) && !tagged() => view! { <Press label=Signal::stored(t!("plan-for-other")) hint=Signal::stored(t!("press-then-pin")) class="btn--wrap" done=planned/> }.into_any(),
            true => view! { <Press label hint=Signal::stored(t!("press-then-pin")) class done=pressed/> }.into_any(),
            false => view! { <button class="btn is-off" aria-disabled="true" aria-describedby="why" on:click=move |_| toast(t!("why-no-release"))>{t!("release")}</button> }.into_any(),
        };
        let tag =
            yard.may(Kind::Tagged).then(|| view! { <button class=tag on:click=write_tag>{t!("hang-tag")}</button> });
        view! { <footer class=if holds { "foot foot--against" } else { "foot foot--two" }>{tag}{release}</footer> }
    };
    view! { {foot} }
}

/// What a tag says of an outing: what holds it.
fn why(of: &Assessment) -> String {
    let holds = of.items.iter().filter(|item| item.verdict == Verdict::Hold).take(3);
    holds.map(|item| format!("{}: {}", item.name, item.says)).collect::<Vec<_>>().join("; ")
}

/// What rises over the outing: the PIN, or the tag.
#[component]
pub(super) fn Sheet(going: Going) -> impl IntoView {
    let yard = yard();
    let signed = UnsyncCallback::new(move |()| match going.deciding.get_untracked() {
        Deciding::Release => going.run(async move { going.sign(yard).await }, t!("released")),
        Deciding::Plan => going.run(async move { going.plan(yard).await }, t!("planned-now")),
        Deciding::TagSigned => {
            let machine = going.machine.get_value();
            going.run(async move { going.tag.hang(yard, machine).await }, t!("tag-hung"));
        }
        Deciding::Nothing | Deciding::Tag => {}
    });
    let cancel = UnsyncCallback::new(move |()| going.deciding.set(Deciding::Nothing));
    move || match going.deciding.get() {
        Deciding::Nothing => ().into_any(),
        Deciding::Release => view! { <PinSheet what=t!("sign-release") signed cancel/> }.into_any(),
        Deciding::Plan => view! { <PinSheet what=t!("sign-plan") signed cancel/> }.into_any(),
        Deciding::Tag => view! { <TagSheet going/> }.into_any(),
        Deciding::TagSigned => view! { <TagSheet going/><PinSheet what=t!("sign-tag") signed cancel/> }.into_any(),
    }
}

#[component]
fn TagSheet(going: Going) -> impl IntoView {
    let done = UnsyncCallback::new(move |()| {
        if going.tag.is_said() { going.deciding.set(Deciding::TagSigned) } else { toast(t!("tag-say-why")) }
    });
    view! {
        <main>
            <section class="sheet sheet--whole form"><h1>{t!("hang-tag")}</h1><TagForm asked=going.tag/></section>
        </main>
        <footer class="foot foot--two">
            <button class="btn" on:click=move |_| going.deciding.set(Deciding::Nothing)>{t!("cancel")}</button>
            <Press label=Signal::stored(t!("hang-tag")) hint=Signal::stored(t!("press-then-pin")) class="btn--hold" done/>
        </footer>
    }
}
