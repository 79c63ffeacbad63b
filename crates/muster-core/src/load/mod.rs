//! Data files and forms, read once into types; what is wrong is said with file and line.

mod catalogue;
mod check;
mod form;
mod job;
mod limit;
mod outing;
mod reader;
mod source;
mod value;
mod wear;
mod yard;

pub use catalogue::File;
pub(crate) use form::kept_answer;
pub(crate) use reader::{Given, Reader, Row, Text, clip};
pub use reader::{MAX_BYTES, Problem};
