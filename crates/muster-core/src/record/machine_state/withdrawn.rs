//! Which of a machine's events were taken back, and by whom that may be.

use alloc::collections::BTreeSet;

use super::Scope;
use crate::record::{
    event::Event,
    id::EventId,
    payload::{Payload, Role},
    yard_state::Standing,
};

/// What an event takes back.
pub(super) fn withdraws(event: &Event) -> Option<EventId> {
    match &event.payload {
        Payload::Withdrawn(of) => Some(of.event),
        _ => None,
    }
}

/// What was taken back by somebody trusted while the machine was not impounded: known before folding, as what is taken
/// back stands before its taking back.
pub(super) fn withdrawn(events: &[&Event], scope: Scope<'_>) -> BTreeSet<EventId> {
    let (mut impounded, mut withdrawn) = (None, BTreeSet::new());
    for event in events {
        let trusted = scope.yard.distrust(event).is_none();
        match &event.payload {
            Payload::Impounded(_) => impounded = Some(event.id),
            Payload::ServiceChanged(of) if trusted && may_lift(event, scope) && of.replaces == impounded => {
                impounded = None;
            }
            Payload::Withdrawn(of) if trusted && impounded.is_none() => _ = withdrawn.insert(of.event),
            _ => {}
        }
    }
    withdrawn
}

/// Whether an event's author answers for the yard, and so may lift an impounding.
pub(super) fn may_lift(event: &Event, scope: Scope<'_>) -> bool {
    standing(event, scope).is_some_and(|standing| standing.role == Role::Owner)
}

/// What an event's author might do where it stands in the order.
pub(super) fn standing<'s>(event: &Event, scope: Scope<'s>) -> Option<&'s Standing> {
    scope.yard.people.get(&event.author).and_then(|person| person.standing_at(event.place()))
}
