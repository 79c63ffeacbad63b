//! The readiness of a machine's six stations as one small drawing: what is fit is light, what asks for attention is not.

use muster_core::{
    judge::{UseVerdict, Verdict},
    state::Station,
};

use crate::number::escaped;

/// A verdict for each station, in walking order; none where nothing is asked there.
pub type Stations = [Option<Verdict>; 6];

/// Width and height it is drawn for.
const SIZE: (u32, u32) = (84, 28);
/// Each station's outline in walking order, seen from above with the front to the right, and its middle.
const SHAPES: [(&str, (f64, f64)); 6] = [
    ("M66.5 11.2 H79.5 Q82 11.2 82 14 Q82 16.8 79.5 16.8 H66.5 Z", (74.0, 14.0)),
    ("M55.5 1 L59.5 1 L64 10.5 V17.5 L59.5 27 H55.5 L59.2 17.5 V10.5 Z", (61.0, 14.0)),
    ("M26 2 H46 L53.5 8.4 H24.5 Z", (38.0, 5.2)),
    ("M5 10.6 H20.5 V17.4 H5 Q2 17.4 2 14 Q2 10.6 5 10.6Z", (11.0, 14.0)),
    ("M26 26 H46 L53.5 19.6 H24.5 Z", (38.0, 22.8)),
    ("M24.5 11.4 H55 V16.6 H24.5 Z", (40.0, 14.0)),
];

/// The gravest verdict at each station for one use; `station_of` tells where a check or a finding is.
#[must_use]
pub fn stations(of: &UseVerdict, station_of: impl Fn(&str) -> Option<Station>) -> Stations {
    let mut out = [None; 6];
    for outcome in &of.outcomes {
        let place = station_of(&outcome.check).and_then(|station| out.get_mut(station as usize));
        if let Some(place) = place {
            *place = (*place).max(Some(outcome.verdict));
        }
    }
    out
}

/// Draws it `width` px wide; what is not fit is told in one sentence to who cannot see it.
#[must_use]
pub fn ready(stations: &Stations, width: u32) -> String {
    let height = width * SIZE.1 / SIZE.0;
    let mut out = format!(
        "<svg class=\"ready\" viewBox=\"0 0 {} {}\" width=\"{width}\" height=\"{height}\" role=\"img\" aria-label=\"{}\">",
        SIZE.0,
        SIZE.1,
        escaped(&said(stations))
    );
    // One path for all stations of a verdict: a table draws hundreds.
    for verdict in [None, Some(Verdict::Fit), Some(Verdict::Watch), Some(Verdict::Unseen), Some(Verdict::Hold)] {
        let own = || stations.iter().zip(SHAPES).filter(|(of, _)| **of == verdict).map(|(_, shape)| shape);
        let outlines: Vec<&str> = own().map(|(outline, _)| outline).collect();
        if !outlines.is_empty() {
            let class = verdict.map_or("none", Verdict::as_str);
            out.push_str(&format!("<path d=\"{}\" class=\"z {class}\"/>", outlines.join("")));
        }
        out.push_str(&marks(verdict, own().map(|(_, middle)| middle)));
    }
    out.push_str("</svg>");
    out
}

/// What it shows in words: `rear-wheel watch, under unseen`.
#[must_use]
pub fn said(stations: &Stations) -> String {
    let unfit = Station::ALL.iter().zip(stations).filter_map(|(station, verdict)| match verdict {
        Some(Verdict::Fit) | None => None,
        Some(verdict) => Some(format!("{} {verdict}", station.as_str().replace('-', " "))),
    });
    let unfit: Vec<String> = unfit.collect();
    match (unfit.is_empty(), stations.iter().all(Option::is_none)) {
        (_, true) => "no station asked".to_owned(),
        (true, _) => "all stations fit".to_owned(),
        _ => unfit.join(", "),
    }
}

/// Shapes beside colour: a diamond for watch, a slash for hold; unseen has its hatch.
fn marks(verdict: Option<Verdict>, middles: impl Iterator<Item = (f64, f64)>) -> String {
    let class = match verdict {
        Some(Verdict::Watch) => "zd",
        Some(Verdict::Hold) => "zx",
        _ => return String::new(),
    };
    let mark = |(x, y): (f64, f64)| {
        if class == "zd" {
            let (left, right, top, low) = (x - 2.6, x + 2.6, y - 2.6, y + 2.6);
            format!("M{x} {top}L{right} {y}L{x} {low}L{left} {y}Z")
        } else {
            let (left, right, top, low) = (x - 2.6, x + 2.6, y - 3.4, y + 3.4);
            format!("M{left} {low}L{right} {top}")
        }
    };
    let marks: String = middles.map(mark).collect();
    if marks.is_empty() { marks } else { format!("<path d=\"{marks}\" class=\"{class}\"/>") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_asks_for_attention_has_a_shape_and_a_word() {
        let fit = Some(Verdict::Fit);
        let all = ready(&[fit; 6], 60);
        assert!(all.contains("aria-label=\"all stations fit\"") && all.contains("height=\"20\""), "{all}");
        assert!(!all.contains("zd") && !all.contains("zx"), "{all}");
        let mixed = [Some(Verdict::Hold), fit, None, Some(Verdict::Watch), fit, Some(Verdict::Unseen)];
        assert_eq!(said(&mixed), "front wheel hold, rear wheel watch, under unseen");
        let drawn = ready(&mixed, 84);
        assert_eq!((drawn.matches("zx").count(), drawn.matches("zd").count()), (1, 1), "{drawn}");
    }

    /// A station that nobody was asked about is not told as fit.
    #[test]
    fn nothing_asked_is_not_fit() {
        assert_eq!(said(&[None; 6]), "no station asked");
        assert!(!ready(&[None; 6], 60).contains("z fit"));
    }

    /// Reading the six names in the order of the drawing would else be luck.
    #[test]
    fn shapes_stand_in_walking_order() {
        assert_eq!(Station::ALL.len(), SHAPES.len());
        assert_eq!((Station::FrontWheel as usize, Station::Under as usize), (0, 5));
    }
}
