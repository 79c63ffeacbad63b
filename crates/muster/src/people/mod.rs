//! People at the door: sessions, passwords, devices to enrol, the first owner.

pub mod session;
