//! Then: how far the springs give, and the clicks of preload that bring them into the sheet's range.

use alloc::{format, string::String, vec::Vec};

use super::input::Outing;
use super::item::{Item, Part};
use super::stated::{Stated, Suspension};
use super::work::{End, Work};
use crate::formula::{Refusal, axle_load::Loaded, spring};
use crate::judge::Verdict;
use crate::quantity::{Length, Mass};

/// Both wheels' springs as they are to be set.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Settings {
    front: Option<Result<Spring, String>>,
    rear: Option<Result<Spring, String>>,
}

/// One wheel's springs: where they stand, where they are to stand, and what that gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spring {
    /// The click it stands at.
    pub(super) from: u8,
    /// The click to set.
    pub(super) to: u8,
    /// Sag with all aboard at the click it stands at.
    pub(super) before: Length,
    /// Sag with all aboard at the click to set.
    pub(super) after: Length,
    /// Sag with nobody at the click to set.
    pub(super) free: Length,
    /// Preload of the spring at the click to set.
    pub(super) preload: Length,
}

impl Settings {
    pub(super) fn of(stated: &Stated, outing: &Outing, (all, bare): (&Loaded, &Loaded)) -> Self {
        let spring = |end: End| {
            let suspension = end.wheel(stated).suspension.as_ref()?;
            let now = match end {
                End::Front => outing.clicks.0,
                End::Rear => outing.clicks.1,
            };
            Some(set(suspension, now, (end.carries(all), end.carries(bare))).map_err(|refusal| format!("{refusal}")))
        };
        Self { front: spring(End::Front), rear: spring(End::Rear) }
    }

    pub(super) fn of_end(&self, end: End) -> Option<&Result<Spring, String>> {
        match end {
            End::Front => self.front.as_ref(),
            End::Rear => self.rear.as_ref(),
        }
    }

    /// The sag of both wheels as they are to be set.
    pub(super) fn sags(&self) -> Option<(Length, Length)> {
        let sag = |of: &Option<Result<Spring, String>>| of.as_ref()?.as_ref().ok().map(|spring| spring.after);
        sag(&self.front).zip(sag(&self.rear))
    }
}

/// Preload of the spring at a click.
pub(super) fn preload(of: &Suspension, click: u8) -> Result<Length, Refusal> {
    Ok(Length::from_mm(of.preload.mm() + f64::from(click) * of.per_click.map_or(0.0, Length::mm))?)
}

/// Finds the click: where it stands if the sag is in its range there, else the one nearest the range's middle.
fn set(of: &Suspension, now: Option<u8>, (all, bare): (Mass, Mass)) -> Result<Spring, Refusal> {
    let at = |click: u8, load: Mass| spring::sag(&of.springs, preload(of, click)?, load);
    let from = now.unwrap_or(of.standard).min(of.clicks);
    let before = at(from, all)?;
    let (low, high) = of.sag;
    let settable = of.per_click.is_some() && of.clicks > 0;
    let to = if (low..=high).contains(&before) || !settable { from } else { nearest(of, all)? };
    let after = if to == from { before } else { at(to, all)? };
    Ok(Spring { from, to, before, after, free: at(to, bare)?, preload: preload(of, to)? })
}

/// The click whose sag is nearest the middle of the range. More preload never gives more sag, so halving finds it.
fn nearest(of: &Suspension, all: Mass) -> Result<u8, Refusal> {
    let middle = (of.sag.0.mm() + of.sag.1.mm()) / 2.0;
    let at = |click: u8| Ok::<f64, Refusal>(spring::sag(&of.springs, preload(of, click)?, all)?.mm());
    let (mut low, mut high) = (0, of.clicks);
    while low < high {
        let half = low + (high - low) / 2;
        if at(half)? > middle {
            low = half + 1;
        } else {
            high = half;
        }
    }
    let softer = low.saturating_sub(1);
    let off = |click: u8| at(click).map(|sag| libm::fabs(sag - middle));
    Ok(if softer < low && off(softer)? <= off(low)? { softer } else { low })
}

/// Both wheels.
pub(super) fn items(work: &Work<'_>) -> Vec<Item> {
    End::BOTH.into_iter().map(|end| item(work, end)).collect()
}

