//! Readings of one check over the distance ridden, against its limits: x in per cent, y in px, as on the ruler.

use std::fmt::Write as _;

use muster_core::quantity::{Unit, convert};

use crate::number::{escaped, figure_text, with_unit};

/// Height of the drawing, and of the field in it, px.
const HEIGHT: f64 = 132.0;
const TOP: f64 = 10.0;
const FOOT: f64 = 106.0;
/// Room kept at the left for the figures of the limits and at the right for the last reading, per cent.
const LEFT: f64 = 3.0;
const RIGHT: f64 = 96.0;
/// Room kept above the highest and beneath the lowest figure, as a share of what lies between.
const BESIDE: f64 = 0.08;

/// One reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// What the odometer showed, km.
    pub km: f64,
    /// The reading, in the chart's unit.
    pub value: f64,
    /// Read anew after an act: the line does not run through the act.
    pub set: bool,
}

/// What is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// Name of the check.
    pub name: String,
    /// Symbol of the unit.
    pub unit: &'static str,
    /// Decimals figures are shown with.
    pub decimals: usize,
    /// The least allowed.
    pub at_least: Option<f64>,
    /// The most allowed.
    pub at_most: Option<f64>,
    /// The unit distances are shown in.
    pub way: Unit,
    /// Readings at each place, oldest first.
    pub places: Vec<(Option<String>, Vec<Point>)>,
}

impl Chart {
    /// Draws it; none with fewer than two readings that can be placed, which would show nothing.
    #[must_use]
    pub fn draw(&self) -> Option<String> {
        let field = Field::of(self)?;
        let mut out = format!(
            "<svg class=\"chart\" width=\"100%\" height=\"{HEIGHT}\" role=\"img\" aria-label=\"{}\">",
            escaped(&self.said()?)
        );
        let body = FOOT - TOP;
        put(&mut out, format_args!("<rect y=\"{TOP}\" width=\"100%\" height=\"{body}\" class=\"r-body\"/>"));
        for (limit, low) in [(self.at_least, true), (self.at_most, false)] {
            let Some(limit) = limit.filter(|limit| limit.is_finite()) else { continue };
            field.limit(&mut out, limit, low);
        }
        put(&mut out, format_args!("<line x2=\"100%\" y1=\"{FOOT}\" y2=\"{FOOT}\" class=\"r-base\"/>"));
        for (_, points) in &self.places {
            field.place(&mut out, points);
        }
        self.names(&mut out, &field);
        out.push_str("</svg>");
        Some(out)
    }

    /// Whether there is anything to draw.
    #[must_use]
    pub fn shows(&self) -> bool {
        Field::of(self).is_some()
    }

    /// The chart in one sentence.
    #[must_use]
    pub fn said(&self) -> Option<String> {
        let all = || self.places.iter().flat_map(|(_, points)| points);
        let first = all().min_by(|a, b| a.km.total_cmp(&b.km))?;
        let last = all().max_by(|a, b| a.km.total_cmp(&b.km))?;
        let value = |value: f64| with_unit(&figure_text(value, self.decimals), self.unit);
        let limit = match (self.at_least, self.at_most) {
            (Some(low), Some(high)) => format!("; limit {} to {}", figure_text(low, self.decimals), value(high)),
            (Some(low), None) => format!("; limit at least {}", value(low)),
            (None, Some(high)) => format!("; limit at most {}", value(high)),
            (None, None) => String::new(),
        };
        Some(format!(
            "{}: {} readings from {} to {}, {} to {}{limit}.",
            self.name,
            all().count(),
            way(first.km, self.way),
            way(last.km, self.way),
            value(first.value),
            value(last.value)
        ))
    }

    fn names(&self, out: &mut String, field: &Field) {
        for limit in [self.at_least, self.at_most].into_iter().flatten().filter(|limit| limit.is_finite()) {
            let y = field.y(limit);
            // Above its line, but where it would leave the drawing.
            let y = if y - 5.0 < TOP + 6.0 { y + 14.0 } else { y - 5.0 };
            let text = escaped(&with_unit(&figure_text(limit, self.decimals), self.unit));
            put(out, format_args!("<text x=\"1%\" y=\"{y:.1}\" class=\"r-limlab c-halo\">limit {text}</text>"));
        }
        for (at, anchor, km_there) in [("0", "start", field.from_km), ("100%", "end", field.to_km)] {
            let text = way(km_there, self.way);
            put(
                out,
                format_args!("<text x=\"{at}\" y=\"124\" text-anchor=\"{anchor}\" class=\"r-note\">{text}</text>"),
            );
        }
    }
}

/// Where figures lie.
struct Field {
    from_km: f64,
    to_km: f64,
    low: f64,
    high: f64,
}

impl Field {
    fn of(chart: &Chart) -> Option<Self> {
        let points = || chart.places.iter().flat_map(|(_, points)| points);
        if points().count() < 2 || points().any(|of| !of.km.is_finite() || !of.value.is_finite()) {
            return None;
        }
        let limits = [chart.at_least, chart.at_most].into_iter().flatten().filter(|limit| limit.is_finite());
        let values = || points().map(|of| of.value).chain(limits.clone());
        let (low, high) = (values().reduce(f64::min)?, values().reduce(f64::max)?);
        let beside = ((high - low) * BESIDE).max(10f64.powi(-i32::try_from(chart.decimals).unwrap_or(0)));
        let (from_km, to_km) = (points().map(|of| of.km).reduce(f64::min)?, points().map(|of| of.km).reduce(f64::max)?);
        Some(Self { from_km, to_km, low: low - beside, high: high + beside })
    }

