//! Last: whether the rider reaches the ground from the seat.

use alloc::format;

use serde::Serialize;

use super::item::{Item, Part};
use super::work::Work;
use crate::judge::Verdict;
use crate::words::Class;

const ID: &str = "reach";
const NAME: &str = "Reach to the ground";
/// The sole of a riding boot, mm. Common practice.
const SOLE_MM: f64 = 30.0;
/// Heels may hang this far, mm, and the balls of both feet still stand; and this far, and toes touch. Estimates.
const BALLS_MM: f64 = 50.0;
const TOES_MM: f64 = 110.0;

/// From seat to ground.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Ground {
    /// The seat above the road with all aboard, mm.
    pub seat_mm: f64,
    /// The leg's way over the seat's edge to the road, mm.
    pub way_mm: f64,
    /// The leg in its boot, mm.
    pub leg_mm: f64,
}

/// The item, where an inseam was told; the figures for a screen.
pub(super) fn item(work: &Work<'_>) -> Option<(Item, Option<Ground>)> {
    let inseam = work.outing.rider.inseam?;
    let Some(seat) = work.stated.seat else {
        let missing = "the seat's height is not in the sheet: sit on it before leaving";
        return Some((Item::unseen(Part::Rider, ID, NAME, missing), None));
    };
    let Some(drop) = drop(work) else {
        let missing = "how far the springs give is not in the sheet: sit on it before leaving";
        return Some((Item::unseen(Part::Rider, ID, NAME, missing), None));
    };
    let lowered = work.case.context.machine.ride_height_mm().unwrap_or(0.0);
    let seat_mm = seat.height.mm() + lowered - drop;
    // The leg goes out over half the seat, then down.
    let way_mm = libm::hypot(seat_mm, seat.width.mm() / 2.0);
    let ground = Ground { seat_mm, way_mm, leg_mm: inseam.get().mm() + SOLE_MM };
    Some((told(work, ground, drop, seat.width.mm()), Some(ground)))
}

/// How far the seat sinks from bare to loaded: each end's sag more than with nobody on it, at the rider's place.
fn drop(work: &Work<'_>) -> Option<f64> {
    let spring = |end| work.settings.of_end(end)?.as_ref().ok().copied();
    let (front, rear) = (spring(super::work::End::Front)?, spring(super::work::End::Rear)?);
    let sunk = |spring: super::settings::Spring| spring.after.mm() - spring.free.mm();
    let share = work.stated.rider.ahead.mm() / work.stated.wheelbase.mm();
    Some(sunk(rear) + (sunk(front) - sunk(rear)) * share)
}

fn told(work: &Work<'_>, ground: Ground, drop: f64, width: f64) -> Item {
    let say = work.say;
    let short = ground.way_mm - ground.leg_mm;
    let (verdict, how) = match short {
        short if short <= 0.0 => (Verdict::Fit, "both feet flat"),
        short if short <= BALLS_MM => (Verdict::Fit, "the balls of both feet"),
        short if short <= TOES_MM => (Verdict::Watch, "toes only"),
        _ => (Verdict::Watch, "one foot only, off the seat"),
    };
    let says = format!("{how}: seat {} with this load", say.mm(ground.seat_mm));
    let item = Item::new(Part::Rider, ID, NAME, says).from(work.source()).verdict(verdict).work(format!(
        "seat sinks {}; over half its {} the leg needs {}, leg and sole are {}",
        say.mm(drop),
        say.mm(width),
        say.mm(ground.way_mm),
        say.mm(ground.leg_mm)
    ));
    if verdict == Verdict::Fit {
        return item;
    }
    item.class(Class::Minor)
        .before("Try it standing, somebody beside it, before leaving")
        .next("Stop on level ground, by a kerb, not on a slope")
}
