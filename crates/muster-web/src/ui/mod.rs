//! What screens are made of.

mod banner;
mod draw;
mod toast;

pub(crate) use banner::{Banner, Mast};
pub(crate) use draw::{Drawn, Icon, Uses, VerdictWord};
pub(crate) use toast::{Toasts, toast};