    /// In per cent; all in the middle where nothing was ridden.
    fn x(&self, km: f64) -> f64 {
        let ridden = self.to_km - self.from_km;
        if ridden > 0.0 { LEFT + (km - self.from_km) / ridden * (RIGHT - LEFT) } else { f64::midpoint(LEFT, RIGHT) }
    }

    /// In px; what is greater stands higher.
    fn y(&self, value: f64) -> f64 {
        FOOT - (value - self.low) / (self.high - self.low) * (FOOT - TOP)
    }

    fn limit(&self, out: &mut String, limit: f64, low: bool) {
        let y = self.y(limit);
        let (from, height) = if low { (y, FOOT - y) } else { (TOP, y - TOP) };
        put(out, format_args!("<rect y=\"{from:.1}\" width=\"100%\" height=\"{height:.1}\" class=\"r-past\"/>"));
        put(out, format_args!("<line x2=\"100%\" y1=\"{y:.1}\" y2=\"{y:.1}\" class=\"r-notch\"/>"));
    }

    fn place(&self, out: &mut String, points: &[Point]) {
        for pair in points.windows(2) {
            let [a, b] = pair else { continue };
            let class = if b.set { "c-act" } else { "c-line" };
            put(
                out,
                format_args!(
                    "<line x1=\"{:.2}%\" x2=\"{:.2}%\" y1=\"{:.1}\" y2=\"{:.1}\" class=\"{class}\"/>",
                    self.x(a.km),
                    self.x(b.km),
                    self.y(a.value),
                    self.y(b.value)
                ),
            );
        }
        for (index, of) in points.iter().enumerate() {
            let (class, r) = if index + 1 == points.len() { ("c-last", 4.5) } else { ("c-dot", 2.6) };
            let (x, y) = (self.x(of.km), self.y(of.value));
            put(out, format_args!("<circle cx=\"{x:.2}%\" cy=\"{y:.1}\" r=\"{r}\" class=\"{class}\"/>"));
        }
    }
}

fn way(km: f64, unit: Unit) -> String {
    with_unit(&figure_text(convert(km, Unit::Kilometre, unit), 0), unit.symbol())
}

fn put(out: &mut String, text: std::fmt::Arguments<'_>) {
    // Writing to a string cannot fail.
    let _ = out.write_fmt(text);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tread(points: &[(f64, f64, bool)]) -> Chart {
        let points = points.iter().map(|(km, value, set)| Point { km: *km, value: *value, set: *set }).collect();
        Chart {
            name: "Rear tread".into(),
            unit: "mm",
            decimals: 1,
            at_least: Some(1.6),
            at_most: None,
            way: Unit::Kilometre,
            places: vec![(None, points)],
        }
    }

    #[test]
    fn a_chart_says_what_it_shows() {
        let chart = tread(&[(8_050.0, 5.6, false), (10_200.0, 4.4, false), (12_480.0, 3.1, false)]);
        let said = "Rear tread: 3 readings from 8050\u{a0}km to 12\u{202f}480\u{a0}km, 5.6\u{a0}mm to 3.1\u{a0}mm; \
                    limit at least 1.6\u{a0}mm.";
        let plain = |text: &str| text.replace(['\u{202f}', '\u{a0}'], " ");
        assert_eq!(plain(&chart.said().unwrap()), plain(said));
        // 1 mi is 1.609344 km: NIST SP 811, B.8.
        let miles = plain(&Chart { way: Unit::Mile, ..chart.clone() }.said().unwrap());
        assert!(miles.contains("from 5002 mi to 7755 mi"), "{miles}");
        let drawn = chart.draw().unwrap();
        assert_eq!((drawn.matches("c-line").count(), drawn.matches("c-last").count()), (2, 1), "{drawn}");
    }

    /// Greater is higher, further is more to the right, and the limit lies beneath what conforms.
    #[test]
    fn figures_lie_where_they_belong() {
        let chart = tread(&[(0.0, 7.0, false), (10_000.0, 2.0, false)]);
        let field = Field::of(&chart).unwrap();
        assert!(field.y(7.0) < field.y(2.0) && field.y(2.0) < field.y(1.6));
        assert!((field.x(5_000.0) - f64::midpoint(field.x(0.0), field.x(10_000.0))).abs() < 1e-9);
        assert!(field.x(0.0) >= 0.0 && field.x(10_000.0) <= 100.0);
    }

    #[test]
    fn what_shows_nothing_is_not_drawn() {
        assert_eq!(tread(&[(8_050.0, 5.6, false)]).draw(), None);
        assert_eq!(tread(&[(8_050.0, 5.6, false), (f64::NAN, 5.0, false)]).draw(), None);
        let stood = tread(&[(8_050.0, 5.6, false), (8_050.0, 5.6, true)]);
        let drawn = stood.draw().unwrap();
        assert!(!drawn.contains("NaN") && drawn.contains("c-act"), "{drawn}");
    }
}
