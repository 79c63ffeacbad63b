//! What a reading means: the trade's formulas as pure functions, each with its range, its source and its uncertainty.

pub mod age;
pub mod battery;
pub mod belt;
pub mod chain;
pub mod coolant;
pub mod indicator;
pub mod lamp;
pub mod oil;
mod propagated;
mod refusal;
pub mod tyre_date;
pub mod tyre_gas;
pub mod vin;
pub mod wear;

pub use propagated::{Component, Propagated};
pub use refusal::Refusal;
