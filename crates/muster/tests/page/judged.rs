//! Judgements made by hand, as the core would hand them over.

use muster_core::{
    judge::{Figure, Judgement, Outcome, PlaceFigure, Set, UseVerdict, Verdict},
    words::{Class, Use},
};

/// A judgement of one machine; each use gets the outcomes `of` gives it.
fn judgement(machine: &str, model: &str, of: impl Fn(Use) -> Vec<Outcome>) -> Judgement {
    let verdict = |one: &Use| {
        let mut outcomes: Vec<Outcome> = of(*one).into_iter().map(|outcome| Outcome { one: *one, ..outcome }).collect();
        outcomes.sort_by(Outcome::gravity);
        let verdict = outcomes.iter().map(|outcome| outcome.verdict).max().unwrap_or(Verdict::Unseen);
        UseVerdict { one: *one, verdict, conditions: Vec::new(), outcomes }
    };
    Judgement {
        schema: 1,
        machine: machine.to_owned(),
        model: model.to_owned(),
        judged_at: "2026-11-24T08:00:00+00:00".to_owned(),
        known_at: Some("2026-11-24T07:52:00+00:00".to_owned()),
        planned: Some(Use::Range),
        back: Some("2026-11-24T12:30:00+00:00".to_owned()),
        uses: Use::ALL.iter().map(verdict).collect(),
        catalogue: "5b0f6a9c1d2e3f40".repeat(4),
        yard: "c0ffee0123456789".repeat(4),
    }
}

fn outcome(id: &str, name: &str, verdict: Verdict, class: Class, reason: &str) -> Outcome {
    let outcome = Outcome::new(id, name, Use::Range, verdict, reason).classed(class);
    Outcome { by: Some("T. Mwangi".to_owned()), at: Some("2026-11-24T07:31:00+00:00".to_owned()), ..outcome }
}

fn unanswered(id: &str, name: &str, class: Class, reason: &str, todo: &str) -> Outcome {
    Outcome::new(id, name, Use::Range, Verdict::Unseen, reason).classed(class).todo(todo)
}

fn looked(id: &str, name: &str) -> Outcome {
    outcome(id, name, Verdict::Fit, Class::Major, "sound")
}

fn figure(unit: &'static str, decimals: usize, value: f64, expanded_u: f64) -> Figure {
    Figure {
        unit,
        decimals,
        value,
        expanded_u,
        gauge: None,
        at_least: None,
        at_most: None,
        target: None,
        new: None,
        margin: 0.0,
        places: Vec::new(),
    }
}

fn place(place: &str, value: f64) -> PlaceFigure {
    PlaceFigure { place: place.to_owned(), value }
}

/// With a figure, its source and its working.
fn read(outcome: Outcome, figure: Figure, source: &str, share: f64) -> Outcome {
    let working = [
        "read with V-1 (Vernier calliper)".to_owned(),
        "u = 0.027 mm: scatter of the readings 0.020, resolution of the instrument 0.006".to_owned(),
        "P = 99.8 % that it conforms (normal, flat prior; JCGM 106:2012, 7)".to_owned(),
    ];
    let rests_on_law = source.starts_with("law");
    Outcome {
        figure: Some(figure),
        source: Some(source.to_owned()),
        share: Some(share),
        working: working.into(),
        rests_on_law,
        ..outcome
    }
}

fn tread() -> Outcome {
    let figure = Figure {
        at_least: Some(1.6),
        new: Some(7.0),
        margin: 1.5,
        places: vec![place("left", 3.3), place("centre", 3.1), place("right", 3.2)],
        ..figure("mm", 1, 3.1, 0.2)
    };
    let outcome = outcome("tyre.rear.tread", "Rear tread depth", Verdict::Fit, Class::Major, "3.1 ± 0.2 mm, centre");
    read(outcome, figure, "law: Invented act, clause 4", 0.28)
}

