//! What is moulded on a motorcycle tyre's wall: size, construction, load index, speed symbol, tube.

use super::tyre_index::{IndexRefusal, LoadIndex, SpeedSymbol};
use crate::quantity::{Length, OutOfRange, Ratio};
use alloc::string::{String, ToString};
use core::fmt;

/// A tyre's marking, read.
///
/// The forms of UN R75 3.1 and ISO 5751 (from memory) and the older ones still on sale: 120/70 ZR 17 M/C (58W) TL,
/// 130/90-15 M/C 66P TT, 4.10-18 60P, 3.50 H 19, MT90B16 74H.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TyreMarking {
    /// Nominal width.
    pub width: SectionWidth,
    /// Section height over width, per cent; older sizes in inch name none.
    pub aspect: Option<u8>,
    /// How the carcass is built.
    pub construction: Construction,
    /// Nominal rim diameter, inch.
    pub rim_code: u8,
    /// Marked M/C: for rims of motorcycles, which a rim of the same code for cars does not fit.
    pub motorcycle: bool,
    /// Load index, if marked.
    pub load: Option<LoadIndex>,
    /// Speed symbol, of the service description or else of the size.
    pub speed: Option<SpeedSymbol>,
    /// With tube or without, if marked.
    pub tube: Option<Tube>,
    /// Marked reinforced.
    pub reinforced: bool,
    /// Ply rating of older tyres, as 4PR, if marked.
    pub ply_rating: Option<u8>,
}

/// How a width is marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SectionWidth {
    /// 120/70: millimetres.
    Millimetre(u16),
    /// 4.10: hundredths of an inch.
    InchHundredths(u16),
    /// MT90: a code letter behind the M, and the millimetres it stands for.
    Code(char, u16),
}

/// How a carcass is built.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Construction {
    /// Bias: a dash before the rim code, or nothing.
    Bias,
    /// Bias with a belt: B.
    Belted,
    /// Radial: R.
    Radial,
}

/// What holds the air.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tube {
    /// TL: the tyre itself.
    Tubeless,
    /// TT: a tube.
    Tubed,
}

/// A marking that could not be read, and which part of it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MarkingRefusal {
    /// The width is none.
    #[error("tyre size must begin with a width, as 120/70, 4.10 or MT90 do; got {got}")]
    Width {
        /// What stands there.
        got: String,
    },
    /// The aspect is none.
    #[error("tyre aspect must be 40 to 100, as the 70 of 120/70; got {got}")]
    Aspect {
        /// What stands there.
        got: String,
    },
    /// Neither a dash nor letters of construction before the rim code.
    #[error("before the rim code must stand -, B, R, ZR or a speed symbol; got {got}")]
    Construction {
        /// What stands there.
        got: String,
    },
    /// The rim code is none.
    #[error("rim code must be 8 to 26 inch, as the 17 of 120/70 R 17; got {got}")]
    Rim {
        /// What stands there.
        got: String,
    },
    /// A load index or speed symbol that is none.
    #[error(transparent)]
    Service(#[from] IndexRefusal),
    /// A word behind the size that means nothing here.
    #[error(
        "not understood on the tyre: {got}; behind the size may stand M/C, a load index and speed symbol, TL or TT, reinforced, 4PR"
    )]
    Word {
        /// The word.
        got: String,
    },
    /// The same thing said twice, or two things that exclude each other.
    #[error("the marking says {what} twice, the second time {got}: read it again")]
    Twice {
        /// What.
        what: &'static str,
        /// The second one.
        got: String,
    },
}

/// Widths of the alphanumeric codes, mm, on which three public charts agree (read). They do not on P (110 or 120), so that
/// it is refused; no standard was seen.
const CODES: [(char, u16); 8] =
    [('H', 80), ('J', 90), ('M', 100), ('N', 110), ('R', 120), ('T', 130), ('U', 140), ('V', 150)];

