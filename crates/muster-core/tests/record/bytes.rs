//! The one byte form of events, the envelope, and series held without gap or fork.

use muster_core::record::{
    event::{Entry, Event, NotAnEvent},
    heads::{Frontier, NotNext, SeriesEnd, is_next, stands},
    id::{DeviceId, EventId},
    payload::{Kind, OdometerNoted, Payload},
};
use muster_core::words::Class;
use proptest::prelude::*;

use super::{
    kit::{Device, NOW, moment, person},
    payloads::{Parts, at, id, parts},
    story::raised,
};

fn event(payload: Payload) -> Event {
    Event {
        id: EventId { device: DeviceId::of_key(&[1; 32]), seq: 1 },
        previous: None,
        seen: Vec::new(),
        height: 1,
        author: person("m-okafor"),
        at: moment(NOW),
        payload,
    }
}

fn one() -> Event {
    event(OdometerNoted { machine: "H-02".into(), odometer: "30 000 km".into() }.into())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_is_read_again_for_every_kind(
        parts in parts(), at in at(), seq in 1_u64..1 << 53, height in 1_u64..1 << 53, heads in prop::collection::vec(id(), 0..5),
    ) {
        for kind in Kind::ALL {
            let own = DeviceId::of_key(&[1; 32]);
            let mut seen: Vec<EventId> = heads.iter().copied().filter(|head| head.device != own).collect();
            seen.sort();
            seen.dedup_by_key(|head| head.device);
            let event = Event {
                id: EventId { device: own, seq },
                previous: (seq > 1).then(|| "0".repeat(64)),
                seen,
                height,
                at: moment(&at),
                ..event(parts.payload(*kind))
            };
            let bytes = event.to_bytes().unwrap();
            let entry = Entry::read(&bytes).unwrap();
            let read = entry.event.unwrap();
            prop_assert_eq!(&read, &event);
            prop_assert_eq!(read.to_bytes().unwrap(), bytes);
            prop_assert_eq!((entry.id, entry.height), (event.id, event.height));
        }
    }

    #[test]
    fn any_byte_changed_is_another_hash_or_no_event(at in 0_usize..400, to in any::<u8>()) {
        let bytes = one().to_bytes().unwrap();
        let mut changed = bytes.clone().into_bytes();
        let at = at % changed.len();
        prop_assume!(changed[at] != to);
        changed[at] = to;
        if let Some(entry) = String::from_utf8(changed).ok().and_then(|text| Entry::read(&text).ok()) {
            prop_assert_ne!(entry.hash, Entry::read(&bytes).unwrap().hash);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn damaged_bytes_are_refused_or_written_back_the_same(
        kind in prop::sample::select(Kind::ALL), edits in prop::collection::vec((any::<usize>(), "[\\[\\]{}\",:0-9a-z]{0,3}", 0_usize..3), 1..4),
    ) {
        let mut bytes = event(Parts::plain().payload(kind)).to_bytes().unwrap();
        for (at, put, cut) in edits {
            let at = at % bytes.len();
            bytes.replace_range(at..(at + cut).min(bytes.len()), &put);
        }
        if let Ok(Entry { event: Some(event), .. }) = Entry::read(&bytes) {
            prop_assert_eq!(event.to_bytes().unwrap(), bytes);
        }
    }
}

#[test]
fn an_event_has_one_byte_form_and_no_other_is_read() {
    let bytes = one().to_bytes().unwrap();
    assert!(Entry::read(&bytes).is_ok());
    let others = [
        (NOW, "2026-11-24T08:00:00Z"),
        (NOW, "2026-11-24T08:00:00.5+00:00"),
        (NOW, "2026-11-24 08:00:00+00:00"),
        ("\"previous\":null,", ""),
        ("\"seq\":1", "\"seq\":0"),
        ("\"height\":1", "\"height\":0"),
        ("\"height\":1", "\"height\":9007199254740992"),
        ("\"version\":1", "\"version\":0"),
        // No build wrote a second version of this kind.
        ("\"version\":1", "\"version\":2"),
        ("\"seq\":1,", "\"seq\":1,\"sequel\":1,"),
        ("\"odometer\":\"30 000 km\"", "\"odometer\":30000"),
        ("odometer-noted", "odometer-guessed"),
        ("m-okafor", "M. Okafor"),
    ];
    for (from, to) in others {
        let other = bytes.replace(from, to);
        assert_ne!(other, bytes, "{from}");
        let read = Entry::read(&other);
        assert!(read.is_err(), "{to}: {read:?}");
    }
    // A field left out that may be null is another form of the same event.
    let raised = event(raised("H-02", "scuffed", Class::Minor).into()).to_bytes().unwrap();
    assert!(Entry::read(&raised.replace("\"walk_round\":null,", "")).is_err());
    assert!(Entry::read(&raised.replace(",\"walk_round\":null", "")).is_err());
}

#[test]
fn the_envelope_is_held_to_its_rules() {
    let (own, other) = (DeviceId::of_key(&[1; 32]), DeviceId::of_key(&[2; 32]));
    let head = |device, seq| EventId { device, seq };
    let third = DeviceId::of_key(&[3; 32]);
    let mut ordered = [head(other, 1), head(third, 1)];
    ordered.sort();
    let [first, second] = ordered;
    let with = |seen: Vec<EventId>| Event { seen, ..one() }.to_bytes();
    assert!(with(vec![first, second]).is_ok());
    for wrong in [vec![second, first], vec![first, first], vec![head(own, 1)]] {
        assert!(matches!(with(wrong), Err(NotAnEvent::Seen(_))));
    }
    let previous = Event { previous: Some("0".repeat(64)), ..one() };
    assert!(matches!(previous.to_bytes(), Err(NotAnEvent::Previous(_))));
    let orphan = Event { id: head(own, 2), ..one() };
    assert!(matches!(orphan.to_bytes(), Err(NotAnEvent::Previous(_))));
    let large = "x".repeat(1 << 20);
    let large = event(OdometerNoted { machine: large.clone(), odometer: String::new() }.into());
    assert!(matches!(large.to_bytes(), Err(NotAnEvent::TooLarge(_))));
    assert!(matches!(Entry::read(&"x".repeat((1 << 20) + 1)), Err(NotAnEvent::TooLarge(_))));
}

#[test]
fn a_series_is_continued_by_its_next_event_alone() {
    let mut device = Device::empty(1);
    let written: Vec<EventId> =
        (0..3).map(|_| device.write("m-okafor", NOW, Parts::plain().payload(Kind::OdometerNoted))).collect();
    let entries: Vec<Entry> = written.iter().map(|id| device.log[id].1.clone()).collect();
    let end = |entry: &Entry| SeriesEnd { seq: entry.id.seq, hash: entry.hash.clone(), height: entry.height };
    assert_eq!(is_next(None, &entries[0]), Ok(()));
    assert_eq!(is_next(Some(&end(&entries[0])), &entries[1]), Ok(()));
    assert_eq!(is_next(Some(&end(&entries[1])), &entries[0]), Err(NotNext::Held(written[0])));
    let gap = NotNext::Gap { got: written[2], wanted: written[1] };
    assert_eq!(is_next(Some(&end(&entries[0])), &entries[2]), Err(gap));
    let gap = NotNext::Gap { got: written[1], wanted: written[0] };
    assert_eq!(is_next(None, &entries[1]), Err(gap));
    let forked = SeriesEnd { hash: entries[2].hash.clone(), ..end(&entries[0]) };
    assert_eq!(is_next(Some(&forked), &entries[1]), Err(NotNext::Fork(written[1])));
    let high = SeriesEnd { height: entries[1].height, ..end(&entries[0]) };
    assert_eq!(is_next(Some(&high), &entries[1]), Err(NotNext::Height(written[1])));
}

#[test]
fn a_series_written_twice_is_found() {
    let mut device = Device::of_the_yard(2);
    let mut copy = device.clone();
    let mut office = Device::of_the_yard(3);
    device.write("m-okafor", NOW, raised("H-02", "one", Class::Minor));
    let twice = copy.write("m-okafor", NOW, raised("H-02", "other", Class::Minor));
    let after = copy.write("m-okafor", NOW, raised("H-02", "third", Class::Minor));
    office.pull(&device);
    assert_eq!(office.receive(&copy.log[&twice].0), Err(NotNext::Held(twice)));
    assert_ne!(office.log[&twice].1.hash, copy.log[&twice].1.hash, "held, and of other bytes");
    assert_eq!(office.receive(&copy.log[&after].0), Err(NotNext::Fork(after)));
}

#[test]
fn what_is_missing_both_ways_makes_both_alike() {
    let mut devices: Vec<Device> = (2..=4).map(Device::of_the_yard).collect();
    for (index, count) in [3_usize, 1, 2].into_iter().enumerate() {
        for _ in 0..count {
            devices[index].write("m-okafor", NOW, raised("H-02", "scuffed", Class::Minor));
        }
    }
    let (first, rest) = devices.split_at_mut(1);
    let lacking = first[0].heads.missing(&rest[0].heads);
    assert_eq!(
        lacking.iter().map(|stretch| (stretch.device, stretch.from, stretch.to)).collect::<Vec<_>>(),
        [(rest[0].id, 1, 1)]
    );
    for other in rest.iter_mut() {
        first[0].exchange(other);
        assert_eq!(first[0].heads, other.heads);
        assert!(first[0].heads.missing(&other.heads).is_empty() && other.heads.missing(&first[0].heads).is_empty());
        assert!(first[0].log == other.log);
    }
    let (first, second) = (&first[0], &rest[0]);
    assert_eq!(second.heads.missing(&first.heads).len(), 1, "the third device's, met later");
}

#[test]
fn an_own_event_noted_again_does_not_turn_the_series_back() {
    let mut device = Device::empty(1);
    let ids: Vec<EventId> = (0..3).map(|_| device.write("m-okafor", NOW, raised("H-02", "x", Class::Minor))).collect();
    let next = |frontier: &Frontier| frontier.next(device.id, person("m-okafor"), moment(NOW), one().payload);
    let expected = next(&device.frontier);
    let mut frontier = device.frontier.clone();
    ids.iter().for_each(|id| frontier.note(device.id, &device.log[id].1));
    assert_eq!(next(&frontier), expected);
    // Nor does the order in which a device gets its own series back.
    let mut again = Frontier::default();
    for id in ids.iter().rev() {
        again.note(device.id, &device.log[id].1);
    }
    assert_eq!(next(&again), expected);
}

#[test]
fn an_event_stands_next_above_what_it_has_seen_and_all_of_that_is_here() {
    let (mut phone, mut office) = (Device::of_the_yard(2), Device::of_the_yard(3));
    office.write("m-okafor", NOW, raised("H-02", "one", Class::Minor));
    phone.pull(&office);
    let written = phone.write("m-okafor", NOW, raised("H-02", "other", Class::Minor));
    let entry = phone.log[&written].1.clone();
    let height = |id: EventId| phone.log.get(&id).map(|(_, entry)| entry.height);
    assert_eq!(stands(None, &entry, height), Ok(()));
    for wrong in [entry.height - 1, entry.height + 1, u64::MAX] {
        let entry = Entry { height: wrong, ..entry.clone() };
        assert_eq!(stands(None, &entry, height), Err(NotNext::Height(written)));
    }
    let wanted = entry.seen[0];
    assert_eq!(stands(None, &entry, |_| None), Err(NotNext::Gap { got: written, wanted }));
    // Every event any device of a story writes stands so.
    let mut end = None;
    for (id, (_, entry)) in phone.log.iter().filter(|(id, _)| id.device != phone.id && id.device != office.id) {
        assert_eq!(stands(end.as_ref(), entry, height), Ok(()), "{id}");
        end = Some(SeriesEnd { seq: id.seq, hash: entry.hash.clone(), height: entry.height });
    }
}
