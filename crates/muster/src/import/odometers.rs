//! Odometer figures of one machine beside those that are known: what falls does not stand.

use std::collections::BTreeMap;

use muster_core::calendar::Moment;

/// A figure of an odometer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Figure {
    /// When it was read.
    pub(super) at: Moment,
    /// What it showed, in km.
    pub(super) km: f64,
    /// The row it stands in; none: it is known already.
    pub(super) row: Option<usize>,
}

/// Rows whose figure is off, each with the figure it contradicts. Whoever stands alone is wrong: the greatest number of
/// figures that never fall stands, those that are known counting twice.
pub(super) fn off(mut figures: Vec<Figure>) -> Vec<(usize, Figure)> {
    figures.sort_by(|a, b| a.at.cmp(&b.at).then(a.km.total_cmp(&b.km)));
    let stands = standing(&figures);
    let mut out = Vec::new();
    for (index, figure) in figures.iter().enumerate().filter(|(index, _)| !stands.contains(index)) {
        let Some(row) = figure.row else { continue };
        let known = |at: &&usize| figures.get(**at).is_some_and(|other| (other.km < figure.km) == (**at > index));
        let before = stands.iter().rev().filter(|at| **at < index).find(known);
        let against = before.or_else(|| stands.iter().filter(|at| **at > index).find(known));
        out.extend(against.and_then(|at| figures.get(*at)).map(|against| (row, *against)));
    }
    out
}

/// The weightiest of the runs that never fall, in the order of time.
fn standing(figures: &[Figure]) -> Vec<usize> {
    // By the figure a run ends with: its weight and its last place. More km always weighs more, else it is left out.
    let mut runs = BTreeMap::<u64, (u32, usize)>::new();
    let mut before: Vec<Option<usize>> = Vec::new();
    for (index, figure) in figures.iter().enumerate() {
        // Figures are not negative, so their bits are in their order.
        let key = figure.km.to_bits();
        let best = runs.range(..=key).next_back().map(|(_, run)| *run);
        before.push(best.map(|(_, last)| last));
        let weight = best.map_or(0, |(weight, _)| weight) + if figure.row.is_none() { 2 } else { 1 };
        let lighter: Vec<u64> =
            runs.range(key..).take_while(|(_, (other, _))| *other <= weight).map(|(key, _)| *key).collect();
        lighter.into_iter().for_each(|key| _ = runs.remove(&key));
        runs.entry(key).or_insert((weight, index));
    }
    let mut out = Vec::new();
    let mut next = runs.last_key_value().map(|(_, (_, last))| *last);
    while let Some(index) = next {
        out.push(index);
        next = before.get(index).copied().flatten();
    }
    out.reverse();
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Figures day by day, K before one that is known; which rows are off, and what each contradicts.
    fn check(figures: &[&str], expect: &[(usize, f64)]) {
        let at = |day: usize| Moment::parse(&format!("2019-04-{:02}T12:00:00+00:00", day + 1)).unwrap();
        let read = figures.iter().enumerate().map(|(row, text)| Figure {
            at: at(row),
            km: text.trim_start_matches('K').parse().unwrap(),
            row: (!text.starts_with('K')).then_some(row),
        });
        let got: Vec<(usize, f64)> = off(read.collect()).into_iter().map(|(row, of)| (row, of.km)).collect();
        assert_eq!(got, expect, "{figures:?}");
    }

    #[test]
    fn one_figure_that_stands_alone_is_off_whichever_way() {
        check(&["100", "200", "200", "300"], &[]);
        check(&["100", "2000", "300", "400"], &[(1, 300.0)]);
        check(&["1000", "1200", "130", "1400"], &[(2, 1200.0)]);
        check(&["100", "K90", "120"], &[(0, 90.0)]);
        check(&["K100", "90", "K120"], &[(1, 100.0)]);
        // Of two that contradict each other the later stands.
        check(&["5", "4", "3"], &[(0, 3.0), (1, 3.0)]);
        check(&[], &[]);
    }
}
