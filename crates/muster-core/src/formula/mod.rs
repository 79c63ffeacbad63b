//! What a reading means: the trade's formulas as pure functions, each with its range, its source and its uncertainty.

pub mod age;
pub mod axle_load;
pub mod battery;
pub mod bearing;
pub mod belt;
pub mod brake_fluid;
pub mod brake_test;
pub mod chain;
pub mod chain_run;
pub mod charging;
pub mod coolant;
pub mod heights;
pub mod indicator;
pub mod lamp;
pub mod load_transfer;
pub mod oil;
mod propagated;
mod refusal;
pub mod run_out;
pub mod spring;
pub mod sprocket;
pub mod standing;
pub mod tyre_date;
pub mod tyre_fit;
pub mod tyre_gas;
pub mod tyre_index;
pub mod tyre_load;
pub mod tyre_marking;
pub mod vin;
pub mod wear;

pub use propagated::{Component, Propagated};
pub use refusal::Refusal;
