//! Instruments compared: one found bad re-opens every verdict since its last good comparison, also once it is put right.

use muster_core::{
    judge::Verdict,
    record::payload::{InstrumentCompared, InstrumentRegistered},
};

use super::{
    forms::MORNING,
    kit::{CATALOGUE, Device, NOW, gather},
};

fn compared(on: &str, good: bool) -> InstrumentCompared {
    InstrumentCompared { instrument: "G-2".into(), on: on.into(), good, note: None }
}

/// H-01's pressures of the morning were read with G-2, last compared in September.
fn pressure(device: &Device) -> (Verdict, String) {
    let judged = device.known("H-01", NOW).judged.unwrap();
    let of = judged.uses[0].outcomes.iter().find(|of| of.check == "tyre.front.pressure").unwrap();
    (of.verdict, of.reason.clone())
}

#[test]
fn one_found_bad_is_not_trusted_since_its_last_good_comparison() {
    let mut device = MORNING.clone();
    assert_eq!(pressure(&device).0, Verdict::Fit);
    device.put("d-fenwick", NOW, compared("2026-11-24", false)).unwrap();
    let (verdict, reason) = pressure(&device);
    assert_eq!(verdict, Verdict::Unseen);
    assert!(reason.contains("found bad on 2026-11-24; last good comparison 2026-09-14"), "{reason}");
}

#[test]
fn one_put_right_is_trusted_from_then_on_and_not_before() {
    for days in [[("2026-11-24", false), ("2026-11-24", true)], [("2026-11-20", false), ("2026-11-24", true)]] {
        let mut device = MORNING.clone();
        let (yard, _) = device.yard().yard(&CATALOGUE);
        let day = |day: &str| muster_core::calendar::date(day).unwrap();
        assert!(yard.instruments["G-2"].is_trusted(day("2026-11-19")));
        for (on, good) in days {
            device.put("d-fenwick", NOW, compared(on, good)).unwrap();
        }
        let gauge = &device.yard().yard(&CATALOGUE).0.instruments["G-2"];
        assert_eq!((gauge.compared, gauge.found_bad), (Some(day("2026-11-24")), None));
        for (of, trusted) in [("2026-09-14", true), ("2026-09-15", false), ("2026-11-19", false), ("2026-11-25", true)]
        {
            assert_eq!(gauge.is_trusted(day(of)), trusted, "{of}");
        }
        // On the day it was found bad and put right nobody knows which came first; on the day it was only put right, all do.
        assert_eq!(gauge.is_trusted(day("2026-11-24")), days[0].0 == "2026-11-20");
    }
}

#[test]
fn comparisons_count_by_their_days_whatever_order_they_arrive_in() {
    let (mut phone, mut office) = (Device::of_the_yard(2), Device::of_the_yard(3));
    office.put("d-fenwick", NOW, compared("2026-11-20", true)).unwrap();
    phone.put("p-owner", NOW, compared("2026-10-01", false)).unwrap();
    gather(&mut [&mut phone, &mut office]);
    for device in [&phone, &office] {
        let gauge = &device.yard().yard(&CATALOGUE).0.instruments["G-2"];
        let day = |day: &str| muster_core::calendar::date(day).unwrap();
        assert!(!gauge.is_trusted(day("2026-10-15")) && gauge.is_trusted(day("2026-11-20")));
    }
}

#[test]
fn an_instrument_listed_later_can_be_read_with() {
    let mut device = Device::of_the_yard(2);
    let text = "[[instrument]]\nid = \"G-9\"\nname = \"Gauge\"\nkind = \"dial-gauge\"\nreads = \"gauge-pressure\"\n\
                resolution = \"0.5 psi\"\naccuracy = \"1 psi\"\n";
    let listed = InstrumentRegistered { instrument: "G-9".into(), text: text.into() };
    device.put("d-fenwick", NOW, listed).unwrap();
    let before = device.yard().yard(&CATALOGUE).0;
    assert!(before.instruments.contains_key("G-9"));
    device
        .put("d-fenwick", NOW, InstrumentCompared { instrument: "G-9".into(), ..compared("2026-11-24", true) })
        .unwrap();
    let after = device.yard().yard(&CATALOGUE).0;
    assert_ne!(before.hash, after.hash, "a comparison changes what verdicts rest on");
}
