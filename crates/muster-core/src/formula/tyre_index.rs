//! Load index and speed symbol of a tyre: the two tables behind its service description.

use crate::quantity::{Mass, OutOfRange, Speed};
use crate::words::Known;
use alloc::string::String;
use core::fmt;

/// Where both tables come from.
pub const SOURCE: &str = "UN R75 annex 4 and 2.34; ISO 4223-1";

/// Loads of the indices from [`LoadIndex::MIN`] on, kg.
const LOAD_KG: [f64; 75] = [
    71.0, 73.0, 75.0, 77.5, // 16
    80.0, 82.5, 85.0, 87.5, 90.0, 92.5, 95.0, 97.5, 100.0, 103.0, // 20
    106.0, 109.0, 112.0, 115.0, 118.0, 121.0, 125.0, 128.0, 132.0, 136.0, // 30
    140.0, 145.0, 150.0, 155.0, 160.0, 165.0, 170.0, 175.0, 180.0, 185.0, // 40
    190.0, 195.0, 200.0, 206.0, 212.0, 218.0, 224.0, 230.0, 236.0, 243.0, // 50
    250.0, 257.0, 265.0, 272.0, 280.0, 290.0, 300.0, 307.0, 315.0, 325.0, // 60
    335.0, 345.0, 355.0, 365.0, 375.0, 387.0, 400.0, 412.0, 425.0, 437.0, // 70
    450.0, 462.0, 475.0, 487.0, 500.0, 515.0, 530.0, 545.0, 560.0, 580.0, // 80
    600.0, // 90
];

/// Symbols and the speed each is good for, km/h, slowest first; Y is no symbol of UN R75, but seen.
const SYMBOLS: [(char, u16); 20] = [
    ('B', 50),
    ('C', 60),
    ('D', 65),
    ('E', 70),
    ('F', 80),
    ('G', 90),
    ('J', 100),
    ('K', 110),
    ('L', 120),
    ('M', 130),
    ('N', 140),
    ('P', 150),
    ('Q', 160),
    ('R', 170),
    ('S', 180),
    ('T', 190),
    ('U', 200),
    ('H', 210),
    ('V', 240),
    ('W', 270),
];

/// Above W: of car tyres, met on some for motorcycles.
const Y_KM_PER_H: u16 = 300;
/// What Z in a size stands for: above this.
const Z_ABOVE_KM_PER_H: u16 = 240;
const V_IN_SIZE_ABOVE_KM_PER_H: u16 = 210;

/// A load index of 16 to 90.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LoadIndex(u8);

/// An index or a symbol that is in no table here.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum IndexRefusal {
    /// No such load index.
    #[error("load index must be 16 to 90 on a motorcycle tyre, got {got}")]
    NoSuchIndex {
        /// What was read.
        got: String,
    },
    /// No such speed symbol.
    #[error("speed symbol must be one of BCDEFGJKLMNPQRSTUHVWY, as in 58W or (58W); got {got}")]
    NoSuchSymbol {
        /// What was read.
        got: String,
    },
}

impl LoadIndex {
    /// The least index in the table.
    pub const MIN: u8 = 16;
    /// The greatest index in the table.
    pub const MAX: u8 = 90;

    /// Takes an index.
    ///
    /// # Errors
    /// [`IndexRefusal::NoSuchIndex`] outside 16 to 90.
    pub fn new(index: u8) -> Result<Self, IndexRefusal> {
        if (Self::MIN..=Self::MAX).contains(&index) {
            return Ok(Self(index));
        }
        Err(IndexRefusal::NoSuchIndex { got: alloc::format!("{index}") })
    }

    /// The number on the wall.
    #[must_use]
    pub fn get(self) -> u8 {
        self.0
    }

    /// The load the tyre carries at its reference pressure and its symbol's speed.
    ///
    /// Source: [`SOURCE`]. The series follows 45 · 10^(index/80) kg within 2 %.
    /// Worked: 58 is 236 kg (tests/golden/evidence/workshop.toml).
    ///
    /// # Errors
    /// None in fact: every row of the table is a mass.
    pub fn load(self) -> Result<Mass, OutOfRange> {
        Mass::from_kg(self.kg())
    }

    /// How the row is known: 20, 24, 26 and 30 to 90 were read in public tables, the others are from memory.
    #[must_use]
    pub fn known(self) -> Known {
        if matches!(self.0, 20 | 24 | 26 | 30..) { Known::Secondary } else { Known::Memory }
    }

    /// The least index that carries a load; none if no index here does.
    #[must_use]
    pub fn least_for(load: Mass) -> Option<Self> {
        (Self::MIN..=Self::MAX).map(Self).find(|index| index.kg() >= load.kg())
    }

    pub(super) fn kg(self) -> f64 {
        LOAD_KG.get(usize::from(self.0 - Self::MIN)).copied().unwrap_or_default()
    }
}

