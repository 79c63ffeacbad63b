//! Laws of folding: the state is of the set of events, whatever order they came in and however often.

use muster_core::record::{
    event::Event,
    fold::Applied,
    machine_state::{MachineState, Scope},
    payload::Subject,
    yard_state::YardState,
};
use proptest::prelude::*;

use super::{
    kit::{CATALOGUE, Device, gather},
    story::{MACHINE, told, turns},
};

fn of_machine(device: &Device) -> Vec<&Event> {
    device.about(&Subject::Machine(MACHINE.into()))
}

/// The same events in the order of keys drawn, some of them twice.
fn mixed<'e>(events: &[&'e Event], keys: &[u16]) -> Vec<&'e Event> {
    let key = |index: usize| keys[index % keys.len()].wrapping_mul(u16::try_from(index).unwrap() | 1);
    let twice = events.iter().enumerate().filter(|(index, _)| keys[index % keys.len()].is_multiple_of(5));
    let mut mixed: Vec<(u16, &Event)> = events.iter().enumerate().map(|(index, event)| (key(index), *event)).collect();
    mixed.extend(twice.map(|(index, event)| (key(index).rotate_left(7), *event)));
    mixed.sort_by_key(|(key, _)| *key);
    mixed.into_iter().map(|(_, event)| event).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_folded_is_of_the_set_of_events(turns in turns(), keys in prop::collection::vec(any::<u16>(), 7)) {
        let mut devices = told(&turns);
        let [a, b, c] = devices.get_disjoint_mut([0, 1, 2]).unwrap();
        gather(&mut [a, b, c]);
        let yards: Vec<YardState> = devices.iter().map(Device::yard).collect();
        let machines: Vec<MachineState> = devices.iter().map(|device| device.machine(MACHINE)).collect();
        prop_assert_eq!(&yards[0], &yards[1]);
        prop_assert_eq!(&yards[0], &yards[2]);
        prop_assert_eq!(&machines[0], &machines[1]);
        prop_assert_eq!(&machines[0], &machines[2]);
        let (yard, machine) = (&yards[0], &machines[0]);
        prop_assert_eq!(&YardState::fold(mixed(&devices[0].about(&Subject::Yard), &keys)), yard);
        let scope = Scope { catalogue: &CATALOGUE, yard };
        prop_assert_eq!(&MachineState::fold(MACHINE, mixed(&of_machine(&devices[0]), &keys), scope), machine);
    }

    #[test]
    fn one_event_more_is_the_fold_of_all(turns in turns(), keys in prop::collection::vec(any::<u16>(), 7), ordered in any::<bool>()) {
        let mut devices = told(&turns);
        let [a, b, c] = devices.get_disjoint_mut([0, 1, 2]).unwrap();
        gather(&mut [a, b, c]);
        let yard = devices[0].yard();
        let scope = Scope { catalogue: &CATALOGUE, yard: &yard };
        let arrival = |mut events: Vec<&'_ Event>| {
            events = mixed(&events, &keys);
            if ordered {
                events.sort_by_key(|event| event.place());
            }
            events.into_iter().cloned().collect::<Vec<Event>>()
        };
        let events = arrival(of_machine(&devices[0]));
        let mut state = MachineState::fold(MACHINE, [], scope);
        for (index, event) in events.iter().enumerate() {
            let before = state.clone();
            let whole = MachineState::fold(MACHINE, &events[..=index], scope);
            match state.apply(event, scope) {
                Applied::Taken => prop_assert_eq!(&state, &whole),
                Applied::FoldAgain => {
                    prop_assert_eq!(&state, &before, "nothing has changed");
                    state = whole;
                }
            }
        }
        let events = arrival(devices[0].about(&Subject::Yard));
        let mut state = YardState::default();
        for (index, event) in events.iter().enumerate() {
            let before = state.clone();
            let whole = YardState::fold(&events[..=index]);
            match state.apply(event) {
                Applied::Taken => prop_assert_eq!(&state, &whole),
                Applied::FoldAgain => {
                    prop_assert_eq!(&state, &before, "nothing has changed");
                    state = whole;
                }
            }
        }
    }
}

#[test]
fn an_event_in_its_turn_is_taken_without_folding_again() {
    let device = Device::of_the_yard(1);
    let mut events = device.about(&Subject::Yard);
    events.sort_by_key(|event| event.place());
    let mut state = YardState::default();
    assert!(events.iter().all(|event| state.apply(event) == Applied::Taken));
    assert_eq!(state, device.yard());
}
