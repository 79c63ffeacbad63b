//! The paper of Muster: forms, tags, slips, sheets and dossiers, typeset from values of the core to PDF bytes.
//!
//! Pure: no clock, no files, no network. What a person wrote goes in as data and comes out as text, never as markup.
//! Every document is tagged (PDF/UA-1) and archival (PDF/A-2a); typesetting refuses what would be neither.

mod closer;
mod dossier;
mod draw;
mod fonts;
mod form;
mod paper;
mod press;
mod reasons;
mod said;
mod slip;
mod stickers;
mod tag;
mod walk_round;
mod world;
mod yard_sheet;

pub use dossier::{Dossier, Life, Reader, Work};
pub use form::Blank;
pub use paper::{Leaf, Paper, Pdf, Refused, Seal, Size};
pub use press::print;
pub use reasons::by_name;
pub use slip::{Slip, WorkedOut};
pub use stickers::Sticker;
pub use tag::{Tag, TagNumbers};
pub use walk_round::{Photo, Walked};
pub use yard_sheet::YardSheet;