fn item(work: &Work<'_>, end: End) -> Item {
    let (id, name) = (format!("springs.{end}"), format!("{} springs", end.title()));
    let missing = "rates, travel and the range of the sag are not in the sheet: handbook, or measure the sag by hand";
    let Some(of) = &end.wheel(work.stated).suspension else {
        return Item::unseen(Part::Settings, &id, &name, missing);
    };
    let spring = match work.settings.of_end(end) {
        Some(Ok(spring)) => *spring,
        Some(Err(refusal)) => return Item::unseen(Part::Settings, &id, &name, refusal),
        None => return Item::unseen(Part::Settings, &id, &name, missing),
    };
    let say = work.say;
    let range = format!("{} to {}", say.sag(of.sag.0.mm()), say.sag(of.sag.1.mm()));
    let is_told = told_click(work, end).is_some();
    let as_delivered = if is_told { "" } else { " as delivered" };
    let says = match spring.to == spring.from {
        true if of.clicks == 0 => format!("sag {}, range {range}; preload is fixed", say.sag(spring.after.mm())),
        true => {
            format!("sag {}, range {range}; click {} of {} as it is", say.sag(spring.after.mm()), spring.to, of.clicks)
        }
        false => format!(
            "click {} of {}, now {}{as_delivered}: sag {} becomes {}, range {range}",
            spring.to,
            of.clicks,
            spring.from,
            say.sag(spring.before.mm()),
            say.sag(spring.after.mm())
        ),
    };
    let mut item = Item::new(Part::Settings, id, name, says).from(work.source());
    if spring.to != spring.from {
        let way = if spring.to > spring.from { "up" } else { "down" };
        let count = spring.to.abs_diff(spring.from);
        let clicks = if count == 1 { "click" } else { "clicks" };
        item = item.before(format!("{} preload {way} by {count} {clicks}, to click {}", end.title(), spring.to));
    }
    judged(work, end, of, spring, working(work, end, of, spring, item))
}

/// The click it was told to stand at.
fn told_click(work: &Work<'_>, end: End) -> Option<u8> {
    match end {
        End::Front => work.outing.clicks.0,
        End::Rear => work.outing.clicks.1,
    }
}

fn working(work: &Work<'_>, end: End, of: &Suspension, spring: Spring, item: Item) -> Item {
    let say = work.say;
    let item = item
        .work(work.people())
        .work(balance(work, end, of, spring))
        .work(format!(
            "at the wheel, upright: sag {} of {} travel; with nobody on it {}",
            say.mm_finely(spring.after.mm()),
            say.mm(of.springs.travel.mm()),
            say.mm_finely(spring.free.mm())
        ))
        .work(
            "by the tape: mean of settled from above and from below, for friction holds it a few millimetres either way",
        );
    if of.clicks > 0 && told_click(work, end).is_none() {
        return item.work(format!("taken to stand at click {}, as delivered: count it before turning", spring.from));
    }
    item
}

/// The force that carries the sprung load, term by term.
fn balance(work: &Work<'_>, end: End, of: &Suspension, spring: Spring) -> String {
    let (say, springs) = (work.say, &of.springs);
    let load = end.carries(&work.banded).kg() - springs.unsprung.kg();
    let newton = load * crate::formula::axle_load::G;
    let s = spring.after.mm();
    let ratio = springs.motion + springs.motion_per_m * s / 1000.0;
    let x = springs.motion * s + springs.motion_per_m * s * s / 2000.0;
    let own = springs.rate_n_per_mm * (x + spring.preload.mm());
    let carried = format!("sprung load {} · g = {}", say.kg_finely(load), say.newton(newton));
    let with = format!(
        "i = {}, k = {}, x = {}, x₀ = {}",
        super::say::number(ratio, 3),
        say.rate(springs.rate_n_per_mm),
        say.mm_finely(x),
        say.mm_finely(spring.preload.mm())
    );
    // Topped out or on the stop nothing balances: the frame carries the rest.
    let is_between = s > 0.0 && spring.after < springs.travel;
    match &springs.air {
        Some(_) if is_between => {
            format!("{carried} = i (k (x + x₀) + air), {with}, air {}", say.newton(newton / ratio - own))
        }
        None if is_between && springs.then.is_none() => format!("{carried} = i k (x + x₀), {with}"),
        _ => format!("{carried}; {with}"),
    }
}

/// Past the range at the last click the spring itself is wrong for the load; on the stop the machine does not go.
fn judged(work: &Work<'_>, end: End, of: &Suspension, spring: Spring, item: Item) -> Item {
    let (low, high) = of.sag;
    let with = |item: Item, more: &str| {
        let says = format!("{}; {more}", item.says);
        Item { says, ..item }
    };
    if spring.after >= of.springs.travel {
        let item = with(item, "on its stop: the springs do not carry this load");
        return item.verdict(Verdict::Hold).before("Carry less, or take another machine");
    }
    if spring.after > high {
        let item = with(item, "too soft for this load, even so").verdict(Verdict::Watch);
        return item.before("Ride with care over bumps, or carry less");
    }
    if spring.after < low {
        let item = with(item, "too hard for this load, even so").verdict(Verdict::Watch);
        return item.before("Expect it to sit high and to hop over bumps");
    }
    match of.free {
        Some((least, _)) if spring.free < least => {
            let say = work.say;
            let (free, least) = (say.sag(spring.free.mm()), say.sag(least.mm()));
            let more =
                format!("bare it sinks {free}, at least {least}: a soft spring for this load, held up by preload");
            turned_back(end, spring, with(item, &more))
        }
        _ => turned_back(end, spring, item),
    }
}

fn turned_back(end: End, spring: Spring, item: Item) -> Item {
    if spring.to <= spring.from {
        return item;
    }
    let item = item.work("damping is not worked out: with this much more preload, rebound by the handbook");
    item.next(format!("{} preload back to click {} when the load comes off", end.title(), spring.from))
}
