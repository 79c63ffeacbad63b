//! The station map: a machine seen from above, each station with how far it is looked at.

use std::fmt::Write as _;

use muster_core::{judge::Verdict, state::Station};

use crate::number::escaped;

/// The drawing; `{front}` and the like stand where a station's classes go.
const DRAWING: &str = include_str!("plan.svg");

/// A station's name in the drawing, and where its stop stands on the way round.
const STOPS: [(Station, &str, i32, i32); 6] = [
    (Station::FrontWheel, "front", 622, 125),
    (Station::Cockpit, "cockpit", 486, -22),
    (Station::LeftSide, "left", 300, -22),
    (Station::RearWheel, "rear", -22, 125),
    (Station::RightSide, "right", 300, 272),
    (Station::Under, "under", 310, 125),
];

/// How far a station is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// Nothing is asked for there.
    NotAsked,
    /// Something is still to be looked at.
    ToCome,
    /// Everything asked for is answered; the gravest of its verdicts.
    Done(Verdict),
}

impl Stop {
    const fn name(self) -> &'static str {
        match self {
            Self::NotAsked => "none",
            Self::ToCome => "todo",
            Self::Done(verdict) => verdict.as_str(),
        }
    }
}

/// The number of a station on the way round: 1 is the front wheel.
#[must_use]
pub fn number(station: Station) -> usize {
    STOPS.iter().position(|(of, ..)| *of == station).map_or(0, |index| index + 1)
}

/// The map as SVG. `stop` says how far each station is looked at, `here` where one stands; `says` is its one sentence for
/// who cannot see it.
#[must_use]
pub fn plan(stop: impl Fn(Station) -> Stop, here: Option<Station>, says: &str) -> String {
    let mut drawing = DRAWING.to_owned();
    for (station, name, ..) in STOPS {
        let cur = if here == Some(station) { " cur" } else { "" };
        drawing = drawing.replace(&format!("{{{name}}}"), &format!("{}{cur}", stop(station).name()));
    }
    let mut out = format!(
        "<svg class=\"plan\" viewBox=\"-60 -60 720 362\" width=\"100%\" role=\"img\" aria-label=\"{}\">{drawing}",
        escaped(says)
    );
    for (station, _, x, y) in STOPS {
        // Writing to a text cannot fail.
        let _ = match (stop(station), here == Some(station)) {
            (Stop::NotAsked, false) => Ok(()),
            (Stop::Done(verdict), false) => write!(
                out,
                "<g transform=\"translate({x} {y})\" class=\"stop done\"><rect x=\"-31.5\" y=\"-31.5\" width=\"63\" \
                 height=\"63\" class=\"bk\"/><use href=\"#g-{verdict}\" x=\"-30\" y=\"-30\" width=\"60\" height=\"60\"/></g>"
            ),
            (_, here) => {
                let (cur, r, dy, size) = if here { (" cur", 37.5, 16.5, 46.5) } else { ("", 30.0, 15.0, 42.0) };
                write!(
                    out,
                    "<g class=\"stop{cur}\" transform=\"translate({x} {y})\"><circle r=\"{r}\"/><text y=\"{dy}\" \
                     font-size=\"{size}\">{}</text></g>",
                    number(station)
                )
            }
        };
    }
    out.push_str("</svg>");
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn map(here: Option<Station>) -> String {
        let stop = |station| match station {
            Station::FrontWheel => Stop::Done(Verdict::Watch),
            Station::Under => Stop::NotAsked,
            _ => Stop::ToCome,
        };
        plan(stop, here, "a <map>")
    }

    #[test]
    fn every_station_gets_its_classes_and_none_is_left_in_braces() {
        let map = map(Some(Station::Cockpit));
        assert!(!map.contains('{'), "{map}");
        assert_eq!(map.matches("class=\"st todo cur\" data-station=\"cockpit\"").count(), 1);
        assert_eq!(map.matches("class=\"st watch\" data-station=\"front\"").count(), 2);
        assert!(map.contains("#g-watch") && map.contains("a &lt;map&gt;"));
    }

    #[test]
    fn what_is_not_asked_has_no_stop_and_numbers_follow_the_way_round() {
        assert!(!map(None).contains(">6</text>"));
        let numbers: Vec<usize> = Station::ALL.iter().map(|station| number(*station)).collect();
        assert_eq!(numbers, [1, 2, 3, 4, 5, 6]);
    }

    #[test]
    fn it_carries_no_style_of_its_own() {
        assert!(!map(None).contains("style="));
    }
}
