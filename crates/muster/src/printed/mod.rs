//! Paper: what can be printed from a record or a yard's folder, and what is known of a paper that was.
//!
//! Typesetting comes with the feature `paper`; to know a paper again its hash is enough, so that needs none.

#[cfg(feature = "paper")]
mod desk;
#[cfg(feature = "paper")]
mod known;
#[cfg(feature = "paper")]
mod make;
mod mark;
mod verify;

use std::str::FromStr;

use muster_core::{
    record::{
        id::EventId,
        payload::{Document, PaperIssued, PaperSize},
    },
    state::Found,
    words::{Depth, Use},
};

use crate::{
    people::NotLet,
    store::{StoreError, photos::PhotoError},
};

#[cfg(feature = "paper")]
pub use desk::{Desk, Record};
#[cfg(feature = "paper")]
pub use make::print;
pub use mark::{MAX_MARK, known_mark, mark, set_mark};
pub use verify::{resting_on, verdict};

/// Whether this build prints.
pub const PRINTS: bool = cfg!(feature = "paper");
/// The most numbered tags in one file.
pub const MOST_TAGS: u32 = 200;

/// What is to be printed. Which fields count depends on the document.
#[derive(Clone, Debug)]
pub struct Asked {
    /// What.
    pub document: Document,
    /// The machine it is about.
    pub machine: Option<String>,
    /// The machines to print stickers for; without any all of them.
    pub machines: Vec<String>,
    /// How far a form goes.
    pub depth: Depth,
    /// What a form is planned for; without it as the machine's last walk-round.
    pub planned: Option<Use>,
    /// The state a form takes the machine to be found in.
    pub found: Found,
    /// The opening of the walk-round; without it the newest one closed.
    pub event: Option<EventId>,
    /// Tags without a machine: the first number, and how many.
    pub numbers: Option<(u32, u32)>,
    /// Whom a dossier is for.
    pub reader: Reader,
}

/// On what it is printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// Its size.
    pub size: PaperSize,
    /// The school's mark, as SVG, PNG or JPEG.
    pub mark: Option<Vec<u8>>,
    /// The address of the school's own server, for the codes; without it none is printed.
    pub address: Option<String>,
}

/// What was printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// The file.
    pub bytes: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
    /// A name for the file, without an ending.
    pub name: String,
    /// What is to be written down of it.
    pub issued: PaperIssued,
}

/// Whom a dossier is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reader {
    /// Who buys the machine: no names of people.
    Buyer,
    /// Who answers a claim of warranty.
    Warranty,
    /// Who inspects the school.
    Inspector,
}

/// Why nothing was printed; each with the remedy.
#[derive(Debug, thiserror::Error)]
pub enum NotPrinted {
    /// No such machine.
    #[error("no machine `{0}` in this yard: look at its fleet number")]
    NoMachine(String),
    /// There is nothing of the kind to print.
    #[error("{0}")]
    Nothing(String),
    /// A field that is missing or cannot be used.
    #[error("{field}: {what}")]
    Field {
        /// Which.
        field: &'static str,
        /// What to give.
        what: String,
    },
    /// The record cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A photo cannot be read.
    #[error(transparent)]
    Photo(#[from] PhotoError),
    /// The code for riders cannot be had.
    #[error(transparent)]
    NotLet(#[from] NotLet),
    /// It cannot be typeset.
    #[cfg(feature = "paper")]
    #[error(transparent)]
    Refused(#[from] muster_report::Refused),
    /// Nothing is printed by this build.
    #[error(
        "this server was built without paper: `muster paper` of a full build prints from its record, or build the server \
         with the feature `paper`"
    )]
    NotBuilt,
    /// A fault of ours.
    #[error("{0}")]
    Fault(String),
}

impl Asked {
    /// A document as it is printed where nothing else is said.
    #[must_use]
    pub fn of(document: Document) -> Self {
        Self {
            document,
            machine: None,
            machines: Vec::new(),
            depth: Depth::BeforeRide,
            planned: None,
            found: Found::default(),
            event: None,
            numbers: None,
            reader: Reader::Inspector,
        }
    }
}

impl FromStr for Reader {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "buyer" => Ok(Self::Buyer),
            "warranty" => Ok(Self::Warranty),
            "inspector" => Ok(Self::Inspector),
            _ => Err(format!("no reader `{text}`: buyer, warranty or inspector")),
        }
    }
}
