//! What screens are made of.

mod banner;
mod draw;
mod keypad;
mod plan;
mod press;
mod toast;

pub(crate) use banner::{Banner, Mast};
pub(crate) use draw::{Drawn, Icon, Uses, VerdictWord, verdict_word};
pub(crate) use keypad::{Column, Keypad, Pressed};
pub(crate) use plan::{StationMap, station_name};
pub(crate) use press::Press;
pub(crate) use toast::{Toasts, toast};
