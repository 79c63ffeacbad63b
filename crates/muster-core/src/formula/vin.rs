//! The vehicle identification number: alphabet, check digit, region, model-year code.

use alloc::string::String;
use core::fmt;

/// A vehicle identification number: 17 characters of the alphabet.
///
/// Invariant: 17 ASCII capitals and digits without I, O and Q; not all zeros.
/// Source: ISO 3779 and 49 CFR 565.13 (from memory).
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Vin([u8; 17]);

/// What is no vehicle identification number.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum VinRefusal {
    /// Not 17 characters.
    #[error("VIN must have 17 characters, got {got}")]
    Length {
        /// How many there were, less spaces and hyphens.
        got: usize,
    },
    /// A character outside the alphabet.
    #[error("VIN must have digits and letters other than I, O and Q, got {got:?} at position {position}{}", hint.map(|h| alloc::format!(": did you mean {h}?")).unwrap_or_default())]
    Character {
        /// Position, 1 to 17.
        position: usize,
        /// The character.
        got: char,
        /// The character it is easily taken for.
        hint: Option<char>,
    },
    /// All zeros: its check digit would be right, but no vehicle has it.
    #[error("VIN must not be all zeros")]
    AllZeros,
}

/// What the check digit says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[must_use]
pub enum CheckDigit {
    /// The ninth character is what the others ask for.
    Matches,
    /// It is not: a character was misread, or the number is not genuine.
    Differs {
        /// What should stand at position 9.
        expected: char,
    },
    /// The number comes from outside North America, where position 9 is free; never a reason to refuse it.
    NotRequired,
}

/// Where the maker was assigned its code, by the first character.
///
/// Source: ISO 3780 (from memory). What is assigned piecewise and anew, to several regions, reads as [`Self::Other`], so
/// that no check is made where none may be due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Region {
    /// A to C.
    Africa,
    /// J to R.
    Asia,
    /// S to Z.
    Europe,
    /// 1 to 5.
    NorthAmerica,
    /// 6.
    Oceania,
    /// 8 and 9.
    SouthAmerica,
    /// 0, 7, D to H: kept free once, assigned piecewise since.
    Other,
}

/// Position weights; position 9 itself counts nothing.
const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// Model-year codes of one cycle from 1980, in order; I, O, Q, U, Z and 0 are never used.
const YEAR_CODES: &[u8; 30] = b"ABCDEFGHJKLMNPRSTVWXY123456789";

impl Vin {
    /// Reads a number; spaces and hyphens are left out, small letters become capitals.
    ///
    /// # Errors
    /// [`VinRefusal`], with the likely character for I, O and Q.
    pub fn parse(text: &str) -> Result<Self, VinRefusal> {
        let kept = || text.chars().filter(|c| !c.is_whitespace() && *c != '-');
        let got = kept().count();
        let mut characters = [0; 17];
        if got != characters.len() {
            return Err(VinRefusal::Length { got });
        }
        for (index, (slot, character)) in characters.iter_mut().zip(kept()).enumerate() {
            let capital = character.to_ascii_uppercase();
            let byte = u8::try_from(capital).ok().filter(|byte| value(*byte).is_some());
            let refusal = VinRefusal::Character { position: index + 1, got: character, hint: meant(capital) };
            *slot = byte.ok_or(refusal)?;
        }
        if characters.iter().all(|byte| *byte == b'0') {
            return Err(VinRefusal::AllZeros);
        }
        Ok(Self(characters))
    }

    /// The number as text.
    #[must_use]
    pub fn text(&self) -> String {
        self.0.iter().copied().map(char::from).collect()
    }

    /// The character at a position, 1 to 17.
    #[must_use]
    pub fn character(&self, position: usize) -> Option<char> {
        position.checked_sub(1).and_then(|index| self.0.get(index)).copied().map(char::from)
    }

    /// What should stand at position 9, wherever the number comes from.
    ///
    /// r = (Σ wᵢ vᵢ) mod 11; 10 is written X
    ///
    /// Source: 49 CFR 565.15(c), tables III and IV (read in a public copy: values, weights, remainder).
    /// Worked: seventeen ones sum to 89, remainder 1 (tests/golden/evidence/physics.toml).
    #[must_use]
    pub fn expected_check_digit(&self) -> char {
        let sum: u32 = self.0.iter().zip(WEIGHTS).map(|(byte, weight)| weight * value(*byte).unwrap_or(0)).sum();
        char::from_digit(sum % 11, 10).unwrap_or('X')
    }

    /// What the check digit says; only a number of North America must have one.
    pub fn check_digit(&self) -> CheckDigit {
        let expected = self.expected_check_digit();
        match self.region() {
            Region::NorthAmerica if self.character(9) == Some(expected) => CheckDigit::Matches,
            Region::NorthAmerica => CheckDigit::Differs { expected },
            _ => CheckDigit::NotRequired,
        }
    }

    /// Where the maker was assigned its code.
    #[must_use]
    pub fn region(&self) -> Region {
        let [first, ..] = self.0;
        match first {
            b'A'..=b'C' => Region::Africa,
            b'J'..=b'R' => Region::Asia,
            b'S'..=b'Z' => Region::Europe,
            b'1'..=b'5' => Region::NorthAmerica,
            b'6' => Region::Oceania,
            b'8' | b'9' => Region::SouthAmerica,
            _ => Region::Other,
        }
    }

    /// The two model years the tenth character may mean, 30 years apart; none for a character that is no year code.
    ///
    /// For cars position 7 tells the two apart; for motorcycles nothing in the number does. Outside North America the
    /// character may mean something else.
    /// Source: 49 CFR 565.15(d)(1), table VII (from memory). Valid: model years 1980 to 2039.
    #[must_use]
    pub fn model_years(&self) -> Option<[i16; 2]> {
        let code = self.0.get(9)?;
        let index = YEAR_CODES.iter().position(|year| year == code)?;
        let first = 1980 + i16::try_from(index).ok()?;
        Some([first, first + 30])
    }
}

impl fmt::Display for Vin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{}", char::from(*byte)))
    }
}

impl fmt::Debug for Vin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Vin({self})")
    }
}

/// The value a character counts with, of 49 CFR 565.15(c) table III; none outside the alphabet.
fn value(byte: u8) -> Option<u32> {
    let from = |first: u8, counts: u8| Some(u32::from(byte - first + counts));
    match byte {
        b'0'..=b'9' => from(b'0', 0),
        b'A'..=b'H' => from(b'A', 1),
        b'J'..=b'N' => from(b'J', 1),
        b'P' => Some(7),
        b'R' => Some(9),
        b'S'..=b'Z' => from(b'S', 2),
        _ => None,
    }
}

fn meant(letter: char) -> Option<char> {
    match letter {
        'I' => Some('1'),
        'O' | 'Q' => Some('0'),
        _ => None,
    }
}
