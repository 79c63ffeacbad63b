//! What was typed as what is to be printed, and as the body a server's door takes.

use muster::printed::{Asked, Reader};
use muster_core::{record::payload::Document, yard::Units};
use muster_wire::paper::PaperAsked;

use super::{On, What};

impl What {
    /// What is to be printed, and on what.
    pub(super) fn read(&self) -> (Asked, &On) {
        let one = |document, machine: &String| Asked { machine: Some(machine.clone()), ..Asked::of(document) };
        match self {
            Self::Form { machine, depth, planned, found, sheet } => {
                let asked = one(Document::Form, machine);
                (Asked { depth: *depth, planned: *planned, found: *found, ..asked }, sheet)
            }
            Self::WalkRound { machine, event, sheet } => {
                (Asked { event: *event, ..one(Document::WalkRound, machine) }, sheet)
            }
            Self::Tag { machine, number, count, sheet } => {
                let numbers = number.map(|number| (number, *count));
                (Asked { machine: machine.clone(), numbers, ..Asked::of(Document::Tag) }, sheet)
            }
            Self::Slip { machine, sheet } => (one(Document::Slip, machine), sheet),
            Self::Dossier { machine, reader, sheet } => {
                (Asked { reader: *reader, ..one(Document::Dossier, machine) }, sheet)
            }
            Self::Yard { sheet } => (Asked::of(Document::Yard), sheet),
            Self::Sheet { sheet } => (Asked::of(Document::Sheet), sheet),
            Self::Stickers { machines, sheet } => {
                (Asked { machines: machines.clone(), ..Asked::of(Document::Stickers) }, sheet)
            }
        }
    }
}

/// The body a server's door takes.
pub(super) fn body(asked: &Asked, on: &On, units: Option<Units>) -> PaperAsked {
    let reader = match asked.reader {
        Reader::Buyer => "buyer",
        Reader::Warranty => "warranty",
        Reader::Inspector => "inspector",
    };
    let units = units.map(|units| match units {
        Units::Si => "si",
        Units::Us => "us",
    });
    PaperAsked {
        machine: asked.machine.clone(),
        machines: asked.machines.clone(),
        size: Some(on.size.to_string()),
        units: units.map(Into::into),
        depth: Some(asked.depth.to_string()),
        planned: asked.planned.map(|planned| planned.to_string()),
        event: asked.event.map(|event| event.to_string()),
        number: asked.numbers.map(|(number, _)| number),
        count: asked.numbers.map(|(_, count)| count),
        reader: Some(reader.into()),
        draft: on.draft,
    }
}
