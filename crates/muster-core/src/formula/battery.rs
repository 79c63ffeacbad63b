//! A 12 V battery's state of charge from its rest voltage, and the drain between two rest voltages.

use super::propagated::Propagated;
use super::refusal::{Refusal, above_zero, within};
use crate::quantity::{Ratio, Temperature, Time, Unit, Voltage, show};
use crate::statistics::uncertainty::StandardUncertainty;
use alloc::string::String;
use alloc::vec::Vec;

/// What a battery is made of; the label says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Chemistry {
    /// Lead-acid with loose acid, topped up or sealed.
    LeadAcidFlooded,
    /// Lead-acid with the acid in glass mats.
    AbsorbedGlassMat,
    /// Lithium iron phosphate, four cells in a row.
    LithiumIronPhosphate,
}

/// How a table of rest voltages is to be used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TableUse {
    /// Battery temperature the table is given for.
    pub reference: Temperature,
    /// How far rest voltage rises per kelvin, V/K.
    pub volt_per_kelvin: f64,
    /// Standard uncertainty of that slope, V/K.
    pub volt_per_kelvin_u: StandardUncertainty,
    /// Standard uncertainty of the table for this battery, V.
    pub table_volt: StandardUncertainty,
    /// Least time without charge or load.
    pub least_rest: Time,
}

/// Rest voltages of one chemistry and the states of charge they mean.
///
/// Invariant: at least two rows, both columns rising.
#[derive(Clone, Debug, PartialEq)]
pub struct RestTable {
    chemistry: Chemistry,
    rows: Vec<(f64, f64)>,
    with: TableUse,
}

/// A voltage read at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RestReading {
    /// Across the terminals, nothing switched on.
    pub voltage: Voltage,
    /// The battery's own temperature.
    pub battery: Temperature,
    /// Time since it was last charged or loaded.
    pub rested: Time,
}

/// Standard uncertainties of a [`RestReading`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RestU {
    /// Of the voltage, V.
    pub volt: StandardUncertainty,
    /// Of the battery's temperature, K.
    pub battery_k: StandardUncertainty,
}

/// What a rest voltage says.
#[derive(Clone, Debug, PartialEq)]
#[must_use]
pub enum Charge<T> {
    /// State of charge, 0 to 1.
    Share(T),
    /// Less than the table's lowest row, which is not empty: its share.
    Under(Ratio),
    /// Flat: below the voltage of an empty battery.
    Flat,
    /// Above a full battery's rest voltage: surface charge, still charging, or another kind of battery.
    AboveFull {
        /// By how much.
        excess: Voltage,
    },
}

/// What two rest voltages say about the drain between them.
#[derive(Clone, Debug, PartialEq)]
#[must_use]
pub enum Drain {
    /// The mean current, mA, with its uncertainty.
    Current(Propagated<f64>),
    /// The voltages differ by too little for this meter and time: the current lies within ± 2u of what was worked out.
    NotResolvable(Propagated<f64>),
}

/// A rest voltage that tells no state of charge.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BatteryRefusal {
    /// Voltage has not settled.
    #[error("battery must have rested at least {least}, got {got}")]
    NotRested {
        /// The time it rested.
        got: String,
        /// The least time.
        least: String,
    },
    /// The flat part of the curve of lithium iron phosphate.
    #[error(
        "rest voltage must lie outside 13.0 to 13.3 V, got {got}: lithium iron phosphate holds that from about 30 to 90 %, \
         so it tells no state of charge; use the battery's own monitor"
    )]
    OnPlateau {
        /// The voltage read.
        got: String,
    },
    /// No table is known.
    #[error("no table of rest voltages is known for this kind of battery: published ones contradict each other")]
    NoTable,
    /// Rows that are no table.
    #[error("a table of rest voltages must have two or more rows, voltage and charge rising, charge 0 to 100 %")]
    NotATable,
    /// Voltages of two readings that lie outside the table.
    #[error("both rest voltages must lie within the table to tell a drain")]
    OutsideTable,
    /// An argument outside its range.
    #[error(transparent)]
    Formula(#[from] Refusal),
}

