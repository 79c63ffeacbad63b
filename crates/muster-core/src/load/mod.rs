//! Data files and forms, read once into types; what is wrong is said with file and line.

mod reader;

pub use reader::{MAX_BYTES, Problem};
pub(crate) use reader::{Reader, Row, Text, clip};
