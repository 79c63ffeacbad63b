//! Which wheel is off the ground: each check of each kind of machine is done in a stance it can be done in, each end is lifted
//! once, and whoever lifts it is told how.

use std::collections::BTreeSet;

use muster_core::{
    judge::Context,
    state::{Found, Heat, Needs, Power, Stance, Standing, State, Station},
    walk_round::{Ask, plan},
    words::{Depth, Use},
};

use super::{demo::yard_of, kinds::KINDS, yard::Texts};

/// Checks at which a wheel must turn or hang free, and which. Common practice, by how each is done: a wheel is spun for its
/// bearings, its run-out and its brake's drag, bars swing freely on a hanging wheel, and a swing arm is rocked by one.
const FREE: [(&str, Stance); 14] = [
    ("wheel.front", Stance::FrontRaised),
    ("wheel.front.bearings", Stance::FrontRaised),
    ("wheel.front.run-out", Stance::FrontRaised),
    ("brake.front.run-out", Stance::FrontRaised),
    ("brake.front.calliper", Stance::FrontRaised),
    ("steering.head", Stance::FrontRaised),
    ("wheel.rear", Stance::RearRaised),
    ("wheel.rear.bearings", Stance::RearRaised),
    ("wheel.rear.run-out", Stance::RearRaised),
    ("brake.rear.run-out", Stance::RearRaised),
    ("brake.rear.calliper", Stance::RearRaised),
    ("shaft.boots", Stance::RearRaised),
    ("swing-arm", Stance::RearRaised),
    ("shock.mounts", Stance::RearRaised),
];

/// How often each kind's stance changed in a walk-round before its first ride and in a full one, when either wheel off the
/// ground was one stance: counted before the two were told apart.
const WHEN_ONE: [(&str, [usize; 2]); 8] = [
    ("H-03", [4, 4]),
    ("H-10", [5, 5]),
    ("H-15", [4, 4]),
    ("H-19", [4, 4]),
    ("H-24", [5, 5]),
    ("N-01", [3, 3]),
    ("N-02", [3, 3]),
    ("N-03", [5, 5]),
];

const DEPTHS: [Depth; 2] = [Depth::BeforeRide, Depth::Full];

/// Calls with each kind's context, the state it is found in and its steps, for both depths.
fn each(mut of: impl FnMut(&Context<'_>, State, &[Ask<'_>], Depth)) {
    for kind in &KINDS {
        let (catalogue, yard) = yard_of(kind.yard);
        let on = yard.on.unwrap_or_else(|| panic!("a demonstration has its day"));
        let context = Context::of(&catalogue, &yard, kind.machine, on).unwrap_or_else(|| panic!("{}", kind.machine));
        let found = Found::default().on(&context.machine.traits.equipment);
        for depth in DEPTHS {
            let walk = plan(&context, &[], depth, Use::Road, found).unwrap_or_else(|error| panic!("{error}"));
            of(&context, found, &walk.steps, depth);
        }
    }
}

