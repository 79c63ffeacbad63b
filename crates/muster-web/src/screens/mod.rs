//! Every screen, by what a person wants there.

mod machine;
mod nowhere;
mod sign_in;
mod yard;

pub(crate) use machine::MachineScreen;
pub(crate) use nowhere::Nowhere;
pub(crate) use sign_in::SignIn;
pub(crate) use yard::YardScreen;
