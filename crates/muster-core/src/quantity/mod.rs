//! Quantities that cannot hold nonsense: gauge is not absolute, a temperature is not a difference.

mod amount;
mod decimal;
mod kind;
pub mod show;
pub mod text;
mod typed;
mod unit;

pub use amount::{Amount, Bounds, OutOfRange, convert};
pub(crate) use decimal::decimal;
pub use kind::Kind;
pub use typed::{
    AbsolutePressure, Angle, Current, Distance, Force, Frequency, GaugePressure, Inclination, Length, LinearDensity,
    Mass, Ratio, Speed, Temperature, TemperatureDifference, Time, Voltage,
};
pub use unit::Unit;
