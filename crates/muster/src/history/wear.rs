//! Part lives that nobody sees: drawn backwards from what the forms read, so that the story ends at them.

use jiff::civil::Date;

use super::{random::Random, settings::Wear};

/// One part's life: what is true of it, beside what is read.
///
/// value = new + rate · (turned − start), turned being the weighted kilometres (a battery: days) since the story began.
#[derive(Clone, Debug, PartialEq)]
pub struct Life {
    /// The machine.
    pub machine: String,
    /// The check it is read at.
    pub check: String,
    /// Where it is mounted.
    pub place: String,
    /// What it shows when new, in the check's unit.
    pub new: f64,
    /// Change per weighted kilometre; of a battery per day.
    pub rate: f64,
    /// What a kilometre of road weighs; one of the range weighs 1.
    pub road_weight: f64,
    /// Days are counted, not kilometres.
    pub by_days: bool,
    /// The count at its mounting; below zero: before the story.
    pub start: f64,
    /// Mounted within the story: the day and the odometer in km.
    pub mounted: Option<(Date, f64)>,
    /// Taken off within the story: the day and the odometer in km.
    pub removed: Option<(Date, f64)>,
    /// The record says *before, unknown*.
    pub unknown: bool,
}

impl Life {
    /// The true figure at a count.
    #[must_use]
    pub fn value(&self, turned: f64) -> f64 {
        self.new + self.rate * (turned - self.start)
    }

    /// The count of so many kilometres of each kind and so many days.
    #[must_use]
    pub fn turned(&self, range_km: f64, road_km: f64, days: f64) -> f64 {
        if self.by_days { days } else { range_km + self.road_weight * road_km }
    }
}

/// Where lives are drawn to end.
pub(super) struct Anchor {
    /// The count.
    pub(super) turned: f64,
    /// What is read there.
    pub(super) value: f64,
    /// What a new part shows.
    pub(super) new: f64,
    /// The figure it is taken off at, where that is told from its limit.
    pub(super) least: Option<f64>,
    /// The count at the mounting, where a form tells it, and what the part before showed new.
    pub(super) start: Option<(f64, f64)>,
}

/// Draws lives, the newest first, back to before the story.
pub(super) fn lives(machine: &str, row: &Wear, anchor: &Anchor, random: &mut Random) -> Vec<Life> {
    let by_days = row.check == "battery.rest";
    let per = if by_days { 365.0 } else { 1000.0 };
    let life = |new: f64, rate: f64, start: f64| Life {
        machine: machine.into(),
        check: row.check.clone(),
        place: row.place.clone(),
        new,
        rate,
        road_weight: row.road,
        by_days,
        start,
        mounted: None,
        removed: None,
        unknown: false,
    };
    let drawn = |random: &mut Random| libm::copysign(random.about(libm::fabs(row.rate), row.spread), row.rate) / per;
    let mut new = anchor.new;
    let (mut end, mut value) = (anchor.turned, anchor.value);
    let mut out = Vec::new();
    if let Some((start, before)) = anchor.start {
        out.push(life(new, drawn(random), start));
        (end, value, new) = (start, off(row, anchor, random), before);
    }
    while out.len() < 8 && out.last().is_none_or(|last: &Life| last.start > 0.0) {
        let rate = drawn(random);
        let start = (end - (value - new) / rate).min(end - 1.0);
        out.push(life(new, rate, start));
        (end, value) = (start, off(row, anchor, random));
    }
    out
}

fn off(row: &Wear, anchor: &Anchor, random: &mut Random) -> f64 {
    let margin = random.between(row.off.0, row.off.1);
    match anchor.least {
        Some(least) if row.check.ends_with(".disc") => least + margin,
        _ => margin,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lives_end_at_what_the_form_reads() {
        let row = Wear {
            check: "tyre.rear.tread".into(),
            place: "tyre.rear".into(),
            rate: -0.6,
            road: 0.8,
            spread: 0.2,
            off: (1.8, 2.2),
            job: "tyre-rear".into(),
            ends: Vec::new(),
        };
        let anchor = Anchor { turned: 9000.0, value: 4.0, new: 6.0, least: Some(1.0), start: None };
        let mut random = Random::new(1);
        let lives = lives("H-01", &row, &anchor, &mut random);
        assert!((lives[0].value(9000.0) - 4.0).abs() < 1e-9);
        for pair in lives.windows(2) {
            // Where the newer was mounted, the older had worn to where it is taken off.
            assert!((1.8..2.2).contains(&pair[1].value(pair[0].start)), "{lives:?}");
        }
        assert!(lives.last().unwrap().start <= 0.0);
    }
}
