//! What a walk-round asks for, what it says before anything is measured, and what it puts off.

use muster_core::{
    form::Form,
    judge::{Verdict, asked},
    state::{Heat, Power, Stance, State},
    walk_round::{WalkRound, plan},
    words::{Depth, Use},
};

use super::{
    NOW,
    yard::{Small, Texts},
};

const COLD: State = State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand };
const WARM: State = State { heat: Heat::Warm, ..COLD };

fn read(checks: &[&str], sheet: &str, forms: &[&str]) -> Small {
    let texts = Texts {
        checks: checks.iter().map(ToString::to_string).collect(),
        sheet: sheet.into(),
        forms: forms.iter().map(ToString::to_string).collect(),
        ..Texts::default()
    };
    let small = texts.read();
    assert!(small.problems.is_empty(), "{:#?}", small.problems);
    small
}

fn planned<'s>(small: &'s Small, now: &str, depth: Depth, found: State) -> WalkRound<'s> {
    let forms: Vec<&Form> = small.forms.iter().collect();
    plan(&small.context(now), &forms, depth, Use::Range, found).unwrap_or_else(|error| panic!("{error}"))
}

fn ids(small: &Small, depth: Depth) -> Vec<String> {
    let forms: Vec<&Form> = small.forms.iter().collect();
    asked(&small.context(NOW), &forms, depth, Use::Range).iter().map(|check| check.id.clone()).collect()
}

#[test]
fn a_gauge_that_cannot_decide_one_psi_either_way_is_named_before_anything_is_measured() {
    let window = "[[limit]]\ncheck = \"tyre.front.pressure\"\nwithin = [\"32 psi\", \"34 psi\"]";
    let small = read(&["tyre.front.pressure"], window, &[]);
    let walk = planned(&small, NOW, Depth::BeforeRide, COLD);
    let cannot = &walk.steps[0].cannot;
    // ± 1 psi over u = √(0.29² + 0.029² + 0.289²) psi is 2.45 u either way, P = 0.986; with the stick gauge's 2 psi, below 0.7.
    assert_eq!(cannot.len(), 1, "{cannot:?}");
    assert!(cannot[0].starts_with("P-coarse") && cannot[0].contains("use a finer one"), "{cannot:?}");
    let warm = planned(&small, NOW, Depth::BeforeRide, WARM);
    assert_eq!(warm.steps[0].cannot.len(), 2, "warm, the gas's 5 K alone is more than the window: wait till cold");
}

#[test]
fn the_steps_tell_limit_target_and_source() {
    let window = "[[limit]]\ncheck = \"tyre.front.pressure\"\nwithin = [\"215 kPa\", \"240 kPa\"]\ntarget = \"225 kPa\"\npage = \"p. 9\"";
    let small = read(&["tyre.front.pressure"], window, &[]);
    let walk = planned(&small, NOW, Depth::BeforeRide, COLD);
    let told = walk.steps[0].limits.join("; ").replace('\u{a0}', " ");
    assert_eq!(told, "set 225 kPa; 215 to 240 kPa (sheet: Handbook, p. 9 (invented for the demonstration))");
}

#[test]
fn a_cold_only_check_on_a_warm_machine_reads_after_and_when() {
    let sheet = "[[limit]]\ncheck = \"brake.front.disc\"\nat_least = \"4.5 mm\"";
    let back = "opened = 2026-11-24T10:45:00+00:00\nridden = 2026-11-24T10:40:00+00:00\nfound = { heat = \"warm\" }";
    let small = read(&["brake.front.disc", "controls.levers"], sheet, &[back]);
    let walk = planned(&small, "2026-11-24T10:50:00+00:00", Depth::BeforeRide, WARM);
    let put_off: Vec<(&str, &str)> =
        walk.deferred.iter().map(|(check, why)| (check.id.as_str(), why.as_str())).collect();
    assert_eq!(put_off, [("brake.front.disc", "needs it cold: after 13:40")]);
    assert!(walk.steps.iter().all(|ask| ask.check.id != "brake.front.disc"));
}

#[test]
fn a_sheet_replaces_how_and_in_which_state_a_check_is_done() {
    let sheet = "[[procedure]]\ncheck = \"controls.levers\"\nneeds = { stance = [\"seated\"] }\nmethod = [\"Sit, then pull.\"]\npage = \"p. 5\"";
    let small = read(&["controls.levers"], sheet, &[]);
    let walk = planned(&small, NOW, Depth::BeforeRide, COLD);
    assert_eq!(walk.steps[0].method, ["Sit, then pull.", "(handbook, p. 5)"]);
    assert_eq!(
        (walk.steps[0].state.stance, walk.steps[0].changes.as_slice()),
        (Stance::Seated, ["sit on it".to_string()].as_slice())
    );
}

