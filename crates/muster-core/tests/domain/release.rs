//! Release, moves under a tag, untagging: every branch, and that a signature changes no verdict.

use muster_core::{
    calendar::Moment,
    judge::{Judgement, Verdict},
    release::{Move, NoMove, NoUntagging, Refusal, Request, may_move, release, untag},
    words::{Use, Uses},
};

use super::{NOW, yard::Texts};

const SOUND: &str = "[[answer]]\ncheck = \"controls.levers\"\nsaw = \"sound\"\n[[answer]]\ncheck = \"throttle.return\"\nsaw = \"sound\"\n[[answer]]\ncheck = \"wheel.front\"\nsaw = \"sound\"";

/// A judgement of levers, throttle and wheel, with a return at half past twelve.
fn judged(law: bool, form: &str, machine: &str, house: &str) -> Judgement {
    let checks = ["controls.levers", "throttle.return", "wheel.front"].map(String::from);
    let outing = "\n[outing]\nuse = \"range\"\nback = 2026-11-24T12:30:00+00:00";
    let texts = Texts {
        checks: checks.into(),
        law,
        machine: machine.into(),
        house: house.into(),
        forms: vec![format!("{form}{outing}")],
        ..Texts::default()
    };
    texts.read().judged(NOW)
}

fn moment(text: &str) -> Moment {
    Moment::parse(text).unwrap_or_else(|error| panic!("{error}"))
}

/// A request with everything it takes to release against a hold.
fn full(one: Use) -> Request {
    Request {
        by: "D. Chief".into(),
        may_override: true,
        reason: Some("To the wash bay and back".into()),
        uses: Uses::NONE.with(one),
        outing: "Module one, group B".into(),
        from: moment("2026-11-24T08:10:00+00:00"),
        to: moment("2026-11-24T12:00:00+00:00"),
        tags: Vec::new(),
    }
}

fn with(lever: &str, throttle: &str) -> String {
    let one = |check: &str, saw: &str| format!("[[answer]]\ncheck = \"{check}\"\nsaw = \"{saw}\"\n");
    one("controls.levers", lever) + &one("throttle.return", throttle) + &one("wheel.front", "sound")
}

#[test]
fn a_fit_machine_goes_out_on_a_name_as_known_then() {
    let judgement = judged(true, SOUND, "", "");
    let asked = Request { may_override: false, reason: None, ..full(Use::Range) };
    let release = release(&judgement, &asked).unwrap_or_else(|refusal| panic!("{refusal}"));
    assert_eq!(release.verdicts, [(Use::Range, Verdict::Fit)]);
    assert_eq!(release.as_known, "as known at 07:30");
    assert_eq!(release.catalogue, judgement.catalogue);
    assert_eq!(release.yard, judgement.yard);
    let bytes = judgement.to_json().unwrap_or_default();
    assert_eq!(release.judgement, muster_core::hash::of_text(&bytes));
    assert!(release.conditions.is_empty() && release.against.is_empty());
}

#[test]
fn a_release_names_who_what_for_which_outing_and_when() {
    let judgement = judged(true, SOUND, "", "");
    let whole = full(Use::Range);
    let cases = [
        (Request { by: " ".into(), ..whole.clone() }, Refusal::NoSigner),
        (Request { uses: Uses::NONE, ..whole.clone() }, Refusal::NoUse),
        (Request { outing: String::new(), ..whole.clone() }, Refusal::NoOuting),
        (
            Request { to: whole.from, ..whole.clone() },
            Refusal::NoTime { from: whole.from.to_string(), to: whole.from.to_string() },
        ),
        (
            Request { to: moment("2026-11-24T12:31:00+00:00"), ..whole.clone() },
            Refusal::JudgedForAnEarlierReturn {
                judged_for: "2026-11-24T12:30:00+00:00".into(),
                to: "2026-11-24T12:31:00+00:00".into(),
            },
        ),
        (Request { tags: vec!["T-4".into()], ..whole.clone() }, Refusal::Tagged { tags: vec!["T-4".into()] }),
    ];
    for (asked, refusal) in cases {
        assert_eq!(release(&judgement, &asked), Err(refusal));
    }
    let unplanned = Judgement { back: None, ..judgement.clone() };
    assert!(release(&unplanned, &whole).is_ok());
    let tomorrow = Request { to: moment("2026-11-25T00:10:00+00:00"), ..whole.clone() };
    assert!(matches!(release(&unplanned, &tomorrow), Err(Refusal::JudgedForAnEarlierReturn { .. })));
    let nothing = Judgement { uses: Vec::new(), ..judgement };
    assert_eq!(release(&nothing, &whole), Err(Refusal::NotJudged(Use::Range)));
}