impl TyreMarking {
    /// Reads a marking, in capitals or small letters, with or without spaces about the rim code.
    ///
    /// # Errors
    /// [`MarkingRefusal`] with the first part that was not understood.
    pub fn parse(text: &str) -> Result<Self, MarkingRefusal> {
        let text = text.trim().to_ascii_uppercase();
        let (width, aspect, rest) = section(&text)?;
        let (construction, size_speed, rest) = carcass(rest)?;
        let (rim_code, rest) = rim(rest)?;
        let mut marking = Self {
            width,
            aspect,
            construction,
            rim_code,
            motorcycle: false,
            load: None,
            speed: None,
            tube: None,
            reinforced: false,
            ply_rating: None,
        };
        let mut words = rest.split_whitespace().peekable();
        while let Some(word) = words.next() {
            // A load index may stand apart from its symbol: 58 W.
            let joined = words.next_if(|next| is_index(word) && next.len() == 1).map(|symbol| [word, symbol].concat());
            marking.take(joined.as_deref().unwrap_or(word))?;
        }
        match (marking.speed, size_speed) {
            (Some(said), Some(sized)) if !agree(said, sized) => {
                Err(MarkingRefusal::Twice { what: "a speed symbol", got: said.to_string() })
            }
            (said, sized) => Ok(Self { speed: said.or(sized), ..marking }),
        }
    }

    /// The nominal width; a code's as its letter stands for.
    ///
    /// # Errors
    /// None in fact: every width that was read is a length.
    pub fn width_length(self) -> Result<Length, OutOfRange> {
        match self.width {
            SectionWidth::Millimetre(mm) | SectionWidth::Code(_, mm) => Length::from_mm(f64::from(mm)),
            SectionWidth::InchHundredths(hundredths) => Length::from_inch(f64::from(hundredths) / 100.0),
        }
    }

    /// The aspect, if the marking has one.
    ///
    /// # Errors
    /// None in fact: every aspect that was read is a share.
    pub fn aspect_ratio(self) -> Result<Option<Ratio>, OutOfRange> {
        self.aspect.map(|percent| Ratio::from_percent(f64::from(percent))).transpose()
    }

    /// Takes a word behind the size.
    fn take(&mut self, word: &str) -> Result<(), MarkingRefusal> {
        let tube = match word {
            "TL" | "TUBELESS" => Some(Tube::Tubeless),
            "TT" => Some(Tube::Tubed),
            _ => None,
        };
        if let Some(tube) = tube {
            return set(&mut self.tube, tube, "tube or tubeless", word);
        }
        if let Some(plies) = word.strip_suffix("PR").and_then(|plies| plies.parse().ok()) {
            return set(&mut self.ply_rating, plies, "a ply rating", word);
        }
        match word {
            "M/C" | "MC" => self.motorcycle = true,
            "REINFORCED" | "REINF" | "REINF." => self.reinforced = true,
            _ => {
                let (load, speed) = service(word)?;
                set(&mut self.load, load, "a load index", word)?;
                set(&mut self.speed, speed, "a speed symbol", word)?;
            }
        }
        Ok(())
    }
}

impl fmt::Display for SectionWidth {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Millimetre(mm) => write!(f, "{mm} mm"),
            Self::InchHundredths(hundredths) => write!(f, "{}.{:02} in", hundredths / 100, hundredths % 100),
            Self::Code(letter, mm) => write!(f, "M{letter} ({mm} mm)"),
        }
    }
}

impl fmt::Display for Construction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Bias => "bias",
            Self::Belted => "bias-belted",
            Self::Radial => "radial",
        })
    }
}

/// Whether a service description goes with the letter in the size: Z stands before V, W and Y in brackets or not.
fn agree(said: SpeedSymbol, sized: SpeedSymbol) -> bool {
    said.symbol() == sized.symbol() || (sized == SpeedSymbol::Z && matches!(said.symbol(), 'V' | 'W' | 'Y'))
}

fn set<T>(place: &mut Option<T>, value: T, what: &'static str, word: &str) -> Result<(), MarkingRefusal> {
    match place.replace(value) {
        None => Ok(()),
        Some(_) => Err(MarkingRefusal::Twice { what, got: word.to_string() }),
    }
}

/// Returns the digits a text begins with, and the rest.
fn digits(text: &str) -> (&str, &str) {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    text.split_at(end)
}

fn first_word(text: &str) -> String {
    text.split_whitespace().next().unwrap_or("nothing").to_string()
}

