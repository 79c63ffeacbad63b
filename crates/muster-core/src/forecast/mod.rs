//! Wear forecasts learnt from the whole fleet: from readings to the distance and the day a limit is met.
//!
//! Readings become chains of part lives ([`path`]); a state-space model of wear ([`state`], [`path`]) is fitted to all
//! chains of a kind at once ([`fit`]); a chain's posterior is carried ahead to its limit ([`ahead`], [`passage`]), and by
//! the machine's use to a day. No clock, no files, no randomness: the same bytes on a phone and a server.
//! Method, sources and what it cannot do: `docs/forecast.md`.

pub mod ahead;
pub mod coming;
pub mod effects;
pub mod estimate;
pub mod falls;
pub mod fit;
pub mod fleet;
mod hypotheses;
pub mod lasting;
pub mod leaks;
pub mod lives;
mod matrix;
pub mod optimum;
pub mod order;
pub mod outlook;
pub mod parameters;
pub mod passage;
pub mod path;
pub mod practice;
mod quick;
pub mod riding;
pub mod state;
pub mod straight;
mod value;

pub use value::NotAnEstimate;
