//! First: what the axles and the tyres carry against what they may.

use alloc::{format, string::String, vec::Vec};

use super::item::{Item, Part};
use super::say::{Say, number};
use super::stated::Tyre;
use super::work::{End, Work};
use crate::formula::axle_load::G;
use crate::judge::Verdict;
use crate::quantity::Mass;
use crate::statistics::{conformance::Window, uncertainty::StandardUncertainty};

/// Gross mass, both axles and both tyres.
pub(super) fn items(work: &Work<'_>) -> Vec<Item> {
    let mut out = work.aboard.items.clone();
    out.push(bounded(work, ("gross", "All up"), (work.all.mass, work.u[2]), work.stated.gross));
    for end in End::BOTH {
        let name = format!("{} axle", end.title());
        let id = format!("axle.{end}");
        out.push(bounded(work, (&id, &name), (end.carries(&work.all), end.u(work)), end.limit(work.stated)));
    }
    out.extend(End::BOTH.into_iter().map(|end| tyre(work, end)));
    out
}

/// A load against what may be carried, stated as a mass.
fn bounded(
    work: &Work<'_>,
    (id, name): (&str, &str),
    (load, u): (Mass, StandardUncertainty),
    most: Option<Mass>,
) -> Item {
    let say = work.say;
    let Some(most) = most else {
        let what = if id == "gross" { "the most it may weigh" } else { "the most this axle may carry" };
        let says =
            format!("{}; {what} is not known: read the plate on the frame, write it into the sheet", say.kg(load.kg()));
        return moments(work, Item::unseen(Part::Loads, id, name, &says), id);
    };
    let with_u = format!("{} ±\u{a0}{}", say.kg(load.kg()), number(scaled(say, u.expanded()), 0));
    let margin = most.kg() - load.kg();
    let says = if margin < 0.0 {
        format!("{with_u} on it, at most {}: {} too much", say.kg(most.kg()), say.kg_finely(-margin))
    } else {
        format!("{with_u}, at most {}: {} left", say.kg(most.kg()), say.kg(margin))
    };
    let item = moments(work, Item::new(Part::Loads, id, name, says).from(work.source()), id);
    match against(work, load, u, most) {
        Verdict::Hold => item.verdict(Verdict::Hold).by_law().before(lighten(work, id, -margin)),
        Verdict::Watch => item.verdict(Verdict::Watch).before("Weigh the luggage, or put it on the scale by axles"),
        other => item.verdict(other),
    }
}

/// Past the limit it is a hold; too near to call a watch.
fn against(work: &Work<'_>, load: Mass, u: StandardUncertainty, most: Mass) -> Verdict {
    if load > most {
        return Verdict::Hold;
    }
    let asked = work.case.context.catalogue.rule.verdict.fit;
    let p = Window::at_most(most.kg()).and_then(|window| window.conformance(load.kg(), u));
    match p {
        Ok(p) if p >= asked => Verdict::Fit,
        _ => Verdict::Watch,
    }
}

fn scaled(say: Say, kg: f64) -> f64 {
    match say.0 {
        crate::yard::Units::Si => kg,
        crate::yard::Units::Us => {
            crate::quantity::convert(kg, crate::quantity::Unit::Kilogram, crate::quantity::Unit::Pound)
        }
    }
}

/// The sum, thing by thing.
fn moments(work: &Work<'_>, item: Item, id: &str) -> Item {
    let base = work.stated.wheelbase.mm();
    let each = |share: &dyn Fn(f64) -> f64| {
        let parts = work.aboard.things.iter().map(|thing| {
            let (kg, ahead) = (thing.piece.mass.kg(), thing.piece.ahead.mm());
            format!("{} {}", thing.name, work.say.kg_finely(kg * share(ahead / base)))
        });
        parts.collect::<Vec<_>>().join(" + ")
    };
    let of = |all: &str, share: &dyn Fn(f64) -> f64| {
        let sum: f64 =
            work.aboard.things.iter().map(|thing| thing.piece.mass.kg() * share(thing.piece.ahead.mm() / base)).sum();
        format!("{all} = {} = {}", each(share), work.say.kg_finely(sum))
    };
    match id {
        "axle.front" => item.work(of("Σ m x/L", &|share| share)).work(format!(
            "L = {}; x ahead of the rear axle: {}",
            work.say.mm(base),
            places(work)
        )),
        "axle.rear" => item.work(of("Σ m (1 − x/L)", &|share| 1.0 - share)),
        _ => item.work(of("Σ m", &|_| 1.0)).work(format!(
            "centre of gravity {} ahead of the rear axle, {} above the road",
            work.say.mm(work.all.ahead.mm()),
            work.say.mm(work.all.height.mm())
        )),
    }
}

