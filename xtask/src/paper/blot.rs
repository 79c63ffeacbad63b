//! Wears the code on a grey picture: patches of dirt and of lost toner over a tenth of it.

use anyhow::{Context, ensure};
use std::fs;
use std::path::Path;

/// The share of a code that is worn away.
const SHARE: f64 = 0.10;
/// Patches it is worn by: dirt, lost toner, dirt.
const DOTS: u32 = 3;
/// The quiet zone on each side, of 4 modules, in a code of 53 (ISO/IEC 18004, 6.3.8): more or less in others.
const QUIET: f64 = 4.0 / 61.0;
/// The finder patterns and their quiet rim take so much of a side; a code without all three is none.
const FINDER: f64 = 0.28;

/// Where a code lies on its sheet with its quiet zone: from the left or the right edge, from the top, its side; in mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) from: Edge,
    pub(super) top: f64,
    pub(super) side: f64,
}

/// The edge a code is measured from, and how far it is, in mm.
#[derive(Clone, Copy, Debug)]
pub(super) enum Edge {
    Left(f64),
    Right(f64),
}

impl Place {
    /// Its modules on a picture `width` pixels wide: left, top and side, in pixels.
    fn on(self, width: usize, dpi: u32) -> [f64; 3] {
        let pixels = |mm: f64| mm / 25.4 * f64::from(dpi);
        let left = match self.from {
            Edge::Left(mm) => pixels(mm),
            Edge::Right(mm) => width as f64 - pixels(mm + self.side),
        };
        let side = pixels(self.side);
        let quiet = side * QUIET;
        [left + quiet, pixels(self.top) + quiet, side - 2.0 * quiet]
    }
}

/// Writes the picture anew with its code worn; `wear` numbers the ways to.
pub(super) fn blot(from: &Path, to: &Path, code: Place, (dpi, wear): (u32, u32)) -> anyhow::Result<()> {
    let bytes = fs::read(from).with_context(|| format!("cannot read {}", from.display()))?;
    let mut picture = Picture::read(&bytes).with_context(|| format!("{} is no grey picture", from.display()))?;
    let [left, top, side] = code.on(picture.width, dpi);
    // A place that shows no code would prove nothing.
    let dark = picture.dark([left, top, left + side, top + side]);
    ensure!((0.3..0.7).contains(&dark), "{} shows no code where one is said to be: {dark:.2} dark", from.display());
    picture.wear([left, top, side], wear);
    fs::write(to, picture.write()).with_context(|| format!("cannot write {}", to.display()))
}

/// A grey picture of 8 bits a pixel (PGM, P5).
struct Picture {
    width: usize,
    height: usize,
    grey: Vec<u8>,
}

impl Picture {
    fn read(bytes: &[u8]) -> Option<Self> {
        let mut at = 0;
        let mut word = || {
            let rest = bytes.get(at..)?;
            let start = at + rest.iter().position(|byte| !byte.is_ascii_whitespace())?;
            let end = start + bytes.get(start..)?.iter().position(u8::is_ascii_whitespace)?;
            at = end + 1;
            std::str::from_utf8(bytes.get(start..end)?).ok()
        };
        let (kind, width, height, most) = (word()?, word()?, word()?, word()?);
        let (width, height) = (width.parse().ok()?, height.parse().ok()?);
        let grey = bytes.get(at..)?.to_vec();
        (kind == "P5" && most == "255" && grey.len() == width * height).then_some(Self { width, height, grey })
    }

    fn write(&self) -> Vec<u8> {
        let mut bytes = format!("P5\n{} {}\n255\n", self.width, self.height).into_bytes();
        bytes.extend_from_slice(&self.grey);
        bytes
    }

    /// The share of a rectangle that is dark.
    fn dark(&self, [left, top, right, bottom]: [f64; 4]) -> f64 {
        let (from, to) = (pixel(left, self.width), pixel(right, self.width));
        let rows = (pixel(top, self.height)..pixel(bottom, self.height))
            .filter_map(|y| self.grey.get(y * self.width + from..y * self.width + to));
        let (mut dark, mut all) = (0_usize, 0_usize);
        for row in rows {
            dark += row.iter().filter(|grey| **grey < 128).count();
            all += row.len();
        }
        dark as f64 / all.max(1) as f64
    }

    /// Lays the patches by rule, so that each run wears the same; none on a finder pattern.
    fn wear(&mut self, [left, top, size]: [f64; 3], way: u32) {
        let side = (SHARE / f64::from(DOTS)).sqrt();
        let mut state: u32 = way.wrapping_mul(2_654_435_769);
        let mut laid = 0;
        while laid < DOTS {
            let mut draw = || {
                state = state.wrapping_mul(1_103_515_245).wrapping_add(12_345) % (1 << 31);
                f64::from(state >> 8) / f64::from(1 << 23) * (1.0 - side)
            };
            let (x, y) = (draw(), draw());
            let near = |from: f64| from < FINDER;
            let far = |from: f64| from + side > 1.0 - FINDER;
            if near(x) && near(y) || far(x) && near(y) || near(x) && far(y) {
                continue;
            }
            let ink = if laid % 2 == 0 { 0 } else { 255 };
            let (x, y, side) = (left + x * size, top + y * size, side * size);
            self.fill([x, y, x + side, y + side], ink);
            laid += 1;
        }
    }

    fn fill(&mut self, [left, top, right, bottom]: [f64; 4], ink: u8) {
        let (from, to) = (pixel(left, self.width), pixel(right, self.width));
        for y in pixel(top, self.height)..pixel(bottom, self.height) {
            if let Some(row) = self.grey.get_mut(y * self.width + from..y * self.width + to) {
                row.fill(ink);
            }
        }
    }
}

/// The pixel a place falls on.
fn pixel(at: f64, most: usize) -> usize {
    (at.max(0.0).round() as usize).min(most)
}

#[cfg(test)]
mod tests {
    use super::Picture;

    #[test]
    fn a_tenth_of_a_code_is_worn_and_its_finders_are_not() {
        let mut picture = Picture { width: 200, height: 200, grey: vec![128; 200 * 200] };
        picture.wear([0.0, 0.0, 200.0], 1);
        let worn = picture.grey.iter().filter(|grey| **grey != 128).count();
        // Patches may lie over each other.
        assert!((2800..=4200).contains(&worn), "{worn} of 40000");
        let read = Picture::read(&picture.write()).unwrap();
        assert!((0..50).all(|y| read.grey[y * 200..y * 200 + 50].iter().all(|grey| *grey == 128)));
    }
}
