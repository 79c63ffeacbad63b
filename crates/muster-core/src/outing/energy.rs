//! Then: how far fuel or charge goes with this load, and what is left at the end.

use alloc::{format, string::String};

use serde::Serialize;

use super::item::{Item, Part};
use super::say::{Say, number};
use super::stated::{Energy, Of};
use super::work::Work;
use crate::judge::Verdict;
use crate::quantity::{Unit, convert};
use crate::yard::Units;

const ID: &str = "range";
const NAME: &str = "Range";
/// The part of what is used that goes with the mass: rolling and gathering speed, not the air. An estimate, common
/// practice for a road ridden briskly; it decides a stop for fuel, never more.
const WITH_MASS: f64 = 0.3;
/// What a cold battery still gives, and below which air. Common practice.
const COLD_SHARE: f64 = 0.8;
const COLD_CELSIUS: f64 = 5.0;
/// Where no speed is told.
const USUAL_KM_PER_H: f64 = 90.0;

/// How far it goes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Reach {
    /// To the last drop, km.
    pub to_empty_km: f64,
    /// To the reserve, km.
    pub to_reserve_km: f64,
    /// What 100 km use, L or kWh.
    pub per_100km: f64,
}

/// The item, and the figures for a screen.
pub(super) fn item(work: &Work<'_>) -> (Item, Option<Reach>) {
    let Some(energy) = &work.stated.energy else {
        let missing = "what it holds and uses is not in the sheet: handbook, or the log of the last fills";
        return (Item::unseen(Part::Ride, ID, NAME, missing), None);
    };
    let reach = reach(work, energy);
    (told(work, energy, reach), Some(reach))
}

fn reach(work: &Work<'_>, energy: &Energy) -> Reach {
    let speed = speed_of(work);
    let more = work.banded.mass.kg() / work.alone_as_stated_kg() - 1.0;
    let per_100km = used(energy, speed) * (1.0 + WITH_MASS * more);
    let aboard = work.outing.aboard.map_or(1.0, |share| share.get().one());
    let air = work.outing.weather;
    let coldest =
        [air.air, air.on_the_way].into_iter().flatten().map(|air| air.get().celsius()).fold(f64::INFINITY, f64::min);
    let cold = if energy.of == Of::Charge && coldest < COLD_CELSIUS { COLD_SHARE } else { 1.0 };
    let holds = energy.holds * aboard * cold;
    let km = |left: f64| 100.0 * left / per_100km;
    Reach { to_empty_km: km(holds), to_reserve_km: km((holds - energy.reserve).max(0.0)), per_100km }
}

fn speed_of(work: &Work<'_>) -> f64 {
    work.outing.speed.map_or(USUAL_KM_PER_H, |speed| speed.get().km_per_h())
}

/// One gallon of the other units, L: 231 cubic inches.
const GALLON_L: f64 = 231.0 * 25.4 * 25.4 * 25.4 / 1e6;

/// What is held, in litres or gallons; charge is counted in kWh everywhere.
fn amount(say: Say, of: Of, held: f64) -> String {
    match (say.0, of) {
        (Units::Us, Of::Fuel) => format!("{}\u{a0}gal", number(held / GALLON_L, 1)),
        _ => format!("{}\u{a0}{}", number(held, 1), of.unit()),
    }
}

/// What a way uses: of 100 km, or of 100 mi.
fn used_for(say: Say, of: Of, per_100km: f64) -> String {
    let per_100mi = per_100km * convert(1.0, Unit::Mile, Unit::Kilometre);
    match (say.0, of) {
        (Units::Si, _) => format!("{}\u{a0}{}", number(per_100km, 2), of.unit()),
        (Units::Us, Of::Fuel) => format!("{}\u{a0}gal", number(per_100mi / GALLON_L, 2)),
        (Units::Us, Of::Charge) => format!("{}\u{a0}{}", number(per_100mi, 2), of.unit()),
    }
}

/// What a rider alone uses at a speed: between rows along a straight line, outside them the last row's.
fn used(energy: &Energy, km_per_h: f64) -> f64 {
    let rows = energy.used.iter().map(|(speed, used)| (speed.km_per_h(), *used));
    let (mut below, mut above) = (None, None);
    for row in rows {
        if row.0 <= km_per_h {
            below = Some(row);
        } else if above.is_none() {
            above = Some(row);
        }
    }
    match (below, above) {
        (Some((v0, low)), Some((v1, high))) => low + (high - low) * (km_per_h - v0) / (v1 - v0),
        (Some((_, used)), None) | (None, Some((_, used))) => used,
        (None, None) => f64::INFINITY,
    }
}

fn told(work: &Work<'_>, energy: &Energy, reach: Reach) -> Item {
    let say = work.say;
    let (to_reserve, to_empty) = (say.km(libm::floor(reach.to_reserve_km)), say.km(libm::floor(reach.to_empty_km)));
    let stop = match energy.of {
        Of::Fuel => "Fill up",
        Of::Charge => "Charge",
    };
    let says = format!("{to_reserve} to the reserve, {to_empty} in all");
    let aboard = work.outing.aboard.map_or(100.0, |share| share.get().percent());
    let fastest = energy.used.last().map_or(0.0, |(speed, _)| speed.km_per_h());
    let item = |says| {
        let item = Item::new(Part::Ride, ID, NAME, says)
            .from(work.source())
            .work(format!(
                "{} % of {} aboard, {} kept back",
                number(aboard, 0),
                amount(say, energy.of, energy.holds),
                amount(say, energy.of, energy.reserve)
            ))
            .work(format!(
                "for {}: {} with a rider alone · (1 + {} ({}/{} − 1)) = {}",
                say.km_of_use(),
                used_for(say, energy.of, used(energy, speed_of(work))),
                number(WITH_MASS, 1),
                say.kg_finely(work.banded.mass.kg()),
                say.kg_finely(work.alone_as_stated_kg()),
                used_for(say, energy.of, reach.per_100km)
            ));
        match work.outing.speed {
            Some(speed) if speed.get().km_per_h() > fastest => item.work(format!(
                "the sheet tells what it uses to {} only: at this speed it goes less far",
                say.km_per_h(fastest)
            )),
            _ => item,
        }
    };
    let Some(distance) = work.outing.distance else {
        // Round and round its own ground nobody counts the way.
        if work.outing.road == super::input::Road::Range {
            return item(says);
        }
        return item(format!("{says}; how far it goes was not told"))
            .verdict(Verdict::Unseen)
            .before("Say how far it goes");
    };
    let km = distance.get().km();
    if km <= reach.to_reserve_km {
        return item(format!(
            "{says}; {} asked, {} left to the reserve",
            say.km(km),
            say.km(libm::floor(reach.to_reserve_km - km))
        ));
    }
    let item = item(format!("{says}; {} asked", say.km(km))).verdict(Verdict::Watch);
    if reach.to_reserve_km < 10.0 {
        return item.before(format!("{stop} before leaving"));
    }
    item.next(format!("{stop} within {}", say.km_to_go(reach.to_reserve_km)))
}

impl Work<'_> {
    /// The mass at which the sheet's figures of use hold: in running order with a rider of 75 kg.
    fn alone_as_stated_kg(&self) -> f64 {
        const RIDER_KG: f64 = 75.0;
        self.bare.mass.kg() + RIDER_KG
    }
}
