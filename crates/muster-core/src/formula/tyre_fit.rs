//! Whether a tyre is what the machine's sheet asks for: each difference, in words.

use super::tyre_index::{LoadIndex, SpeedSymbol};
use super::tyre_marking::{Construction, SectionWidth, Tube, TyreMarking};
use crate::quantity::{Unit, show};
use alloc::vec::Vec;
use core::fmt;

/// One way in which a fitted tyre is not what the sheet asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[must_use]
pub enum Mismatch {
    /// Another width; inches never equal millimetres without its maker's word.
    Width {
        /// What the sheet asks.
        asked: SectionWidth,
        /// What is fitted.
        fitted: SectionWidth,
    },
    /// Another aspect, or one marked and the other not.
    Aspect {
        /// What the sheet asks, per cent.
        asked: Option<u8>,
        /// What is fitted, per cent.
        fitted: Option<u8>,
    },
    /// For another rim.
    Rim {
        /// What the sheet asks, inch.
        asked: u8,
        /// What is fitted, inch.
        fitted: u8,
    },
    /// Built in another way.
    Construction {
        /// What the sheet asks.
        asked: Construction,
        /// What is fitted.
        fitted: Construction,
    },
    /// Carries less than the sheet asks.
    Load {
        /// What the sheet asks at least.
        asked: LoadIndex,
        /// What is fitted.
        fitted: LoadIndex,
    },
    /// No load index is marked where the sheet asks for one.
    LoadNotMarked {
        /// What the sheet asks at least.
        asked: LoadIndex,
    },
    /// Good for less speed than the sheet asks.
    Speed {
        /// What the sheet asks at least.
        asked: SpeedSymbol,
        /// What is fitted.
        fitted: SpeedSymbol,
    },
    /// No speed symbol is marked where the sheet asks for one.
    SpeedNotMarked {
        /// What the sheet asks at least.
        asked: SpeedSymbol,
    },
    /// The sheet asks for a motorcycle's tyre and M/C is not marked.
    NotMotorcycle,
    /// Tube and no tube.
    Tube {
        /// What is fitted.
        fitted: Tube,
    },
    /// The sheet asks for a reinforced tyre.
    NotReinforced,
}

/// Compares a fitted tyre with what the sheet asks: size and construction the same, load index and speed symbol at least.
///
/// What the sheet does not name is not asked for. A tubeless tyre may take a tube on a rim that needs one, so that only a
/// tyre for tubes where the sheet asks for none is a mismatch. Whether both tyres of a machine go together, and what a
/// type approval allows besides, is not told here.
/// Source: UN R75 2 and 3 for the marks (from memory); at least as much load and speed (common practice).
#[must_use]
pub fn mismatches(fitted: &TyreMarking, asked: &TyreMarking) -> Vec<Mismatch> {
    let mut found = Vec::new();
    if !same_width(fitted.width, asked.width) {
        found.push(Mismatch::Width { asked: asked.width, fitted: fitted.width });
    }
    if fitted.aspect != asked.aspect {
        found.push(Mismatch::Aspect { asked: asked.aspect, fitted: fitted.aspect });
    }
    if fitted.rim_code != asked.rim_code {
        found.push(Mismatch::Rim { asked: asked.rim_code, fitted: fitted.rim_code });
    }
    if fitted.construction != asked.construction {
        found.push(Mismatch::Construction { asked: asked.construction, fitted: fitted.construction });
    }
    found.extend(load(fitted, asked));
    found.extend(speed(fitted, asked));
    if asked.motorcycle && !fitted.motorcycle {
        found.push(Mismatch::NotMotorcycle);
    }
    if (asked.tube, fitted.tube) == (Some(Tube::Tubeless), Some(Tube::Tubed)) {
        found.push(Mismatch::Tube { fitted: Tube::Tubed });
    }
    if asked.reinforced && !fitted.reinforced {
        found.push(Mismatch::NotReinforced);
    }
    found
}

impl fmt::Display for Mismatch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Width { asked, fitted } => write!(f, "width must be {asked}, fitted is {fitted}"),
            Self::Aspect { asked, fitted } => {
                f.write_str("aspect must be ")?;
                percent(f, *asked)?;
                f.write_str(", fitted is ")?;
                percent(f, *fitted)
            }
            Self::Rim { asked, fitted } => write!(f, "rim code must be {asked}, fitted is {fitted}"),
            Self::Construction { asked, fitted } => write!(f, "construction must be {asked}, fitted is {fitted}"),
            Self::Load { asked, fitted } => {
                write!(f, "load index must be at least {asked} ({}), fitted is {fitted} ({})", kg(*asked), kg(*fitted))
            }
            Self::LoadNotMarked { asked } => {
                write!(f, "load index must be at least {asked} ({}), none is marked", kg(*asked))
            }
            Self::Speed { asked, fitted } => write!(f, "speed symbol must be at least {asked}, fitted is {fitted}"),
            Self::SpeedNotMarked { asked } => write!(f, "speed symbol must be at least {asked}, none is marked"),
            Self::NotMotorcycle => f.write_str("must be marked M/C, for a motorcycle's rim, and is not"),
            Self::Tube { .. } => f.write_str("must be tubeless (TL), fitted is one for a tube (TT)"),
            Self::NotReinforced => f.write_str("must be reinforced, and is not marked so"),
        }
    }
}

fn percent(f: &mut fmt::Formatter<'_>, aspect: Option<u8>) -> fmt::Result {
    match aspect {
        Some(percent) => write!(f, "{percent}"),
        None => f.write_str("not marked"),
    }
}

fn kg(index: LoadIndex) -> alloc::string::String {
    show::plain(index.kg(), Unit::Kilogram)
}

/// A code is the millimetres it stands for: MT90 and 130/90 are one size.
fn same_width(fitted: SectionWidth, asked: SectionWidth) -> bool {
    let mm = |width| match width {
        SectionWidth::Millimetre(mm) | SectionWidth::Code(_, mm) => Some(mm),
        SectionWidth::InchHundredths(_) => None,
    };
    fitted == asked || (mm(fitted).is_some() && mm(fitted) == mm(asked))
}

fn load(fitted: &TyreMarking, asked: &TyreMarking) -> Option<Mismatch> {
    let asked = asked.load?;
    match fitted.load {
        None => Some(Mismatch::LoadNotMarked { asked }),
        Some(fitted) => (fitted < asked).then_some(Mismatch::Load { asked, fitted }),
    }
}

fn speed(fitted: &TyreMarking, asked: &TyreMarking) -> Option<Mismatch> {
    let asked = asked.speed?;
    match fitted.speed {
        None => Some(Mismatch::SpeedNotMarked { asked }),
        Some(fitted) => (!fitted.is_at_least(asked)).then_some(Mismatch::Speed { asked, fitted }),
    }
}
