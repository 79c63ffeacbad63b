//! Then: what the load does to the dipped beam, whether it still conforms, and what to turn it by.

use alloc::{format, string::String};

use super::aboard::Aboard;
use super::item::{Item, Part};
use super::say::{number, percent};
use super::settings::preload;
use super::stated::Lamp;
use super::work::{End, Work};
use crate::formula::{heights, lamp, spring};
use crate::judge::Verdict;
use crate::quantity::{Inclination, Length, Unit};
use crate::words::Class;

const ID: &str = "lamp.dip";
const NAME: &str = "Dipped beam";
const CHECK: &str = "lamp.aim";

/// The beam under this load.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Beam {
    /// As it was aimed, per cent down.
    pub(super) aimed: Inclination,
    /// Where that is known from.
    why: String,
    /// Under this load, springs as they are to be set.
    pub(super) after: Inclination,
    /// Nose up, degrees.
    pub(super) pitch_degrees: f64,
    /// How the lamp's height moves, mm.
    height: Option<Length>,
    /// Sag more than when it was aimed: front, rear, mm.
    squat: (f64, f64),
    /// The window of the limits: least and most.
    pub(super) window: (Option<f64>, Option<f64>),
    /// Turns of the screw, lowering positive, to come back to where it was aimed.
    pub(super) turns: f64,
}

/// The item, and the figures for a screen.
pub(super) fn item(work: &Work<'_>) -> (Item, Option<Beam>) {
    let missing = "the lamp's place and what a turn of its screw does are not in the sheet: aim it on a wall, loaded";
    let Some(of) = work.stated.lamp else { return (Item::unseen(Part::Settings, ID, NAME, missing), None) };
    match beam(work, of) {
        Ok(beam) => (told(work, of, &beam), Some(beam)),
        Err(missing) => (Item::unseen(Part::Settings, ID, NAME, &missing), None),
    }
}

fn beam(work: &Work<'_>, of: Lamp) -> Result<Beam, String> {
    let (aimed, why) =
        aimed(work).ok_or("how the beam was aimed is not known: aim it on a wall, loaded as it is ridden")?;
    let Some((front, rear)) = work.settings.sags() else {
        return Err("the springs' figures are not in the sheet: aim it on a wall, loaded as it is ridden".into());
    };
    let told = |refusal| format!("{refusal}");
    let (front_then, rear_then) = sags_when_aimed(work, of)?;
    let squat = |now: Length, then: Length| Length::from_mm(now.mm() - then.mm()).map_err(|fault| format!("{fault}"));
    let (front, rear) = (squat(front, front_then)?, squat(rear, rear_then)?);
    let base = work.stated.wheelbase;
    let pitch = lamp::pitch(front, rear, base).map_err(told)?;
    let after = lamp::after_pitch(aimed, pitch).map_err(told)?;
    let squat = heights::Squat { front, rear, wheelbase: base, lamp_ahead: of.ahead };
    Ok(Beam {
        aimed,
        why,
        after,
        pitch_degrees: pitch.degrees(),
        height: heights::lamp_height(of.height, squat).ok(),
        squat: (front.mm(), rear.mm()),
        window: window(work),
        turns: (aimed.percent() - after.percent()) / of.per_turn_percent,
    })
}

/// The aim last read on a wall, else the target.
fn aimed(work: &Work<'_>) -> Option<(Inclination, String)> {
    let context = work.case.context;
    let outcomes = work.case.judgement.uses.iter().flat_map(|of| &of.outcomes);
    let read = outcomes.filter(|outcome| outcome.check == CHECK).find_map(|outcome| {
        let figure = outcome.figure.as_ref()?;
        let day = outcome.at.as_deref().and_then(|at| at.get(..10)).unwrap_or("the last walk-round");
        Some((Inclination::from_percent(figure.value).ok()?, format!("read on {day}")))
    });
    let check = context.check(CHECK)?;
    read.or_else(|| {
        let row = work.outing.uses().iter().find_map(|one| context.limits(check, one).target)?;
        let aim = Inclination::try_from(row.target?).ok()?;
        Some((aim, format!("never read, so its target: {}", row.provenance)))
    })
}