impl fmt::Display for LoadIndex {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

/// A speed symbol, in brackets or not, or the Z of a size alone.
///
/// What is in brackets is good for more than its symbol says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SpeedSymbol {
    km_per_h: u16,
    above: bool,
    in_brackets: bool,
    symbol: char,
}

impl SpeedSymbol {
    /// Takes a symbol, as in 58W, or in brackets, as in (58W): good for more than 270 km/h.
    ///
    /// # Errors
    /// [`IndexRefusal::NoSuchSymbol`] for a letter that is none.
    pub fn new(symbol: char, in_brackets: bool) -> Result<Self, IndexRefusal> {
        let symbol = symbol.to_ascii_uppercase();
        let row = SYMBOLS.into_iter().chain([('Y', Y_KM_PER_H)]).find(|row| row.0 == symbol);
        let (symbol, km_per_h) = row.ok_or_else(|| IndexRefusal::NoSuchSymbol { got: symbol.into() })?;
        Ok(Self { km_per_h, above: in_brackets, in_brackets, symbol })
    }

    /// The Z of a size such as 120/70 ZR 17, where no service description says more: above 240 km/h.
    pub const Z: Self = Self { km_per_h: Z_ABOVE_KM_PER_H, above: true, in_brackets: false, symbol: 'Z' };

    const V_IN_SIZE: Self = Self { km_per_h: V_IN_SIZE_ABOVE_KM_PER_H, above: true, in_brackets: false, symbol: 'V' };

    /// Takes a symbol that stands in the size, as in 3.50 H 19, where no service description says more.
    ///
    /// There V only meant above 210 km/h, before W and Z parted from it (from memory).
    ///
    /// # Errors
    /// [`IndexRefusal::NoSuchSymbol`] for a letter that is none.
    pub fn in_size(symbol: char) -> Result<Self, IndexRefusal> {
        match symbol.to_ascii_uppercase() {
            'Z' => Ok(Self::Z),
            'V' => Ok(Self::V_IN_SIZE),
            other => Self::new(other, false),
        }
    }

    /// The letter.
    #[must_use]
    pub fn symbol(self) -> char {
        self.symbol
    }

    /// The speed it is surely good for.
    ///
    /// Source: [`SOURCE`]. Worked: H is 210 km/h (tests/golden/evidence/workshop.toml).
    ///
    /// # Errors
    /// None in fact: every row of the table is a speed.
    pub fn speed(self) -> Result<Speed, OutOfRange> {
        Speed::from_km_per_h(f64::from(self.km_per_h))
    }

    /// Whether it is good for more than that, by how much only the tyre's maker says.
    #[must_use]
    pub fn is_above(self) -> bool {
        self.above
    }

    /// How the row is known: a letter's speed was read in public tables, what a V in an old size means is from memory.
    #[must_use]
    pub fn known(self) -> Known {
        if self == Self::V_IN_SIZE { Known::Memory } else { Known::Secondary }
    }

    /// Whether a tyre with this symbol may stand where the other is asked for.
    #[must_use]
    pub fn is_at_least(self, asked: Self) -> bool {
        (self.km_per_h, self.above) >= (asked.km_per_h, asked.above)
    }
}

impl fmt::Display for SpeedSymbol {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.in_brackets { write!(f, "({})", self.symbol) } else { write!(f, "{}", self.symbol) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_loads_rise_as_their_series_does() {
        for index in LoadIndex::MIN..=LoadIndex::MAX {
            let (kg, series) = (LoadIndex(index).kg(), 45.0 * libm::exp10(f64::from(index) / 80.0));
            assert!((kg / series - 1.0).abs() < 0.02, "{index}: {kg} kg, {series}");
            assert!(index == LoadIndex::MIN || kg > LoadIndex(index - 1).kg());
        }
        assert!(LoadIndex::new(15).is_err() && LoadIndex::new(91).is_err());
    }

    #[test]
    fn the_least_index_carries_the_load_and_the_one_below_does_not() {
        let least = |kg| LoadIndex::least_for(Mass::from_kg(kg).unwrap()).map(LoadIndex::get);
        assert_eq!(
            [least(1.0), least(236.0), least(236.1), least(600.0), least(600.1)],
            [Some(16), Some(58), Some(59), Some(90), None]
        );
    }

    #[test]
    fn brackets_are_more_and_z_is_the_bracketed_v() {
        let of = |symbol, brackets| SpeedSymbol::new(symbol, brackets).unwrap();
        assert!(of('H', false).is_at_least(of('S', false)) && !of('S', false).is_at_least(of('H', false)));
        assert!(of('V', true).is_at_least(SpeedSymbol::Z) && SpeedSymbol::Z.is_at_least(of('V', true)));
        assert!(!of('V', false).is_at_least(SpeedSymbol::Z) && of('W', false).is_at_least(SpeedSymbol::Z));
        let old = SpeedSymbol::in_size('v').unwrap();
        assert!(old.is_at_least(of('H', false)) && !old.is_at_least(of('V', false)));
        assert!(SpeedSymbol::new('I', false).is_err() && SpeedSymbol::new('Z', false).is_err());
    }
}
