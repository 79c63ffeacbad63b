//! The charging voltage a battery should see, as a window that moves with its temperature.

use super::battery::charging_voltage;
use super::propagated::Propagated;
use super::refusal::{Refusal, not_valid};
use crate::quantity::{Temperature, Unit, Voltage};
use crate::statistics::uncertainty::StandardUncertainty;

/// The least and the most a charging voltage should be.
///
/// Invariant: the least is not above the most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    low: Voltage,
    high: Voltage,
}

/// A charging voltage against its window.
#[derive(Clone, Copy, Debug, PartialEq)]
#[must_use]
pub enum Charging {
    /// Too little: the battery is not charged full. By how much.
    Under(Voltage),
    /// Within the window.
    Within,
    /// Too much: the battery gasses and dries out. By how much.
    Over(Voltage),
}

impl Window {
    /// Takes a window at 25 °C, from the handbook.
    ///
    /// # Errors
    /// [`Refusal`] if the least is above the most.
    pub fn new(low: Voltage, high: Voltage) -> Result<Self, Refusal> {
        if low > high {
            return Err(not_valid("least charging voltage", "at most the greatest", low.volt(), Unit::Volt));
        }
        Ok(Self { low, high })
    }

    /// The least.
    #[must_use]
    pub fn low(self) -> Voltage {
        self.low
    }

    /// The most.
    #[must_use]
    pub fn high(self) -> Voltage {
        self.high
    }

    /// The window at a battery's temperature.
    ///
    /// each bound by [`charging_voltage`]: −3 mV/K a cell from 25 °C
    ///
    /// Source and range as there. A regulator that does not follow the battery's temperature keeps its own window: then
    /// the handbook's bounds hold as they stand. Worked: 13.5 to 14.4 V at 0 °C, six cells: 13.95 to 14.85 V
    /// (tests/golden/evidence/workshop.toml).
    ///
    /// # Errors
    /// [`Refusal`] outside the valid range.
    pub fn at(self, cells: u8, battery: Temperature) -> Result<Self, Refusal> {
        let bound = |at_25| charging_voltage(at_25, cells, battery);
        Ok(Self { low: bound(self.low)?, high: bound(self.high)? })
    }

    /// Where a charging voltage lies.
    ///
    /// # Errors
    /// None in fact: the difference of two voltages above it is one.
    pub fn compare(self, read: Voltage) -> Result<Charging, Refusal> {
        if read < self.low {
            return Ok(Charging::Under(Voltage::from_volt(self.low.volt() - read.volt())?));
        }
        if read > self.high {
            return Ok(Charging::Over(Voltage::from_volt(read.volt() - self.high.volt())?));
        }
        Ok(Charging::Within)
    }
}

/// [`charging_voltage`] with its uncertainty in V, from that of the battery's temperature in K.
///
/// c(T) = −0.003 n     n cells
///
/// # Errors
/// As for [`charging_voltage`].
pub fn charging_voltage_with_u(
    at_25_celsius: Voltage,
    cells: u8,
    (battery, battery_k): (Temperature, StandardUncertainty),
) -> Result<Propagated<Voltage>, Refusal> {
    let value = charging_voltage(at_25_celsius, cells, battery)?;
    Propagated::of(value, [("battery temperature", -0.003 * f64::from(cells), battery_k)])
}
