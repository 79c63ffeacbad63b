//! Checks the plan of a walk-round against trying every order, and against each of its rules.

use alloc::collections::BTreeSet;
use alloc::vec;
use alloc::vec::Vec;

use proptest::prelude::*;
use proptest::sample::{Index, subsequence};

use super::bounds::close;
use super::*;

const COSTS: Costs = Costs {
    walk_ms: [
        [0, 3, 4, 7, 4, 5],
        [3, 0, 2, 5, 2, 5],
        [4, 2, 0, 4, 6, 3],
        [7, 5, 4, 0, 4, 5],
        [4, 2, 6, 4, 0, 3],
        [5, 5, 3, 5, 3, 0],
    ],
    start_ms: [3, 4, 5, 6, 5, 6],
    power: PowerCosts { key_on_ms: 3, key_off_ms: 2, start_ms: 6, stop_ms: 2 },
    stance_ms: [[0, 4, 8, 24, 20], [4, 0, 5, 22, 18], [7, 5, 0, 28, 24], [15, 14, 20, 0, 30], [15, 14, 20, 30, 0]],
    warm_up_ms: 180,
};

const FOUND: State = State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand };

fn step(id: usize, station: Station, needs: Needs) -> Step {
    Step { id, station, needs, ms: 10, after: vec![] }
}

fn key(power: Power) -> Needs {
    Needs::ANY.powers(&[power])
}

/// Every legal order of steps and states, written out rule by rule; none shares code with the search.
struct Naive<'a> {
    steps: &'a [&'a Step],
    heat: Heat,
    walk: [[u64; 7]; 7],
    stance: [[u64; 5]; 5],
    costs: &'a Costs,
    best: Option<u64>,
}

impl Naive<'_> {
    /// Where on the way off, on, running, (warm) running, on, off; costs add up along it.
    fn power_cost(&self, from: State, to: State) -> Option<u64> {
        let power = self.costs.power;
        let up = |from: Power, to: Power| {
            let mut cost = 0;
            for (notch, ms) in [(Power::On, power.key_on_ms), (Power::Running, power.start_ms)] {
                if from < notch && notch <= to {
                    cost += u64::from(ms);
                }
            }
            for (notch, ms) in [(Power::On, power.key_off_ms), (Power::Running, power.stop_ms)] {
                if to < notch && notch <= from {
                    cost += u64::from(ms);
                }
            }
            cost
        };
        match (from.heat, to.heat) {
            (a, b) if a == b => Some(up(from.power, to.power)),
            (Heat::Cold, Heat::Warm) => {
                let warm_up = u64::from(self.costs.warm_up_ms);
                Some(up(from.power, Power::Running) + warm_up + up(Power::Running, to.power))
            }
            _ => None,
        }
    }

    fn legal(&self, order: &[(usize, State)]) -> bool {
        let (at, state) = order[order.len() - 1];
        let step = self.steps[at];
        let needs_warmth = |at: usize| self.warm(at, &mut BTreeSet::new());
        let earlier = &order[..order.len() - 1];
        let is_done = |id: usize| earlier.iter().any(|(at, _)| self.steps[*at].id == id);
        let asked = |id: usize| self.steps.iter().any(|step| step.id == id);
        let ran =
            |order: &[(usize, State)]| order.iter().any(|(_, s)| s.power == Power::Running || s.heat != self.heat);
        let before_run = |s: &State| s.power != Power::Running && s.heat == self.heat;
        if !step.needs.allows(state) || step.after.iter().any(|id| asked(*id) && !is_done(*id)) {
            return false;
        }
        if step.needs.is_cold_only() && (ran(earlier) || state.power == Power::Running) {
            return false;
        }
        if state.power != Power::Running
            && ran(order)
            && !(self.heat == Heat::Cold && state.heat == Heat::Warm && needs_warmth(at))
        {
            return false;
        }
        // What follows the warm-up follows all running, too.
        if state.power == Power::Running && earlier.iter().any(|(_, s)| s.power != Power::Running && !before_run(s)) {
            return false;
        }
        if !together(order.iter().map(|(_, s)| *s)) {
            return false;
        }
        let here = order.iter().filter(|(_, s)| *s == state).map(|(at, _)| self.steps[*at].station);
        let still = |power: Power, early: bool| {
            together_at(order.iter().map(|(_, s)| s.power == power && before_run(s) == early))
        };
        let running = together_at(order.iter().map(|(_, s)| s.power == Power::Running));
        let seated = Power::ALL.iter().all(|power| {
            [true, false].iter().all(|early| {
                let within = order.iter().filter(|(_, s)| s.power == *power && before_run(s) == *early);
                together_at(within.map(|(_, s)| s.stance == Stance::Seated))
            })
        });
        together(here)
            && [Power::Off, Power::On].into_iter().all(|power| still(power, true) && still(power, false))
            && running
            && seated
    }

    fn warm(&self, at: usize, seen: &mut BTreeSet<usize>) -> bool {
        let step = self.steps[at];
        seen.insert(at)
            && (!step.needs.allows_heat(Heat::Cold)
                || step.after.iter().any(|id| {
                    self.steps.iter().position(|other| other.id == *id).is_some_and(|other| self.warm(other, seen))
                }))
    }

    fn extend(&mut self, order: &mut Vec<(usize, State)>, now: State, place: usize, cost: u64) {
        if self.best.is_some_and(|best| cost >= best) {
            return;
        }
        if order.len() == self.steps.len() {
            self.best = Some(cost);
            return;
        }
        for at in 0..self.steps.len() {
            if order.iter().any(|(done, _)| *done == at) {
                continue;
            }
            let heats = if self.heat == Heat::Cold { vec![Heat::Cold, Heat::Warm] } else { vec![self.heat] };
            for heat in heats {
                for &power in Power::ALL {
                    for &stance in Stance::ALL {
                        let state = State { heat, power, stance };
                        order.push((at, state));
                        if self.legal(order)
                            && let Some(switching) = self.power_cost(now, state)
                        {
                            let step = self.steps[at];
                            let station = step.station as usize;
                            let leg = switching
                                + self.stance[now.stance as usize][stance as usize]
                                + self.walk[place][station]
                                + u64::from(step.ms);
                            self.extend(order, state, station, cost + leg);
                        }
                        order.pop();
                    }
                }
            }
        }
    }
}

