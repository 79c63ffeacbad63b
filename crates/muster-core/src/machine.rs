//! One motorcycle, and the sheet of its model.

use alloc::{collections::BTreeMap, string::String, vec::Vec};

use jiff::civil::Date;

use crate::{
    limit::{Limit, Traits},
    outing::stated::Stated,
    quantity::{Angle, Length},
    state::Needs,
    words::Service,
};

/// A model's limits, targets and procedures, each with its page.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Its name in files: `corvane-pebble`.
    pub id: String,
    /// The model.
    pub model: String,
    /// The handbook, for people.
    pub handbook: String,
    /// Category, displacement, equipment.
    pub traits: Traits,
    /// Power in kW.
    pub power_kw: Option<f64>,
    /// What the oil correction needs.
    pub sump: Option<Sump>,
    /// What outings are worked out from.
    pub outing: Option<Stated>,
    /// How a check is done on this model, where it differs.
    pub procedures: Vec<Procedure>,
    /// Its limits.
    pub limits: Vec<Limit>,
}

/// Where the dipstick is and how the machine leans on its stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sump {
    /// Dipstick from the sump's middle, towards the stand positive.
    pub dipstick_offset: Length,
    /// Lean on the side stand at standard height.
    pub lean: Angle,
    /// The stand's foot from the centre plane.
    pub foot_offset: Length,
    /// Width of the sump across the machine.
    pub width: Length,
    /// Depth of the oil at the right level, upright.
    pub depth: Length,
    /// Between the lower and the upper mark, on the stick.
    pub marks: Length,
}

/// How a check is done on one model.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Procedure {
    /// The check.
    pub check: String,
    /// The state it needs.
    pub needs: Option<Needs>,
    /// How, in short lines; none: as the catalogue does it.
    pub method: Vec<String>,
    /// What can hurt someone on this model, beyond what the check itself says.
    pub caution: Option<String>,
    /// Page of the handbook.
    pub page: Option<String>,
}

/// One motorcycle of the yard.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// Fleet number: `H-07`.
    pub id: String,
    /// Its model's sheet.
    pub sheet: String,
    /// Whether it is asked for at all.
    pub service: Service,
    /// Vehicle identification number as stamped.
    pub vin: Option<String>,
    /// Registration plate.
    pub plate: Option<String>,
    /// Category, displacement, date of first use, equipment: the sheet's with its own over it.
    pub traits: Traits,
    /// Its place in the yard.
    pub row: u16,
    /// What was changed on it.
    pub modifications: Vec<Modification>,
    /// Its own limits and those marked on its parts.
    pub limits: Vec<Limit>,
    /// Mountings in its record, by place; a place that no part is left at has [`Self::GONE`]. None by its file alone.
    pub mountings: BTreeMap<String, u32>,
}

impl Machine {
    /// Of a place whose part was taken off.
    pub const GONE: u32 = u32::MAX;
}

impl Machine {
    /// How much higher it stands than the sheet supposes, all modifications together, in mm; none if none says so.
    #[must_use]
    pub fn ride_height_mm(&self) -> Option<f64> {
        let mut changes = self.modifications.iter().filter_map(|change| change.ride_height).peekable();
        changes.peek()?;
        Some(changes.map(Length::mm).sum())
    }
}

/// What was changed on a machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Modification {
    /// What, in words.
    pub what: String,
    /// Change of ride height; lower is negative.
    pub ride_height: Option<Length>,
    /// Who did it.
    pub by: Option<String>,
    /// When.
    pub on: Option<Date>,
}