#[test]
fn a_hold_needs_the_right_a_reason_and_somebody_else() {
    let judgement = judged(true, &with("defective", "sound"), "", "");
    let whole = full(Use::Range);
    let verdict = Verdict::Hold;
    let own = Refusal::OwnFinding { by: "A. Finder".into(), check: "controls.levers".into() };
    let cases = [
        (Request { may_override: false, ..whole.clone() }, Refusal::NoRight { verdict }),
        (Request { reason: None, ..whole.clone() }, Refusal::NoReason { verdict }),
        (Request { reason: Some("  ".into()), ..whole.clone() }, Refusal::NoReason { verdict }),
        (Request { by: "A. Finder".into(), ..whole.clone() }, own),
    ];
    for (asked, refusal) in cases {
        assert_eq!(release(&judgement, &asked), Err(refusal));
    }
    let signed = release(&judgement, &whole).unwrap_or_else(|refusal| panic!("{refusal}"));
    assert_eq!(signed.verdicts, [(Use::Range, Verdict::Hold)], "a signature never changes a verdict");
    assert_eq!(signed.against, ["controls.levers"]);
    assert_eq!(signed.reason.as_deref(), Some("To the wash bay and back"));
}

#[test]
fn the_finder_of_an_old_doubt_is_its_finder() {
    let checks = ["throttle.return"].map(String::from);
    let old = "by = \"D. Chief\"\nopened = 2026-11-23T07:30:00+00:00\n[[answer]]\ncheck = \"throttle.return\"\nsaw = \"doubtful\"";
    let new = "by = \"D. Chief\"\n[[answer]]\ncheck = \"throttle.return\"\nsaw = \"sound\"";
    let texts = Texts { checks: checks.into(), forms: vec![old.into(), new.into()], ..Texts::default() };
    let judgement = texts.read().judged(NOW);
    assert!(matches!(release(&judgement, &full(Use::Range)), Err(Refusal::OwnFinding { .. })));
}

#[test]
fn on_the_road_nobody_signs_over_law_or_danger() {
    let by_law = judged(true, &with("defective", "sound"), "", "");
    for one in [Use::Road, Use::Passenger, Use::Dark] {
        let refusal = Refusal::ByLaw { check: "controls.levers".into(), one };
        assert_eq!(release(&by_law, &full(one)), Err(refusal));
    }
    let no_law = judged(false, &with("defective", "sound"), "", "");
    assert!(release(&no_law, &full(Use::Road)).is_ok(), "major, and no law: it may be signed");
    let dangerous = judged(false, &with("sound", "defective"), "", "");
    let refusal = Refusal::Dangerous { check: "throttle.return".into(), one: Use::Road, verdict: Verdict::Hold };
    assert_eq!(release(&dangerous, &full(Use::Road)), Err(refusal));
    assert!(release(&dangerous, &full(Use::Range)).is_ok(), "on the range it may be signed");
    let both = Request { uses: Uses::NONE.with(Use::Range).with(Use::Dark), ..full(Use::Range) };
    assert!(matches!(release(&dangerous, &both), Err(Refusal::Dangerous { one: Use::Dark, .. })));
}

