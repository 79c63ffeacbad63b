//! Paper: buttons that print, where a person expects them; what a paper's code leads to; whether a file is ours.

mod buttons;
mod code;
mod known;
mod screen;

pub(crate) use buttons::{of_event, of_machine, of_walk};
pub(crate) use code::{ByCode, compared};
pub(crate) use screen::PaperScreen;
