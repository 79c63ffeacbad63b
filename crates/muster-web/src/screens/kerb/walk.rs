//! The walk-round an answer belongs to: the one its author has open today, else a new one.

use muster_core::{
    judge::Context,
    record::{
        id::EventId,
        payload::{ObservationMade, Payload, Saw, WalkRoundOpened},
    },
    state::{Found, Heat, Power, Stance, State},
    words::{Depth, Seen},
};

use super::asked::in_context;
use crate::{
    clock,
    yard::{NotDone, Yard},
};

/// A walk-round that is open.
#[derive(Clone, Copy, Debug)]
pub(super) struct Walk {
    /// Its opening.
    pub(super) opening: EventId,
    /// Whether its figures are typed with a decimal comma.
    pub(super) comma: bool,
    /// Whether it was opened here, and so is closed here.
    pub(super) is_new: bool,
}

/// A machine on its stand with the key off, its first line looked at: no tag on the bar; whether the key is on its hook.
pub(super) fn beginning(
    yard: Yard,
    machine: &str,
    depth: Depth,
    heat: Heat,
    (air, key): (Option<String>, bool),
) -> WalkRoundOpened {
    let said = Found { heat: Some(heat), ..Found::default() };
    let found = in_context(yard, machine, |context, _| said.on(&context.machine.traits.equipment));
    WalkRoundOpened {
        machine: machine.to_owned(),
        depth,
        found: found.unwrap_or(State { heat, power: Power::Off, stance: Stance::SideStand }),
        no_hold_tag: Some(true),
        key_on_hook: Some(key),
        odometer: None,
        air,
        barometer: None,
        ridden: None,
        planned: None,
        comma: false,
    }
}

/// The walk-round that who acts has open on a machine today; for a fall one of that depth.
pub(super) fn open_today(yard: Yard, machine: &str, depth: Depth) -> Option<Walk> {
    let (me, today) = (yard.person()?, clock::now().date());
    yard.with(|held| {
        let state = held.machine(machine)?;
        let is_its = |depth_of: Depth| (depth_of == Depth::AfterAFall) == (depth == Depth::AfterAFall);
        let mine = state.walk_rounds.iter().filter(|(_, of)| {
            let form = &of.form;
            form.closed.is_none() && form.by == me.as_str() && form.opened.date() == today && is_its(form.depth)
        });
        let (opening, _) = mine.max_by_key(|(_, of)| of.form.opened)?;
        let comma = held.event(*opening).is_some_and(|event| match &event.payload {
            Payload::WalkRoundOpened(of) => of.comma,
            _ => false,
        });
        Some(Walk { opening: *opening, comma, is_new: false })
    })?
}

/// The walk-round to answer in.
///
/// # Errors
/// [`NotDone`] where none can be opened.
pub(super) async fn walk_round(yard: Yard, of: WalkRoundOpened) -> Result<Walk, NotDone> {
    if let Some(open) = open_today(yard, &of.machine, of.depth) {
        return Ok(open);
    }
    let written = yard.write(of).await?;
    let opening = written.first().copied().ok_or_else(|| NotDone(crate::words::t!("kerb-not-written")))?;
    Ok(Walk { opening, comma: false, is_new: true })
}

/// The last answer who acts gave to a check in a walk-round: what a slip of the keys is corrected in.
pub(super) fn last_own(yard: Yard, machine: &str, opening: EventId, check: &str) -> Option<EventId> {
    let me = yard.person()?;
    yard.with(|held| {
        let walk = held.machine(machine)?.walk_rounds.get(&opening)?;
        let own = walk.answers.iter().zip(&walk.form.answers);
        own.filter(|(_, of)| of.check == check && of.by == me.as_str()).map(|(id, _)| *id).next_back()
    })?
}

/// Writes what was seen at a check, why it was not, and which of the law pack's defects it is; said anew in one walk-round it corrects a slip.
///
/// # Errors
/// [`NotDone`] with what to do.
pub(super) async fn saw(
    yard: Yard,
    (machine, walk): (&str, Walk),
    check: &str,
    saw: Saw,
    (why, defect): (Option<String>, Option<String>),
) -> Result<(), NotDone> {
    // A place is an answer of its own: another place's does not correct it.
    let corrects = match saw {
        Saw::One(seen) if seen != Seen::CouldNotSee => last_own(yard, machine, walk.opening, check),
        _ => None,
    };
    let made = ObservationMade {
        machine: machine.to_owned(),
        walk_round: walk.opening,
        check: check.to_owned(),
        saw,
        class: None,
        defect,
        why,
        note: None,
        corrects,
    };
    yard.write(made).await.map(|_| ())
}

/// When a machine that came back lately is cold again; none if it is.
pub(super) fn cold_at(context: &Context<'_>, back: Option<muster_core::calendar::Moment>) -> Option<String> {
    let cold = back?.later_by(context.catalogue.rule.tyre.rested.seconds() as i64);
    (cold > context.now).then(|| cold.clock())
}
