//! Then: what braking does to the wheels, which of them sets the limit, and how far a stop goes, dry and wet.

use alloc::{format, string::String};

use serde::Serialize;

use super::item::{Item, Part};
use super::say::number;
use super::work::Work;
use crate::formula::{axle_load::G, load_transfer};
use crate::quantity::{Ratio, Speed, Time};

const ID: &str = "braking";
const NAME: &str = "Braking";
/// Reaction in s and decelerations in m/s² of a practised stop, dry and wet: a national road-safety body's page (read).
const REACTION_S: f64 = 1.0;
const DRY: f64 = 7.0;
const WET: f64 = 3.5;
/// The best the same page knows, m/s².
const BEST: f64 = 10.0;
/// Where no speed is told, km/h.
const TOWN_KM_PER_H: f64 = 50.0;

/// Stops from the speed told.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Stops {
    /// From this speed, km/h.
    pub from_km_per_h: f64,
    /// Dry, m.
    pub dry_m: f64,
    /// Wet, m.
    pub wet_m: f64,
    /// As much pull at lever and pedal as stops the rider alone in the dry way: how far that goes now, m.
    pub same_pull_m: f64,
    /// Deceleration at which the rear wheel lifts, m/s².
    pub rear_lifts_m_per_s2: f64,
    /// Share of the weight on the front wheel in a dry stop.
    pub front_share: f64,
}

/// The item, and the figures for a screen.
pub(super) fn item(work: &Work<'_>) -> (Item, Option<Stops>) {
    match stops(work) {
        Ok(stops) => (told(work, &stops), Some(stops)),
        Err(refusal) => (Item::unseen(Part::Ride, ID, NAME, &format!("{refusal}")), None),
    }
}

fn stops(work: &Work<'_>) -> Result<Stops, crate::formula::Refusal> {
    let speed = match work.outing.speed {
        Some(speed) => speed.get(),
        None => Speed::from_km_per_h(TOWN_KM_PER_H)?,
    };
    let reaction = Time::from_seconds(REACTION_S)?;
    let base = work.stated.wheelbase;
    let lifts = load_transfer::rear_lifts_at(&work.banded, base)?;
    let dry = DRY.min(lifts);
    // The brakes give a force; the same force slows more mass less.
    let pull = (DRY * work.alone.mass.kg() / work.banded.mass.kg()).min(lifts);
    let metres = |rate| {
        Ok::<f64, crate::formula::Refusal>(1000.0 * load_transfer::stopping_distance(speed, reaction, rate)?.km())
    };
    let (front, rear) = load_transfer::under_braking(&work.banded, base, dry)?;
    Ok(Stops {
        from_km_per_h: speed.km_per_h(),
        dry_m: metres(dry)?,
        wet_m: metres(WET.min(lifts))?,
        same_pull_m: metres(pull)?,
        rear_lifts_m_per_s2: lifts,
        front_share: front.newton() / (front.newton() + rear.newton()),
    })
}

fn told(work: &Work<'_>, stops: &Stops) -> Item {
    let say = work.say;
    let first = if stops.rear_lifts_m_per_s2 < BEST {
        "the rear wheel lifts before the front tyre slides"
    } else {
        "the front tyre's grip sets the limit"
    };
    let more = stops.same_pull_m - stops.dry_m;
    let (from, dry, wet) = (say.km_per_h(stops.from_km_per_h), say.metres(stops.dry_m), say.metres(stops.wet_m));
    let pull = if more < 0.5 {
        String::new()
    } else {
        let more = say.metres(more);
        format!("; with the pull that stops its rider alone in the dry this load goes on for {more} more")
    };
    let says = format!("from {from} {dry} dry, {wet} wet{pull}; {first}");
    let item = Item::new(Part::Ride, ID, NAME, says)
        .from(Some("decelerations: a road-safety body's page, 1 s, 7 m/s² dry, 3.5 wet (read); loads: statics".into()))
        .work(format!(
            "s = v t + v²/(2a), t = {} s until the brakes bite, a = {} dry, {} wet",
            number(REACTION_S, 0),
            say.rate_of_speed(DRY, 1),
            say.rate_of_speed(WET, 1)
        ))
        .work(format!(
            "same pull: a = {} · {}/{} = {}",
            say.rate_of_speed(DRY, 1),
            say.kg_finely(work.alone.mass.kg()),
            say.kg_finely(work.banded.mass.kg()),
            say.rate_of_speed(DRY * work.alone.mass.kg() / work.banded.mass.kg(), 2)
        ))
        .work(format!(
            "at {} the front wheel carries {} %; the rear lifts at g (L − b)/h = {}",
            say.rate_of_speed(DRY.min(stops.rear_lifts_m_per_s2), 1),
            number(100.0 * stops.front_share, 0),
            say.rate_of_speed(stops.rear_lifts_m_per_s2, 1)
        ));
    let item = alone(work, item);
    if work.outing.weather.rain {
        let wet = say.metres_to_leave(stops.wet_m - stops.dry_m);
        return item.before(format!("Wet: {wet} more to stop than in the dry; brake early, both brakes, upright"));
    }
    if more >= 0.5 {
        let more = say.metres_to_leave(more);
        return item.before(format!("Pull harder or leave {more} more: try the brakes once before the road"));
    }
    item
}

/// What either brake alone gives, and where the front wheel gets light.
fn alone(work: &Work<'_>, item: Item) -> Item {
    let rate = if work.outing.weather.rain { WET } else { DRY };
    let Ok(grip) = Ratio::from_one(rate / G) else { return item };
    let base = work.stated.wheelbase;
    let one = load_transfer::one_brake_alone(&work.banded, base, grip);
    let Ok(((front, rear), lifts)) = one.and_then(|one| Ok((one, load_transfer::front_lifts_at(&work.banded, base)?)))
    else {
        return item;
    };
    item.work(format!(
        "on a {} road the front brake alone gives {}, the rear alone {}; the front wheel lifts at {} of drive",
        if work.outing.weather.rain { "wet" } else { "dry" },
        work.say.rate_of_speed(front, 1),
        work.say.rate_of_speed(rear, 1),
        work.say.rate_of_speed(lifts, 1)
    ))
}
