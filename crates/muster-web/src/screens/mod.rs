//! Every screen, by what a person wants there.

mod add;
mod kerb;
mod machine;
mod nowhere;
mod people;
mod yard;

pub(crate) use add::{Add, AddMany, SheetScreen};
pub(crate) use kerb::{Fall, KerbMenu, Return, Round, Rounds};
pub(crate) use machine::MachineScreen;
pub(crate) use nowhere::Nowhere;
pub(crate) use people::{Devices, Enrol, Feedback, First, MeScreen, Password, People, SignIn};
pub(crate) use yard::YardScreen;