fn pressure_set() -> Outcome {
    let figure = Figure {
        at_least: Some(33.0),
        at_most: Some(41.0),
        target: Some(36.0),
        margin: 3.1,
        ..figure("psi", 1, 36.1, 1.7)
    };
    let set = Set { found: "33.5 psi".into(), act: "pumped".into(), now: "36.1 psi".into() };
    let outcome = outcome("tyre.rear.pressure", "Rear tyre pressure", Verdict::Fit, Class::Major, "36.1 ± 1.7 psi");
    Outcome { set: Some(set), ..read(outcome, figure, "sheet: Corvane Lantern handbook, p. 64", 0.78) }
}

/// Fit for every use, with a tyre that was set.
pub(super) fn fit() -> Judgement {
    judgement("H-05", "Corvane Lantern", |_| {
        let guard = looked("chain.guard", "Chain guard");
        vec![tread(), pressure_set(), looked("brake.front.action", "Front brake action"), guard]
    })
}

/// Pads to watch on the range, no mirror for the rest.
pub(super) fn watch() -> Judgement {
    let pads = || {
        let figure = Figure {
            at_least: Some(1.5),
            new: Some(5.0),
            margin: 0.3,
            places: vec![place("inner", 1.8), place("outer", 2.1)],
            ..figure("mm", 1, 1.8, 0.1)
        };
        let reason = "1.8 ± 0.1 mm, inner; meets 1.5 mm within its life";
        let outcome = outcome("brake.front.pads", "Front pads", Verdict::Watch, Class::Major, reason)
            .todo("Plan the work; read again before the next outing");
        read(outcome, figure, "sheet: Corvane Lantern handbook, p. 71", 0.086)
    };
    let mut judgement = judgement("H-07", "Corvane Lantern", |one| {
        let mut outcomes = vec![pads(), tread(), pressure_set(), looked("brake.front.action", "Front brake action")];
        if one != Use::Range {
            let mirror = Outcome::new("mirrors", "Mirrors", one, Verdict::Hold, "no left mirror");
            let mirror = mirror.classed(Class::Major).todo(format!("Not for use: {one}, until it is mounted"));
            outcomes.push(Outcome { rests_on_law: true, ..mirror });
        }
        if one == Use::Dark {
            outcomes.push(unanswered("lamp.aim", "Headlamp aim", Class::Major, "never looked at", "Do this check"));
            outcomes.push(unanswered("lamp.rear", "Rear lamp", Class::Major, "never looked at", "Do this check"));
        }
        outcomes
    });
    if let Some(range) = judgement.uses.iter_mut().find(|verdict| verdict.one == Use::Range) {
        range.conditions.push("Pads job booked, before 12\u{202f}700 km".to_owned());
    }
    judgement
}

/// A disc under its limit, a doubt of class dangerous, two checks nobody could make.
pub(super) fn hold() -> Judgement {
    judgement("H-11", "Tamarack Drover", |_| {
        let thickness = Figure {
            at_least: Some(4.0),
            new: Some(5.0),
            margin: -0.1,
            places: vec![place("first", 3.9), place("second", 3.92), place("third", 3.91)],
            ..figure("mm", 2, 3.9, 0.02)
        };
        let reason = "3.90 ± 0.02 mm, first: past its limit, at least 4.00 mm";
        let disc = outcome("brake.front.disc", "Front disc thickness", Verdict::Hold, Class::Dangerous, reason)
            .todo("Hang a hold tag; have it put right, then read again");
        let throttle = outcome(
            "throttle.return",
            "Throttle return",
            Verdict::Hold,
            Class::Dangerous,
            "doubtful: closes, but slowly or with drag",
        )
        .todo("Let a second person look, not T. Mwangi");
        let lever =
            outcome("gear.lever", "Gear lever play", Verdict::Watch, Class::Minor, "doubtful: more than last week")
                .todo("Look again after the job");
        let no_stand = "could not see: no paddock stand free";
        vec![
            read(disc, thickness, "marking: stamped on the disc", -0.1),
            Outcome { source: Some("law: Invented act, annex 2".to_owned()), rests_on_law: true, ..throttle },
            unanswered("sump", "Drain bolt and sump", Class::Major, no_stand, "Look again"),
            unanswered("shock.lower", "Lower shock mount", Class::Major, no_stand, "Look again"),
            lever,
            tread(),
            looked("brake.front.action", "Front brake action"),
        ]
    })
}