#[test]
fn what_a_sheet_s_way_adds_to_a_caution_stands_behind_it() {
    let procedure = |caution: &str| {
        format!("[[procedure]]\ncheck = [\"controls.levers\", \"wheel.front\"]\ncaution = \"{caution}\"")
    };
    let small = read(&["controls.levers", "wheel.front"], &procedure("The left one is hot."), &[]);
    let walk = planned(&small, NOW, Depth::Full, COLD);
    for ask in &walk.steps {
        let own = ask.check.caution.as_deref().map(|own| format!("{own} ")).unwrap_or_default();
        assert_eq!(ask.caution, Some(format!("{own}The left one is hot.")), "{}", ask.check.id);
        assert_eq!(ask.method, ask.check.method, "its way is the catalogue's");
    }
    let own = small.catalogue.checks.iter().find_map(|check| check.caution.clone());
    for nothing in [own.unwrap_or_default(), String::new()] {
        let texts = Texts { sheet: procedure(&nothing), ..Texts::default() };
        let said = texts.read().problems;
        assert!(said.len() == 1 && said[0].contains("adds nothing"), "{said:?}");
    }
}

#[test]
fn a_wheel_off_the_ground_is_named_and_the_right_one() {
    for (check, stance, said) in [
        (
            "wheel.front",
            "raised",
            "unknown stance, allowed are: side-stand, upright, seated, front-raised, rear-raised",
        ),
        ("chain.slack", "front-raised", "these needs raise the other wheel: this one is done at the rear-wheel"),
        ("wheel.front", "rear-raised", ""),
        ("wheel.front", "front-raised", ""),
    ] {
        let sheet = format!("[[procedure]]\ncheck = \"{check}\"\nneeds = {{ stance = [\"{stance}\"] }}");
        let problems = Texts { sheet, ..Texts::default() }.read().problems;
        assert_eq!(problems.is_empty(), said.is_empty(), "{problems:?}");
        assert!(problems.iter().all(|problem| problem.contains(said)), "{problems:?}");
    }
    let running =
        "[[procedure]]\ncheck = \"wheel.front\"\nneeds = { power = [\"running\"], stance = [\"front-raised\"] }";
    let problems = Texts { sheet: running.into(), ..Texts::default() }.read().problems;
    assert!(problems.len() == 1 && problems[0].contains("no state meets these needs"), "{problems:?}");
}

#[test]
fn nothing_is_measured_on_hot_parts() {
    let hot = State { heat: Heat::Hot, ..COLD };
    let small = read(&["brake.front.pads", "controls.levers"], "", &[]);
    let walk = planned(&small, NOW, Depth::BeforeRide, hot);
    assert_eq!(walk.deferred.len(), 1);
    assert_eq!(walk.deferred[0].0.id, "brake.front.pads");
    assert!(walk.deferred[0].1.contains("nothing is measured on hot parts"));
}

#[test]
fn it_asks_for_what_has_lapsed_and_not_for_what_lives() {
    let answered = "[[answer]]\ncheck = \"controls.levers\"\nsaw = \"sound\"";
    let small = read(&["controls.levers", "wheel.front", "lamp.head"], "", &[answered]);
    assert_eq!(ids(&small, Depth::BeforeRide), ["wheel.front"], "the lamp binds on the road only");
    assert_eq!(ids(&small, Depth::Full).len(), 3);
    assert_eq!(ids(&small, Depth::Intake).len(), 3);
    assert_eq!(ids(&small, Depth::BackInService).len(), 3);
    assert_eq!(ids(&small, Depth::Handover), ["wheel.front", "lamp.head"]);
    assert_eq!(ids(&small, Depth::AfterAFall), ["wheel.front", "controls.levers"]);
}

#[test]
fn a_cold_only_check_is_not_asked_while_its_last_answer_lives() {
    let sheet = "[[limit]]\ncheck = \"brake.front.disc\"\nat_least = \"4.5 mm\"";
    let old =
        "opened = 2026-10-24T07:30:00+01:00\n[[answer]]\ncheck = \"brake.front.disc\"\nread = \"5.1 mm\"\nwith = \"V\"";
    let small = read(&["brake.front.disc"], sheet, &[old]);
    let walk = planned(&small, NOW, Depth::BeforeRide, WARM);
    assert!(walk.steps.is_empty() && walk.deferred.is_empty());
}

#[test]
fn what_a_bad_instrument_read_is_asked_for_again() {
    let sheet = "[[limit]]\ncheck = \"brake.front.disc\"\nat_least = \"4.5 mm\"";
    let bad = "opened = 2026-11-12T07:30:00+00:00\n[[answer]]\ncheck = \"brake.front.disc\"\nread = \"5.1 mm\"\nwith = \"V-bad\"";
    let small = read(&["brake.front.disc"], sheet, &[bad]);
    assert_eq!(ids(&small, Depth::BeforeRide), ["brake.front.disc"]);
    assert_eq!(small.judged(NOW).uses[0].verdict, Verdict::Unseen);
}

#[test]
fn evening_preparations_are_set_apart_and_read_first_and_cold_readings_stand_before_the_rest() {
    let small = read(&[], "", &[]);
    let walk = planned(&small, NOW, Depth::Full, COLD);
    assert_eq!(walk.evening.iter().map(|ask| ask.check.id.as_str()).collect::<Vec<_>>(), ["battery.rest"]);
    assert!(walk.steps.iter().all(|ask| ask.check.id != "battery.rest"));
    let at = |id: &str| walk.steps.iter().position(|ask| ask.check.id == id);
    assert!(
        at("tyre.front.pressure") < at("lamp.head") && at("brake.front.disc") < at("lamp.head"),
        "key on comes after"
    );
}
