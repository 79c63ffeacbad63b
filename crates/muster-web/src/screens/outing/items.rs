//! What an outing comes to, part by part: axles on their rulers, each item with its limit, source and working folded in.

use leptos::{either::Either, prelude::*};
use leptos_router::components::A;
use muster_core::{
    judge::{Figure, Verdict},
    outing::{Assessment, Item, Part},
    quantity::{Unit, convert},
    yard::Units,
};
use muster_draw::{
    draw,
    number::{capital, figure_text, with_unit},
    ruler::{Ruler, Tone},
};

use crate::{
    ui::{Drawn, verdict_word},
    words::t,
    yard::yard,
};

/// Every part that has something in it.
pub(super) fn parts(of: &Assessment, units: Units) -> AnyView {
    let each = Part::ALL.iter().map(|part| {
        let items: Vec<&Item> = of.items.iter().filter(|item| item.part == *part).collect();
        (!items.is_empty()).then(|| {
            let rows =
                items.iter().map(|item| view! { {axle(of, item, units)}{row(item, &of.machine)} }).collect_view();
            view! { <section class="sec outing-part"><div class="sec-h"><h2>{title(*part)}</h2></div>{rows}</section> }
        })
    });
    each.collect_view().into_any()
}

fn title(part: Part) -> String {
    match part {
        Part::Loads => t!("part-loads"),
        Part::Settings => t!("part-settings"),
        Part::Ride => t!("part-ride"),
        Part::Rider => t!("part-rider"),
    }
}

/// One item: glyph, name and why; what it rests on and how it was worked out behind it.
fn row(item: &Item, machine: &str) -> AnyView {
    let verdict = item.verdict;
    let says = capital(&yard().said(&item.says));
    let head = view! {
        <svg class="glyph" width="20" height="20" aria-hidden="true"><use href=format!("#g-{verdict}")></use></svg>
        <span><b>{item.name.clone()}</b><span class="vh">{format!(", {}", verdict_word(verdict))}</span>": "{says}</span>
    };
    let todo = item.todo.iter().map(|todo| view! { <li class="todo">{todo.what.clone()}</li> }).collect_view();
    let working = item.working.iter().map(|line| view! { <li>{line.clone()}</li> }).collect_view();
    let source = item.source.clone().map(|source| view! { <li>{t!("rests-on", source = source)}</li> });
    let walk = (item.id == "machine" && verdict >= Verdict::Unseen).then(|| {
        view! { <p class="to-walk"><A href=format!("/machines/{machine}/walk") attr:class="btn">{t!("start-walk")}</A></p> }
    });
    let is_bare = item.source.is_none() && item.working.is_empty() && item.todo.is_empty();
    let row = match is_bare {
        true => Either::Left(view! { <div class="orow">{head}</div> }),
        false => Either::Right(
            view! { <details class="orow-more"><summary class="orow">{head}</summary><ul>{todo}{source}{working}</ul></details> },
        ),
    };
    view! { {row}{walk} }.into_any()
}

/// An axle's load on its ruler, the margin before it.
fn axle(of: &Assessment, item: &Item, units: Units) -> Option<AnyView> {
    let index = match item.id.as_str() {
        "axle.front" => 0,
        "axle.rear" => 1,
        _ => return None,
    };
    let figures = of.figures.loads?.axles[index];
    let (unit, mass) = match units {
        Units::Si => (Unit::Kilogram, 1.0),
        Units::Us => (Unit::Pound, convert(1.0, Unit::Kilogram, Unit::Pound)),
    };
    let limit = figures.limit_kg? * mass;
    let value = figures.load_kg * mass;
    let figure = Figure {
        unit: unit.symbol(),
        decimals: 0,
        value,
        expanded_u: figures.expanded_u_kg * mass,
        gauge: None,
        at_least: None,
        at_most: Some(limit),
        target: None,
        new: Some(figures.bare_kg * mass),
        margin: limit - value,
        places: Vec::new(),
    };
    let mut ruler = Ruler::of(&figure, Tone::Judged(item.verdict), "")?;
    if let Some(bare) = &mut ruler.new {
        bare.text = t!("unladen", mass = figure_text(figures.bare_kg * mass, 0));
    }
    let margin = with_unit(&figure_text(figure.margin.abs(), 0), unit.symbol());
    let words = if figure.margin < 0.0 { t!("too-much") } else { t!("margin") };
    let says = format!("{}: {}", item.name, item.says);
    let end = if index == 0 { t!("front") } else { t!("rear") };
    Some(
        view! {
            <figure class="gauge axle"><div>{end}<b>{margin}</b>{words}</div><Drawn markup=draw::full(&ruler, &says)/></figure>
        }
        .into_any(),
    )
}