impl RestTable {
    /// Takes a table, as a battery's leaflet has it, lowest row first.
    ///
    /// # Errors
    /// [`BatteryRefusal::NotATable`] for fewer than two rows or columns that do not rise.
    pub fn new(chemistry: Chemistry, rows: &[(Voltage, Ratio)], with: TableUse) -> Result<Self, BatteryRefusal> {
        let rows: Vec<(f64, f64)> = rows.iter().map(|(voltage, share)| (voltage.volt(), share.one())).collect();
        let rises = rows.iter().zip(rows.iter().skip(1)).all(|(low, high)| low.0 < high.0 && low.1 < high.1);
        let shares = rows.iter().all(|(_, share)| (0.0..=1.0).contains(share));
        if rows.len() < 2 || !rises || !shares || !with.volt_per_kelvin.is_finite() {
            return Err(BatteryRefusal::NotATable);
        }
        Ok(Self { chemistry, rows, with })
    }

    /// The table used where the sheet brings none.
    ///
    /// Flooded: 11.89 V 0 %, 12.06 V 25 %, 12.24 V 50 %, 12.45 V 75 %, 12.65 V 100 % at 26.7 °C (a battery maker's public
    /// page, read; other tables lie within ± 0.1 V). Glass mat: 12.0 V 25 %, 12.3 V 50 %, 12.6 V 75 %, 12.8 V 100 % (a
    /// vehicle maker's public handbook, read; another table lies up to 0.2 V lower), taken to be given for 25 °C. Rest
    /// 6 h at least, better 24 h (two public pages, read). The slope is the cell's own, 6 · 0.2 mV/K (from memory), known
    /// to no better than itself; the printed corrections of 0.024 V per 10 °F are a hydrometer's, not a voltmeter's.
    ///
    /// # Errors
    /// [`BatteryRefusal::NoTable`] for lithium iron phosphate.
    pub fn built_in(chemistry: Chemistry) -> Result<Self, BatteryRefusal> {
        const FLOODED: [(f64, f64); 5] = [(11.89, 0.0), (12.06, 0.25), (12.24, 0.5), (12.45, 0.75), (12.65, 1.0)];
        const GLASS_MAT: [(f64, f64); 4] = [(12.0, 0.25), (12.3, 0.5), (12.6, 0.75), (12.8, 1.0)];
        let (rows, celsius, half_width) = match chemistry {
            Chemistry::LeadAcidFlooded => (FLOODED.as_slice(), 26.7, 0.1),
            Chemistry::AbsorbedGlassMat => (GLASS_MAT.as_slice(), 25.0, 0.2),
            Chemistry::LithiumIronPhosphate => return Err(BatteryRefusal::NoTable),
        };
        let slope = 6.0 * 0.0002;
        let with = TableUse {
            reference: Temperature::from_celsius(celsius).map_err(Refusal::from)?,
            volt_per_kelvin: slope,
            volt_per_kelvin_u: StandardUncertainty::new(slope).map_err(Refusal::from)?,
            table_volt: StandardUncertainty::rectangular(half_width).map_err(Refusal::from)?,
            least_rest: Time::from_hours(6.0).map_err(Refusal::from)?,
        };
        Ok(Self { chemistry, rows: rows.to_vec(), with })
    }

    /// How the table is to be used.
    #[must_use]
    pub fn table_use(&self) -> TableUse {
        self.with
    }

