//! Who comes in, with which devices; and what a rider says without signing in.

mod devices;
mod feedback;
pub(crate) mod form;
mod links;
mod me;
mod persons;
mod sign_in;

pub(crate) use devices::Devices;
pub(crate) use feedback::Feedback;
pub(crate) use links::{Enrol, First, Password};
pub(crate) use me::MeScreen;
pub(crate) use persons::People;
pub(crate) use sign_in::SignIn;
