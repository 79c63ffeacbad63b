//! What is to come of a part, as its ruler's fan and in words.

use muster_core::{
    forecast::{
        coming::{Coming, far},
        practice::Clock,
    },
    quantity::{Unit, convert},
};
use muster_draw::{
    fan::Ahead,
    number::{figure_text, with_unit},
};

use crate::{ui::date_text, words::t, yard::Yard};

/// What is to come of one part.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Foretold {
    pub(crate) check: String,
    /// The fan; none where an end of it is out of sight.
    pub(crate) ahead: Option<Ahead>,
    /// Distance and day in words.
    pub(crate) says: String,
}

impl Foretold {
    /// Of a part on a machine whose odometer shows so many km.
    pub(crate) fn of(yard: Yard, coming: &Coming<'_>, odometer_km: Option<f64>) -> Self {
        let known = coming.forecast.known;
        let says = said(yard, coming);
        let ahead = match coming.left() {
            [Some(early), Some(middle), Some(late)] => Some(Ahead {
                id: known.check.clone(),
                off: [early, middle, late],
                labels: [early, middle, late].map(|left| label(yard, known.clock, left, odometer_km)),
                now: match (known.clock, odometer_km) {
                    (Clock::Distance, Some(km)) => t!("ahead-now", way = yard.way(km)),
                    _ => t!("ahead-today"),
                },
                says: says.clone(),
            }),
            _ => None,
        };
        Self { check: known.check.clone(), ahead, says }
    }
}

/// What stands on the limit's line: the odometer, or how many days or km from now.
fn label(yard: Yard, clock: Clock, left: f64, odometer_km: Option<f64>) -> String {
    let unit = yard.way_unit();
    match (clock, odometer_km) {
        (Clock::Days, _) => with_unit(&far(Some(left)), "d"),
        (Clock::Distance, None) => with_unit(&far(Some(convert(left, Unit::Kilometre, unit))), unit.symbol()),
        (Clock::Distance, Some(km)) => {
            let step = if left < 1000.0 { 10.0 } else { 100.0 };
            figure_text((convert(km + left, Unit::Kilometre, unit) / step).round() * step, 0)
        }
    }
}

/// Distance and day at 5, 50 and 95 %, and what it does not rest on.
pub(crate) fn said(yard: Yard, coming: &Coming<'_>) -> String {
    let known = coming.forecast.known;
    let unit = yard.way_unit();
    let factor = if known.clock == Clock::Days { 1.0 } else { convert(1.0, Unit::Kilometre, unit) };
    let symbol = if known.clock == Clock::Days { t!("ahead-days") } else { unit.symbol().to_owned() };
    let [early, middle, late] = coming.left().map(|left| match left {
        Some(left) => far(Some(left * factor)),
        None => t!("ahead-never"),
    });
    if let Some(on) = coming.past {
        return t!("ahead-past", on = date_text(on));
    }
    let middle = with_unit(&middle, &symbol);
    let told = match coming.days() {
        [Some(first), Some(usual), last] => {
            let (first, usual) = (date_text(first), date_text(usual));
            let last = last.map_or_else(|| t!("ahead-ten-years"), date_text);
            t!("ahead-told", middle = middle, early = early, late = late, usual = usual, first = first, last = last)
        }
        [Some(first), ..] => {
            t!("ahead-far", middle = middle, early = early, late = late, first = date_text(first))
        }
        _ => t!("ahead-farther", middle = middle, early = early, late = late),
    };
    if coming.forecast.row.readings > 0 { told } else { format!("{told} {}", t!("ahead-fellows")) }
}
