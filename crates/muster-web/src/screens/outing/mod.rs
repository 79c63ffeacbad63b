//! The outing: rider, passenger, luggage, way and weather against one machine, worked out as one types; then let out.

mod form;
mod going;
mod items;
mod planned;
mod step;
mod todo;
mod told;

use std::sync::Arc;

use leptos::prelude::*;
use muster_core::{
    calendar::Moment,
    judge::{Judgement, UseVerdict, Verdict},
    outing::{Assessment, bound::asked},
    record::judged,
};
use muster_draw::number::small;

use self::{
    form::Form,
    going::{Deciding, Foot, Going, GoingForm, Sheet},
    told::{Told, with_yard},
};
pub(super) use self::{
    planned::PlannedScreen,
    step::{Step, Steps},
    todo::{Ticked, tick},
    told::{Symbols, figure, pressure},
};
use super::walk::{goer, use_word};
use crate::{
    clock, route,
    ui::{Banner, Icon, Lacking, verdict_word},
    words::t,
    yard::{Yard, yard},
};

/// What an outing comes to; the same as long as it comes to the same, whenever it was asked.
#[derive(Clone)]
struct Worked(Arc<Assessment>);

impl PartialEq for Worked {
    fn eq(&self, other: &Self) -> bool {
        let (a, b) = (&self.0, &other.0);
        a.items == b.items && a.figures == b.figures && a.faults == b.faults && a.uses == b.uses
    }
}

/// The outing of one machine.
#[component]
pub(crate) fn OutingScreen() -> impl IntoView {
    let (yard, params) = (yard(), route::params());
    let id = Memo::new(move |_| params.read().get("machine").unwrap_or_default());
    let there = Memo::new(move |_| yard.machine(&id.get()).is_some());
    let body = move || match there.get() {
        true => view! { <OneOuting id=id.get()/> }.into_any(),
        false => view! { <main><Lacking title=t!("outing")/></main> }.into_any(),
    };
    view! { <div class="phone touch">{body}</div> }
}

#[component]
fn OneOuting(id: String) -> impl IntoView {
    let (yard, go) = (yard(), goer());
    let machine = StoredValue::new(id.clone());
    let told = untrack(|| begun(&yard, &id));
    Effect::new(move || told.keep());
    let planned = Memo::new(move |_| told.outing().planned());
    let judgement = Memo::new(move |_| {
        let seen = yard.machine(&machine.get_value())?;
        match planned.get() {
            Some(outing) => yard.judge_for(&machine.get_value(), outing).map(Arc::new),
            None => Some(seen.judgement),
        }
    });
    let worked = Memo::new(move |_| {
        let (judgement, seen) = (judgement.get()?, yard.machine(&machine.get_value())?);
        let (rules, books) = (yard.rules(), yard.with(|held| held.known().yard.clone())?);
        let outings = [told.outing()];
        let now = clock::now();
        let assessed = judged::outings((&rules.catalogue, &books), &seen.state, now, &judgement, &outings)?.pop()?;
        Some(Worked(Arc::new(assessed)))
    });
    let going = untrack(|| Going::of(machine, told, worked, go));
    let model = move || judgement.get().map(|of| of.model.clone()).unwrap_or_default();
    let back = move || go.get_value()(&format!("/machines/{}", machine.get_value()));
    let came_to = move || {
        let (of, judgement) = (worked.get()?.0, judgement.get()?);
        Some(view! {
            {items::parts(&of, told.units)}
            {todo::todo(&of, &judgement, told.units, going.ticked)}
        })
    };
    let head = move || {
        let (of, judgement) = (worked.get()?.0, judgement.get()?);
        Some(plate(&of, &judgement))
    };
    view! {
        <header class="bar">
            <button class="hit" aria-label=t!("to-the-machine") on:click=move |_| back()><Icon name="back"/></button>
            <div class="id"><b>{id}</b><span>{model}</span></div>
            <span class="sub opt">{t!("outing")}</span>
        </header>
        <Banner/>
        <div class="leg" hidden=move || matches!(going.deciding.get(), Deciding::Tag | Deciding::TagSigned)>
            <main tabindex="0">
                {head}
                {move || planned::list(yard, &machine.get_value())}
                <Form told/>
                {came_to}
                <GoingForm going/>
            </main>
            <Foot going/>
        </div>
        <Sheet going/>
    }
}

/// What is told of an outing to begin with: the places that are mounted, the return it is planned for.
fn begun(yard: &Yard, id: &str) -> Told {
    let units = yard.with(|held| held.known().yard.units).unwrap_or_default();
    let places = with_yard(yard, id, |books, machine| {
        let stated = books.sheets.get(&machine.sheet).and_then(|sheet| sheet.outing.as_ref());
        let mounted = machine.traits.equipment.get("luggage");
        let is_there = |name: &String| mounted.is_some_and(|all| all.contains(name));
        let places = stated.into_iter().flat_map(|stated| &stated.luggage);
        places.filter(|place| !place.mounted || is_there(&place.name)).map(|place| place.name.clone()).collect()
    });
    let back = yard.machine(id).and_then(|seen| Moment::parse(seen.judgement.back.as_deref()?).ok());
    Told::of(units, places.unwrap_or_default(), back)
}

/// The verdict at the head, with the machine's own for each use of the outing.
fn plate(of: &Assessment, judgement: &Judgement) -> AnyView {
    let verdict = of.verdict;
    let named = |wanted: Verdict| -> String {
        let names = of.items.iter().filter(|item| item.verdict == wanted).map(|item| small(&item.name));
        names.collect::<Vec<_>>().join(", ")
    };
    let says = match verdict {
        Verdict::Fit => t!("outing-fit"),
        Verdict::Watch => t!("outing-watch", what = named(verdict)),
        Verdict::Unseen if !of.faults.is_empty() => t!("outing-faults", what = of.faults.join("; ")),
        Verdict::Unseen => t!("outing-unseen", what = named(verdict)),
        Verdict::Hold => t!("outing-hold", what = named(verdict)),
    };
    let uses = judgement.uses.iter().filter(|own| of.uses.contains(&own.one)).map(use_of).collect_view();
    let count = asked(std::slice::from_ref(of)).len();
    let todo = (count > 0).then(|| {
        view! { <button type="button" class="to-todo" on:click=|_| look_at_todo()>{t!("to-do-first", count = count)}</button> }
    });
    view! {
        <div class=format!("plate plate--outing {verdict}") role="status">
            <svg class="glyph" width="44" height="44" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
            <div><h1 class="word">{verdict_word(verdict)}</h1><span class="uses in">{uses}</span></div>
            <p class="plate-says" id="why">{says}" "{todo}</p>
        </div>
    }
    .into_any()
}

/// Brings what is to be done into sight.
fn look_at_todo() {
    if let Some(todo) = document().get_element_by_id(todo::ID) {
        todo.scroll_into_view();
    }
}

fn use_of(of: &UseVerdict) -> AnyView {
    let says = format!("{} {}", use_word(of.one).to_lowercase(), verdict_word(of.verdict).to_lowercase());
    view! {
        <span class=format!("verdict {}", of.verdict)><svg class="glyph" width="18" height="18" aria-hidden="true"><use href=format!("#g-{}", of.verdict)></use></svg><span>{says}</span></span>
    }
    .into_any()
}
