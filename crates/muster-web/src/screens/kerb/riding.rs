//! Who rides a machine of a session, what each weighs in kit, and what is set for the heaviest and the lightest.

use std::collections::BTreeMap;

use leptos::prelude::*;
use muster_core::{
    calendar::Moment,
    judge::Verdict,
    outing::{Asked, Assessment, Outing, Setting, input::Road, session::Session},
    quantity::text::DecimalSign,
    record::judged,
    words::Use,
    yard::Units,
};

use super::super::{
    outing::{Step, Steps, Symbols, Ticked, figure, pressure, tick},
    walk::people,
};
use crate::{
    clock,
    ui::{Icon, VerdictWord},
    words::t,
    yard::{Yard, yard},
};

/// Where masses in kit are kept on this device, by person.
const KEPT_AS: &str = "muster-masses";

/// The riders of one machine, each with a mass as typed, and what was ticked.
#[derive(Clone, Copy)]
pub(super) struct Riding {
    people: RwSignal<Vec<(String, RwSignal<String>)>>,
    ticked: Ticked,
    owner: StoredValue<Owner>,
    units: Units,
}

impl Riding {
    /// Nobody yet. What is kept in it lives as long as the screen does.
    pub(super) fn new(yard: &Yard, owner: &Owner) -> Self {
        let units = yard.with(|held| held.known().yard.units).unwrap_or_default();
        owner.with(|| Self {
            people: RwSignal::new(Vec::new()),
            ticked: RwSignal::new(std::collections::BTreeSet::new()),
            owner: StoredValue::new(owner.clone()),
            units,
        })
    }

    /// Who rides, by their ids.
    pub(super) fn ids(self) -> Vec<String> {
        self.people.with(|people| people.iter().map(|(id, _)| id.clone()).collect())
    }

    /// What was ticked.
    pub(super) fn done(self, of: &[Assessment]) -> Vec<String> {
        let asked = Session::of(of).map(|session| session.before_leaving).unwrap_or_default();
        self.ticked.with(|ticked| asked.into_iter().filter(|what| ticked.contains(what)).collect())
    }

    /// Each rider's outing; none where no mass is told: then none is worked out.
    pub(super) fn told(self, one: Use, back: Moment, way: &str) -> Vec<Asked> {
        let symbols = Symbols::of(self.units);
        let people = self.people.get();
        // A passenger's mass is the outing's screen to ask.
        if one == Use::Passenger || people.iter().all(|(_, mass)| mass.with(|mass| mass.trim().is_empty())) {
            return Vec::new();
        }
        let road = if one == Use::Range { Road::Range } else { Road::Country };
        let each = people.into_iter().map(|(id, mass)| Asked {
            name: Some(id),
            rider: figure(&mass.get(), symbols.mass),
            distance: figure(way, symbols.way),
            road: Some(road.to_string()),
            dark: one == Use::Dark,
            back: Some(back.to_string()),
            ..Asked::default()
        });
        each.collect()
    }

    fn add(self, id: String) {
        let mass = kept(self.units).remove(&id).unwrap_or_default();
        let owner = self.owner.get_value();
        self.people.update(|people| {
            if !id.is_empty() && !people.iter().any(|(of, _)| *of == id) {
                people.push((id, owner.with(|| RwSignal::new(mass))));
            }
        });
    }

    fn drop(self, id: &str) {
        self.people.update(|people| people.retain(|(of, _)| of != id));
    }

    /// Remembers what each weighs.
    pub(super) fn keep(self) {
        let mut all = kept(self.units);
        self.people.with_untracked(|people| {
            for (id, mass) in people {
                _ = all.insert(id.clone(), mass.get_untracked());
            }
        });
        crate::kept::write(kept_as(self.units), &all);
    }
}

const fn kept_as(units: Units) -> &'static str {
    match units {
        Units::Si => KEPT_AS,
        Units::Us => "muster-masses-us",
    }
}

fn kept(units: Units) -> BTreeMap<String, String> {
    crate::kept::read(kept_as(units)).unwrap_or_default()
}

/// Each rider's outing worked out, for a machine.
pub(super) fn worked(yard: &Yard, machine: &str, told: &[Asked]) -> Option<Vec<Assessment>> {
    let outings: Vec<Outing> = told.iter().map(|of| of.read(clock::now(), DecimalSign::Point)).collect();
    let judgement = yard.judge_for(machine, outings.first()?.planned()?)?;
    let (seen, books, rules) = (yard.machine(machine)?, yard.with(|held| held.known().yard.clone())?, yard.rules());
    judged::outings((&rules.catalogue, &books), &seen.state, clock::now(), &judgement, &outings)
}