/// The stances one after the other, from the one found.
fn stances(found: State, asks: &[Ask<'_>]) -> Vec<Stance> {
    let mut way = vec![found.stance];
    way.extend(asks.iter().map(|ask| ask.state.stance));
    way.dedup();
    way
}

#[test]
fn each_check_is_done_in_a_stance_that_it_needs() {
    each(|context, _, asks, _| {
        let standing = Standing::of_machine(&context.machine.traits.equipment);
        for ask in asks {
            let needs = standing.of(context.needs(ask.check));
            assert!(needs.allows(ask.state), "{}: {} {}", context.machine.id, ask.check.id, ask.state);
        }
    });
}

#[test]
fn a_wheel_that_is_spun_is_the_one_off_the_ground() {
    let mut met = BTreeSet::new();
    each(|context, _, asks, _| {
        for (id, stance) in FREE {
            for ask in asks.iter().filter(|ask| ask.check.id == id) {
                assert_eq!(ask.state.stance, stance, "{}: {id}", context.machine.id);
                met.insert(id);
            }
        }
        // What turns the wheel of its own station never does so while that one alone stands on the ground.
        let other = |station| match station {
            Station::FrontWheel => Some(Stance::RearRaised),
            Station::RearWheel => Some(Stance::FrontRaised),
            _ => None,
        };
        let turns = ["tread", "bars", "pressure", "damage", "age", "spokes", "disc", "disc-face", "chain.slack"];
        let turning = |ask: &&Ask<'_>| turns.iter().any(|part| ask.check.id.ends_with(part));
        let stands = Standing::of_machine(&context.machine.traits.equipment).0;
        for ask in asks.iter().filter(turning).filter(|ask| ask.state.stance != stands) {
            assert_ne!(Some(ask.state.stance), other(ask.station), "{}: {}", context.machine.id, ask.check.id);
        }
    });
    assert_eq!(met.len(), FREE.len(), "{met:?}");
}

#[test]
fn each_end_is_lifted_once_and_nothing_else_is_done_more_often_for_it() {
    each(|context, found, asks, depth| {
        let way = stances(found, asks);
        let (_, before) = WHEN_ONE.iter().find(|(id, _)| *id == context.machine.id).unwrap_or_else(|| panic!("a kind"));
        let at = DEPTHS.iter().position(|of| *of == depth).unwrap_or_default();
        // Nobody raises both wheels at once: what was one lift for two wheels is two.
        assert_eq!(way.len() - 1, before[at] + 1, "{} {depth}: {way:?}", context.machine.id);
        let still: Vec<Stance> = stances(found, asks.split_at(started(asks)).0);
        for raised in [Stance::FrontRaised, Stance::RearRaised] {
            let times = still.iter().filter(|stance| **stance == raised).count();
            let found = usize::from(found.stance == raised);
            assert!(times <= 1 + found, "{} {depth}: {still:?}", context.machine.id);
        }
    });
}

/// How many steps come before the engine runs.
fn started(asks: &[Ask<'_>]) -> usize {
    asks.iter().position(|ask| ask.state.power == Power::Running).unwrap_or(asks.len())
}

#[test]
fn whoever_lifts_a_wheel_is_told_which_and_how_and_lets_it_down_before_sitting_on_it() {
    each(|context, found, asks, _| {
        let mut stance = found.stance;
        for ask in asks {
            let told = ask.changes.join(", ");
            let changed = ask.state.stance != stance;
            let lift = |wheel: &str| {
                let says = [&*format!("{wheel} wheel off the ground"), "firm level ground", "a second person"];
                assert!(!changed || says.iter().all(|says| told.contains(says)), "{}: {told}", context.machine.id);
            };
            match ask.state.stance {
                Stance::FrontRaised => lift("front"),
                Stance::RearRaised => lift("rear"),
                _ => {}
            }
            assert_eq!(changed && stance.is_raised(), told.contains("wheel down"), "{}: {told}", context.machine.id);
            stance = ask.state.stance;
        }
    });
}

#[test]
fn the_engine_never_runs_on_a_raised_front_wheel() {
    each(|context, _, asks, _| {
        let drives_off = |ask: &&Ask<'_>| ask.state.power == Power::Running && ask.state.stance == Stance::FrontRaised;
        assert!(!asks.iter().any(|ask| drives_off(&ask)), "{}", context.machine.id);
    });
    let state = State { heat: Heat::Warm, power: Power::Running, stance: Stance::FrontRaised };
    assert!(!Needs::ANY.allows(state));
}

#[test]
fn a_machine_without_a_stand_for_it_is_asked_all_the_same() {
    let side_only = "[equipment]\nstands = \"side\"".into();
    let texts = Texts { checks: vec!["wheel.front".into()], machine: side_only, ..Texts::default() };
    let small = texts.read();
    assert!(small.problems.is_empty(), "{:#?}", small.problems);
    let found = State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand };
    let walk = plan(&small.context(super::NOW), &[], Depth::Full, Use::Range, found);
    let walk = walk.unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(walk.steps.iter().map(|ask| ask.state.stance).collect::<Vec<_>>(), [Stance::FrontRaised]);
}
