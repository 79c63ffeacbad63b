//! Readings between two pumpings: where air was put in, noted or not, a stretch ends.

use alloc::vec::Vec;

/// What is beyond so many deviations of the difference from one day to the next is air put in and not noted, or a new hole.
const DEVIATIONS: f64 = 2.5;
/// Never less than this, kPa: nobody pumps for less.
const LEAST_KPA: f64 = 4.0;
/// A new hole lets out so much within two days, kPa.
const HOLE_KPA: f64 = 24.0;
/// So many readings on each side of a gap tell what changed in it: one alone may be a slip.
const BESIDE: usize = 4;

/// One cold reading.
#[derive(Clone, Copy)]
pub(super) struct Look {
    /// Days after the first moment there is.
    pub(super) day: f64,
    pub(super) kpa: f64,
    pub(super) gauge: usize,
    pub(super) step_kpa: f64,
}

/// Readings between two pumpings.
pub(super) type Stretch = Vec<Look>;

/// What tells air put in from air lost: how fast it is lost, a reading's variance, each gauge's error and its variance.
pub(super) struct Measure<'m> {
    /// kPa a day.
    pub(super) rate: f64,
    /// kPa².
    pub(super) variance: &'m dyn Fn(&Look) -> f64,
    pub(super) error: &'m dyn Fn(usize) -> (f64, f64),
}

/// What happened to a tyre: whether air was put in, and what was read.
pub(super) type Happened = (bool, Option<Look>);

/// Cuts what happened to a tyre in its order: where air was noted, and where what was read shows it.
pub(super) fn stretches(happened: &[Happened], measure: &Measure<'_>) -> Vec<Stretch> {
    let mut out = Vec::new();
    let (mut noted, mut was_set) = (Stretch::new(), false);
    for (is_set, look) in happened {
        was_set |= is_set;
        let Some(look) = look else { continue };
        if was_set {
            measure.cut(&core::mem::take(&mut noted), &mut out);
        }
        noted.push(*look);
        was_set = false;
    }
    measure.cut(&noted, &mut out);
    if was_set {
        out.push(Stretch::new());
    }
    out
}

impl Measure<'_> {
    /// Cuts readings at the gap in which most came in, as long as that is more than chance: binary segmentation.
    ///
    /// Source: Scott & Knott (1974), Biometrics 30, 507.
    fn cut(&self, looks: &[Look], out: &mut Vec<Stretch>) {
        let mut most = (1.0, 0);
        for gap in 1..looks.len() {
            let sure = self.changed(looks, gap);
            if sure > most.0 {
                most = (sure, gap);
            }
        }
        match looks.split_at_checked(most.1) {
            Some((before, after)) if !before.is_empty() => {
                self.cut(before, out);
                self.cut(after, out);
            }
            _ if looks.is_empty() => {}
            _ => out.push(looks.to_vec()),
        }
    }

    /// How sure it is that air came in (or a hole) between two readings: above 1 it counts.
    fn changed(&self, looks: &[Look], gap: usize) -> f64 {
        let (before, after) = looks.split_at(gap);
        let (Some(last), Some(first)) = (before.last(), after.first()) else { return 0.0 };
        let before = &before[before.len().saturating_sub(BESIDE)..];
        let after = &after[..after.len().min(BESIDE)];
        // All taken to one day by what is lost meanwhile.
        let level = |look: &Look| look.kpa - (self.error)(look.gauge).0 + self.rate * (look.day - first.day);
        let one = |looks: &[Look]| {
            let n = looks.len() as f64;
            (looks.iter().map(level).sum::<f64>() / n, looks.iter().map(self.variance).sum::<f64>() / (n * n))
        };
        let ((low, low_variance), (high, high_variance)) = (one(before), one(after));
        // Of two gauges the errors differ too.
        let errors = if before.iter().chain(after).all(|look| look.gauge == last.gauge) {
            0.0
        } else {
            (self.error)(last.gauge).1.max((self.error)(first.gauge).1)
        };
        let gained = high - low;
        let days = first.day - last.day;
        // The longer nobody read it, the likelier somebody pumped it: the odds grow with the days.
        let asked = libm::sqrt((DEVIATIONS * DEVIATIONS - 2.0 * libm::log(days.max(1.0))).max(1.0));
        let deviation = libm::sqrt(low_variance + high_variance + errors);
        if gained > 0.0 {
            gained / (asked * deviation).max(LEAST_KPA)
        } else if days <= 2.0 {
            -gained / (DEVIATIONS * deviation).max(HOLE_KPA)
        } else {
            0.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How many stretches a tyre's readings are cut into, which loses 0.3 kPa a day and is read with a deviation of 1 kPa.
    fn cut(read: &[(f64, f64)]) -> Vec<usize> {
        let happened: Vec<Happened> = read
            .iter()
            .map(|(day, kpa)| (false, Some(Look { day: *day, kpa: *kpa, gauge: 0, step_kpa: 0.0 })))
            .collect();
        let measure = Measure { rate: 0.3, variance: &|_| 1.0, error: &|_| (0.0, 0.0) };
        stretches(&happened, &measure).iter().map(Vec::len).collect()
    }

    #[test]
    fn air_put_in_and_not_noted_begins_a_stretch() {
        let lost = |from: f64, day: f64| (day, from - 0.3 * day);
        assert_eq!(cut(&[lost(220.0, 0.0), lost(220.5, 3.0), lost(219.5, 6.0), lost(220.0, 9.0)]), [4]);
        assert_eq!(cut(&[lost(220.0, 0.0), lost(220.5, 3.0), lost(230.5, 6.0), lost(230.0, 9.0)]), [2, 2]);
        // A month without loss: what went out came in again.
        assert_eq!(cut(&[lost(220.0, 0.0), lost(220.0, 3.0), (33.0, 219.0), (36.0, 218.2)]), [2, 2]);
        // A new hole within a day, and a fast leak over nine.
        assert_eq!(cut(&[(0.0, 220.0), (1.0, 219.6), (2.0, 170.0), (3.0, 169.8)]), [2, 2]);
        assert_eq!(cut(&[(0.0, 220.0), (9.0, 170.0)]), [2]);
    }

    #[test]
    fn noted_air_begins_one_whatever_is_read() {
        let look = |day| Some(Look { day, kpa: 220.0, gauge: 0, step_kpa: 0.0 });
        let measure = Measure { rate: 0.0, variance: &|_| 1.0, error: &|_| (0.0, 0.0) };
        let happened = [(false, look(0.0)), (true, None), (false, look(1.0)), (true, None)];
        assert_eq!(stretches(&happened, &measure).iter().map(Vec::len).collect::<Vec<_>>(), [1, 1, 0]);
    }
}