fn together<T: PartialEq>(values: impl Iterator<Item = T>) -> bool {
    let mut runs: Vec<T> = Vec::new();
    for value in values {
        if runs.last() == Some(&value) {
            continue;
        }
        if runs.contains(&value) {
            return false;
        }
        runs.push(value);
    }
    true
}

fn together_at(marks: impl Iterator<Item = bool>) -> bool {
    let marks: Vec<bool> = marks.collect();
    marks.iter().enumerate().filter(|(at, mark)| **mark && (*at == 0 || !marks[at - 1])).count() <= 1
}

fn naive(found: State, steps: &[Step], deferred: &[Deferred], costs: &Costs) -> Option<u64> {
    let doable: Vec<&Step> = steps.iter().filter(|step| deferred.iter().all(|gone| gone.id != step.id)).collect();
    let mut walk = [[u64::from(u32::MAX); 7]; 7];
    for (row, ms) in costs.walk_ms.iter().chain([&costs.start_ms]).enumerate() {
        for (column, ms) in ms.iter().enumerate() {
            walk[row][column] = u64::from(*ms);
        }
    }
    let heat = if found.power == Power::Running { found.heat.max(Heat::Warm) } else { found.heat };
    let stance = close(costs.stance_ms.map(|row| row.map(u64::from)));
    let mut naive = Naive { steps: &doable, heat, walk: close(walk), stance, costs, best: None };
    naive.extend(&mut vec![], State { heat, ..found }, 6, 0);
    naive.best
}

fn some_of<T: Copy + core::fmt::Debug + 'static>(all: &'static [T]) -> BoxedStrategy<Vec<T>> {
    prop_oneof![
        2 => Just(all.to_vec()),
        3 => (0..all.len()).prop_map(move |at| vec![all[at]]),
        1 => subsequence(all.to_vec(), 1..=all.len()),
    ]
    .boxed()
}

fn needs() -> impl Strategy<Value = Needs> {
    (some_of(Heat::ALL), some_of(Power::ALL), some_of(Stance::ALL))
        .prop_map(|(heats, powers, stances)| Needs::ANY.heats(&heats).powers(&powers).stances(&stances))
        .prop_filter("some state will do", |needs| needs.can_be_met())
}

fn round(most: usize) -> impl Strategy<Value = Vec<Step>> {
    let after = prop::collection::vec(any::<Index>(), 0..2);
    let one = (0usize..6, needs(), 1u32..60, after, prop::bool::weighted(0.3));
    prop::collection::vec(one, 1..=most).prop_map(|rows| {
        let one = |(id, (station, needs, ms, after, bound)): (usize, (usize, Needs, u32, Vec<Index>, bool))| Step {
            id,
            station: Station::ALL[station],
            needs,
            ms,
            after: if id > 0 && bound { after.iter().map(|at| at.index(id)).collect() } else { vec![] },
        };
        rows.into_iter().enumerate().map(one).collect()
    })
}

