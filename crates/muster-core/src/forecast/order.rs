//! What to order for the weeks ahead: how many of each are expected, and for which machines.

use alloc::{string::String, vec::Vec};

use crate::sorted::sort_by;

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

/// What is likely to be needed, the most first, from each part's name, machine and probability.
#[must_use]
pub fn needed<'p>(parts: impl IntoIterator<Item = (&'p str, &'p str, f64)>) -> Vec<Needed> {
    let mut out: Vec<Needed> = Vec::new();
    for (name, machine, p) in parts.into_iter().filter(|(.., p)| *p >= ORDERED) {
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