/// Sag with the rider it is aimed with, springs as delivered.
fn sags_when_aimed(work: &Work<'_>, of: Lamp) -> Result<(Length, Length), String> {
    let told = |refusal| format!("{refusal}");
    let stated = work.stated;
    // In its band, as the rider is: who weighs what it was aimed with changes nothing.
    let aboard = Aboard::with_rider(stated, of.aimed_with).and_then(Aboard::in_bands).map_err(told)?;
    let loaded = aboard.loaded(stated.wheelbase).map_err(told)?;
    let sag = |end: End| {
        let springs = end.wheel(stated).suspension.as_ref().ok_or("the springs are not in the sheet")?;
        let preload = preload(springs, springs.standard).map_err(told)?;
        spring::sag(&springs.springs, preload, end.carries(&loaded)).map_err(told)
    };
    Ok((sag(End::Front)?, sag(End::Rear)?))
}

fn window(work: &Work<'_>) -> (Option<f64>, Option<f64>) {
    let context = work.case.context;
    let Some(check) = context.check(CHECK) else { return (None, None) };
    let (mut least, mut most) = (None, None);
    let uses = work.outing.uses();
    for row in uses.iter().filter(|one| check.uses.contains(*one)).flat_map(|one| context.limits(check, one).bounds) {
        let of = |amount: crate::quantity::Amount| amount.in_unit(Unit::PercentSlope);
        least = least.max_with(row.at_least.map(of));
        most = most.min_with(row.at_most.map(of));
    }
    (least, most)
}

/// The tighter of two bounds, either of which may be absent.
trait Tighter {
    fn max_with(self, other: Self) -> Self;
    fn min_with(self, other: Self) -> Self;
}

impl Tighter for Option<f64> {
    fn max_with(self, other: Self) -> Self {
        self.zip(other).map(|(a, b)| a.max(b)).or(self).or(other)
    }

    fn min_with(self, other: Self) -> Self {
        self.zip(other).map(|(a, b)| a.min(b)).or(self).or(other)
    }
}

fn told(work: &Work<'_>, of: Lamp, beam: &Beam) -> Item {
    let say = work.say;
    let (low, high) = beam.window;
    let after = beam.after.percent();
    let (dazzles, short) = (low.is_some_and(|low| after < low), high.is_some_and(|high| after > high));
    let allowed = match (low, high) {
        (Some(low), Some(high)) => format!(", allowed {} to {}", number(low, 2), percent(high)),
        (Some(low), None) => format!(", at least {}", percent(low)),
        (None, Some(high)) => format!(", at most {}", percent(high)),
        (None, None) => ", no limit for this use".into(),
    };
    let why = if dazzles {
        ": it dazzles"
    } else if short {
        ": it falls short"
    } else {
        ""
    };
    let says =
        format!("{} down as aimed, {} with this load{allowed}{why}", percent(beam.aimed.percent()), percent(after));
    let (front, rear) = beam.squat;
    let moved = |mm: f64| format!("{} {}", say.mm_finely(libm::fabs(mm)), if mm < 0.0 { "higher" } else { "lower" });
    let mut item = Item::new(Part::Settings, ID, NAME, says)
        .from(work.source())
        .work(format!(
            "aimed {}: {}; taken to be with a rider of {}, springs as delivered",
            percent(beam.aimed.percent()),
            beam.why,
            say.kg(of.aimed_with.kg())
        ))
        .work(format!(
            "front {}, rear {}: nose {} {}°; i = tan(atan i₀ − θ), θ nose up",
            moved(front),
            moved(rear),
            if beam.pitch_degrees < 0.0 { "down" } else { "up" },
            number(libm::fabs(beam.pitch_degrees), 2)
        ));
    if let Some(height) = beam.height {
        let reach = lamp::reach(height, beam.after)
            .map(|reach| format!(", meets the road {} ahead", say.metres(1000.0 * reach.km())));
        item = item.work(format!("lamp {} above the road{}", say.mm(height.mm()), reach.unwrap_or_default()));
    }
    if !dazzles && !short {
        return item;
    }
    // By halves: finer would tell what a person weighs, and it is aimed on a wall after.
    let turns = number((libm::round(2.0 * libm::fabs(beam.turns)) / 2.0).max(0.5), 1);
    let way = if beam.turns > 0.0 { "down" } else { "up" };
    let lit = if work.outing.dark { "then aim it on a wall, loaded" } else { "and look at it on a wall, loaded" };
    item.verdict(Verdict::Watch)
        .class(Class::Minor)
        .before(format!("Lamp {way} by {turns} turns, {lit}"))
        .next("Turn the lamp back when the load comes off")
}