/// A warm tyre and a chain to set, three checks lapsed, one that could not be seen.
pub(super) fn unseen() -> Judgement {
    judgement("H-09", "Velloway Finch", |_| {
        let cold = Figure {
            gauge: Some(35.8),
            at_least: Some(34.0),
            at_most: Some(41.0),
            target: Some(36.0),
            margin: -0.5,
            ..figure("psi", 1, 33.5, 1.7)
        };
        let reason = "to set: 33.5 ± 1.7 psi cold (35.8 on the gauge): past its limit, within 34.0 to 41.0 psi";
        let tyre = outcome("tyre.rear.pressure", "Rear tyre pressure", Verdict::Unseen, Class::Major, reason)
            .todo("Pump to 38.4 psi on the gauge now, read again");
        let slack = Figure {
            at_least: Some(20.0),
            at_most: Some(35.0),
            target: Some(28.0),
            margin: -6.0,
            ..figure("mm", 0, 41.0, 4.0)
        };
        let chain = outcome(
            "chain.slack",
            "Chain slack",
            Verdict::Unseen,
            Class::Major,
            "to set: 41 ± 4 mm: past its limit, within 20 to 35 mm",
        )
        .todo("Set to 28 mm, read again");
        let lapsed = "answered 2026-11-18, counts 3 days";
        let again = "Do this check again";
        vec![
            read(tyre, cold, "sheet: Velloway Finch handbook, p. 64", -0.1),
            read(chain, slack, "practice: Chain slack of small machines (common practice)", -0.8),
            unanswered("horn", "Horn", Class::Minor, lapsed, again),
            unanswered("brake.hoses", "Brake hoses", Class::Minor, lapsed, again),
            unanswered(
                "brake.action",
                "Rear brake action",
                Class::Dangerous,
                "answered 2026-11-23, counts that day",
                again,
            ),
            unanswered(
                "sump",
                "Drain bolt and sump",
                Class::Major,
                "could not see: no paddock stand free",
                "Look again",
            ),
            tread(),
        ]
    })
}

/// Text that tries to be markup, wherever a form has a say.
pub(super) fn hostile() -> Judgement {
    let bad = "<script>alert(1)</script>";
    let mut judgement = judgement(bad, "Nuts & bolts \"<b>bold\"", |_| {
        let figure = Figure {
            at_least: Some(1.5),
            margin: -0.1,
            places: vec![place(bad, 1.4), place("\"'", 1.6)],
            ..figure("mm", 1, 1.4, 0.1)
        };
        let pads = outcome("pads", "Pads \" onload=\"x", Verdict::Hold, Class::Major, bad).todo(bad);
        let set = Set { found: bad.into(), act: "<b>bold".into(), now: bad.into() };
        let pads = Outcome {
            by: Some(bad.to_owned()),
            at: Some(bad.to_owned()),
            set: Some(set),
            ..read(pads, figure, bad, 0.1)
        };
        let fit = Outcome { name: bad.to_owned(), ..pressure_set() };
        let fit = Outcome { set: Some(Set { found: bad.into(), act: bad.into(), now: bad.into() }), ..fit };
        let looked = Outcome { reason: bad.to_owned(), ..looked("looked", bad) };
        vec![
            Outcome { working: vec![bad.to_owned()], ..pads },
            fit,
            looked,
            unanswered("a", bad, Class::Minor, bad, bad),
            unanswered("b", bad, Class::Minor, bad, bad),
        ]
    });
    judgement.known_at = Some(bad.to_owned());
    judgement.back = Some(bad.to_owned());
    judgement.catalogue = bad.to_owned();
    judgement
}