/// Reads width and aspect.
fn section(text: &str) -> Result<(SectionWidth, Option<u8>, &str), MarkingRefusal> {
    let refused = || MarkingRefusal::Width { got: first_word(text) };
    if let Some(code) = text.strip_prefix('M') {
        let letter = code.chars().next().ok_or_else(refused)?;
        let (_, mm) = CODES.into_iter().find(|row| row.0 == letter).ok_or_else(refused)?;
        let (aspect, rest) = aspect(code.get(letter.len_utf8()..).unwrap_or_default())?;
        return Ok((SectionWidth::Code(letter, mm), Some(aspect), rest));
    }
    let (whole, rest) = digits(text);
    let number: u16 = whole.parse().map_err(|_| refused())?;
    if let Some(fraction) = rest.strip_prefix('.') {
        let (hundredths, rest) = digits(fraction);
        let parsed: u16 = hundredths.parse().map_err(|_| refused())?;
        let hundredths = match hundredths.len() {
            1 => 10 * parsed,
            2 => parsed,
            _ => return Err(refused()),
        };
        if !(1..=9).contains(&number) {
            return Err(refused());
        }
        let width = SectionWidth::InchHundredths(100 * number + hundredths);
        let Some(low) = rest.strip_prefix('/') else { return Ok((width, None, rest)) };
        let (aspect, rest) = aspect(low)?;
        return Ok((width, Some(aspect), rest));
    }
    // Spaces may stand about the stroke: 200 / 55.
    let after = rest.trim_start().strip_prefix('/').filter(|_| (50..=330).contains(&number)).ok_or_else(refused)?;
    let (aspect, rest) = aspect(after.trim_start())?;
    Ok((SectionWidth::Millimetre(number), Some(aspect), rest))
}

fn aspect(text: &str) -> Result<(u8, &str), MarkingRefusal> {
    let (percent, rest) = digits(text);
    let aspect = percent.parse().ok().filter(|percent| (40..=100).contains(percent));
    Ok((aspect.ok_or_else(|| MarkingRefusal::Aspect { got: first_word(text) })?, rest))
}

/// Reads what stands before the rim code: a dash, letters of construction, a speed symbol of the old kind.
fn carcass(text: &str) -> Result<(Construction, Option<SpeedSymbol>, &str), MarkingRefusal> {
    let end = text.find(|c: char| c.is_ascii_digit()).unwrap_or(text.len());
    let (letters, rest) = text.split_at(end);
    let refused = || MarkingRefusal::Construction { got: first_word(text) };
    let bare: String = letters.chars().filter(|c| !c.is_whitespace() && *c != '-').collect();
    if letters.is_empty() && !rest.is_empty() {
        return Err(refused());
    }
    // R before a rim code is radial, not 170 km/h: so it has been read for as long as there are radials.
    let (symbol, construction) = match bare.strip_suffix('R') {
        Some(symbol) => (symbol, Construction::Radial),
        None => {
            bare.strip_suffix('B').map_or((bare.as_str(), Construction::Bias), |symbol| (symbol, Construction::Belted))
        }
    };
    let mut symbols = symbol.chars();
    let speed = match (symbols.next(), symbols.next()) {
        (None, _) => None,
        (Some(symbol), None) => Some(SpeedSymbol::in_size(symbol).map_err(|_| refused())?),
        (Some(_), Some(_)) => return Err(refused()),
    };
    Ok((construction, speed, rest))
}

fn rim(text: &str) -> Result<(u8, &str), MarkingRefusal> {
    let (code, rest) = digits(text);
    let code = code.parse().ok().filter(|code| (8..=26).contains(code));
    // A rim code is a whole number: 16.5 is a lorry's.
    let alone = rest.is_empty() || rest.starts_with([' ', 'M', '(', 'T']);
    Ok((code.filter(|_| alone).ok_or_else(|| MarkingRefusal::Rim { got: first_word(text) })?, rest))
}

fn is_index(word: &str) -> bool {
    (1..=3).contains(&word.len()) && word.bytes().all(|byte| byte.is_ascii_digit())
}

/// Reads a load index and its speed symbol: 58W, (58W), 58(W).
fn service(word: &str) -> Result<(LoadIndex, SpeedSymbol), MarkingRefusal> {
    let refused = || MarkingRefusal::Word { got: word.to_string() };
    let whole = word.strip_prefix('(').and_then(|inner| inner.strip_suffix(')'));
    let (index, symbol) = digits(whole.unwrap_or(word));
    let bracketed = symbol.strip_prefix('(').and_then(|inner| inner.strip_suffix(')')).filter(|_| whole.is_none());
    let mut symbols = bracketed.unwrap_or(symbol).chars();
    let (Some(letter), None) = (symbols.next(), symbols.next()) else { return Err(refused()) };
    if !is_index(index) || !letter.is_ascii_alphabetic() {
        return Err(refused());
    }
    let number = index.parse().map_err(|_| IndexRefusal::NoSuchIndex { got: index.to_string() })?;
    Ok((LoadIndex::new(number)?, SpeedSymbol::new(letter, whole.is_some() || bracketed.is_some())?))
}
