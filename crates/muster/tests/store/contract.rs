//! What every back end must do with events. Each function is one test of it.

use muster::store::{Store, StoreError};
use muster_core::record::{
    event::Signed,
    heads::{NotNext, Stretch},
    id::EventId,
    payload::Subject,
};

use super::device::{Device, id, odometer, yard};

fn bytes(store: &impl Store) -> Vec<Signed> {
    store.since(0, usize::MAX).unwrap().into_iter().map(|stored| stored.signed).collect()
}

fn machine(number: &str) -> Subject {
    Subject::Machine(number.into())
}

pub(crate) fn what_is_appended_is_held(store: &impl Store) {
    assert_eq!((store.count().unwrap(), store.subjects().unwrap()), (0, vec![]));
    let (mut one, mut other) = (Device::new(1), Device::new(2));
    let first = one.odometers("H-01", 3);
    other.receive(&first[2]);
    let second = vec![other.write(yard("name")), other.write(odometer("H-02", 7))];
    let appended = store.append(&first).unwrap();
    assert_eq!((appended.new, appended.arrival), (first.iter().map(id).collect(), 3));
    assert_eq!(store.append(&second).unwrap().arrival, 5);
    assert_eq!(bytes(store), [first.clone(), second.clone()].concat());
    let arrivals: Vec<u64> = store.since(1, 3).unwrap().iter().map(|stored| stored.arrival).collect();
    assert_eq!(arrivals, [2, 3, 4]);
    assert_eq!(store.since(5, 10).unwrap(), vec![]);
    let heads = store.heads().unwrap();
    assert_eq!((heads.of(one.id), heads.of(other.id), heads.iter().count()), (3, 2, 2));
    let end = store.series_end(other.id).unwrap().unwrap();
    assert_eq!((end.seq, end.height), (2, 5));
    assert_eq!(store.series_end(Device::new(3).id).unwrap(), None);
    let mut ends = vec![(one.id, store.series_end(one.id).unwrap().unwrap()), (other.id, end)];
    ends.sort_by_key(|(device, _)| *device);
    assert_eq!(store.series_ends().unwrap(), ends);
    let held = store.event(id(&second[0])).unwrap().unwrap();
    assert_eq!((held.arrival, held.id, &held.signed), (4, id(&second[0]), &second[0]));
    assert_eq!(store.event(EventId { device: other.id, seq: 3 }).unwrap(), None);
    assert_eq!(store.check().unwrap(), vec![]);
}

pub(crate) fn events_are_found_by_subject(store: &impl Store) {
    let mut device = Device::new(1);
    let batch = [
        device.write(odometer("H-02", 1)),
        device.write(yard("name")),
        device.write(odometer("H-01", 2)),
        device.write(odometer("H-02", 3)),
        device.write(odometer("yard", 4)),
    ];
    store.append(&batch).unwrap();
    let ends = store.subjects().unwrap();
    let ends: Vec<_> = ends.iter().map(|end| (end.subject.clone(), end.events, end.last)).collect();
    let expected = [
        (Subject::Yard, 1, 2),
        (machine("H-01"), 1, 3),
        (machine("H-02"), 2, 4),
        // A machine may be called as it likes.
        (machine("yard"), 1, 5),
    ];
    assert_eq!(ends, expected);
    let held: Vec<Signed> = store.subject(&machine("H-02")).unwrap().into_iter().map(|stored| stored.signed).collect();
    assert_eq!(held, [batch[0].clone(), batch[3].clone()]);
    assert_eq!(store.subject(&machine("H-9")).unwrap(), vec![]);
}

pub(crate) fn a_batch_sent_ten_times_is_held_once(store: &impl Store) {
    let batch = Device::new(1).odometers("H-01", 100);
    for time in 0..10 {
        let appended = store.append(&batch).unwrap();
        assert_eq!((appended.new.len(), appended.arrival), (if time == 0 { 100 } else { 0 }, 100));
    }
    // Twice in one batch, and what is new behind it.
    let longer = Device::new(1).odometers("H-01", 101);
    let appended = store.append(&[batch, longer.clone(), longer.clone()].concat()).unwrap();
    assert_eq!(appended.new, [id(&longer[100])]);
    assert_eq!(bytes(store), longer);
}

pub(crate) fn a_batch_is_taken_whole_or_not_at_all(store: &impl Store) {
    let mut device = Device::new(1);
    let batch = device.odometers("H-01", 5);
    let gap = [batch[0].clone(), batch[1].clone(), batch[3].clone()];
    let error = store.append(&gap).unwrap_err();
    let wanted = id(&batch[2]);
    assert!(
        matches!(&error, StoreError::NotNext { source: NotNext::Gap { wanted: next, .. }, .. } if *next == wanted),
        "{error:?}"
    );
    let broken = [batch[0].clone(), Signed { event: "{}".into(), ..batch[1].clone() }];
    assert!(matches!(store.append(&broken), Err(StoreError::NotAnEvent { number: 2, .. })));
    let unsigned = [batch[0].clone(), Signed { signature: "0".repeat(127), ..batch[1].clone() }];
    assert!(matches!(store.append(&unsigned), Err(StoreError::NotASignature(of)) if of == id(&batch[1])));
    assert_eq!(
        (store.count().unwrap(), store.subjects().unwrap(), store.heads().unwrap().iter().count()),
        (0, vec![], 0)
    );
    assert_eq!(store.append(&batch).unwrap().arrival, 5);
    assert_eq!(store.append(&[]).unwrap().arrival, 5);
}

