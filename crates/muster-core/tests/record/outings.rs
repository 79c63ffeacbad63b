//! What an outing worked out asks of a release: what is done and left, what stops it, what the record keeps of it.

use muster_core::{
    judge::Verdict,
    outing::{Asked, Outing},
    quantity::text::DecimalSign,
    record::{
        decide::{Command, Refusal, ReleaseAsked},
        event::Entry,
        id::EventId,
        judged,
        payload::{OutingPlanned, Payload, Released},
    },
    release,
    words::Use,
};

use super::{
    forms::MORNING,
    kit::{CATALOGUE, Device, NOW, moment, person},
    out::asked,
};

const TO: &str = "2026-11-24T12:00:00+00:00";
const WHY: Option<&str> = Some("to the weighbridge and back");

/// A rider with full cases on the tourer in the rain: pressures, preload and a longer stop to heed.
fn told(rider: &str, cases: &str, road: &str) -> Asked {
    let text = |text: &str| Some(text.to_string());
    Asked {
        rider: text(rider),
        luggage: vec![format!("cases={cases}")],
        distance: text("60 km"),
        road: text(road),
        air: text("8"),
        rain: true,
        back: text(TO),
        ..Asked::default()
    }
}

fn outing(told: &Asked) -> Outing {
    told.read(moment("2026-11-24T08:10:00+00:00"), DecimalSign::Point)
}

/// What the outing asks for before leaving.
fn asks(device: &Device, of: &Outing) -> Vec<String> {
    let (yard, _) = device.yard().yard(&CATALOGUE);
    let state = device.machine("H-24");
    judged::outing((&CATALOGUE, &yard), &state, moment(NOW), of).unwrap().1.before_leaving
}

fn release(told: &Asked, reason: Option<&str>, done: Vec<String>) -> ReleaseAsked {
    let of = outing(told);
    let one = of.uses().iter().next().unwrap();
    ReleaseAsked { outings: vec![of], done, ..asked("H-24", one, reason) }
}

fn sign(device: &mut Device, by: &str, of: ReleaseAsked) -> Result<(EventId, Released), Refusal> {
    let id = device.ask(by, NOW, "H-24", Command::Release(of))?;
    match device.log[&id].1.event.clone().unwrap().payload {
        Payload::Released(of) => Ok((id, *of)),
        other => panic!("{other:?}"),
    }
}

fn refused(by: &str, of: ReleaseAsked) -> release::Refusal {
    match sign(&mut MORNING.clone(), by, of).unwrap_err() {
        Refusal::Release(refusal) => refusal,
        other => panic!("{other}"),
    }
}

#[test]
fn a_release_keeps_the_outing_it_was_worked_out_for_and_what_was_done() {
    let mut device = MORNING.clone();
    let told = Asked { name: Some("p-rider".into()), ..told("82 kg", "12 kg", "country") };
    let done = asks(&device, &outing(&told));
    assert!(done.iter().any(|what| what.starts_with("Rear tyre to 260")), "{done:?}");
    let of = ReleaseAsked { riders: vec![person("p-rider")], ..release(&told, None, done.clone()) };
    let (id, released) = sign(&mut device, "m-okafor", of).unwrap();
    let kept = released.worked_out.clone().unwrap();
    assert_eq!((kept.verdict, kept.done, kept.left), (Verdict::Fit, done.clone(), Vec::new()));
    assert!(done.iter().all(|what| released.conditions.contains(what)));
    assert_eq!((released.against, released.reason), (Vec::new(), None));
    // What was looked at and what was set are there, and no load that a person's mass could be taken out of.
    for there in ["Rear axle", "\"click\":", "\"pressure_kpa\":260.0"] {
        assert!(kept.outing.contains(there), "{there}: {}", kept.outing);
    }
    for load in ["332.0", "332\u{a0}kg", "82.0", "82\u{a0}kg", "sag_mm", "Σ"] {
        assert!(!kept.outing.contains(load), "{load}: {}", kept.outing);
    }
    let bytes = &device.log[&id].0;
    assert!(bytes.ends_with("\"version\":4}"), "{bytes}");
}

