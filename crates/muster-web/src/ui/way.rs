//! Distances in the unit the yard counts in.

use muster_core::{
    quantity::{Unit, convert},
    yard::Units,
};
use muster_draw::number::{figure_text, with_unit};

use crate::yard::Yard;

impl Yard {
    /// The unit of distances: kilometres or miles.
    pub(crate) fn way_unit(&self) -> Unit {
        match self.with(|held| held.known().yard.units).unwrap_or_default() {
            Units::Si => Unit::Kilometre,
            Units::Us => Unit::Mile,
        }
    }

    /// A distance in that unit, whole.
    pub(crate) fn way(&self, km: f64) -> String {
        let unit = self.way_unit();
        with_unit(&figure_text(convert(km, Unit::Kilometre, unit), 0), unit.symbol())
    }
}
