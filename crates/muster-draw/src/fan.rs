//! What is to come, under a ruler: a fan from the reading to the limit that fades as it gets farther off.

use crate::{
    draw::{at, line, percent, put},
    number::escaped,
    ruler::Ruler,
};

/// Where the fan begins, px: the dotted line of now.
const TOP: f64 = 90.0;
/// How far below it the farthest end lies, px.
const DEEP: f64 = 62.0;
/// Least distance between two labels, px.
const ROW: f64 = 14.0;

/// When a limit is met: at 5, 50 and 95 %.
#[derive(Clone, Debug, PartialEq)]
pub struct Ahead {
    /// Tells it from others on the page: the check's id.
    pub id: String,
    /// How far off, in any one unit, rising.
    pub off: [f64; 3],
    /// What stands on the limit's line there: an odometer, or how many days.
    pub labels: [String; 3],
    /// What stands at the line of now.
    pub now: String,
    /// The same in words, for who cannot see it.
    pub says: String,
}

impl Ahead {
    /// Whether there is room for it: the farthest end is in sight, and the limit still ahead.
    #[must_use]
    pub fn is_drawable(&self) -> bool {
        let [early, middle, late] = self.off;
        (0.0..=middle).contains(&early) && middle <= late && late.is_finite() && late > 0.0
    }
}

/// Draws the fan under a ruler whose reading lies before its limit.
pub(crate) fn fan(out: &mut String, ruler: &Ruler, ahead: &Ahead) {
    let (Some(reading), [limit]) = (&ruler.reading, ruler.notches.as_slice()) else { return };
    let width = limit - reading.x;
    let y = ahead.off.map(|off| off / ahead.off[2]);
    let (at_limit, at_reading, wide) = (percent(*limit), percent(reading.x), percent(width));
    line(out, (&at_limit, &at_limit), (54, 162), "r-drop");
    line(out, ("0", &at_limit), (90, 90), "r-axis");
    // Of 66 px in a hundred parts, the fan's own 62 px are 94.
    let [early, middle, late] = y.map(|y| 94.0 * y);
    let id = escaped(&ahead.id);
    put(
        out,
        format_args!(
            "<svg x=\"{at_reading}\" y=\"90\" width=\"{wide}\" height=\"66\" viewBox=\"0 0 100 100\" \
             preserveAspectRatio=\"none\" overflow=\"visible\"><defs><linearGradient id=\"fan-{id}\" x1=\"0\" x2=\"1\" \
             y1=\"0\" y2=\"0\"><stop offset=\"0\" class=\"r-fan0\"/><stop offset=\"1\" class=\"r-fan1\"/>\
             </linearGradient></defs><path d=\"M0 0L100 {early:.1}V{late:.1}Z\" fill=\"url(#fan-{id})\"/>\
             <path d=\"M0 0L100 {middle:.1}\" class=\"r-mid\" vector-effect=\"non-scaling-stroke\"/></svg>"
        ),
    );
    put(out, format_args!("<text x=\"100%\" y=\"93\" text-anchor=\"end\" class=\"r-pc\">%</text>"));
    put(out, format_args!("<text x=\"0%\" y=\"104\" class=\"r-note\">{}</text>", escaped(&ahead.now)));
    let tick = y.map(|y| TOP + DEEP * y);
    // From the farthest up: where two would touch, the nearer one moves up.
    let middle = tick[1].min(tick[2] - ROW);
    let rows = [tick[0].min(middle - ROW), middle, tick[2]];
    for ((tick, row), (label, (share, bold))) in
        tick.iter().zip(rows).zip(ahead.labels.iter().zip([(5, ""), (50, "50"), (95, "")]))
    {
        let (hit, odo) = if bold.is_empty() { ("r-hit", "r-odo") } else { ("r-hit r-hit50", "r-odo r-odo50") };
        let down = row - tick + 4.0;
        at(
            out,
            *limit,
            *tick,
            &format!(
                "<path d=\"M-3 0H6\" class=\"{hit}\"/><text x=\"9\" y=\"{down:.1}\" class=\"{odo}\">{}</text>",
                escaped(label)
            ),
        );
        put(
            out,
            format_args!("<text x=\"100%\" y=\"{:.1}\" text-anchor=\"end\" class=\"r-pc\">{share}</text>", row + 4.0),
        );
    }
}