pub(crate) fn a_series_written_twice_is_refused_by_name(store: &impl Store) {
    let mut one = Device::new(1);
    let common = one.write(odometer("H-01", 1));
    let mut copy = one.clone();
    let (true_next, other_next) = (one.write(odometer("H-01", 2)), copy.write(odometer("H-01", 3)));
    let after_other = copy.write(odometer("H-01", 4));
    store.append(&[common, true_next.clone()]).unwrap();
    let error = store.append(&[other_next]).unwrap_err();
    assert!(matches!(error, StoreError::OtherBytes(of) if of == id(&true_next)), "{error:?}");
    assert!(error.to_string().contains(&id(&true_next).to_string()));
    let error = store.append(std::slice::from_ref(&after_other)).unwrap_err();
    assert!(
        matches!(&error, StoreError::NotNext { source: NotNext::Fork(of), .. } if *of == id(&after_other)),
        "{error:?}"
    );
    assert_eq!(store.count().unwrap(), 2);
}

pub(crate) fn a_stretch_comes_in_order_and_in_pieces(store: &impl Store) {
    let mut device = Device::new(1);
    let batch = device.odometers("H-01", 10);
    store.append(&batch).unwrap();
    let size = batch[2].event.len() + batch[2].signature.len();
    let get = |from, to, limit| -> Vec<Signed> {
        let stretch = Stretch { device: Device::new(1).id, from, to };
        store.stretch(stretch, limit).unwrap().into_iter().map(|stored| stored.signed).collect()
    };
    assert_eq!(get(3, 5, usize::MAX), batch[2..5]);
    assert_eq!(get(8, 99, usize::MAX), batch[7..]);
    assert_eq!(get(3, 5, size), batch[2..3]);
    assert_eq!(get(3, 5, 0), batch[2..3], "one at least, or nobody gets on");
    assert_eq!(get(11, 12, 0), vec![]);
    assert_eq!(get(5, u64::MAX, usize::MAX), batch[4..]);
}

pub(crate) fn an_event_of_a_newer_version_is_kept(store: &impl Store) {
    let mut device = Device::new(1);
    let first = device.write(odometer("H-01", 1));
    let newer = device.write(odometer("H-01", 2)).event;
    let newer = newer.replace("\"kind\":\"odometer-noted\"", "\"kind\":\"not-yet-thought-of\"");
    let newer = device.sign(newer.replace("\"version\":1}", "\"version\":99}"));
    let last = {
        let mut again = Device::new(1);
        again.receive(&first);
        again.receive(&newer);
        again.write(odometer("H-01", 3))
    };
    store.append(&[first.clone(), newer.clone(), last.clone()]).unwrap();
    assert_eq!(bytes(store), [first, newer, last]);
    assert_eq!(store.subject(&machine("H-01")).unwrap().len(), 2);
    store.rebuild().unwrap();
    assert_eq!(store.check().unwrap(), vec![]);
}

pub(crate) fn what_is_computed_again_is_as_it_was(store: &impl Store) {
    store.append(&Device::new(1).odometers("H-01", 2)).unwrap();
    let before = (store.heads().unwrap(), store.subjects().unwrap(), store.series_ends().unwrap());
    store.rebuild().unwrap();
    assert_eq!((store.heads().unwrap(), store.subjects().unwrap(), store.series_ends().unwrap()), before);
    assert_eq!(store.check().unwrap(), vec![]);
}

pub(crate) fn many_who_append_at_once_lose_nothing(store: &impl Store) {
    std::thread::scope(|scope| {
        for number in 1..=8 {
            scope.spawn(move || {
                let mut device = Device::new(number);
                for count in 1..=20 {
                    let batch = device.odometers(&format!("H-{number:02}"), 3);
                    let appended = store.append(&batch).unwrap();
                    assert_eq!(appended.new, batch.iter().map(id).collect::<Vec<_>>());
                    assert_eq!(store.heads().unwrap().of(device.id), count * 3);
                }
            });
        }
    });
    let arrivals: Vec<u64> = store.since(0, usize::MAX).unwrap().iter().map(|stored| stored.arrival).collect();
    assert_eq!(arrivals, (1..=480).collect::<Vec<_>>(), "without a gap");
    assert_eq!(store.check().unwrap(), vec![]);
}