    /// Returns the state of charge of a voltage at the table's temperature, and its slope per volt there.
    fn at(&self, volt: f64) -> Charge<(f64, f64)> {
        let (Some(lowest), Some(highest)) = (self.rows.first(), self.rows.last()) else { return Charge::Flat };
        if volt < lowest.0 {
            return match Ratio::from_one(lowest.1) {
                Ok(share) if lowest.1 > 0.0 => Charge::Under(share),
                _ => Charge::Flat,
            };
        }
        // The kind's range holds any difference of two voltages that were in it.
        if let (true, Ok(excess)) = (volt > highest.0, Voltage::from_volt(volt - highest.0)) {
            return Charge::AboveFull { excess };
        }
        let mut pieces = self.rows.iter().zip(self.rows.iter().skip(1));
        let piece = pieces.find(|(_, high)| volt <= high.0);
        let Some(((v0, s0), (v1, s1))) = piece else { return Charge::Share((highest.1, 0.0)) };
        let slope = (s1 - s0) / (v1 - v0);
        Charge::Share((s0 + slope * (volt - v0), slope))
    }
}

/// Refuses the voltages at which lithium iron phosphate tells nothing.
///
/// Source: four public tables, which put 50 % anywhere from 12.8 to 13.6 V (read). Valid: four cells in a row.
///
/// # Errors
/// [`BatteryRefusal::OnPlateau`] from 13.0 to 13.3 V.
pub fn refuse_plateau(chemistry: Chemistry, voltage: Voltage) -> Result<(), BatteryRefusal> {
    if chemistry == Chemistry::LithiumIronPhosphate && (13.0..=13.3).contains(&voltage.volt()) {
        return Err(BatteryRefusal::OnPlateau { got: show::plain(voltage.volt(), Unit::Volt) });
    }
    Ok(())
}

/// Takes a rest voltage to the table's temperature.
///
/// V_ref = V − k (T − T_ref)     k in V/K
///
/// Source: first order. Valid: battery −20 to 50 °C.
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn at_reference(table: &RestTable, voltage: Voltage, battery: Temperature) -> Result<Voltage, Refusal> {
    within("battery temperature", battery.celsius(), Unit::Celsius, (-20.0, 50.0, "−20 to 50 °C"))?;
    let warmer = battery.kelvin() - table.with.reference.kelvin();
    Ok(Voltage::from_volt((voltage.volt() - table.with.volt_per_kelvin * warmer).max(0.0))?)
}

/// State of charge from a rest voltage, by straight lines between the table's rows.
///
/// Source: the table's. Valid: rested long enough, battery −20 to 50 °C, up to 17 V, not on the plateau of lithium iron
/// phosphate. Worked: flooded, 12.345 V at 26.7 °C: 62.5 % (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`BatteryRefusal`] outside the valid range. Outside the table nothing is clamped: [`Charge`] says what it means.
pub fn state_of_charge(table: &RestTable, reading: RestReading) -> Result<Charge<Ratio>, BatteryRefusal> {
    Ok(match located(table, reading)? {
        Charge::Share((share, _)) => Charge::Share(Ratio::from_one(share).map_err(Refusal::from)?),
        Charge::Under(share) => Charge::Under(share),
        Charge::Flat => Charge::Flat,
        Charge::AboveFull { excess } => Charge::AboveFull { excess },
    })
}

/// [`state_of_charge`] with its uncertainty (a pure number).
///
/// c(V) = s' (the table's slope there), c(table) = s', c(T) = −s' k, c(k) = −s' (T − T_ref)
///
/// # Errors
/// As for [`state_of_charge`].
pub fn state_of_charge_with_u(
    table: &RestTable,
    reading: RestReading,
    u: RestU,
) -> Result<Charge<Propagated<Ratio>>, BatteryRefusal> {
    let (share, slope) = match located(table, reading)? {
        Charge::Share(found) => found,
        Charge::Under(share) => return Ok(Charge::Under(share)),
        Charge::Flat => return Ok(Charge::Flat),
        Charge::AboveFull { excess } => return Ok(Charge::AboveFull { excess }),
    };
    let warmer = reading.battery.kelvin() - table.with.reference.kelvin();
    let parts = [
        ("voltage", slope, u.volt),
        ("battery temperature", -slope * table.with.volt_per_kelvin, u.battery_k),
        ("temperature slope", -slope * warmer, table.with.volt_per_kelvin_u),
        ("table", slope, table.with.table_volt),
    ];
    Ok(Charge::Share(Propagated::of(Ratio::from_one(share).map_err(Refusal::from)?, parts)?))
}

