//! The top of a smooth function of a few numbers: quasi-Newton steps with differences.

/// What a search came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Top<const N: usize> {
    /// Where.
    pub at: [f64; N],
    /// How high.
    pub value: f64,
    /// Steps taken.
    pub steps: u32,
    /// Whether the slope there is below the one asked for; false where the steps ran out or no step led up.
    pub level: bool,
}

/// How long to go on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Until {
    /// Largest slope along any axis that counts as level.
    pub slope: f64,
    /// At most so many steps.
    pub steps: u32,
    /// Width of the differences.
    pub difference: f64,
    /// Differences to both sides: twice the work, and the slope's error is of the second order.
    pub both_sides: bool,
}

/// Climbs from a start. A function that is not a finite number somewhere counts as infinitely low there.
///
/// Source: Broyden, Fletcher, Goldfarb, Shanno (1970); backtracking by Armijo (1966), Pacific J. Math. 16, 1.
pub fn highest<const N: usize>(start: [f64; N], until: Until, mut f: impl FnMut(&[f64; N]) -> f64) -> Top<N> {
    let mut safe = |x: &[f64; N]| Some(f(x)).filter(|value| value.is_finite()).unwrap_or(f64::NEG_INFINITY);
    let mut at = start;
    let mut value = safe(&at);
    // The first look is to both sides: it tells the curvature along each axis too, and so how far to step.
    let (mut g, mut h) = first_look(&at, value, until.difference, &mut safe);
    for step in 0..until.steps {
        if flat(&g, until.slope) {
            return Top { at, value, steps: step, level: true };
        }
        let mut d = times(&h, &g);
        let mut gain = dot(&d, &g);
        if gain <= 0.0 {
            (h, d) = (identity(), g);
            gain = dot(&g, &g);
        }
        // No step is longer than this in any one direction: far off, differences say little.
        let longest = d.iter().fold(0.0_f64, |most, x| most.max(libm::fabs(*x)));
        let mut length = if longest > 1.0 { 1.0 / longest } else { 1.0 };
        let mut next = None;
        for _ in 0..30 {
            let mut there = at;
            for (x, d) in there.iter_mut().zip(d) {
                *x += length * d;
            }
            let high = safe(&there);
            if high >= value + 1e-4 * length * gain {
                next = Some((there, high));
                break;
            }
            length /= 2.0;
        }
        let Some((there, high)) = next else { return Top { at, value, steps: step, level: false } };
        let slope_there = slope((&there, high), until, &mut safe);
        let rise = high - value;
        learn(&mut h, &difference(&there, &at), &difference(&g, &slope_there));
        (at, value, g) = (there, high, slope_there);
        if rise < 1e-12 * libm::fabs(value) {
            break;
        }
    }
    let level = flat(&g, until.slope);
    Top { at, value, steps: until.steps, level }
}

/// Slope, and the inverse curvature along each axis where it bends down.
fn first_look<const N: usize>(
    at: &[f64; N],
    value: f64,
    step: f64,
    f: &mut impl FnMut(&[f64; N]) -> f64,
) -> ([f64; N], [[f64; N]; N]) {
    let (mut g, mut h) = ([0.0; N], identity::<N>());
    // Wide enough that rounding and small steps of the function do not pass for a bend.
    let wide = 30.0 * step;
    for i in 0..N {
        let mut moved = |by: f64| {
            let mut there = *at;
            there[i] += by;
            f(&there)
        };
        let (up, down) = (moved(wide), moved(-wide));
        let bend = (2.0 * value - up - down) / (wide * wide);
        let slope = (up - down) / (2.0 * wide);
        g[i] = if slope.is_finite() { slope } else { 0.0 };
        h[i][i] = if bend.is_finite() && bend > 1e-3 { 1.0 / bend } else { 1.0 };
    }
    (g, h)
}