#[test]
fn a_release_from_before_outings_were_kept_is_read_without_one() {
    let mut device = MORNING.clone();
    let id = device.ask("m-okafor", NOW, "H-01", Command::Release(asked("H-01", Use::Range, None))).unwrap();
    let now = device.log[&id].0.clone();
    let before = now.replace(",\"worked_out\":null", "").replace("\"version\":4}", "\"version\":1}");
    assert_ne!(now, before);
    assert_eq!(Entry::read(&before).unwrap().event, Entry::read(&now).unwrap().event);
    assert!(Entry::read(&now.replace("\"version\":4}", "\"version\":1}")).is_err());
    assert!(Entry::read(&now.replace("\"version\":4}", "\"version\":2}")).is_err());
}

#[test]
fn what_is_left_undone_stops_it_as_its_class_says() {
    let device = MORNING.clone();
    let told = told("118 kg", "20 kg", "country");
    let all = asks(&device, &outing(&told));
    let without = |start: &str| {
        let done: Vec<String> = all.iter().filter(|what| !what.contains(start)).cloned().collect();
        assert!(done.len() < all.len(), "{start} in {all:?}");
        done
    };
    // Tyres: nobody signs on the road.
    let tyre = refused("p-owner", release(&told, WHY, without("Rear tyre to")));
    assert!(matches!(&tyre, release::Refusal::LeftUndone { what } if what.len() == 1), "{tyre}");
    assert!(tyre.to_string().starts_with("not done: Rear tyre to 290"), "{tyre}");
    // Preload: somebody with the right, with a reason.
    let springs = refused("m-okafor", release(&told, WHY, without("preload")));
    assert!(matches!(springs, release::Refusal::LeftUndone { .. }), "{springs}");
    let springs = refused("p-owner", release(&told, None, without("preload")));
    assert!(matches!(springs, release::Refusal::UndoneWithoutReason { .. }), "{springs}");
    let (_, released) = sign(&mut device.clone(), "p-owner", release(&told, WHY, without("preload"))).unwrap();
    assert_eq!(released.worked_out.unwrap().left.len(), 1);
    assert_eq!(released.reason.as_deref(), WHY);
    // What is for the rider to heed is said.
    let (_, released) = sign(&mut device.clone(), "m-okafor", release(&told, None, without("Wet:"))).unwrap();
    let kept = released.worked_out.unwrap();
    assert!(kept.left[0].starts_with("Wet: "), "{kept:?}");
}

#[test]
fn too_heavy_is_a_hold_by_law_on_the_road_and_signed_over_by_another_than_its_rider_on_the_range() {
    let device = MORNING.clone();
    let heavy = told("195 kg", "20 kg", "country");
    let done = asks(&device, &outing(&heavy));
    let road = refused("p-owner", release(&heavy, WHY, done));
    let release::Refusal::OutingByLaw { name, says, remedy } = &road else { panic!("{road}") };
    assert_eq!(name, "All up");
    assert!(says.as_ref().is_some_and(|says| says.contains("too much")) && remedy.starts_with("take 15"), "{road}");
    let heavy = told("195 kg", "20 kg", "range");
    let done = asks(&device, &outing(&heavy));
    let asked = |reason| release(&heavy, reason, done.clone());
    let verdict = Verdict::Hold;
    assert_eq!(refused("m-okafor", asked(WHY)), release::Refusal::NoRight { verdict });
    assert_eq!(refused("p-owner", asked(None)), release::Refusal::NoReason { verdict });
    let rides = ReleaseAsked { riders: vec![person("p-owner")], ..asked(WHY) };
    assert_eq!(refused("p-owner", rides), release::Refusal::OwnRide { by: "p-owner".into() });
    let (_, released) = sign(&mut device.clone(), "p-owner", asked(WHY)).unwrap();
    assert!(released.against.contains(&"outing.gross".to_string()), "{:?}", released.against);
    assert_eq!(released.worked_out.unwrap().verdict, Verdict::Hold);
}