/// Who rides it: anybody who is known, each with a mass.
pub(super) fn riders(riding: Riding, machine: &str, worked: Memo<Option<Vec<Assessment>>>) -> AnyView {
    let yard = yard();
    let people = untrack(|| people(&yard));
    let label = t!("rider-of", machine = machine);
    let options = move || {
        let chosen = riding.ids();
        let others = people.iter().filter(|(id, _)| !chosen.contains(id));
        others.map(|(id, name)| view! { <option value=id.clone()>{name.clone()}</option> }).collect_view()
    };
    let symbols = Symbols::of(riding.units);
    // Back to its first line, or the browser shows the next person as if chosen.
    let choose = move |event| {
        let select = event_target::<web_sys::HtmlSelectElement>(&event);
        riding.add(select.value());
        select.set_value("");
    };
    let each = move || {
        let people = riding.people.get().into_iter();
        people.map(|(id, mass)| rider(riding, &yard.name(&id), (id, mass), symbols.mass)).collect_view()
    };
    view! {
        <div class="kriders">
            <label class="field"><span class="vh">{label}</span><select class="input" on:change=choose><option value="">{t!("add-rider")}</option>{options}</select></label>
            {each}
            {move || worked.get().and_then(|of| settings(riding, &of))}
        </div>
    }
    .into_any()
}

fn rider(riding: Riding, name: &str, (id, mass): (String, RwSignal<String>), unit: &str) -> AnyView {
    let label = t!("mass-of", name = name, unit = unit);
    let off = t!("take-off-rider", name = name);
    view! {
        <div class="krider"><Step label value=mass steps=Steps::person(riding.units)/>
            <button type="button" class="btn btn--quiet" aria-label=off on:click=move |_| riding.drop(&id)><Icon name="close"/></button></div>
    }
    .into_any()
}

/// The settings for the heaviest and for the lightest, and what is to be done before the first goes out.
fn settings(riding: Riding, of: &[Assessment]) -> Option<AnyView> {
    let session = Session::of(of)?;
    let yard = yard();
    let one = |of: &Assessment, which: String| {
        let name = yard.name(of.rider.as_deref().unwrap_or_default());
        let each = of.figures.settings.iter().map(|of| told(of, riding.units)).collect::<Vec<_>>().join("; ");
        view! { <tr><th scope="row">{which}" "<b>{name}</b></th><td><VerdictWord verdict=of.verdict/></td><td>{each}</td></tr> }
    };
    let lightest = (session.riders.len() > 1).then(|| one(&session.lightest, t!("the-lightest")));
    let heaviest = if session.riders.len() > 1 { t!("the-heaviest") } else { String::new() };
    let stops = of.iter().filter_map(|of| stop(&yard, of)).collect::<Vec<_>>();
    // What stops all alike is told once.
    let alike = stops.first().filter(|(_, first)| stops.len() == of.len() && stops.iter().all(|(_, why)| why == first));
    let stops: Vec<String> = match alike {
        Some((_, why)) => Vec::from([why.clone()]),
        None => stops.iter().map(|(name, why)| format!("{name}: {why}")).collect(),
    };
    let stops = stops.iter().map(|why| view! { <p class="cap">{yard.said(why)}</p> }).collect_view();
    let ticks = session.before_leaving.into_iter().map(|what| tick(what, riding.ticked)).collect_view();
    Some(
        view! { <table class="kset"><tbody>{one(&session.heaviest, heaviest)}{lightest}</tbody></table>{stops}{ticks} }
            .into_any(),
    )
}

/// Who cannot go so, and why: what was told and cannot be, else what is on hold or unseen first.
fn stop(yard: &Yard, of: &Assessment) -> Option<(String, String)> {
    let item = of.items.iter().filter(|item| item.verdict >= Verdict::Unseen).max_by_key(|item| item.verdict);
    let why = of.faults.first().cloned().or_else(|| item.map(|item| format!("{}: {}", item.name, item.says)))?;
    Some((yard.name(of.rider.as_deref().unwrap_or_default()), why))
}

/// One wheel's settings in a line.
fn told(of: &Setting, units: Units) -> String {
    let wheel = if of.wheel == "front" { t!("front") } else { t!("rear") };
    let pressure = of.pressure_kpa.map(|kpa| pressure(kpa, units));
    let click = of.click.map(|click| t!("click-to", click = click));
    let parts = pressure.into_iter().chain(click).collect::<Vec<_>>();
    format!("{wheel} {}", parts.join(", "))
}
