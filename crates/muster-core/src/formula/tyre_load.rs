//! What a tyre carries at a pressure below the one its load index is given for: data per size, never a constant.

use super::propagated::Propagated;
use super::refusal::{Refusal, not_valid, within};
use crate::quantity::{GaugePressure, Mass, Unit};
use crate::statistics::uncertainty::StandardUncertainty;
use alloc::vec::Vec;

/// Loads that one size of tyre carries, by cold pressure, from its maker's table or by the power law.
///
/// Invariant: at least two rows, pressure and load above zero and rising.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadTable {
    rows: Vec<(f64, f64)>,
}

/// Rows that are no table of loads.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LoadTableRefusal {
    /// Too few rows, or rows that do not rise.
    #[error("a table of tyre loads must have two or more rows, pressure and load above 0 and rising")]
    NotATable,
    /// An argument outside its range.
    #[error(transparent)]
    Formula(#[from] Refusal),
}

impl LoadTable {
    /// Takes the rows of a maker's table for one size, lowest pressure first.
    ///
    /// # Errors
    /// [`LoadTableRefusal::NotATable`] for fewer than two rows or columns that do not rise above zero.
    pub fn new(rows: &[(GaugePressure, Mass)]) -> Result<Self, LoadTableRefusal> {
        let rows: Vec<(f64, f64)> = rows.iter().map(|(pressure, load)| (pressure.kpa(), load.kg())).collect();
        let rises = rows.iter().zip(rows.iter().skip(1)).all(|(low, high)| low.0 < high.0 && low.1 < high.1);
        let above_zero = rows.first().is_some_and(|(pressure, load)| *pressure > 0.0 && *load > 0.0);
        if rows.len() < 2 || !rises || !above_zero {
            return Err(LoadTableRefusal::NotATable);
        }
        Ok(Self { rows })
    }

    /// Makes the table of a size whose load follows the power law from a lowest pressure to the reference.
    ///
    /// Q = Q_LI (p/p_ref)ⁿ
    ///
    /// p_ref and n are the size's own data. For cars of standard load p_ref = 240 kPa, n = 0.65 give a public table's
    /// rows to the kilogram (read); **no such pair is known for motorcycle tyres**: there the machine's own pressures
    /// rule. Valid: n 0.3 to 1, lowest pressure at least a third of the reference and below it.
    ///
    /// # Errors
    /// [`LoadTableRefusal`] outside the valid range.
    pub fn of_law(
        at_reference: Mass,
        reference: GaugePressure,
        exponent: f64,
        lowest: GaugePressure,
    ) -> Result<Self, LoadTableRefusal> {
        within("exponent", exponent, Unit::One, (0.3, 1.0, "0.3 to 1"))?;
        let allowed = (reference.kpa() / 3.0, reference.kpa(), "a third of the reference pressure to all of it");
        let from = within("lowest pressure", lowest.kpa(), Unit::Kilopascal, allowed)?;
        let load =
            Mass::from_kg(at_reference.kg() * libm::pow(from / reference.kpa(), exponent)).map_err(Refusal::from)?;
        Self::new(&[(lowest, load), (reference, at_reference)])
    }

    /// The load carried at a cold pressure.
    ///
    /// Q = Q₀ (p/p₀)ⁿ between rows, n = ln(Q₁/Q₀)/ln(p₁/p₀); with two rows the power law itself
    ///
    /// Source: the size's table; power law of the tyre standards (from memory, confirmed on a public table of 77 rows).
    /// Valid: within the table; nothing is extrapolated, for more air than the reference carries no more.
    /// Worked: load index 58 at 160 kPa by the cars' law: 181.32 kg, printed 181 (tests/golden/evidence/workshop.toml).
    ///
    /// # Errors
    /// [`Refusal`] outside the table.
    pub fn load_at(&self, pressure: GaugePressure) -> Result<Mass, Refusal> {
        let kpa = pressure.kpa();
        let (base, exponent) = self.piece(|row| kpa <= row.0);
        self.checked(kpa, |row| row.0, "pressure", Unit::Kilopascal)?;
        Ok(Mass::from_kg(base.1 * libm::pow(kpa / base.0, exponent))?)
    }