#[test]
fn what_was_not_asked_for_or_cannot_be_binds_nothing() {
    let told = told("82 kg", "12 kg", "country");
    let stray = refused("p-owner", release(&told, WHY, vec!["Rear tyre to 300 kPa".into()]));
    assert_eq!(stray, release::Refusal::NotAsked { what: "Rear tyre to 300 kPa".into() });
    let wrong = Asked { rider: Some("900 kg".into()), ..told };
    assert!(matches!(refused("p-owner", release(&wrong, WHY, Vec::new())), release::Refusal::Told { .. }));
    let bare = ReleaseAsked { done: vec!["Wet".into()], ..asked("H-24", Use::Road, None) };
    let refusal = sign(&mut MORNING.clone(), "p-owner", bare).unwrap_err();
    assert!(matches!(refusal, Refusal::Field { field: "done", .. }), "{refusal}");
}

#[test]
fn a_session_keeps_the_heaviest_and_the_lightest_and_names_who_has_to_do_what() {
    let mut device = MORNING.clone();
    let rider = |name: &str, kg: &str, inseam: &str| {
        let name = Some(name.to_string());
        outing(&Asked { name, inseam: Some(inseam.into()), ..told(kg, "5 kg", "country") })
    };
    let names = ["e-castellan", "i-halloran", "p-rider"];
    let outings = vec![rider(names[0], "98", "900"), rider(names[1], "58", "700"), rider(names[2], "75", "850")];
    let riders = names.map(person).to_vec();
    let asked = |done: Vec<String>| ReleaseAsked {
        outings: outings.clone(),
        riders: riders.clone(),
        done,
        ..asked("H-24", Use::Road, None)
    };
    let none = refused("m-okafor", asked(Vec::new()));
    let release::Refusal::LeftUndone { what } = none else { panic!("{none}") };
    let (_, released) = sign(&mut device, "m-okafor", asked(what)).unwrap();
    let kept = released.worked_out.unwrap();
    assert!(kept.left.iter().any(|what| what.starts_with("i-halloran: Try it standing")), "{:?}", kept.left);
    assert_eq!(kept.outing.matches("\"items\":").count(), 2);
    // The record holds ids: a name, a stranger, one twice is refused.
    for told in [None, Some("Ann"), Some(names[0])] {
        let mut of = asked(Vec::new());
        of.outings[1].rider.name = told.map(String::from);
        let refusal = sign(&mut MORNING.clone(), "m-okafor", of).unwrap_err();
        assert!(matches!(refusal, Refusal::Field { field: "told", .. }), "{told:?}: {refusal}");
    }
    assert!(kept.outing.contains("[\"p-rider\",\"fit\"]"), "{}", kept.outing);
}

/// A rider who may not be released by the instructor: too heavy for the plate, on the range.
fn heavy_on_the_range() -> ReleaseAsked {
    let heavy = told("195 kg", "20 kg", "range");
    ReleaseAsked { riders: vec![person("p-rider")], ..release(&heavy, None, Vec::new()) }
}

fn plan(device: &mut Device, by: &str, of: ReleaseAsked) -> Result<(EventId, OutingPlanned), Refusal> {
    let id = device.ask(by, NOW, "H-24", Command::Plan(of))?;
    match device.log[&id].1.event.clone().unwrap().payload {
        Payload::OutingPlanned(of) => Ok((id, *of)),
        other => panic!("{other:?}"),
    }
}

/// As whoever signs a plan asks: nothing is told, for the masses are not known there.
fn as_planned(id: EventId, of: &OutingPlanned, done: Vec<String>, reason: Option<&str>) -> ReleaseAsked {
    let one = *of.uses.first().unwrap();
    ReleaseAsked { planned: Some(id), riders: of.riders.clone(), done, ..asked("H-24", one, reason) }
}

