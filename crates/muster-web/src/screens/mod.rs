//! Every screen, by what a person wants there.

mod add;
mod jobs;
mod kerb;
mod machine;
mod nowhere;
mod people;
mod records;
mod walk;
mod yard;

pub(crate) use add::{Add, AddMany, Gauges, SheetScreen};
pub(crate) use jobs::JobsScreen;
pub(crate) use kerb::{Fall, Return, Round, Rounds, Scan, SessionScreen};
pub(crate) use machine::MachineScreen;
pub(crate) use nowhere::Nowhere;
pub(crate) use people::{Devices, Enrol, Feedback, First, MeScreen, Password, People, SignIn};
pub(crate) use records::{RecordScreen, RecordsScreen};
pub(crate) use walk::{StartScreen, SummaryScreen, WalkScreen};
pub(crate) use yard::YardScreen;