/// Mean current between two rest voltages of a battery left alone, mA; negative if it was charged meanwhile.
///
/// I = 1000 (s₁ − s₂) C/t     C in Ah, t in h
///
/// The table's own error falls out, being the same twice. Source: definition. Valid: both voltages within the table,
/// capacity 1 to 100 Ah, 1 h to 90 days.
/// Worked: flooded, 12.62 V, 14 h later 12.58 V, 12 Ah: 42.86 mA (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`BatteryRefusal`] outside the valid range.
pub fn drain(
    table: &RestTable,
    (before, after): (RestReading, RestReading),
    between: Time,
    capacity_ampere_hours: f64,
    each: RestU,
) -> Result<Drain, BatteryRefusal> {
    let hours = within("time between", between.hours(), Unit::Hour, (1.0, 2160.0, "1 h to 90 days"))?;
    let capacity = within("capacity in Ah", capacity_ampere_hours, Unit::One, (1.0, 100.0, "1 to 100 Ah"))?;
    let inside = |reading| match located(table, reading)? {
        Charge::Share(found) => Ok(found),
        _ => Err(BatteryRefusal::OutsideTable),
    };
    let ((share_before, slope_before), (share_after, slope_after)) = (inside(before)?, inside(after)?);
    let per_share = 1000.0 * capacity / above_zero("time between", hours, Unit::Hour)?;
    let kelvin = table.with.volt_per_kelvin;
    let current = Propagated::of(
        (share_before - share_after) * per_share,
        [
            ("voltage before", slope_before * per_share, each.volt),
            ("voltage after", -slope_after * per_share, each.volt),
            ("temperature before", -slope_before * kelvin * per_share, each.battery_k),
            ("temperature after", slope_after * kelvin * per_share, each.battery_k),
        ],
    )?;
    let resolved = libm::fabs(current.value()) > current.u().expanded();
    Ok(if resolved { Drain::Current(current) } else { Drain::NotResolvable(current) })
}

/// The charging voltage for a battery's temperature.
///
/// V = V₂₅ − 0.003 n (T − 25)     n cells, T in °C
///
/// Source: three public battery pages (read): −3 mV/K a cell. Valid: lead-acid, −20 to 50 °C, 1 to 6 cells.
/// Worked: 14.4 V at 25 °C is 14.85 V at 0 °C with six cells (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn charging_voltage(at_25_celsius: Voltage, cells: u8, battery: Temperature) -> Result<Voltage, Refusal> {
    let celsius = within("battery temperature", battery.celsius(), Unit::Celsius, (-20.0, 50.0, "−20 to 50 °C"))?;
    let cells = within("cells", f64::from(cells), Unit::One, (1.0, 6.0, "1 to 6"))?;
    Ok(Voltage::from_volt(at_25_celsius.volt() - 0.003 * cells * (celsius - 25.0))?)
}

fn located(table: &RestTable, reading: RestReading) -> Result<Charge<(f64, f64)>, BatteryRefusal> {
    refuse_plateau(table.chemistry, reading.voltage)?;
    let least = table.with.least_rest;
    if reading.rested < least {
        let hours = |time: Time| show::plain(time.hours(), Unit::Hour);
        return Err(BatteryRefusal::NotRested { got: hours(reading.rested), least: hours(least) });
    }
    within("rest voltage", reading.voltage.volt(), Unit::Volt, (0.0, 17.0, "0 to 17 V, of a 12 V battery"))?;
    Ok(table.at(at_reference(table, reading.voltage, reading.battery)?.volt()))
}