    /// [`Self::load_at`] with its uncertainty in kg, from that of the pressure in kPa.
    ///
    /// c(p) = n Q/p
    ///
    /// # Errors
    /// As for [`Self::load_at`].
    pub fn load_at_with_u(
        &self,
        (pressure, pressure_kpa): (GaugePressure, StandardUncertainty),
    ) -> Result<Propagated<Mass>, Refusal> {
        let load = self.load_at(pressure)?;
        let (_, exponent) = self.piece(|row| pressure.kpa() <= row.0);
        Propagated::of(load, [("pressure", exponent * load.kg() / pressure.kpa(), pressure_kpa)])
    }

    /// The least cold pressure that carries a load. The inverse of [`Self::load_at`].
    ///
    /// p = p₀ (Q/Q₀)^(1/n)
    ///
    /// # Errors
    /// [`Refusal`] for a load outside the table: below it the lowest pressure serves, above it no pressure does.
    pub fn pressure_for(&self, load: Mass) -> Result<GaugePressure, Refusal> {
        let kg = load.kg();
        let (base, exponent) = self.piece(|row| kg <= row.1);
        self.checked(kg, |row| row.1, "load on the tyre", Unit::Kilogram)?;
        Ok(GaugePressure::from_kpa(base.0 * libm::pow(kg / base.1, 1.0 / exponent))?)
    }

    /// Returns the lower row of the piece whose upper row is the first to hold, and the exponent between them.
    fn piece(&self, holds: impl Fn(&(f64, f64)) -> bool) -> ((f64, f64), f64) {
        let pieces = || self.rows.iter().zip(self.rows.iter().skip(1));
        let found = pieces().find(|(_, high)| holds(high)).or_else(|| pieces().next_back());
        found.map_or(((1.0, 0.0), 1.0), |(low, high)| (*low, libm::log(high.1 / low.1) / libm::log(high.0 / low.0)))
    }

    fn checked(
        &self,
        value: f64,
        column: impl Fn(&(f64, f64)) -> f64,
        what: &'static str,
        unit: Unit,
    ) -> Result<(), Refusal> {
        let (low, high) = (self.rows.first().map_or(0.0, &column), self.rows.last().map_or(0.0, &column));
        // A figure worked out at a bound may miss it by a rounding.
        let slack = 1e-12 * high;
        if (low - slack..=high + slack).contains(&value) {
            return Ok(());
        }
        Err(not_valid(what, "within the size's table of loads", value, unit))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(kpa: f64, kg: f64) -> (GaugePressure, Mass) {
        (GaugePressure::from_kpa(kpa).unwrap(), Mass::from_kg(kg).unwrap())
    }

    #[test]
    fn rows_that_do_not_rise_are_no_table() {
        assert!(LoadTable::new(&[row(150.0, 120.0), row(225.0, 160.0), row(290.0, 190.0)]).is_ok());
        for rows in
            [&[row(150.0, 120.0)][..], &[row(225.0, 120.0), row(150.0, 160.0)], &[row(150.0, 160.0), row(225.0, 160.0)]]
        {
            assert_eq!(LoadTable::new(rows), Err(LoadTableRefusal::NotATable));
        }
        assert_eq!(LoadTable::new(&[row(0.0, 1.0), row(225.0, 160.0)]), Err(LoadTableRefusal::NotATable));
    }

    #[test]
    fn rows_are_met_and_nothing_is_told_outside() {
        let table = LoadTable::new(&[row(150.0, 120.0), row(225.0, 160.0), row(290.0, 190.0)]).unwrap();
        for (kpa, kg) in [(150.0, 120.0), (225.0, 160.0), (290.0, 190.0)] {
            assert!((table.load_at(row(kpa, 1.0).0).unwrap().kg() - kg).abs() < 1e-9);
            assert!((table.pressure_for(row(1.0, kg).1).unwrap().kpa() - kpa).abs() < 1e-9);
        }
        assert!(table.load_at(row(149.9, 1.0).0).is_err() && table.load_at(row(290.1, 1.0).0).is_err());
        assert!(table.pressure_for(row(1.0, 119.0).1).is_err() && table.pressure_for(row(1.0, 191.0).1).is_err());
    }
}