fn places(work: &Work<'_>) -> String {
    let each = work.aboard.things.iter().map(|thing| format!("{} {}", thing.name, work.say.mm(thing.piece.ahead.mm())));
    each.collect::<Vec<_>>().join(", ")
}

/// How to bring a load in: out of the rearmost luggage first.
fn lighten(work: &Work<'_>, id: &str, over_kg: f64) -> String {
    let base = work.stated.wheelbase.mm();
    let luggage = work.aboard.luggage().map(|thing| {
        let share = thing.piece.ahead.mm() / base;
        let share = match id {
            "axle.front" => share,
            "axle.rear" => 1.0 - share,
            _ => 1.0,
        };
        (thing, if share > 0.0 { over_kg / share } else { f64::INFINITY })
    });
    match luggage {
        Some((thing, kg)) if work.say.steps_of_kg(kg) <= thing.piece.mass.kg() => {
            format!("Take {} out of {}", work.say.kg_to_take_off(kg), thing.name)
        }
        Some((thing, kg)) if kg <= thing.piece.mass.kg() => format!("Leave what is in {} behind", thing.name),
        Some(_) if work.outing.passenger.is_some() => {
            "Leave the luggage behind; if it is still too much, go alone".into()
        }
        Some(_) => "Leave the luggage behind, or take another machine".into(),
        None if work.outing.passenger.is_some() => "Go alone, or take another machine".into(),
        None => "Take another machine".into(),
    }
}

/// A tyre against its load and the speed.
fn tyre(work: &Work<'_>, end: End) -> Item {
    let (id, name) = (format!("tyre.{end}.load"), format!("{} tyre", end.title()));
    let Some(tyre) = &end.wheel(work.stated).tyre else {
        let missing = "the tyre's size, load index and speed symbol are not in the sheet: read them off its wall";
        return Item::unseen(Part::Loads, &id, &name, missing);
    };
    let load = end.carries(&work.all);
    let item = match capacity(work, tyre, end) {
        Ok((carries, how)) => {
            let says = format!("{} on it, carries {} ({how})", work.say.kg(load.kg()), work.say.kg(carries.kg()));
            let item = Item::new(Part::Loads, id.as_str(), name.as_str(), says).from(Some(tyre.text.clone()));
            match against(work, load, end.u(work), carries) {
                Verdict::Hold => {
                    item.verdict(Verdict::Hold).before(lighten(work, &format!("axle.{end}"), load.kg() - carries.kg()))
                }
                Verdict::Watch => {
                    item.verdict(Verdict::Watch).before("Weigh the luggage, or put it on the scale by axles")
                }
                other => item.verdict(other),
            }
        }
        Err(missing) => Item::unseen(Part::Loads, &id, &name, &missing).from(Some(tyre.text.clone())),
    };
    let force = work.say.newton(load.kg() * G);
    let item = item.work(format!("m g = {} · {} = {force}", work.say.kg_finely(load.kg()), work.say.gravity()));
    speed(work, tyre, item)
}

/// What a tyre carries at the pressure it is to be set to, and how that is known.
fn capacity(work: &Work<'_>, tyre: &Tyre, end: End) -> Result<(Mass, String), String> {
    if let Some(table) = &tyre.loads {
        let set = end.set(work).ok_or("the pressure to set is not known, so neither is what the tyre carries")?;
        let carries = table.load_at(set).map_err(|refusal| format!("at {}: {refusal}", work.say.kpa(set.kpa())))?;
        return Ok((carries, format!("at {} by its maker's table", work.say.kpa(set.kpa()))));
    }
    let index = tyre.marking.load.ok_or("its load index is not known: read it off the wall")?;
    let carries = index.load().map_err(|refusal| format!("{refusal}"))?;
    Ok((carries, format!("load index {index}, at its reference pressure")))
}

fn speed(work: &Work<'_>, tyre: &Tyre, item: Item) -> Item {
    let (Some(symbol), Some(speed)) = (tyre.marking.speed, work.outing.speed) else { return item };
    let Ok(good_for) = symbol.speed() else { return item };
    let ridden = speed.get();
    let says = work.say.km_per_h(good_for.km_per_h());
    if ridden > good_for && !symbol.is_above() {
        let says = format!("{}; its speed symbol {symbol} is good for {says}", item.says);
        return Item { says, ..item }
            .verdict(Verdict::Hold)
            .before(format!("Stay below {}", work.say.km_per_h(good_for.km_per_h())));
    }
    item.work(format!("speed symbol {symbol}: {}{says}", if symbol.is_above() { "above " } else { "to " }))
}