#[test]
fn an_outing_that_its_planner_may_not_release_is_signed_by_another_who_never_learns_the_mass() {
    let mut device = MORNING.clone();
    let asked = heavy_on_the_range();
    let ticked = ReleaseAsked { done: asks(&device, &asked.outings[0]), ..asked.clone() };
    let no_right = Refusal::Release(release::Refusal::NoRight { verdict: Verdict::Hold });
    assert_eq!(sign(&mut device, "m-okafor", ticked).unwrap_err(), no_right);
    let (id, planned) = plan(&mut device, "m-okafor", asked).unwrap();
    let worked = planned.worked_out.clone().unwrap();
    assert_eq!((planned.machine.as_deref(), worked.verdict), (Some("H-24"), Verdict::Hold));
    let bytes = device.log[&id].0.clone();
    // Hashes and ids are digits by chance.
    let mut told = bytes.split(|of: char| !of.is_ascii_alphanumeric()).filter(|of| of.len() < 16);
    assert!(!told.any(|of| of.contains("195") || of.contains("453")), "{bytes}");
    // What is to be set stands in it, for whoever signs to see done.
    assert!(worked.left.iter().any(|what| what.starts_with("Rear preload up")), "{:?}", worked.left);
    let without = as_planned(id, &planned, worked.left.clone(), None);
    let refusal = sign(&mut device.clone(), "p-owner", without).unwrap_err();
    assert_eq!(refusal, Refusal::Release(release::Refusal::NoReason { verdict: Verdict::Hold }));
    let refusal =
        sign(&mut device.clone(), "m-okafor", as_planned(id, &planned, worked.left.clone(), WHY)).unwrap_err();
    assert_eq!(refusal, no_right);
    let (_, released) = sign(&mut device, "p-owner", as_planned(id, &planned, worked.left.clone(), WHY)).unwrap();
    assert_eq!(released.planned, Some(id));
    assert!(released.against.contains(&"outing.gross".to_string()), "{:?}", released.against);
    let kept = released.worked_out.unwrap();
    assert_eq!((kept.done, kept.left, kept.outing), (worked.left, Vec::new(), worked.outing));
}

#[test]
fn a_plan_binds_only_what_it_was_worked_out_for() {
    let mut device = MORNING.clone();
    let (id, planned) = plan(&mut device, "m-okafor", heavy_on_the_range()).unwrap();
    let asked = || as_planned(id, &planned, planned.worked_out.clone().unwrap().left, WHY);
    let field = |of: ReleaseAsked| match sign(&mut device.clone(), "p-owner", of).unwrap_err() {
        Refusal::Field { field, what } => format!("{field}: {what}"),
        other => panic!("{other}"),
    };
    let other = field(ReleaseAsked { riders: Vec::new(), ..asked() });
    assert!(other.starts_with("planned: ") && other.contains("its own riders"), "{other}");
    let later = field(ReleaseAsked { to: moment("2026-11-24T12:30:00+00:00"), ..asked() });
    assert!(later.contains("a return at 2026-11-24T12:00"), "{later}");
    let stray = ReleaseAsked { done: vec!["Rear tyre to 300 kPa".into()], ..asked() };
    let refusal = sign(&mut device.clone(), "p-owner", stray).unwrap_err();
    assert!(matches!(refusal, Refusal::Release(release::Refusal::NotAsked { .. })), "{refusal}");
    // A plan says what it came to by the rules alone: nobody writes that by hand.
    let refusal = device.put("m-okafor", NOW, planned.clone()).unwrap_err();
    assert!(matches!(&refusal, Refusal::Field { field: "worked_out", .. }), "{refusal}");
    let none = ReleaseAsked { outings: Vec::new(), ..heavy_on_the_range() };
    assert!(matches!(plan(&mut device, "m-okafor", none), Err(Refusal::Field { field: "told", .. })));
    let early = ReleaseAsked { done: vec!["Wet".into()], ..heavy_on_the_range() };
    assert!(matches!(plan(&mut device, "m-okafor", early), Err(Refusal::Field { field: "done", .. })));
}

#[test]
fn a_plan_from_before_outings_were_worked_out_is_read_without_one() {
    let mut device = MORNING.clone();
    let (from, to) = (moment("2026-11-24T10:00:00+00:00"), moment(TO));
    let plain = OutingPlanned {
        name: "tour".into(),
        uses: vec![Use::Road],
        riders: Vec::new(),
        from,
        to,
        distance: None,
        machine: None,
        worked_out: None,
    };
    let id = device.write("m-okafor", NOW, plain);
    let now = device.log[&id].0.clone();
    let before = now.replace("\"machine\":null,", "").replace(",\"worked_out\":null", "");
    let before = before.replace("\"version\":5}", "\"version\":1}");
    assert_eq!(Entry::read(&before).unwrap().event, Entry::read(&now).unwrap().event, "{before}\n{now}");
}
