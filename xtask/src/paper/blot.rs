//! Wears the codes on a grey picture: dots of dirt and of lost toner over a tenth of each.

use anyhow::{Context, ensure};
use std::fs;
use std::path::Path;

/// The share of a code that is worn away.
const SHARE: f64 = 0.10;
/// Dots it is worn by: half of them black, half of them white.
const DOTS: u32 = 10;
/// The finder patterns and their quiet rim take so much of a side; a code without all three is none.
const FINDER: f64 = 0.28;

/// Where a code lies on a picture, in pixels: left, top, right, bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Place(pub(super) [f64; 4]);

impl Place {
    /// Reads a polygon as the decoder prints it: `+10,+12 +10,+90 +88,+90 +88,+12`, any number of corners.
    pub(super) fn read(polygon: &str) -> Option<Self> {
        let corners: Option<Vec<(f64, f64)>> = polygon
            .split_whitespace()
            .map(|corner| {
                let (x, y) = corner.split_once(',')?;
                Some((x.parse().ok()?, y.parse().ok()?))
            })
            .collect();
        let corners = corners.filter(|corners| corners.len() >= 3)?;
        let bound = |pick: fn(f64, f64) -> f64, of: fn(&(f64, f64)) -> f64| corners.iter().map(of).reduce(pick);
        Some(Self([
            bound(f64::min, |corner| corner.0)?,
            bound(f64::min, |corner| corner.1)?,
            bound(f64::max, |corner| corner.0)?,
            bound(f64::max, |corner| corner.1)?,
        ]))
    }
}

/// Writes the picture anew with its codes worn.
pub(super) fn blot(from: &Path, to: &Path, codes: &[Place]) -> anyhow::Result<()> {
    let bytes = fs::read(from).with_context(|| format!("cannot read {}", from.display()))?;
    let mut picture = Picture::read(&bytes).with_context(|| format!("{} is no grey picture", from.display()))?;
    ensure!(!codes.is_empty(), "{} shows no code", from.display());
    for (index, code) in codes.iter().enumerate() {
        picture.wear(*code, u32::try_from(index).unwrap_or_default());
    }
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

    /// Lays the dots by rule, so that each run wears the same; none on a finder pattern.
    fn wear(&mut self, Place([left, top, right, bottom]): Place, seed: u32) {
        let (wide, high) = (right - left, bottom - top);
        let side = (SHARE / f64::from(DOTS)).sqrt();
        let mut state = seed.wrapping_mul(2_654_435_769).wrapping_add(40_503);
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
            self.fill([left + x * wide, top + y * high, left + (x + side) * wide, top + (y + side) * high], ink);
            laid += 1;
        }
    }

    fn fill(&mut self, [left, top, right, bottom]: [f64; 4], ink: u8) {
        let pixel = |at: f64, most: usize| (at.max(0.0).round() as usize).min(most);
        let (from, to) = (pixel(left, self.width), pixel(right, self.width));
        for y in pixel(top, self.height)..pixel(bottom, self.height) {
            if let Some(row) = self.grey.get_mut(y * self.width + from..y * self.width + to) {
                row.fill(ink);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Picture, Place};

    #[test]
    fn a_polygon_is_read_to_its_bounds() {
        assert_eq!(Place::read("+10,+12 +10,+90 +88,+91 +87,+12"), Some(Place([10.0, 12.0, 88.0, 91.0])));
        assert_eq!(Place::read("here"), None);
    }

    #[test]
    fn a_tenth_of_a_code_is_worn_and_its_finders_are_not() {
        let mut picture = Picture { width: 200, height: 200, grey: vec![128; 200 * 200] };
        picture.wear(Place([0.0, 0.0, 200.0, 200.0]), 1);
        let worn = picture.grey.iter().filter(|grey| **grey != 128).count();
        // Dots may lie over each other.
        assert!((2800..=4000).contains(&worn), "{worn} of 40000");
        let read = Picture::read(&picture.write()).unwrap();
        assert!((0..50).all(|y| read.grey[y * 200..y * 200 + 50].iter().all(|grey| *grey == 128)));
    }
}
