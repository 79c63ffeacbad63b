//! What screens are made of.

mod after;
mod banner;
mod draw;
mod first_line;
mod fold;
mod keypad;
mod leaf;
mod narrow;
mod opening;
mod plan;
mod press;
mod ready;
mod sign;
mod table;
mod toast;
mod told;
mod way;
mod when;

pub(crate) use after::after;
pub(crate) use banner::{Banner, Mast};
pub(crate) use draw::{Drawn, Icon, VerdictWord, verdict_word};
pub(crate) use first_line::FirstLine;
pub(crate) use fold::fold;
pub(crate) use keypad::{Column, Keypad, Pressed};
pub(crate) use leaf::{Lacking, Leaf, Nothing, Waits};
pub(crate) use narrow::narrow;
pub(crate) use opening::opened;
pub(crate) use plan::{StationMap, station_name};
pub(crate) use press::Press;
pub(crate) use ready::{Ready, UseWord, UseWords, use_words, verdict_words};
pub(crate) use sign::{PinSheet, Sign};
pub(crate) use table::{Beside, SortHead, Sorted, Span, starts};
pub(crate) use toast::{Toasts, toast};
pub(crate) use when::{
    clock_of, date_text, day, day_text, is_today, month_text, prepare_days, when, when_text, writes_days,
};
