//! What is done at the kerb beside a walk-round: rounds, falls, returns, scanning, a class let out.

mod asked;
mod fall;
mod looks;
mod menu;
mod parts;
mod returned;
mod walk;

pub(crate) use fall::Fall;
pub(crate) use menu::KerbMenu;
pub(crate) use returned::Return;