fn found() -> impl Strategy<Value = State> {
    (0usize..3, 0usize..3, 0..Stance::ALL.len()).prop_map(|(heat, power, stance)| State {
        heat: Heat::ALL[heat],
        power: Power::ALL[power],
        stance: Stance::ALL[stance],
    })
}

fn any_costs() -> impl Strategy<Value = Costs> {
    let power = (0u32..9, 0u32..9, 0u32..9, 0u32..9);
    let stances = prop::array::uniform5(prop::array::uniform5(0u32..25));
    let walks = prop::array::uniform6(prop::array::uniform6(0u32..15));
    (walks, prop::array::uniform6(0u32..15), power, stances, 0u32..60).prop_map(
        |(walk_ms, start_ms, (on, off, start, stop), stance_ms, warm_up_ms)| Costs {
            walk_ms,
            start_ms,
            power: PowerCosts { key_on_ms: on, key_off_ms: off, start_ms: start, stop_ms: stop },
            stance_ms,
            warm_up_ms,
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn is_what_trying_every_order_finds(
        found in found(), steps in round(5), stations in 1usize..=6, costs in any_costs(),
    ) {
        // At few stations many a step is done with another one at the latest, which the search leaves out.
        let at = |step: &Step| Station::ALL[step.station as usize % stations];
        let steps: Vec<Step> = steps.iter().map(|step| Step { station: at(step), ..step.clone() }).collect();
        match plan(found, &steps, &costs) {
            Ok(plan) => {
                prop_assert_eq!(violations(&plan, &steps), vec![]);
                prop_assert_eq!(naive(found, &steps, &plan.deferred, &costs), Some(plan.total_ms));
            }
            Err(NoWalk::OrderImpossible { pairs }) => {
                prop_assert!(!pairs.is_empty());
                prop_assert!(still_impossible(found, &steps, &pairs, &costs));
            }
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    #[test]
    fn keeps_every_rule(found in found(), steps in round(25)) {
        if let Ok(plan) = plan(found, &steps, &COSTS) {
            prop_assert_eq!(violations(&plan, &steps), vec![]);
        }
    }

    #[test]
    fn does_not_mind_the_order_it_is_asked_in(found in found(), steps in round(12), turn in any::<Index>()) {
        let mut turned = steps.clone();
        turned.rotate_left(turn.index(steps.len()));
        turned.reverse();
        prop_assert_eq!(plan(found, &steps, &COSTS), plan(found, &turned, &COSTS));
    }

    #[test]
    fn one_more_step_is_never_cheaper(found in found(), steps in round(12), costs in any_costs()) {
        let (_, fewer) = steps.split_last().unwrap();
        if let (Ok(more), Ok(fewer)) = (plan(found, &steps, &costs), plan(found, fewer, &costs)) {
            prop_assert!(fewer.total_ms <= more.total_ms);
        }
    }
}

fn still_impossible(found: State, steps: &[Step], pairs: &[(usize, usize)], costs: &Costs) -> bool {
    let only: Vec<Step> = steps
        .iter()
        .map(|step| {
            let after = step.after.iter().copied().filter(|first| pairs.contains(&(*first, step.id))).collect();
            Step { after, ..step.clone() }
        })
        .collect();
    let deferred: Vec<Deferred> = match plan(found, steps, costs) {
        Ok(plan) => plan.deferred,
        Err(_) => vec![],
    };
    // Deferred steps take no part: those of a contradiction are all doable.
    let involved: Vec<Step> =
        only.into_iter().filter(|step| pairs.iter().any(|(a, b)| *a == step.id || *b == step.id)).collect();
    naive(found, &involved, &deferred, costs).is_none()
}

#[test]
fn a_cold_machine_ends_with_the_engine() {
    let steps = [
        step(0, Station::FrontWheel, Needs::ANY.heats(&[Heat::Cold])),
        step(1, Station::Cockpit, key(Power::Running)),
        step(2, Station::RearWheel, Needs::ANY.powers(&[Power::Off, Power::On])),
        step(3, Station::Cockpit, key(Power::On)),
    ];
    let plan = plan(FOUND, &steps, &COSTS).unwrap();
    let order: Vec<usize> = plan.steps.iter().map(|step| step.id).collect();
    // 3 s to the front wheel, 7 to the rear, 5 to the cockpit; key on 3, start 6; four steps of 10.
    assert_eq!(order, [0, 2, 3, 1]);
    assert_eq!((plan.walking_ms, plan.changing_ms, plan.total_ms), (15, 9, 64));
}

#[test]
fn warmth_costs_the_warm_up_and_comes_last() {
    let warm = step(0, Station::Under, Needs::ANY.heats(&[Heat::Warm]).powers(&[Power::Off]));
    let steps = [warm, step(1, Station::Under, key(Power::Off))];
    let plan = plan(FOUND, &steps, &COSTS).unwrap();
    let order: Vec<usize> = plan.steps.iter().map(|step| step.id).collect();
    assert_eq!(order, [1, 0]);
    assert_eq!(plan.changing_ms, 3 + 6 + 180 + 2 + 2);
}

#[test]
fn what_needs_it_colder_is_deferred_with_its_reason() {
    let cold = step(0, Station::FrontWheel, Needs::ANY.heats(&[Heat::Cold]));
    let not_hot = step(1, Station::RearWheel, Needs::ANY.heats(&[Heat::Cold, Heat::Warm]));
    let follows = Step { after: vec![0], ..step(2, Station::FrontWheel, Needs::ANY) };
    let hot = step(3, Station::Under, Needs::ANY.heats(&[Heat::Hot]));
    let steps = [cold, not_hot, follows, hot];
    let reasons = |heat| -> Vec<(usize, DeferReason)> {
        let plan = plan(State { heat, ..FOUND }, &steps, &COSTS).unwrap();
        plan.deferred.iter().map(|step| (step.id, step.reason)).collect()
    };
    assert_eq!(reasons(Heat::Cold), [(3, DeferReason::NeedsHot)]);
    assert_eq!(
        reasons(Heat::Warm),
        [(0, DeferReason::NeedsCold), (2, DeferReason::Waits { on: 0 }), (3, DeferReason::NeedsHot)]
    );
    assert_eq!(
        reasons(Heat::Hot),
        [(0, DeferReason::NeedsCold), (1, DeferReason::NeedsNotHot), (2, DeferReason::Waits { on: 0 })]
    );
}

#[test]
fn contradictions_name_their_steps() {
    let running = step(0, Station::Under, key(Power::Running));
    let off = Step { after: vec![0], ..step(1, Station::Under, key(Power::Off)) };
    let harmless = Step { after: vec![1], ..step(2, Station::Cockpit, Needs::ANY) };
    assert_eq!(plan(FOUND, &[running, off, harmless], &COSTS), Err(NoWalk::OrderImpossible { pairs: vec![(0, 1)] }));
    let ring = |id, after| Step { after: vec![after], ..step(id, Station::Under, Needs::ANY) };
    assert_eq!(plan(FOUND, &[ring(4, 5), ring(5, 4)], &COSTS), Err(NoWalk::Cycle { ids: vec![4, 5] }));
    let twice = step(4, Station::Under, Needs::ANY);
    assert_eq!(plan(FOUND, &[twice.clone(), twice], &COSTS), Err(NoWalk::Duplicate { id: 4 }));
    let never = step(7, Station::Under, Needs::ANY.stances(&[]));
    assert_eq!(plan(FOUND, &[never], &COSTS), Err(NoWalk::NeverMet { id: 7 }));
}

#[test]
fn no_steps_take_no_time() {
    let plan = plan(FOUND, &[], &COSTS).unwrap();
    assert_eq!((plan.steps.len(), plan.total_ms), (0, 0));
}

#[test]
fn the_checker_sees_a_spoilt_plan() {
    let steps = [
        step(0, Station::FrontWheel, Needs::ANY.heats(&[Heat::Cold])),
        step(1, Station::Cockpit, key(Power::Running)),
        step(2, Station::FrontWheel, Needs::ANY.powers(&[Power::Off])),
    ];
    let good = plan(FOUND, &steps, &COSTS).unwrap();
    let mut swapped = good.clone();
    swapped.steps.reverse();
    assert!(violations(&swapped, &steps).contains(&Violation::NotCold { id: 0 }));
    assert!(violations(&swapped, &steps).contains(&Violation::RunningNotLast { id: 2 }));
    let mut short = good.clone();
    short.steps.pop();
    assert!(violations(&short, &steps).contains(&Violation::Missing { id: 1 }));
    assert!(violations(&short, &steps).contains(&Violation::WrongSum));
}
