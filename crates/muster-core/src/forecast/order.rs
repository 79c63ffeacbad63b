//! What to order for the weeks ahead: how many of each are expected, and for which machines.

use alloc::{format, string::String, vec::Vec};

use crate::sorted::sort_by;

/// A part is told of without being asked for where its limit is met within the weeks with at least this probability.
pub const NEAR: f64 = 0.05;
/// A part is ordered where it runs out within the weeks with at least this probability.
pub const ORDERED: f64 = 0.2;

/// Something to order.
#[derive(Clone, Debug, PartialEq)]
pub struct Needed {
    /// Its name.
    pub name: String,
    /// How many are expected: the sum of the probabilities.
    pub expected: f64,
    /// The machines, each with the probability that it needs one, the surest first.
    pub machines: Vec<(String, f64)>,
}

/// A part that may have to be ordered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted<'p> {
    /// What to order.
    pub name: &'p str,
    /// For which machine.
    pub machine: &'p str,
    /// Where it is mounted: what wears and ages is one part.
    pub part: &'p str,
    /// The probability that it runs out.
    pub p: f64,
}

/// What is likely to be needed, the most first. A part that runs out by wear or by age is needed once.
#[must_use]
pub fn needed<'p>(parts: impl IntoIterator<Item = Wanted<'p>>) -> Vec<Needed> {
    let mut own: Vec<Wanted<'p>> = Vec::new();
    for one in parts {
        match own.iter_mut().find(|of| (of.name, of.machine, of.part) == (one.name, one.machine, one.part)) {
            Some(of) => of.p = 1.0 - (1.0 - of.p) * (1.0 - one.p),
            None => own.push(one),
        }
    }
    let mut out: Vec<Needed> = Vec::new();
    for Wanted { name, machine, p, .. } in own.into_iter().filter(|of| of.p >= ORDERED) {
        match out.iter_mut().find(|needed| needed.name == name) {
            Some(needed) => {
                needed.expected += p;
                needed.machines.push((machine.into(), p));
            }
            None => out.push(Needed { name: name.into(), expected: p, machines: [(machine.into(), p)].into() }),
        }
    }
    for needed in &mut out {
        sort_by(&mut needed.machines, |a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    }
    sort_by(&mut out, |a, b| b.expected.total_cmp(&a.expected).then_with(|| a.name.cmp(&b.name)));
    out
}

/// A probability for who orders: whole per cents, a hundred only where the limit is met already.
#[must_use]
pub fn likely(p: f64) -> String {
    match libm::round(p * 100.0) {
        whole if whole < 1.0 && p > 0.0 => "<\u{a0}1\u{a0}%".into(),
        whole if whole > 99.0 && p < 1.0 => ">\u{a0}99\u{a0}%".into(),
        whole => format!("{whole}\u{a0}%"),
    }
}

#[cfg(test)]
mod tests {
    use super::{Wanted, likely, needed};

    #[test]
    fn a_tyre_that_wears_and_ages_is_ordered_once() {
        let of = |machine, part, p| Wanted { name: "Tyre", machine, part, p };
        let all = [of("A", "front", 0.5), of("A", "front", 0.5), of("A", "rear", 0.25), of("B", "rear", 0.1)];
        let found = needed(all);
        assert!(found.len() == 1 && (found[0].expected - 1.0).abs() < 1e-12, "{found:?}");
        assert_eq!(found[0].machines, [("A".into(), 0.75), ("A".into(), 0.25)]);
    }

    #[test]
    fn a_hundred_is_said_of_what_is_certain_alone() {
        let told = [0.0, 0.004, 0.05, 0.994, 0.996, 1.0].map(likely);
        let said = ["0\u{a0}%", "<\u{a0}1\u{a0}%", "5\u{a0}%", "99\u{a0}%", ">\u{a0}99\u{a0}%", "100\u{a0}%"];
        assert_eq!(told, said);
    }
}
