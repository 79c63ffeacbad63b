//! What goes over the wire: the shapes the server answers with and the command line reads.

pub mod command;
pub mod devices;
pub mod machine;
pub mod people;
pub mod sync;
pub mod yard;