/// Differences to one side or both.
fn slope<const N: usize>(
    (at, value): (&[f64; N], f64),
    until: Until,
    f: &mut impl FnMut(&[f64; N]) -> f64,
) -> [f64; N] {
    let step = until.difference;
    let mut out = [0.0; N];
    for (i, out) in out.iter_mut().enumerate() {
        let mut moved = |by: f64| {
            let mut there = *at;
            there[i] += by;
            f(&there)
        };
        let up = moved(step);
        let slope = if until.both_sides || !up.is_finite() {
            // At a wall the slope is the one from below.
            let down = moved(-step);
            if up.is_finite() { (up - down) / (2.0 * step) } else { (value - down) / step }
        } else {
            (up - value) / step
        };
        *out = if slope.is_finite() { slope } else { 0.0 };
    }
    out
}

/// The inverse curvature, learnt from a step `s` and the fall of slope `y` along it.
fn learn<const N: usize>(h: &mut [[f64; N]; N], s: &[f64; N], y: &[f64; N]) {
    let sy = dot(s, y);
    if sy < 1e-12 {
        return;
    }
    let hy = times(h, y);
    let scale = (1.0 + dot(y, &hy) / sy) / sy;
    for i in 0..N {
        for j in 0..N {
            h[i][j] += scale * s[i] * s[j] - (hy[i] * s[j] + s[i] * hy[j]) / sy;
        }
    }
}

/// Second differences at a point: the curvature, as it is (a top has none above 0).
pub fn curvature<const N: usize>(at: &[f64; N], step: f64, mut f: impl FnMut(&[f64; N]) -> f64) -> [[f64; N]; N] {
    let mut moved = |i: usize, a: f64, j: usize, b: f64| {
        let mut x = *at;
        x[i] += a;
        x[j] += b;
        f(&x)
    };
    let middle = moved(0, 0.0, 0, 0.0);
    let mut out = [[0.0; N]; N];
    let mut ends = [[0.0; 2]; N];
    for (i, ends) in ends.iter_mut().enumerate() {
        *ends = [moved(i, step, i, 0.0), moved(i, -step, i, 0.0)];
        out[i][i] = (ends[0] - 2.0 * middle + ends[1]) / (step * step);
    }
    for i in 0..N {
        for j in 0..i {
            // Two corners and what the axes already told.
            let corners = moved(i, step, j, step) + moved(i, -step, j, -step);
            let known = ends[i][0] + ends[i][1] + ends[j][0] + ends[j][1] - 2.0 * middle;
            out[i][j] = (corners - known) / (2.0 * step * step);
            out[j][i] = out[i][j];
        }
    }
    out
}

fn flat<const N: usize>(g: &[f64; N], asked: f64) -> bool {
    g.iter().all(|slope| libm::fabs(*slope) < asked)
}

fn identity<const N: usize>() -> [[f64; N]; N] {
    let mut out = [[0.0; N]; N];
    for (i, row) in out.iter_mut().enumerate() {
        row[i] = 1.0;
    }
    out
}

fn difference<const N: usize>(a: &[f64; N], b: &[f64; N]) -> [f64; N] {
    core::array::from_fn(|i| a[i] - b[i])
}

fn dot<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn times<const N: usize>(m: &[[f64; N]; N], v: &[f64; N]) -> [f64; N] {
    core::array::from_fn(|i| dot(&m[i], v))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curved_ridge_is_climbed() {
        // Rosenbrock (1960), Computer Journal 3, 175: its valley, upside down; the top is at (1, 1).
        let ridge = |x: &[f64; 2]| {
            let bend = x[1] - x[0] * x[0];
            -100.0 * bend * bend - (1.0 - x[0]) * (1.0 - x[0])
        };
        let top = highest([-1.2, 1.0], Until { slope: 1e-6, steps: 200, difference: 1e-5, both_sides: true }, ridge);
        assert!((top.at[0] - 1.0).abs() < 1e-4 && (top.at[1] - 1.0).abs() < 1e-4, "{top:?}");
    }

    #[test]
    fn where_there_is_no_figure_there_is_no_way() {
        let wall = |x: &[f64; 1]| if x[0] > 2.0 { f64::NAN } else { x[0] };
        let top = highest([0.0], Until { slope: 1e-6, steps: 50, difference: 1e-5, both_sides: true }, wall);
        assert!(top.at[0] <= 2.0 && top.at[0] > 1.9 && !top.level, "{top:?}");
    }
}