#[test]
fn unseen_is_never_fit() {
    let judgement = judged(
        false,
        "[[answer]]\ncheck = \"throttle.return\"\nsaw = \"sound\"\n[[answer]]\ncheck = \"wheel.front\"\nsaw = \"sound\"",
        "",
        "",
    );
    let verdict = Verdict::Unseen;
    let whole = full(Use::Range);
    assert_eq!(
        release(&judgement, &Request { may_override: false, ..whole.clone() }),
        Err(Refusal::NoRight { verdict })
    );
    assert_eq!(release(&judgement, &Request { reason: None, ..whole.clone() }), Err(Refusal::NoReason { verdict }));
    let signed = release(&judgement, &whole).unwrap_or_else(|refusal| panic!("{refusal}"));
    assert_eq!(
        (signed.verdicts.as_slice(), signed.against.as_slice()),
        ([(Use::Range, verdict)].as_slice(), ["controls.levers".to_string()].as_slice())
    );
    assert!(release(&judgement, &full(Use::Road)).is_ok());
    let nothing = judged(false, "", "", "");
    let refusal = Refusal::Dangerous { check: "throttle.return".into(), one: Use::Road, verdict };
    assert_eq!(release(&nothing, &full(Use::Road)), Err(refusal));
}

#[test]
fn a_watch_goes_out_on_its_conditions() {
    let house = "[[condition]]\ncheck = \"controls.levers\"\nsays = \"Range only\"\nuses = [\"range\"]";
    let judgement = judged(false, &with("doubtful", "sound"), "", house);
    let plain = Request { may_override: false, reason: None, ..full(Use::Range) };
    let signed = release(&judgement, &plain).unwrap_or_else(|refusal| panic!("{refusal}"));
    assert_eq!(signed.verdicts, [(Use::Range, Verdict::Watch)]);
    assert_eq!(signed.conditions, ["Range only"]);
    let road = Request { may_override: false, ..full(Use::Road) };
    assert_eq!(release(&judgement, &road), Err(Refusal::NoRight { verdict: Verdict::Hold }));
}

#[test]
fn neither_a_tag_nor_a_service_state_is_signed_over() {
    let tagged = judged(false, &format!("no_hold_tag = false\n{SOUND}"), "", "");
    assert_eq!(release(&tagged, &full(Use::Range)), Err(Refusal::Tagged { tags: Vec::new() }));
    for state in ["laid up", "on loan", "away", "impounded", "sold"] {
        let judgement = judged(false, SOUND, &format!("service = \"{state}\""), "");
        let Err(Refusal::NotInService { state: said, remedy }) = release(&judgement, &full(Use::Range)) else {
            panic!("{state}");
        };
        assert_eq!(said, state);
        assert!(!remedy.is_empty());
    }
}

#[test]
fn under_a_tag_it_is_pushed_taken_to_the_workshop_or_ridden_to_prove_the_job() {
    let ride = |job: Option<&str>, rider: &str| Move::TestRide { job_done: job.map(String::from), rider: rider.into() };
    let cases = [
        (Move::Pushed, false, Ok(())),
        (Move::Pushed, true, Ok(())),
        (Move::Workshop, false, Ok(())),
        (Move::Workshop, true, Err(NoMove::Impounded)),
        (ride(Some("J-3"), "E. Smith"), false, Ok(())),
        (ride(Some("J-3"), "E. Smith"), true, Err(NoMove::Impounded)),
        (ride(None, "E. Smith"), false, Err(NoMove::NoJob)),
        (ride(Some("J-3"), " "), false, Err(NoMove::NoRider)),
    ];
    for (asked, impounded, expected) in cases {
        assert_eq!(may_move(&asked, impounded), expected, "{asked:?}");
    }
}

#[test]
fn an_untagging_names_the_tags_it_lifts() {
    let hanging = ["T-1", "T-2"].map(String::from);
    let one = ["T-1".to_string()];
    let lifted = untag(&hanging, &one, "D. Chief", "pads mounted").unwrap_or_else(|refusal| panic!("{refusal}"));
    assert_eq!((lifted.lifts.as_slice(), lifted.left.as_slice()), (one.as_slice(), ["T-2".to_string()].as_slice()));
    assert_eq!(untag(&hanging, &[], "D. Chief", "x"), Err(NoUntagging::NoTag { hanging: hanging.to_vec() }));
    let wrong = ["T-9".to_string()];
    assert_eq!(
        untag(&hanging, &wrong, "D. Chief", "x"),
        Err(NoUntagging::NotHanging { tag: "T-9".into(), hanging: hanging.to_vec() })
    );
    assert_eq!(untag(&hanging, &one, "", "x"), Err(NoUntagging::Unsigned));
    assert_eq!(untag(&hanging, &one, "D. Chief", " "), Err(NoUntagging::Unsigned));
}
