//! Data files and forms, read once into types; what is wrong is said with file and line.

mod catalogue;
mod check;
mod form;
mod limit;
mod reader;
mod source;
mod value;
mod yard;

pub use catalogue::File;
pub use reader::{MAX_BYTES, Problem};
pub(crate) use reader::{Reader, Row, Text, clip};
